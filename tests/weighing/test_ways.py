"""The three ways of weighing one batch."""

from decimal import Decimal

from glost.weighing.balance import Balance
from glost.weighing.batch import Line
from glost.weighing.ways import Manner, ways

D = Decimal
TWO_PERCENT = D("0.02")
FINE = Balance("fine", D(200), D("0.01"))
FLOOR = Balance("floor", D(6000), D("0.1"), cup_g=D(250))
RECIPE = [
    Line("nepheline syenite", D(60), base=True),
    Line("silica", D(40), base=True),
    Line("cobalt carbonate", D("0.25"), base=False),
    Line("tin oxide", D(4), base=False),
]


def test_lines_that_another_balance_is_surer_of_go_apart() -> None:
    tared, running, apart = ways(RECIPE, D(100), D(600), [FINE, FLOOR], TWO_PERCENT)
    assert [way.manner for way in (tared, running, apart)] == list(Manner)
    assert [line.material for line in apart.apart] == ["cobalt carbonate", "tin oxide"]
    assert [str(line.target_g) for line in apart.lines] == ["360.0", "240.0", "1.50", "24.00"]
    assert [str(line.display_g) for line in apart.lines] == ["360.0", "600.0", "1.50", "24.00"]
    assert [line.tared for line in apart.lines] == [False, False, True, True]
    assert [str(line.display_g) for line in tared.lines] == ["360.0", "240.0", "1.50", "24.00"]
    assert all(line.tared for line in tared.lines)
    assert [str(line.display_g) for line in running.lines] == ["360.0", "600.0", "601.5", "625.5"]
    assert [str(vessel.total_g) for vessel in apart.vessels] == ["600.0"]


def test_each_way_says_what_rounding_does() -> None:
    tared, running, apart = ways(RECIPE, D(100), D(500), [FINE, FLOOR], TWO_PERCENT)
    assert apart.total_off_g == apart.base_off_g == 0
    assert running.total_off_g == D("-0.05")
    assert running.lines[2].rounding == running.lines[2].parts_off == D("-0.04")
    assert running.lines[2].weighed_parts == D("0.24")
    assert not running.within
    assert tared.within
    assert apart.within


def test_each_way_says_how_sure_it_is() -> None:
    tared, running, apart = ways(RECIPE, D(100), D(600), [FINE, FLOOR], TWO_PERCENT)
    cobalt = [way.lines[2] for way in (tared, running, apart)]
    assert cobalt[0].standard_g == cobalt[2].standard_g < cobalt[1].standard_g / 9
    assert running.standard_g < apart.standard_g * 2 < tared.standard_g * 2
    assert all(line.parts_uncertainty >= line.relative for line in cobalt)


def test_capacity_counts_the_cup() -> None:
    fits, *_ = ways(RECIPE, D(100), D(500), [FLOOR], TWO_PERCENT)
    assert (fits.loaded_g, fits.under_capacity) == (D("771.25"), True)
    over, *_ = ways(RECIPE, D(100), D(5600), [FLOOR], TWO_PERCENT)
    assert over.under_capacity is False
    assert [str(vessel.total_g) for vessel in over.vessels] == ["5614.0", "224.0"]


def test_a_line_in_portions_stands_in_several_running_totals() -> None:
    small = Balance("small", D(100), D("0.1"))
    tared, running, _ = ways(RECIPE, D(100), D(500), [small], TWO_PERCENT)
    assert [line.portions for line in running.lines] == [3, 2, 1, 1]
    assert [[one.vessel for one in line.fills] for line in running.lines] == [[1, 2, 3], [4, 5], [6], [6]]
    shown = [[f"{running.lines[at].display_of(one)}" for one in running.lines[at].fills] for at in range(4)]
    assert shown == [["100.0"] * 3, ["100.0"] * 2, ["1.2"], ["21.2"]]
    assert [f"{tared.lines[3].display_of(one)}" for one in tared.lines[3].fills] == ["20.0"]
    # Parted where two vessels meet, the line is less sure than in one weighing, the whole as sure as six.
    assert running.lines[0].standard_g > running.lines[3].standard_g
    assert round(running.standard_g / running.lines[3].standard_g, 6) == round(D(6).sqrt(), 6)


def test_without_a_balance() -> None:
    for way in ways(RECIPE, D(100), D(100), [], TWO_PERCENT):
        assert (way.main, way.loaded_g, way.under_capacity) == (None, None, None)
        assert way.apart == ()


def test_a_base_that_rounds_to_nothing() -> None:
    for way in ways([Line("kaolin", D(1), base=True)], D(1), D("0.01"), [FLOOR], TWO_PERCENT):
        assert way.lines[0].weighed_parts == 0
        assert way.lines[0].parts_off == -1
        assert way.base_off_g == D("-0.01")
