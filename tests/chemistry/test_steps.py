"""The printed working, gone through again with a pocket calculator."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from glost.chemistry.analysis import analyse
from glost.chemistry.melt import Line, Melt, melt
from glost.chemistry.steps import Working, working
from glost.chemistry.unity import unity
from glost.recipe.materials.catalogue import shipped_catalogue
from glost.recipe.materials.oxides import IRON_AS, STANDARD, OxideTable

D = Decimal
CATALOGUE = shipped_catalogue()
KNOWN = sorted(m.name for m in CATALOGUE if m.composition and m.composition["kind"] != "unknown")
Batch = Sequence[tuple[str, Decimal]]


def _melt(batch: Batch, table: OxideTable = STANDARD) -> Melt:
    lines = []
    for at, (name, parts) in enumerate(batch):
        material = CATALOGUE.find(name)
        assert material is not None
        lines.append(Line(material.name, parts, analyse(material.composition, table), at + 1))
    return melt(lines, table)


def _calculator(sums: str) -> None:
    """Works out each ``a × b / c + d = e`` from what is printed, and rounds to the figures of e."""
    for one in sums.split("; "):
        left, equals, right = one.partition(" = ")
        if not equals:
            continue
        total = Fraction(0)
        for term in left.split(" + "):
            words = re.split(r" ([×/]) ", term)
            value = Fraction(words[0])
            for sign, number in zip(words[1::2], words[2::2], strict=True):
                value = value * Fraction(number) if sign == "×" else value / Fraction(number)
            total += value
        last = D(1).scaleb(-len(right.partition(".")[2]))
        # A quotient never ends exactly half way in 60 figures by accident of the division.
        rounded = (D(total.numerator) / D(total.denominator)).quantize(last, rounding=ROUND_HALF_UP)
        assert format(rounded, "f") == right, one


def _sums(found: Working) -> Iterator[str]:
    yield from (row.how for row in found.masses if row.atoms)
    yield from (row.how for row in found.materials)
    yield from (row.how for row in found.oxides)
    for total in found.sums:
        yield total.how
        yield total.how_divided
    yield found.how_one
    for weight in found.weights:
        yield weight.how
        yield weight.how_percent
    for loss in found.losses:
        yield loss.how_percent
        yield loss.how
    yield found.how_loss


def _printed_before(found: Working) -> None:
    """Every figure that a row uses stands in a row before it."""
    masses = {row.formula: row.mass for row in found.masses}
    for row in found.materials:
        assert row.molar_mass is None or masses[row.formula] == row.molar_mass
    steps = {(row.reference): row.equivalents for row in found.materials}
    for oxide in found.oxides:
        if oxide.constituent:
            assert masses[oxide.constituent] == oxide.molar_mass
        else:
            assert steps[oxide.reference] == oxide.equivalents_of_formula
    for total in found.sums:
        assert total.terms == tuple(row.equivalents for row in found.oxides if row.oxide == total.oxide)
        assert total.one == found.one
    for weight in found.weights:
        assert masses[weight.oxide] == weight.molar_mass
    for loss in found.losses:
        assert all(masses[form] == mass for form, _, mass in loss.forms if form != "O")


@given(
    st.lists(
        st.tuples(st.sampled_from(KNOWN), st.decimals(D("0.01"), D(100), places=2)), min_size=1, max_size=8
    )
)
def test_every_printed_figure_follows_from_printed_figures(batch: Batch) -> None:
    found = working(_melt(batch))
    for sums in _sums(found):
        _calculator(sums)
    _printed_before(found)


@pytest.mark.parametrize("iron", IRON_AS)
@given(parts=st.tuples(*[st.decimals(D("0.01"), D(100), places=2)] * 4))
def test_so_it_does_whatever_iron_is_counted_as(iron: str, parts: tuple[Decimal, ...]) -> None:
    names = ("potash feldspar", "red iron oxide", "black iron oxide", "certified plastic clay 98a")
    found = working(_melt(list(zip(names, parts, strict=True)), IRON_AS[iron]))
    for sums in _sums(found):
        _calculator(sums)
        assert not re.search(r"\d\.\d{15}", sums), sums
    _printed_before(found)


GLAZE = (
    ("potash feldspar", D("40")),
    ("certified plastic clay 98a", D("12.5")),
    ("whiting", D("17.25")),
    ("silica", D("22")),
    ("analysed anorthoclase", D("8.25")),
    ("cobalt oxide", D("0.5")),
    ("cmc gum", D("0.25")),
)


def test_the_working_ends_where_the_formula_does() -> None:
    batch = _melt(GLAZE)
    printed, exact = working(batch), unity(batch)
    assert [row.oxide for row in printed.sums] == list(exact.as_mapping())
    for row in printed.sums:
        assert row.result is not None
        assert abs(row.result - exact.of(row.oxide)) <= D("0.0001")
    for weight in printed.weights:
        assert abs(weight.percent - batch.weight_percent()[weight.oxide]) <= D("0.01")
    assert abs(printed.loss_percent - batch.loss) <= D("0.01")


@pytest.mark.parametrize("scale", ["0.01", "1", "100"])
def test_small_and_large_batches_keep_their_figures(scale: str) -> None:
    batch = _melt([(name, parts * D(scale)) for name, parts in GLAZE])
    for row in working(batch).sums:
        assert row.result is not None
        assert abs(row.result - unity(batch).of(row.oxide)) <= D("0.0001")


def test_a_line_as_it_is_printed() -> None:
    found = working(
        _melt([("whiting", D("14")), ("silica", D("70")), ("kaolin", D("16")), ("washed wood ash", D("5"))])
    )
    assert found.places == 6
    assert found.masses[0].how == "40.078 + 12.011 + 3 × 15.999 = 100.086"
    assert found.materials[0].how == "14 / 100.086 = 0.139880"
    assert found.materials[3].how == ""
    assert found.unknown == ("washed wood ash",)
    assert found.oxides[0].how == "1 × 0.139880 = 0.139880"
    assert found.oxides[3].how == "2 × 0.061978 = 0.123956"
    silica = found.sums[2]
    assert silica.how == "1.165055 + 0.123956 = 1.289011"
    assert silica.how_divided == "1.289011 / 0.139880 = 9.2151"
    assert found.losses[1].how_percent == "2 × 18.015 = 36.030; 36.030 / 258.157 × 100 = 13.9566"


def test_an_analysed_line_as_it_is_printed() -> None:
    found = working(_melt([("analysed anorthoclase", D("100"))]))
    iron = next(row for row in found.oxides if row.oxide == "Fe2O3")
    assert iron.how == "100 × 0.20 / 100 = 0.200000; 0.200000 / 71.844 × 0.5 = 0.001392"
    assert found.materials[0].source.startswith("anorthoclase NMNH 133868")


def test_parts_with_many_decimals_are_rounded_where_they_are_printed() -> None:
    ounces = D("28.349523125") / 3
    found = working(_melt([("whiting", ounces), ("kaolin", D(100))]))
    assert found.materials[0].parts == D("9.449841")
    for sums in _sums(found):
        _calculator(sums)


def test_without_a_flux_the_sums_still_stand() -> None:
    found = working(_melt([("silica", D(10))]))
    assert found.one is None
    assert found.sums[0].result is None
    assert found.how_one == found.sums[0].how_divided == ""


def test_stated_molar_masses_are_printed_as_stated() -> None:
    old = OxideTable(stated={"CaCO3": D(100)})
    record = {"kind": "formula", "formula": "CaCO3", "source": "a book"}
    found = working(melt([Line("whiting", D(25), analyse(record, old))], old))
    assert found.masses[0].how == "100 as stated"
    assert found.materials[0].how == "25 / 100 = 0.2500000"
