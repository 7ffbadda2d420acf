"""Estimates that are sums over oxides: each oxide brings its share times a factor.

What expansion.py and softening.py have in common: the composition a factor set is applied to, the ranges within
which it holds, and the interval that goes with every figure. Numbers here are float: a factor is known to two or
three figures and the errors are some percent, so exact decimals would only pretend.
"""

from __future__ import annotations

import functools
import json
import math
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final, Literal, NamedTuple

from glost.errors import GlostError
from glost.recipe.materials.oxides import STANDARD

DATA: Final = Path(__file__).parent / "data"

Basis = Literal["wt", "mol"]
Amount = float | Decimal | Fraction
Kind = Literal["like a glaze", "in range", "oxides left out", "outside"]
"""What sort of composition an estimate is for; each has errors, and so an interval, of its own."""

FITTED: Final = (
    "SiO2", "Al2O3", "B2O3", "K2O", "Na2O", "Li2O", "CaO", "MgO",
    "BaO", "SrO", "ZnO", "PbO", "Fe2O3", "TiO2", "ZrO2", "P2O5",
)  # fmt: skip
"""The oxides of the project's own fits."""

FLUXES: Final = ("K2O", "Na2O", "Li2O", "CaO", "MgO", "BaO", "SrO", "ZnO", "PbO")

LEFT_OUT_UNNOTICED: Final = 0.5
LEFT_OUT_AT_MOST: Final = 5.0
"""Percent of oxides without a factor: up to the first nothing is said, up to the second the interval is wider,
beyond it the figure counts as outside."""


class CompositionError(GlostError, ValueError):
    """The oxides given are no composition: none of them counts, or one is negative or no number."""


class MixedModelsError(GlostError, ValueError):
    """Two estimates of different models, which must not be compared."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """A figure that never stands alone. Nine of ten glasses of its kind measured between ``low`` and ``high``.

    ``model`` is the factor set; figures of two sets must not be compared (see ``difference``). ``outside`` names
    the oxides, or the ratios of oxides, that lie where the set was not tried; where it is not empty the interval
    is wider and ``note`` says so."""

    value: float
    low: float
    high: float
    model: str
    unit: str
    outside: tuple[str, ...] = ()
    note: str = ""

    def __str__(self) -> str:
        digits = 0 if self.unit == "°C" or abs(self.value) >= 100 else 1
        figure = (
            f"{self.value:.{digits}f} ({self.low:.0f} to {self.high:.0f}) {self.unit}, model {self.model}"
        )
        return f"{figure}; outside its range: {', '.join(self.outside)}" if self.outside else figure


def one_model(estimates: Iterable[Estimate]) -> tuple[Estimate, ...]:
    """The estimates, when they may be compared. Raises MixedModelsError when they are of more than one model."""
    out = tuple(estimates)
    names = sorted({one.model for one in out})
    if len(names) > 1:
        raise MixedModelsError(f"estimates of different models cannot be compared: {', '.join(names)}")
    return out


def difference(first: Estimate, second: Estimate) -> float:
    """``first`` minus ``second`` in their unit. Raises MixedModelsError when they are not of one model."""
    one_model((first, second))
    return first.value - second.value


@dataclass(frozen=True, slots=True)
class Spread:
    """How far a set was off on glasses of one kind. ``median`` and ``ninetieth`` are of the absolute error, each
    glass counting alike; ``median_by_author`` and ``ninetieth_by_author`` let no author count for more than 20
    glasses. ``bias`` is the median of estimate - measured. Nine of ten measured between estimate - ``below`` and
    estimate + ``above``."""

    glasses: int
    authors: int
    median: float
    ninetieth: float
    bias: float
    median_by_author: float
    ninetieth_by_author: float
    below: float
    above: float


@dataclass(frozen=True, slots=True)
class Fit:
    """One of the project's own fits, as its data file holds it. ``factors`` are per mol fraction; ``ranges`` are
    mol %; ``order`` holds (least difference, share), each up to the next: of the pairs of glasses of different
    authors that are estimated so far apart, that share was measured in the same order."""

    model: str
    quantity: str
    unit: str
    fitted: str
    licence: str
    factors: Mapping[str, float]
    ranges: Mapping[str, tuple[float, float]]
    spreads: Mapping[str, Spread]
    order: tuple[tuple[float, float], ...]


def read_data(name: str) -> dict[str, Any]:
    """The data file of that name, as JSON has it."""
    content: dict[str, Any] = json.loads((DATA / name).read_text("utf-8"))
    return content


def spreads_of(record: Mapping[str, Any]) -> Mapping[str, Spread]:
    return MappingProxyType({kind: Spread(**figures) for kind, figures in record.items()})


def fit_of(record: Mapping[str, Any]) -> Fit:
    """A fit from the record of its data file."""
    return Fit(
        model=record["model"],
        quantity=record["quantity"],
        unit=record["unit"],
        fitted=record["fitted"],
        licence=record["licence"],
        factors=MappingProxyType(dict(record["factors"])),
        ranges=MappingProxyType({oxide: (low, high) for oxide, (low, high) in record["ranges"].items()}),
        spreads=spreads_of(record["errors"]),
        order=tuple((step["apart"], step["right"]) for step in record["order"]),
    )


@functools.cache
def _molar_mass(oxide: str) -> float:
    return float(STANDARD.mass(oxide))


_IRONS: Final = {"FeO": 0.5, "Fe3O4": 1.5}
"""Mol of Fe2O3 that one mol of another oxide of iron makes."""


class Composition(NamedTuple):
    """``percent`` of the oxides that have a factor, which are taken as the whole; the names of the ``others``,
    and their ``share`` in percent of all that was given, on the basis it was given in."""

    percent: Mapping[str, float]
    others: tuple[str, ...]
    share: float


def composition(
    oxides: Mapping[str, Amount], factors: Collection[str], basis: Basis, wanted: Basis = "mol"
) -> Composition:
    """Fired oxides, in mass or mol as ``basis`` says, as percent of mass or mol as ``wanted``. They need not total
    100. FeO is calculated as Fe2O3, which the sets were made for. Raises CompositionError."""
    given: dict[str, float] = {}
    for oxide, amount in oxides.items():
        figure = float(amount)
        if not 0 <= figure < math.inf:
            raise CompositionError(f"{amount} is no amount of {oxide}")
        name = oxide
        irons = _IRONS.get(oxide)
        if irons is not None:
            name = "Fe2O3"
            figure *= irons if basis == "mol" else irons * _molar_mass("Fe2O3") / _molar_mass(oxide)
        if figure:
            given[name] = given.get(name, 0.0) + figure
    counted = {oxide: amount for oxide, amount in given.items() if oxide in factors}
    if not counted:
        raise CompositionError("none of the oxides given has a factor")
    others = tuple(oxide for oxide in given if oxide not in factors) if len(given) > len(counted) else ()
    share = 100 * sum(given[oxide] for oxide in others) / sum(given.values())
    if basis == "wt" and wanted == "mol":
        counted = {oxide: amount / _molar_mass(oxide) for oxide, amount in counted.items()}
    elif basis == "mol" and wanted == "wt":
        counted = {oxide: amount * _molar_mass(oxide) for oxide, amount in counted.items()}
    total = sum(counted.values())
    return Composition({oxide: 100 * part / total for oxide, part in counted.items()}, others, share)


_PER_FLUX: Final = {"SiO2": (1.5, 6.0), "Al2O3": (0.1, 1.0), "B2O3": (0.0, 1.0), "alkali": (0.05, 0.7)}
_MOL_PERCENT: Final = {"SiO2": (40, 75), "ZrO2": (0, 6), "TiO2": (0, 8), "P2O5": (0, 3), "Fe2O3": (0, 6)}


def unlike_a_glaze(mol: Mapping[str, float]) -> tuple[str, ...]:
    """What sets a composition (mol %) apart from those of glazes; empty for one that is like a glaze.

    The limits are this project's own, set wide around what is common practice; they say for which glasses the
    errors were counted, not what makes a good glaze."""
    flux = sum(mol.get(oxide, 0.0) for oxide in FLUXES)
    if flux <= 0:
        return ("flux",)
    alkali = sum(mol.get(oxide, 0.0) for oxide in ("Na2O", "K2O", "Li2O"))
    ratios = {name: mol.get(name, 0.0) / flux for name in ("SiO2", "Al2O3", "B2O3")} | {
        "alkali": alkali / flux
    }
    apart = [f"{name} to flux" for name, (low, high) in _PER_FLUX.items() if not low <= ratios[name] <= high]
    return (
        *apart,
        *(oxide for oxide, (low, high) in _MOL_PERCENT.items() if not low <= mol.get(oxide, 0.0) <= high),
    )


def out_of_range(mol: Mapping[str, float], ranges: Mapping[str, tuple[float, float]]) -> tuple[str, ...]:
    """The oxides whose mol % lies outside their range; those without a range are not judged here."""
    # Half of the last figure of a range: what was rounded to it is still within it.
    return tuple(
        oxide for oxide, (low, high) in ranges.items() if not low - 0.05 <= mol.get(oxide, 0.0) <= high + 0.05
    )


def weighed(percent: Mapping[str, float], factors: Mapping[str, float]) -> float:
    """The bare sum of percent times factor: no range, no interval. An oxide without a factor adds nothing."""
    return sum(part * factors.get(oxide, 0.0) for oxide, part in percent.items())
