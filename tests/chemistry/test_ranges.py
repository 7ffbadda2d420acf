"""The range of every figure holds whatever the brackets allow, and no more: checked against exact fractions, worked out
here from the catalogue's own file records without the chemistry of glost."""

from __future__ import annotations

import itertools
import json
import random
from collections.abc import Iterator, Mapping
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from molmass import Formula

import glost.recipe.materials.catalogue as catalogue_module
from glost.chemistry.bracket import LESS_OR_MORE
from glost.chemistry.firing import Calculator
from glost.chemistry.ranges import Range, Ranges, ranges
from glost.chemistry.unity import ALKALIS, FLUXES
from glost.recipe.materials.catalogue import Material, shipped_catalogue
from glost.recipe.materials.oxides import STANDARD
from glost.recipe.recipe import Part, Recipe, Test

_DATA = Path(catalogue_module.__file__).parent / "data"
_RECORDS: dict[str, dict[str, Any]] = {
    entry["name"]: entry["composition"]
    for path in sorted(_DATA.glob("*.json"))
    for entry in json.loads(path.read_text("utf-8"))["materials"]
}
_NATURAL = sorted(name for name, record in _RECORDS.items() if record.get("bracket"))
_KNOWN = sorted(name for name, record in _RECORDS.items() if record["kind"] in ("formula", "analysis"))
ROUNDING = Fraction(1, 10**9)

Grams = Mapping[str, Fraction]
"""Grams of each oxide that stays from 100 g; what is lost is the rest."""


def _typical(name: str) -> Grams:
    """What 100 g of the typical material leave. Only this is taken from glost: tests/outside checks it."""
    analysis = Calculator(shipped_catalogue()).analysis(name)
    return {oxide: Fraction(mass) for oxide, mass in analysis.oxides.items()}  # type: ignore[union-attr]


def _member(record: Mapping[str, Any]) -> Grams:
    out: dict[str, Fraction] = {}
    for oxide, figure in record["oxides"].items():
        stays, mass = oxide, Fraction(figure)
        if oxide in ("FeO", "MnO2"):
            stays = {"FeO": "Fe2O3", "MnO2": "MnO"}[oxide]
            mass *= (
                Fraction(STANDARD.mass(stays)) / Fraction(STANDARD.mass(oxide)) / (2 if oxide == "FeO" else 1)
            )
        if oxide != "SO3":
            out[stays] = out.get(stays, Fraction(0)) + mass
    return out


def _ends(name: str) -> list[Grams]:
    """The typical composition and the extremes of the bracket."""
    record, typical = _RECORDS[name], _typical(name)
    found = [typical, *map(_member, record.get("bracket", ()))]
    if record.get("invented"):
        fired = sum(typical.values())
        for oxide, factor in itertools.product(typical, map(Fraction, LESS_OR_MORE)):
            others = fired - typical[oxide]
            least, most = (fired - others * Fraction(each) for each in reversed(LESS_OR_MORE))
            wanted = sorted((least, typical[oxide] * factor, most))[1]
            rest = (fired - wanted) / (fired - typical[oxide])
            found.append({one: wanted if one == oxide else mass * rest for one, mass in typical.items()})
    return found


def _figures(lines: list[tuple[Fraction, Grams]]) -> dict[str, dict[str, Fraction]]:
    grams: dict[str, Fraction] = {}
    for parts, held in lines:
        for oxide, mass in held.items():
            grams[oxide] = grams.get(oxide, Fraction(0)) + parts * mass / 100
    moles = {oxide: mass / Fraction(STANDARD.mass(oxide)) for oxide, mass in grams.items()}
    one = sum(moles.get(oxide, 0) for oxide in FLUXES)
    return {
        "weight_percent": {oxide: 100 * mass / sum(grams.values()) for oxide, mass in grams.items()},
        "mol_percent": {oxide: 100 * amount / sum(moles.values()) for oxide, amount in moles.items()},
        "unity": {oxide: amount / one for oxide, amount in moles.items()} if one else {},
        "ratio": {"": moles["SiO2"] / moles["Al2O3"]} if moles.get("Al2O3") and "SiO2" in moles else {},
        "alkali": {"": sum((moles.get(o, Fraction(0)) for o in ALKALIS), Fraction(0)) / one} if one else {},
    }


def _fired(parts: Mapping[str, Decimal]) -> Ranges | None:
    lines = tuple(Part(name, name, amount) for name, amount in parts.items())
    fired = Calculator(shipped_catalogue()).fire(Test(Recipe("glaze", "t"), "", lines, ()))
    assert fired.melt is not None
    return ranges(fired.melt)


def _range_of(found: Ranges, what: str, oxide: str) -> Range | None:
    if what in ("ratio", "alkali"):
        return found.ratio if what == "ratio" else found.alkali
    by_oxide = {
        "unity": found.unity,
        "weight_percent": found.weight_percent,
        "mol_percent": found.mol_percent,
    }
    return by_oxide[what].get(oxide)


def _holds(found: Ranges, figures: Mapping[str, Mapping[str, Fraction]], what: str) -> None:
    for kind, values in figures.items():
        for oxide, value in values.items():
            one = _range_of(found, kind, oxide)
            if one is None:
                continue  # the typical melt has no such figure, so none is printed
            assert Fraction(one.low) - ROUNDING <= value, (what, kind, oxide, float(value), one)
            assert one.high is None or value <= Fraction(one.high) + ROUNDING, (what, kind, oxide, one)


def _recipes(count: int) -> Iterator[dict[str, Decimal]]:
    luck = random.Random("ranges of recipes")
    for _ in range(count):
        size = luck.randint(2, 12)
        natural = luck.sample(_NATURAL, luck.randint(1, min(size, 6)))
        others = luck.sample([name for name in _KNOWN if name not in natural], size - len(natural))
        yield {name: Decimal(luck.randint(1, 900)) / 10 for name in (*natural, *others)}


@pytest.mark.parametrize("part", range(4))
def test_200_recipes_hold_every_extreme_and_mixtures(part: int) -> None:
    luck = random.Random(f"extremes {part}")
    for parts in itertools.islice(_recipes(200), part, None, 4):
        found = _fired(parts)
        assert found is not None
        ends = {name: _ends(name) for name in parts}
        combinations = 1
        for held in ends.values():
            combinations *= len(held)
        every = itertools.product(*ends.values())
        chosen = (
            every
            if combinations <= 60
            else ([luck.choice(held) for held in ends.values()] for _ in range(60))
        )
        for picked in chosen:
            lines = [(Fraction(amount), held) for amount, held in zip(parts.values(), picked, strict=True)]
            _holds(found, _figures(lines), f"{parts}")
        # Mixtures of them lie within as well.
        for _ in range(3):
            lines = []
            for name, amount in parts.items():
                weights = [Fraction(luck.randint(0, 9)) + Fraction(1, 100) for _ in ends[name]]
                lines += [
                    (Fraction(amount) * weight / sum(weights), held)
                    for weight, held in zip(weights, ends[name], strict=True)
                ]
            _holds(found, _figures(lines), f"a mixture of {parts}")


def test_ends_are_reached() -> None:
    """A range is no wider than it must be: each end of it is the figure of one choice of analyses."""
    parts = {
        "potash feldspar": Decimal(42),
        "ball clay": Decimal(15),
        "silica": Decimal(25),
        "whiting": Decimal(18),
    }
    found = _fired(parts)
    assert found is not None
    every = [
        _figures([(Fraction(a), held) for a, held in zip(parts.values(), picked, strict=True)])
        for picked in itertools.product(*(_ends(name) for name in parts))
    ]
    for kind in ("unity", "weight_percent", "mol_percent"):
        for oxide, one in getattr(found, kind).items():
            values = [figures[kind].get(oxide, Fraction(0)) for figures in every]
            assert abs(min(values) - Fraction(one.low)) < ROUNDING
            assert one.high is not None
            assert abs(max(values) - Fraction(one.high)) < ROUNDING


def test_what_is_unknown_may_be_any_oxide() -> None:
    """1 part in 100 of an unknown stain: each oxide alone in its place lies within the range."""
    parts = {"potash feldspar": Decimal(50), "whiting": Decimal(20), "silica": Decimal(29)}
    unknown = {**parts, "zirconium iron pink stain": Decimal(1)}
    found = _fired(unknown)
    assert found is not None
    for oxide in ("SiO2", "Al2O3", "CaO", "K2O", "Li2O", "PbO", "ZrO2", "CoO"):
        lines = [(Fraction(amount), _typical(name)) for name, amount in parts.items()]
        _holds(found, _figures([*lines, (Fraction(1), {oxide: Fraction(100)})]), oxide)
    _holds(found, _figures([(Fraction(a), _typical(n)) for n, a in parts.items()]), "nothing that stays")


def test_nothing_is_open_without_a_bracket() -> None:
    assert _fired({"silica": Decimal(50), "zinc oxide": Decimal(30), "alumina": Decimal(20)}) is None


def test_no_end_where_there_may_be_no_flux() -> None:
    """Of a flint clay with a trace of flux and a pure one, the formula has no upper end, and says so."""
    pure = {"kind": "formula", "formula": "Al2Si2O5(OH)4", "source": "test"}
    impure = {
        "kind": "analysis",
        "oxides": {"SiO2": "50", "Al2O3": "40", "K2O": "1"},
        "loss": "9",
        "source": "test",
    }
    clay = Material("clay", "clay", "test", composition={**impure, "bracket": [pure]})
    kiln = Calculator(catalogue_module.Catalogue([clay]))
    fired = kiln.fire(Test(Recipe("body", "t"), "", (Part("clay", "clay", Decimal(1)),), ()))
    assert fired.melt is not None
    found = ranges(fired.melt)
    assert found is not None
    assert found.unity["SiO2"].high is None
    assert found.unity["SiO2"].low > 50
    assert found.unity["K2O"] == Range(Decimal(1), Decimal(1)) or found.unity["K2O"].high == 1


@pytest.mark.parametrize("name", _NATURAL)
def test_members_add_up_and_have_a_source(name: str) -> None:
    for member in _RECORDS[name]["bracket"]:
        total = sum((Decimal(value) for value in member["oxides"].values()), Decimal(member["loss"]))
        assert abs(total - 100) <= Decimal(member["sum tolerance"]), (name, member["of"])
        assert member["source"]
        assert member["standing"] in ("read", "second-hand", "from memory")


def test_masses_are_those_of_a_general_library() -> None:
    """The masses that this module takes from glost are those of molmass, but for their last figures."""
    for oxide in ("SiO2", "Al2O3", "K2O", "Na2O", "CaO", "Fe2O3", "FeO", "MnO"):
        assert float(STANDARD.mass(oxide)) == pytest.approx(Formula(oxide).mass, rel=1e-4)
