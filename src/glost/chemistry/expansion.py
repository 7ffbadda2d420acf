"""Linear thermal expansion of a fired glaze, estimated as a sum over its oxides.

Four published factor sets and one fitted by this project to open measurements of glasses. Every figure is linear,
in 1e-7 per kelvin (70 means 7.0e-6 /K); cubical factors are divided by 3. docs/models.md tells how good each is.
"""

from __future__ import annotations

import functools
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, NamedTuple

from glost.chemistry.additive import (
    LEFT_OUT_AT_MOST,
    LEFT_OUT_UNNOTICED,
    Amount,
    Basis,
    Estimate,
    Fit,
    Kind,
    Spread,
    composition,
    fit_of,
    one_model,
    out_of_range,
    read_data,
    spreads_of,
    unlike_a_glaze,
    weighed,
)
from glost.errors import GlostError

UNIT: Final = "1e-7/K"
OWN: Final = "glost"
PUBLISHED: Final = ("appen", "english-turner", "winkelmann-schott", "mayer-havas")
MODELS: Final = (OWN, *PUBLISHED)

WHAT_IT_IS_FOR: Final = (
    "An estimate ranks glazes; it does not replace a firing test. It holds for a clear glass of that composition: "
    "crystals, undissolved grains and the layer between glaze and body change it. Only estimates of one model can "
    "be compared."
)


class UnknownModelError(GlostError, ValueError):
    """No factor set has that name."""


@dataclass(frozen=True, slots=True)
class FactorSet:
    """A published set. ``factors`` are linear or ``cubical``, 1e-7 /K for each percent of ``basis``; ``read``
    names the factors that were seen in print, all others are from memory. ``limits`` are the set's own, in percent
    of ``basis``. ``span`` is the span of temperature it was made for."""

    name: str
    basis: Basis
    cubical: bool
    span: str
    source: str
    standing: str
    read: tuple[str, ...]
    factors: Mapping[str, float]
    limits: Mapping[str, tuple[float, float]]


@functools.cache
def fit() -> Fit:
    """The project's own fit, from data/expansion-fit.json."""
    return fit_of(read_data("expansion-fit.json"))


@functools.cache
def _measured_errors() -> Mapping[str, Mapping[str, Spread]]:
    """How far each published set was off on the glasses of the fit."""
    record = read_data("expansion-fit.json")["published"]
    return MappingProxyType({name: spreads_of(kinds) for name, kinds in record.items()})


@functools.cache
def published(name: str) -> FactorSet:
    """One of PUBLISHED. Raises UnknownModelError."""
    for record in read_data("expansion-published.json")["sets"]:
        if record["name"] == name:
            return FactorSet(
                name=name,
                basis=record["basis"],
                cubical=record["cubical"],
                span=record["span"],
                source=record["source"],
                standing=record["standing"],
                read=tuple(record["read"]),
                factors=MappingProxyType(dict(record["factors"])),
                limits=MappingProxyType(
                    {oxide: (low, high) for oxide, (low, high) in record["limits"].items()}
                ),
            )
    raise UnknownModelError(f"'{name}' is no factor set", f"there are: {', '.join(MODELS)}")


def spread(model: str, kind: Kind) -> Spread:
    """How far ``model`` was off on measured glasses of that kind; for the own fit, on authors it had not seen."""
    kinds = fit().spreads if model == OWN else _measured_errors()[model]
    # What too few have measured gets the widest interval.
    return kinds.get(kind, kinds["outside"])


def factor_sum(percent: Mapping[str, float], of: FactorSet) -> float:
    """The bare arithmetic of a published set, linear, 1e-7/K, on percents of its basis taken as they stand. The
    set ``appen`` has factors that depend on the rest of the composition."""
    factors = _appen(percent, of.factors) if of.name == "appen" else of.factors
    total = weighed(percent, factors)
    if of.cubical:
        total /= 3
    return total


def _appen(mol: Mapping[str, float], constant: Mapping[str, float]) -> dict[str, float]:
    """The factors of the set for one composition in mol %; all of it from memory (see the data file)."""
    part = {oxide: mol.get(oxide, 0.0) for oxide in constant} | {"B2O3": mol.get("B2O3", 0.0)}
    silica, boron = part["SiO2"], part["B2O3"]
    alkali = part["Na2O"] + part["K2O"] + part["Li2O"]
    # Oxygen that the fluxes lend to boron, less what alumina takes, for each boron.
    lent = (
        part["Na2O"]
        + part["K2O"]
        + part["BaO"]
        + 0.7 * (part["CaO"] + part["SrO"] + part["PbO"])
        + 0.3 * (part["Li2O"] + part["MgO"] + part["ZnO"])
        - part["Al2O3"]
    )
    psi = min(max(lent / boron, 0.0), 4.0) if boron else 0.0
    own = {
        "SiO2": constant["SiO2"] - max(silica - 67, 0.0) / 100,
        "B2O3": -0.125 * psi,
        "PbO": constant["PbO"] + 0.05 * min(max(alkali - 3, 0.0), 12.0),
        "TiO2": constant["TiO2"] - 0.015 * (min(max(silica, 50.0), 80.0) - 50),
    }
    return {**constant, **own}


HIGHEST: Final = 100.0
"""Above this the errors grow too large for one figure: glasses so rich in alkali count as outside, save where the
rest of the composition is like a glaze."""


class Judged(NamedTuple):
    """An estimate before it has its interval: its value, the kind of composition and why."""

    value: float
    kind: Kind
    outside: tuple[str, ...]
    apart: tuple[str, ...]


def judged(oxides: Mapping[str, Amount], model: str = OWN, basis: Basis = "wt") -> Judged:
    """The bare figure of a model and how far the model can be trusted there. Raises as ``estimate`` does."""
    own = fit()
    whole = composition(oxides, own.factors, basis)
    mol = whole.percent
    limits: tuple[str, ...] = ()
    if model == OWN:
        value, others, share = weighed(mol, own.factors) / 100, whole.others, whole.share
    else:
        of = published(model)
        percent, others, share = composition(oxides, of.factors, basis, of.basis)
        value, limits = factor_sum(percent, of), out_of_range(percent, of.limits)
    # Every set is judged over the range in which its errors were counted, which is the range of the own fit.
    beyond = tuple(dict.fromkeys((*limits, *out_of_range(mol, own.ranges))))
    apart = unlike_a_glaze(mol)
    if share > LEFT_OUT_AT_MOST or beyond:
        kind: Kind = "outside"
    elif share > LEFT_OUT_UNNOTICED:
        kind = "oxides left out"
    elif apart and value > HIGHEST:
        kind, beyond = "outside", ("alkali",)
    else:
        kind = "in range" if apart else "like a glaze"
    left_out = others if share > LEFT_OUT_UNNOTICED else ()
    return Judged(value, kind, tuple(dict.fromkeys((*beyond, *left_out))), apart)


def estimate(oxides: Mapping[str, Amount], model: str = OWN, basis: Basis = "wt") -> Estimate:
    """Mean linear expansion of a glaze with these fired oxides (mass, or mol where ``basis`` is "mol"; they need
    not total 100), in 1e-7/K. The interval is the one in which nine of ten glasses of its kind were measured.

    Raises UnknownModelError and CompositionError. Oxides that the set has no factor for are left out and the others
    taken as the whole; ``outside`` names them when they matter."""
    value, kind, outside, apart = judged(oxides, model, basis)
    errors = spread(model, kind)
    named = ", ".join(outside)
    if model == OWN:
        notes = [fit().quantity]
    else:
        of = published(model)
        notes = [f"span of the factors: {of.span}; factors {of.standing}"]
    if kind == "outside":
        notes.append(f"outside the range of the model ({named}): do not rely on this figure")
    elif kind == "oxides left out":
        notes.append(f"the model has no factor for {named}: left out, wider interval")
    elif kind == "in range":
        notes.append(f"unlike a glaze ({', '.join(apart)})")
    return Estimate(value, value - errors.below, value + errors.above, model, UNIT, outside, "; ".join(notes))


def ranked(estimates: Iterable[Estimate]) -> tuple[Estimate, ...]:
    """From the lowest expansion to the highest. Raises MixedModelsError when they are of more than one model."""
    return tuple(sorted(one_model(estimates), key=lambda one: one.value))
