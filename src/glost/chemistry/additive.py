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
from typing import Any, ClassVar, Final, Literal, NamedTuple

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
"""Mol % of oxides without a factor: up to the first nothing is said, up to the second the interval is wider, beyond it
there is no figure: what is left is no longer the glass that was asked for."""

FAR_OUTSIDE: Final = 15.0
"""Mol % beyond the ranges of the oxides, added up, at which there is no figure: fewer than twenty measured glasses lie
further out than that, and none of them like another."""

HELD_AT_LEAST: Final = 88
HELD_AT_MOST: Final = 93
"""Of 100 measured glasses: where an interval that should hold 90 of them held less or more, the estimate says so."""

FEW: Final = 50
"""Fewer measured glasses of a corner than this are told."""


class CompositionError(GlostError, ValueError):
    """The oxides given are no composition: one is negative or no number, or nothing is given at all."""


class MixedModelsError(GlostError, ValueError):
    """Two estimates of different models, which must not be compared."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """A figure that never stands alone. Nine of ten glasses of its kind measured between ``low`` and ``high``.

    ``model`` is the factor set; figures of two sets must not be compared (see ``difference``). ``outside`` names
    the oxides, or the ratios of oxides, that lie where the set was not tried; where it is not empty the interval
    is wider and ``note`` says so. ``held``: of 100 measured glasses like it, of authors whom the fit had not seen,
    so many lay within the interval; where that is not about 90, ``note`` says that too."""

    value: float
    low: float
    high: float
    model: str
    unit: str
    outside: tuple[str, ...] = ()
    note: str = ""
    held: float = 90.0

    reason: ClassVar[str] = ""

    def __str__(self) -> str:
        digits = 0 if self.unit == "°C" or abs(self.value) >= 100 else 1
        figure = (
            f"{self.value:.{digits}f} ({self.low:.0f} to {self.high:.0f}) {self.unit}, model {self.model}"
        )
        return f"{figure}; outside its range: {', '.join(self.outside)}" if self.outside else figure


@dataclass(frozen=True, slots=True)
class Withheld:
    """What stands in the place of an estimate where no figure would be true; ``reason`` says why."""

    reason: str
    model: str
    unit: str
    outside: tuple[str, ...] = ()

    note: ClassVar[str] = ""
    value: ClassVar[None] = None
    low: ClassVar[None] = None
    high: ClassVar[None] = None

    def __str__(self) -> str:
        return f"no figure, model {self.model}: {self.reason}"


Estimated = Estimate | Withheld
"""What each estimate gives: ``value``, ``low``, ``high`` and ``reason``; the figures are None, or the reason is ""."""


def known(found: Estimated) -> Estimate:
    """The estimate, where there is a figure. Raises CompositionError with the reason where there is none."""
    if isinstance(found, Withheld):
        raise CompositionError(found.reason)
    return found


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
class Step:
    """What an interval gains or loses where there is at least ``least`` of ``what``: mass % of an oxide, or, for
    "beyond", mol % beyond the ranges. Of ``glasses`` measured there, ``held`` of 100 lay within the interval when
    neither the factors nor the interval had seen their authors; ``held_by_author`` lets no author count for more
    than 20."""

    what: str
    least: float
    add: float
    glasses: int
    held: float
    held_by_author: float


@dataclass(frozen=True, slots=True)
class Spread:
    """How far a set was off on glasses of one kind. ``median`` and ``ninetieth`` are of the absolute error, each
    glass counting alike; ``median_by_author`` and ``ninetieth_by_author`` let no author count for more than 20
    glasses. ``bias`` is the median of estimate - measured. Nine of ten measured within the half width (``base`` and
    the ``steps`` that apply) around estimate - ``offset``; ``held`` and ``held_by_author`` say how many of 100 did."""

    glasses: int
    authors: int
    median: float
    ninetieth: float
    bias: float
    median_by_author: float
    ninetieth_by_author: float
    held: float
    held_by_author: float
    offset: float
    base: float
    steps: tuple[Step, ...]

    def applying(self, mass: Mapping[str, float]) -> tuple[Step, ...]:
        """The steps that apply to a composition in mass % (and "beyond")."""
        return tuple([step for step in self.steps if mass.get(step.what, 0.0) >= step.least])

    def half_width(self, applying: Iterable[Step]) -> float:
        return max(self.base / 2, self.base + sum([step.add for step in applying]))


def half_widths_told(spread: Spread, applying: Collection[Step]) -> tuple[float, tuple[str, ...]]:
    """How many of 100 measured glasses lay within an interval with these steps (the worst of them), and what must be
    said of it beside the figure: too few or too many of them, or too few glasses to tell."""
    held, said = min(spread.held, spread.held_by_author), []
    # Of two steps for one oxide the further one says it all.
    for step in {step.what: step for step in applying}.values():
        where = (
            f"{step.least:g} mol % and more beyond the ranges"
            if step.what == "beyond"
            else f"{step.what} from {step.least:g} % by mass"
        )
        least, most = min(step.held, step.held_by_author), max(step.held, step.held_by_author)
        held = min(held, least)
        if round(least) < HELD_AT_LEAST:
            said.append(f"with {where} it held only {least:.0f} of 100 measured glasses")
        elif round(most) > HELD_AT_MOST:
            said.append(f"with {where} it held {most:.0f} of 100 measured glasses, wider than need be")
        if step.glasses < FEW:
            said.append(f"only {step.glasses} glasses with {where} were measured")
    if said:
        said[0] = f"the interval: {said[0]}"
    return held, tuple(said)


@dataclass(frozen=True, slots=True, eq=False)
class Fit:
    """One of the project's own fits, as its data file holds it. Compared by identity, so that it can be a key.
    ``factors`` are per mol fraction and ``products`` per
    product of two; ``plain`` are the factors of the sum without products, which stands in where the composition lies
    beyond the ranges. ``ranges`` are mol %; ``order`` holds (least difference, share), each up to the next: of the
    pairs of glasses of different authors that are estimated so far apart, that share was measured in the same order."""

    model: str
    quantity: str
    unit: str
    fitted: str
    licence: str
    factors: Mapping[str, float]
    products: Mapping[tuple[str, str], float]
    plain: Mapping[str, float]
    ranges: Mapping[str, tuple[float, float]]
    spreads: Mapping[str, Spread]
    order: tuple[tuple[float, float], ...]

    def value(self, mol: Mapping[str, float], inside: bool) -> float:
        """The bare figure for a composition in mol %, with products where it lies inside the ranges."""
        if not inside:
            return weighed(mol, self.plain) / 100
        squared = sum(
            [
                factor * mol[first] * mol[second]
                for (first, second), factor in self.products.items()
                if first in mol and second in mol
            ]
        )
        return weighed(mol, self.factors) / 100 + squared / 10_000


def read_data(name: str) -> dict[str, Any]:
    """The data file of that name, as JSON has it."""
    content: dict[str, Any] = json.loads((DATA / name).read_text("utf-8"))
    return content


def spreads_of(record: Mapping[str, Any]) -> Mapping[str, Spread]:
    return MappingProxyType(
        {
            kind: Spread(**{**figures, "steps": tuple(Step(*step) for step in figures["steps"])})
            for kind, figures in record.items()
        }
    )


def fit_of(record: Mapping[str, Any]) -> Fit:
    """A fit from the record of its data file."""
    return Fit(
        model=record["model"],
        quantity=record["quantity"],
        unit=record["unit"],
        fitted=record["fitted"],
        licence=record["licence"],
        factors=MappingProxyType(dict(record["factors"])),
        products=MappingProxyType({(first, second): factor for first, second, factor in record["products"]}),
        plain=MappingProxyType(dict(record["plain"])),
        ranges=MappingProxyType({oxide: (low, high) for oxide, (low, high) in record["ranges"].items()}),
        spreads=spreads_of(record["errors"]),
        order=tuple((step["apart"], step["right"]) for step in record["order"]),
    )


@functools.cache
def _molar_mass(oxide: str) -> float:
    return float(STANDARD.mass(oxide))


_IRONS: Final = {"FeO": 0.5, "Fe3O4": 1.5}
"""Mol of Fe2O3 that one mol of another oxide of iron makes."""


OTHERS: Final = "others"


def counted(oxides: Mapping[str, Amount]) -> dict[str, float]:
    """Grams of fired oxides as mol of those that fits count, and of all OTHERS together."""
    held: dict[str, float] = {}
    for oxide, grams in oxides.items():
        mol = float(grams) / _molar_mass(oxide)
        name, mol = ("Fe2O3", mol * _IRONS[oxide]) if oxide in _IRONS else (oxide, mol)
        name = name if name in FITTED else OTHERS
        held[name] = held.get(name, 0.0) + mol
    return held


@dataclass(frozen=True)
class Composition:
    """``mol`` and ``mass``: percent of the oxides that have a factor, which are taken as the whole; the names of the
    ``others``, and their ``share`` in mol % of all that was ``given``, in mol. What several fits ask of it is worked
    out once."""

    mol: Mapping[str, float]
    mass: Mapping[str, float]
    others: tuple[str, ...]
    share: float
    given: Mapping[str, float]

    @functools.cached_property
    def alkali(self) -> float:
        """Mass % of the alkalis."""
        return sum([self.mass.get(oxide, 0.0) for oxide in _ALKALIS])

    @property
    def counted(self) -> dict[str, float]:
        """The mol of what fits count, and of all OTHERS together."""
        return {**self.given, OTHERS: sum([self.given[oxide] for oxide in self.others])}

    @functools.cached_property
    def apart(self) -> tuple[str, ...]:
        """In what it is unlike a glaze."""
        return unlike_a_glaze(self.mass) if self.mol else ()


def composition(oxides: Mapping[str, Amount], factors: Collection[str], basis: Basis) -> Composition:
    """Fired oxides, in mass or mol as ``basis`` says, as percent of both. They need not total 100. FeO is calculated as
    Fe2O3, which the sets were made for. Where none of the oxides has a factor, both are empty and the share is 100.
    Raises CompositionError for what is no composition."""
    given: dict[str, float] = {}
    for oxide, amount in oxides.items():
        figure = float(amount)
        if not 0 <= figure < math.inf:
            raise CompositionError(f"{amount} is no amount of {oxide}")
        if not figure:
            continue
        if basis == "wt":
            figure /= _molar_mass(oxide)
        name = oxide
        irons = _IRONS.get(oxide)
        if irons is not None:
            name = "Fe2O3"
            figure *= irons
        given[name] = given.get(name, 0.0) + figure
    total = sum(given.values())
    if not total:
        raise CompositionError("there is no oxide in it")
    counted = {oxide: amount for oxide, amount in given.items() if oxide in factors}
    if len(counted) == len(given):
        others: tuple[str, ...] = ()
        share, whole = 0.0, total
    else:
        others = tuple(oxide for oxide in given if oxide not in factors)
        whole = sum(counted.values())
        share = 100 * (total - whole) / total
    mol = {oxide: 100 * amount / whole for oxide, amount in counted.items()}
    mass = {oxide: amount * _molar_mass(oxide) for oxide, amount in counted.items()}
    grams = sum(mass.values())
    return Composition(
        mol, {oxide: 100 * amount / grams for oxide, amount in mass.items()}, others, share, given
    )


Glass = Mapping[str, Amount] | Composition
"""Fired oxides; or what composition() made of them for FITTED, to be asked several times."""


def fitted(glass: Glass, basis: Basis) -> Composition:
    """A glass as the project's own fits take it. Raises as composition() does."""
    return glass if isinstance(glass, Composition) else composition(glass, FITTED, basis)


_ALKALIS: Final = ("Na2O", "K2O", "Li2O")
_GLAZES: Final = {
    "SiO2": (45, 80),
    "Al2O3": (2, 25),
    "B2O3": (0, 25),
    "PbO": (0, 40),
    "alkali": (1, 18),
    "other fluxes": (2, 100),
}


def unlike_a_glaze(mass: Mapping[str, float]) -> tuple[str, ...]:
    """In what a composition (mass %) lies apart from most glazes; empty for one that is like a glaze.

    The limits are this project's own, set wide around what is common practice; they say for which glasses the
    errors were counted, not what makes a good glaze."""
    alkali = sum([mass.get(oxide, 0.0) for oxide in _ALKALIS])
    other = sum([mass.get(oxide, 0.0) for oxide in FLUXES]) - alkali
    found = {**mass, "alkali": alkali, "other fluxes": other}
    return tuple(what for what, (low, high) in _GLAZES.items() if not low <= found.get(what, 0.0) <= high)


def out_of_range(mol: Mapping[str, float], ranges: Mapping[str, tuple[float, float]]) -> tuple[str, ...]:
    """The oxides whose mol % lies outside their range; those without a range are not judged here."""
    # Half of the last figure of a range: what was rounded to it is still within it.
    return tuple(
        [
            oxide
            for oxide, (low, high) in ranges.items()
            if not low - 0.05 <= mol.get(oxide, 0.0) <= high + 0.05
        ]
    )


def beyond_ranges(mol: Mapping[str, float], ranges: Mapping[str, tuple[float, float]]) -> float:
    """By how many mol % a composition lies beyond the ranges, all oxides added up."""
    return sum(
        max(0.0, mol.get(oxide, 0.0) - high, low - mol.get(oxide, 0.0))
        for oxide, (low, high) in ranges.items()
    )


def weighed(percent: Mapping[str, float], factors: Mapping[str, float]) -> float:
    """The bare sum of percent times factor: no range, no interval. An oxide without a factor adds nothing."""
    return sum([part * factors.get(oxide, 0.0) for oxide, part in percent.items()])


class Placed(NamedTuple):
    """Where a composition lies beside what was measured: its kind, the oxides that are outside or left out, what sets
    it apart from glazes, and the amounts by which the steps of an interval apply. ``reason`` is not empty where no
    figure would be true."""

    kind: Kind
    inside: bool
    outside: tuple[str, ...]
    apart: tuple[str, ...]
    amounts: Mapping[str, float]
    reason: str


def placed(
    whole: Composition,
    ranges: Mapping[str, tuple[float, float]],
    others: tuple[str, ...],
    share: float,
    limits: tuple[str, ...] = (),
) -> Placed:
    """Where a composition lies. ``others`` and ``share``: the oxides that the set has no factor for and their mol %;
    ``limits``: oxides that lie outside what a published set was made for."""
    mol = whole.mol
    beyond = out_of_range(mol, ranges) if mol else ()
    apart = whole.apart
    left_out = others if share > LEFT_OUT_UNNOTICED else ()
    outside = tuple(dict.fromkeys((*limits, *beyond, *left_out)))
    far = beyond_ranges(mol, ranges) if beyond else 0.0
    amounts = {
        **whole.mass,
        "alkali": whole.alkali,
        "beyond": far,
    }
    reason = ""
    if share > LEFT_OUT_AT_MOST:
        reason = (
            f"the model has no factor for {', '.join(others)}, {share:.0f} mol % of it, and more than "
            f"{LEFT_OUT_AT_MOST:.0f} are not left out"
        )
    elif far > FAR_OUTSIDE:
        reason = f"it lies far from every glass that was measured ({', '.join(beyond)})"
    kind: Kind
    if beyond or limits:
        kind = "outside"
    elif left_out:
        kind = "oxides left out"
    else:
        kind = "in range" if apart else "like a glaze"
    return Placed(kind, not beyond, outside, apart, amounts, reason)
