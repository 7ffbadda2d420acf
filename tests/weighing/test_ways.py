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


def test_small_lines_go_apart() -> None:
    tared, running, apart = ways(RECIPE, D(100), D(500), [FINE, FLOOR], TWO_PERCENT)
    assert [way.manner for way in (tared, running, apart)] == list(Manner)
    assert [line.material for line in apart.apart] == ["cobalt carbonate"]
    assert [str(line.target_g) for line in apart.lines] == ["300.0", "200.0", "1.25", "20.0"]
    assert [str(line.display_g) for line in apart.lines] == ["300.0", "500.0", "1.25", "520.0"]
    assert [line.tared for line in apart.lines] == [False, False, True, False]
    assert [str(line.display_g) for line in tared.lines] == ["300.0", "200.0", "1.25", "20.0"]
    assert all(line.tared for line in tared.lines)
    assert [str(line.display_g) for line in running.lines] == ["300.0", "500.0", "501.2", "521.2"]
    assert [str(line.running_total_g) for line in apart.lines][-1] == "521.25"


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
    tared, running, apart = ways(RECIPE, D(100), D(500), [FINE, FLOOR], TWO_PERCENT)
    cobalt = [way.lines[2] for way in (tared, running, apart)]
    assert cobalt[0].standard_g == cobalt[2].standard_g < cobalt[1].standard_g / 9
    assert running.standard_g < apart.standard_g * 2 < tared.standard_g * 2
    assert all(line.parts_uncertainty >= line.relative for line in cobalt)


def test_capacity_counts_the_cup() -> None:
    fits, *_ = ways(RECIPE, D(100), D(500), [FLOOR], TWO_PERCENT)
    assert (fits.loaded_g, fits.under_capacity) == (D("771.25"), True)
    over, *_ = ways(RECIPE, D(100), D(5600), [FLOOR], TWO_PERCENT)
    assert over.under_capacity is False


def test_a_line_in_portions_is_tared() -> None:
    small = Balance("small", D(100), D("0.1"))
    _, running, _ = ways(RECIPE, D(100), D(500), [small], TWO_PERCENT)
    assert [line.portions for line in running.lines] == [3, 2, 1, 1]
    assert [line.tared for line in running.lines] == [True, True, False, False]


def test_without_a_balance() -> None:
    for way in ways(RECIPE, D(100), D(100), [], TWO_PERCENT):
        assert (way.main, way.loaded_g, way.under_capacity) == (None, None, None)
        assert way.apart == ()


def test_a_base_that_rounds_to_nothing() -> None:
    for way in ways([Line("kaolin", D(1), base=True)], D(1), D("0.01"), [FLOOR], TWO_PERCENT):
        assert way.lines[0].weighed_parts == 0
        assert way.lines[0].parts_off == -1
        assert way.base_off_g == D("-0.01")
