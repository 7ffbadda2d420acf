"""What is calculated in float, to be fast, says what the exact calculation says."""

from __future__ import annotations

import itertools
import random
from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal
from functools import partial

import pytest

from glost.chemistry import expansion, softening
from glost.chemistry.additive import FITTED, Estimate, Estimated, Fit, counted
from glost.chemistry.bare_fit import Change, FitOf, bare, row_of
from glost.chemistry.estimate_span import Moves
from glost.chemistry.firing import Calculator
from glost.chemistry.melt import Melt
from glost.chemistry.ranges import Range, ranges
from glost.recipe.materials.catalogue import shipped_catalogue
from glost.recipe.recipe import Part, Recipe, Test

KILN = Calculator(shipped_catalogue())


def _melt(parts: Mapping[str, Decimal]) -> Melt:
    lines = tuple(Part(name, name, amount) for name, amount in parts.items())
    fired = KILN.fire(Test(Recipe("glaze", "t"), "", lines, ()))
    assert fired.melt is not None
    return fired.melt


def _recipes(count: int) -> Iterator[dict[str, Decimal]]:
    luck = random.Random("near figures")
    names = sorted(material.name for material in shipped_catalogue())
    uncertain = [name for name in names if KILN.corners(name)]
    for _ in range(count):
        chosen = dict.fromkeys((*luck.sample(uncertain, luck.randint(1, 5)), *luck.sample(names, 3)))
        yield {name: Decimal(luck.randint(1, 900)) / 10 for name in chosen}


def _all_ranges(melt: Melt) -> Iterator[Range]:
    found = ranges(melt)
    assert found is not None
    for by_oxide in (found.unity, found.weight_percent, found.mol_percent):
        yield from by_oxide.values()
    yield from (one for one in (found.ratio, found.alkali) if one is not None)


def test_ends_that_are_written_are_those_that_are_exact() -> None:
    compared = 0
    for parts in _recipes(150):
        melt = _melt(parts)
        found = ranges(melt)
        assert found is not None
        for table in (found.unity, found.weight_percent, found.mol_percent):
            exactly = {oxide: Range(one.low, one.high).outwards(4) for oxide, one in table.items()}
            assert table.outwards(4) == exactly, parts
        for one in _all_ranges(melt):
            for decimals in (2, 4, 6):
                exact = Range(one.low, one.high)
                assert one.outwards(decimals) == exact.outwards(decimals), (parts, one, decimals)
                compared += 1
    assert compared > 5000


@pytest.mark.parametrize("amount", ["0.5", "6", "400"])
def test_ends_beside_what_may_be_anything_are_exact(amount: str) -> None:
    """A stain of which nothing is known may be any oxide, or nothing that stays."""
    for parts in itertools.islice(_recipes(60), 40):
        for one in _all_ranges(_melt({**parts, "zirconium iron pink stain": Decimal(amount)})):
            for decimals in (4, 6):
                assert one.outwards(decimals) == Range(one.low, one.high).outwards(decimals), (parts, one)


def test_amounts_alone_do_not_lead_to_another_end() -> None:
    """The search begins where that for the batch before ended, which may have been quite another one."""
    luck = random.Random("amounts")
    for names in itertools.islice(_recipes(30), 30):
        for _ in range(6):
            parts = {name: Decimal(luck.randint(1, 9)).scaleb(luck.randint(-3, 3)) for name in names}
            for one in _all_ranges(_melt(parts)):
                assert one.outwards(6) == Range(one.low, one.high).outwards(6), (parts, one)


@pytest.mark.parametrize("amount", ["0.1", "7", "33.3", "999.7"])
def test_an_oxide_that_is_all_there_is_of_its_kind_is_exactly_one(amount: str) -> None:
    """Where a float may lie a hair below 1, 1 is written and not 0.999999."""
    found = ranges(_melt({"whiting": Decimal(amount), "silica": Decimal("11.1"), "alumina": Decimal("0.7")}))
    assert found is not None
    for decimals in (2, 4, 6):
        assert found.unity["CaO"].outwards(decimals)[1] == 1.0
    assert found.unity["CaO"].high == 1


@pytest.mark.parametrize(
    "parts", [{}, {"whiting": "0.0000001"}, {"whiting": "0.000000000003", "soda ash": "0.0001"}]
)
def test_ends_of_a_body_with_a_trace_of_flux_are_exact(parts: Mapping[str, str]) -> None:
    """Millions of equivalents, which leave a float few digits behind the point."""
    traces = {name: Decimal(amount) for name, amount in parts.items()}
    clays = {"kaolin": Decimal("50.1"), "ball clay": Decimal("0.00003"), "silica": Decimal("12.7"), **traces}
    for one in _all_ranges(_melt(clays)):
        for decimals in (2, 4, 6):
            assert one.outwards(decimals) == Range(one.low, one.high).outwards(decimals)


def test_ends_of_bodies_with_a_trace_of_flux_are_exact() -> None:
    """Millions of equivalents, which leave a float few digits behind the point."""
    luck = random.Random("traces of flux")
    for _ in range(100):
        names = ("kaolin", "silica", "alumina", "ball clay")
        clays = {name: Decimal(luck.randint(1, 90000)) / 1000 for name in names[:3]}
        trace = {name: Decimal(luck.randint(1, 999)).scaleb(-luck.randint(6, 12)) for name in names[3:]}
        for one in _all_ranges(_melt({**clays, **trace})):
            for decimals in (2, 4, 6):
                exact = Range(one.low, one.high)
                assert one.outwards(decimals) == exact.outwards(decimals), (clays, trace)


def test_ends_are_written_outwards_where_a_figure_lies_on_a_whole_one() -> None:
    assert Range(Decimal("0.5"), Decimal("0.5")).outwards(6) == (0.5, 0.5)
    assert Range(Decimal("0.4999999999999999999999"), Decimal("0.5000000000000000000001")).outwards(2) == (
        0.49,
        0.51,
    )
    assert Range(Decimal("0.2"), None).outwards(1) == (0.2, None)


@pytest.mark.parametrize(
    ("fit", "make"),
    [
        (expansion.fit(), expansion.estimate),
        (expansion.fit_to_400(), partial(expansion.estimate, span="20-400 °C")),
        (softening.fit(), softening.estimate),
    ],
    ids=("expansion", "to 400", "softening"),
)
def test_the_bare_figure_of_a_fit_is_that_of_the_estimate(
    fit: Fit, make: Callable[[Mapping[str, float]], Estimated]
) -> None:
    """In rows as in words: the same figure, and none for the same compositions."""
    luck = random.Random("bare figures")
    told = withheld = outside = 0
    for _ in range(400):
        oxides = {oxide: luck.random() ** 3 * 30 for oxide in luck.sample(FITTED, luck.randint(2, 9))}
        oxides |= {
            "SiO2": luck.uniform(5, 80),
            "SnO2": luck.random() ** 4 * 15,
            "FeO": luck.random() ** 2 * 5,
        }
        found, figure = make(oxides), bare(fit).value(row_of(counted(oxides)))
        if isinstance(found, Estimate):
            assert figure == pytest.approx(found.value, rel=1e-9)
            told += 1
            outside += bool(found.outside)
        else:
            assert figure is None
            withheld += 1
    assert min(told, withheld, outside) > 20


def test_the_figure_of_a_changed_melt_is_that_of_its_sum() -> None:
    """Up to three changes, large and small, also such as lead out of the ranges or bring what has no factor."""
    luck = random.Random("changes")

    def grams(most: float) -> dict[str, float]:
        oxides = {oxide: luck.random() ** 3 * most for oxide in luck.sample(FITTED, luck.randint(2, 9))}
        return {**oxides, "SiO2": luck.uniform(most, 4 * most), "SnO2": luck.random() ** 4 * 2 * most}

    fit = bare(expansion.fit())
    told = withheld = 0
    for _ in range(600):
        first = row_of(counted(grams(20)))
        of = FitOf(fit, first)
        if of.typical is None:
            continue
        chosen = []
        melt = first
        for _ in range(luck.randint(1, 3)):
            # A mixture is left: no oxide becomes less than nothing.
            share, typical, other = luck.random() / 3, first, row_of(counted(grams(30)))
            chosen.append((share, Change(typical, other)))
            melt = melt.plus(share, chosen[-1][1].brought)
        whole = fit.value(melt)
        assert of.changed(chosen) == (whole if whole is None else pytest.approx(whole, rel=1e-9))
        told += whole is not None
        withheld += whole is None
    assert told > 100
    assert withheld > 20


def test_there_is_no_span_where_fits_count_nothing() -> None:
    for name in ("tin oxide", "zirconium iron pink stain"):
        moves = Moves(_melt({name: Decimal(3), "zirconium silicate": Decimal(0)}))
        assert moves.expansion() is None
        assert moves.softening() is None


def test_a_span_in_rows_is_that_of_whole_estimates() -> None:
    """The way of the published sets, which goes by whole estimates, asked of the fits."""
    compared = 0
    for parts in _recipes(60):
        moves = Moves(_melt(parts))
        for near, make in ((moves.expansion(), expansion.estimate), (moves.softening(), softening.estimate)):
            whole = moves._of_model(make)
            assert (near is None) == (whole is None)
            if near is not None and whole is not None:
                assert near == pytest.approx(whole, rel=1e-9)
                compared += 1
    assert compared > 40
