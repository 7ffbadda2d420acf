"""How fusible a fired glaze is beside others: the temperature at which its glass would flow at 1000 Pa s.

An order, not a cone. The fit rests on viscosities of clear glasses; no measurement of a cone or of a glaze's
maturity is in it, and time, grain and the body take no part. docs/models.md tells how good it is.
"""

from __future__ import annotations

import functools
from typing import Final

from glost.chemistry.additive import (
    Basis,
    Estimate,
    Estimated,
    Fit,
    Glass,
    Withheld,
    fit_of,
    fitted,
    half_widths_told,
    placed,
    read_data,
)

UNIT: Final = "°C"
MODEL: Final = "glost-softening"


@functools.cache
def fit() -> Fit:
    """The project's own fit, from data/softening-fit.json."""
    return fit_of(read_data("softening-fit.json"))


def estimate(oxides: Glass, basis: Basis = "wt") -> Estimated:
    """Temperature in °C at which a glass of these fired oxides (mass, or mol where ``basis`` is "mol"; they need
    not total 100) has 1000 Pa s, with the interval in which nine of ten glasses were measured.

    Where no figure would be true, because more than 5 mol % have no factor or the composition lies far from all that
    was measured, the result has the reason in its place. Pure; raises CompositionError for what is no composition."""
    own = fit()
    whole = fitted(oxides, basis)
    place = placed(whole, own.ranges, whole.others, whole.share)
    if place.reason:
        return Withheld(place.reason, own.model, UNIT, place.outside)
    value = own.value(whole.mol, place.inside)
    errors = own.spreads[place.kind]
    applying = errors.applying(place.amounts)
    half = errors.half_width(applying)
    held, told = half_widths_told(errors, applying)
    note = [f"{own.quantity}; an order of fusibility, not a cone"]
    if place.kind == "outside":
        note.append(
            f"outside the range of the model ({', '.join(place.outside)}): do not rely on this figure"
        )
    elif place.kind == "oxides left out":
        note.append(f"the model has no factor for {', '.join(place.outside)}: left out, wider interval")
    elif place.apart:
        note.append(f"unlike most glazes in {', '.join(place.apart)}")
    centre = value - errors.offset
    return Estimate(
        value, centre - half, centre + half, own.model, UNIT, place.outside, "; ".join((*note, *told)), held
    )
