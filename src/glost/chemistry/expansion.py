"""Linear thermal expansion of a fired glaze, estimated as a sum over its oxides.

Two published factor sets and one fitted by this project to open measurements of glasses. Every figure is linear,
in 1e-7 per kelvin (70 means 7.0e-6 /K). docs/models.md tells how good each is.
"""

from __future__ import annotations

import functools
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal, NamedTuple

from glost.chemistry.additive import (
    Basis,
    Estimate,
    Estimated,
    Fit,
    Glass,
    Kind,
    Placed,
    Spread,
    Withheld,
    composition,
    fit_of,
    fitted,
    half_widths_told,
    one_model,
    out_of_range,
    placed,
    read_data,
    spreads_of,
    weighed,
)
from glost.errors import GlostError

UNIT: Final = "1e-7/K"
OWN: Final = "glost"
PUBLISHED: Final = ("appen", "english-turner")
MODELS: Final = (OWN, *PUBLISHED)
DROPPED: Final = {"winkelmann-schott": "1894", "mayer-havas": "1911"}
"""Sets that were offered once and are no longer, with their years: on glazes they were several times as wrong."""

Span = Literal["20-300 °C", "20-400 °C"]


class UnknownModelError(GlostError, ValueError):
    """No factor set has that name."""


@dataclass(frozen=True, slots=True)
class FactorSet:
    """A published set. ``factors`` are linear, 1e-7 /K for each percent of ``basis``. ``limits`` are the set's own, in
    percent of ``basis``. ``span`` is the span of temperature it was made for."""

    name: str
    basis: Basis
    span: str
    source: str
    standing: str
    factors: Mapping[str, float]
    limits: Mapping[str, tuple[float, float]]


@functools.cache
def fit() -> Fit:
    """The project's own fit, from data/expansion-fit.json."""
    return fit_of(read_data("expansion-fit.json"))


@functools.cache
def fit_to_400() -> Fit:
    """The same fit for the mean between about 20 and 400 °C: that of 300 °C and a further plain sum."""
    record = read_data("expansion-fit.json")
    further = record["to 400"]
    return fit_of(
        {
            **record,
            "quantity": further["quantity"],
            "factors": _added(record["factors"], further["further"]),
            "plain": _added(record["plain"], further["further plain"]),
            "errors": further["errors"],
        }
    )


def fit_of_span(span: Span) -> Fit:
    """The project's own fit for a span of temperature."""
    return fit() if span == "20-300 °C" else fit_to_400()


def _added(first: Mapping[str, float], second: Mapping[str, float]) -> dict[str, float]:
    return {oxide: factor + second[oxide] for oxide, factor in first.items()}


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
                span=record["span"],
                source=record["source"],
                standing=record["standing"],
                factors=MappingProxyType(dict(record["factors"])),
                limits=MappingProxyType(
                    {oxide: (low, high) for oxide, (low, high) in record["limits"].items()}
                ),
            )
    raise no_such_model(name)


def no_such_model(name: str) -> UnknownModelError:
    """What is wrong with a name that no factor set has."""
    there_are = f"there are: {', '.join(MODELS)}"
    if name in DROPPED:
        return UnknownModelError(
            f"the factors of '{name}' ({DROPPED[name]}) are no longer offered: they were several times as wrong",
            f"take '{OWN}' in their place; {there_are}",
        )
    return UnknownModelError(f"'{name}' is no factor set", there_are)


def spread(model: str, kind: Kind) -> Spread:
    """How far ``model`` was off on measured glasses of that kind; for the own fit, on authors it had not seen."""
    kinds = fit().spreads if model == OWN else _measured_errors()[model]
    # What too few have measured gets the widest interval.
    return kinds.get(kind, kinds["outside"])


def factor_sum(percent: Mapping[str, float], of: FactorSet) -> float:
    """The bare arithmetic of a published set, linear, 1e-7/K, on percents of its basis taken as they stand. The
    set ``appen`` has factors that depend on the rest of the composition."""
    factors = _appen(percent, of.factors) if of.name == "appen" else of.factors
    return weighed(percent, factors)


_K2O_WITHOUT_SODA: Final = 4.2


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
        "K2O": constant["K2O"] if part["Na2O"] else _K2O_WITHOUT_SODA,
        "PbO": constant["PbO"] + 0.05 * min(max(alkali - 3, 0.0), 12.0),
        "TiO2": constant["TiO2"] - 0.015 * (min(max(silica, 50.0), 80.0) - 50),
    }
    return {**constant, **own}


class Judged(NamedTuple):
    """An estimate before it has its interval: the bare figure, and where the composition lies."""

    value: float
    place: Placed


def judged(oxides: Glass, model: str = OWN, basis: Basis = "wt", of: Fit | None = None) -> Judged:
    """The bare figure of a model and how far the model can be trusted there. Raises as ``estimate`` does. ``of`` takes
    the place of the shipped fit."""
    own = of or fit()
    whole = fitted(oxides, basis)
    # Every set is judged over the range in which its errors were counted, which is the range of the own fit.
    if model == OWN:
        place = placed(whole, own.ranges, whole.others, whole.share)
        return Judged(own.value(whole.mol, place.inside), place)
    set_ = published(model)
    # A set of factors for other oxides takes another part of them as the whole.
    counted = composition(whole.given, set_.factors, "mol")
    percent = counted.mol if set_.basis == "mol" else counted.mass
    place = placed(whole, own.ranges, counted.others, counted.share, out_of_range(percent, set_.limits))
    return Judged(factor_sum(percent, set_), place)


def estimate(oxides: Glass, model: str = OWN, basis: Basis = "wt", span: Span = "20-300 °C") -> Estimated:
    """Mean linear expansion of a glaze with these fired oxides (mass, or mol where ``basis`` is "mol"; they need
    not total 100), in 1e-7/K. The interval is the one in which nine of ten glasses of its kind were measured.

    ``span`` is that of the temperature; a published set knows its own alone. Oxides that the set has no factor for are
    left out up to 5 mol % and the others taken as the whole; ``outside`` names them when they matter. Where no figure
    would be true, because more than that has no factor or the composition lies far from all that was measured, the
    result has the reason in its place. Pure; raises UnknownModelError, and CompositionError for what is no
    composition."""
    own = fit_of_span(span) if model == OWN else fit()
    value, place = judged(oxides, model, basis, own)
    if place.reason:
        return Withheld(place.reason, model, UNIT, place.outside)
    errors = own.spreads[place.kind] if model == OWN else spread(model, place.kind)
    applying = errors.applying(place.amounts)
    half = errors.half_width(applying)
    held, told = half_widths_told(errors, applying)
    named = ", ".join(place.outside)
    if model == OWN:
        notes = [own.quantity]
    else:
        of = published(model)
        notes = [f"span of the factors: {of.span}; factors {of.standing}"]
    if place.kind == "outside":
        notes.append(f"outside the range of the model ({named}): do not rely on this figure")
    elif place.kind == "oxides left out":
        notes.append(f"the model has no factor for {named}: left out, wider interval")
    elif place.kind == "in range":
        notes.append(f"unlike most glazes in {', '.join(place.apart)}")
    centre = value - errors.offset
    return Estimate(
        value, centre - half, centre + half, model, UNIT, place.outside, "; ".join((*notes, *told)), held
    )


def ranked(estimates: Iterable[Estimate]) -> tuple[Estimate, ...]:
    """From the lowest expansion to the highest. Raises MixedModelsError when they are of more than one model."""
    return tuple(sorted(one_model(estimates), key=lambda one: one.value))
