"""How fusible a fired glaze is beside others: the temperature at which its glass would flow at 1000 Pa s.

An order, not a cone. The fit rests on viscosities of clear glasses; no measurement of a cone or of a glaze's
maturity is in it, and time, grain and the body take no part. docs/models.md tells how good it is.
"""

from __future__ import annotations

import functools
from collections.abc import Iterable, Mapping
from typing import Final

from glost.chemistry.additive import (
    LEFT_OUT_UNNOTICED,
    Amount,
    Basis,
    Estimate,
    Fit,
    composition,
    fit_of,
    one_model,
    out_of_range,
    read_data,
    unlike_a_glaze,
    weighed,
)

UNIT: Final = "°C"

WHAT_IT_IS_FOR: Final = (
    "An order of fusibility among glazes of like composition. It is not a cone and not a firing temperature: "
    "only a firing test tells when a glaze is ripe."
)


@functools.cache
def fit() -> Fit:
    """The project's own fit, from data/softening-fit.json."""
    return fit_of(read_data("softening-fit.json"))


LOWEST: Final = 1050.0
"""Estimates below this count as outside: there three of four, not nine of ten, lay within the interval."""


def estimate(oxides: Mapping[str, Amount], basis: Basis = "wt") -> Estimate:
    """Temperature in °C at which a glass of these fired oxides (mass, or mol where ``basis`` is "mol"; they need
    not total 100) has 1000 Pa s, with the interval in which nine of ten glasses were measured.

    Raises CompositionError. What is unlike a glaze counts as outside: the fit knows only glasses that are like one."""
    own = fit()
    mol, others, share = composition(oxides, own.factors, basis)
    left_out = others if share > LEFT_OUT_UNNOTICED else ()
    value = weighed(mol, own.factors) / 100
    low = (f"below {LOWEST:.0f} {UNIT}",) if value < LOWEST else ()
    outside = tuple(dict.fromkeys((*out_of_range(mol, own.ranges), *unlike_a_glaze(mol), *left_out, *low)))
    errors = own.spreads["outside" if outside else "like a glaze"]
    note = f"{own.quantity}; an order of fusibility, not a cone"
    if outside:
        note += f"; outside the range of the model ({', '.join(outside)}): do not rely on this figure"
    return Estimate(value, value - errors.below, value + errors.above, own.model, UNIT, outside, note)


def by_fusibility(estimates: Iterable[Estimate]) -> tuple[Estimate, ...]:
    """From the most fusible to the least. Raises MixedModelsError when one of them is of another model."""
    return tuple(sorted(one_model(estimates), key=lambda one: one.value))


def order_right(apart: float) -> float:
    """The share of pairs of glasses, of different authors, that were measured in the order in which they were
    estimated, when the estimates lie about ``apart`` °C apart. 0.5 is a coin."""
    share = 0.5
    for least, right in fit().order:
        if abs(apart) >= least:
            share = right
    return share
