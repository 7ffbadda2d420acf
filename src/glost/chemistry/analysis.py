"""What 100 g of one raw material brings: oxides that stay, what it loses in the fire, and what is not known."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation, localcontext
from functools import lru_cache
from types import MappingProxyType
from typing import Any, Final

from glost.errors import GlostError, ValueRefusedError
from glost.recipe.materials.elements import exact_enough
from glost.recipe.materials.formula import atoms
from glost.recipe.materials.oxides import (
    HALOGENS,
    OXYGEN,
    STANDARD,
    VOLATILE,
    Calculated,
    OxideTable,
    calculate,
)

HUNDRED: Final = Decimal(100)
SUM_TOLERANCE: Final = Decimal(2)
"""How far an analysis may add up from 100 where its record does not say: what materials.yaml allows."""

ORGANIC: Final = "organic matter"
"""What an organic material loses: all of it. Its ash is not counted."""
AS_STATED: Final = "loss as stated"
"""The loss on ignition that an analysis states without saying what it is."""


def _nothing() -> Mapping[str, Decimal]:
    return MappingProxyType({})


class AnalysisError(GlostError, ValueError):
    """An analysis whose oxides and loss do not add up to 100 within its tolerance. It is never rescaled."""


@dataclass(frozen=True, slots=True, eq=False)
class Analysis:
    """One raw material, calculated as fired. Figures are mass % of the raw material unless said otherwise. Compared by
    identity, so that it can be a key.

    ``kind`` is that of the record: formula, analysis, organic or unknown. ``oxides`` stay. ``losses`` leave, by
    form (H2O, CO2, SO3, ...); "O" is oxygen given off, or below 0 taken up, by change of oxidation.
    ``unknown`` is 100 where no composition is held. ``unaccounted`` is what an analysis is short of 100 (below 0:
    over it); all five add up to 100. ``moles``: mol of each oxide from 100 g. For a formula, ``formula`` is as
    written, ``molar_mass`` its g/mol, ``units`` and ``units_lost`` the formula units of each oxide and of each
    form lost in one unit of it; "" and None or empty otherwise. ``listed``: an analysis's own figures, as written.
    ``remarks``: what the calculation leaves out. ``table`` is what it was calculated with."""

    kind: str
    source: str
    table: OxideTable
    oxides: Mapping[str, Decimal] = field(default_factory=_nothing)
    losses: Mapping[str, Decimal] = field(default_factory=_nothing)
    unknown: Decimal = Decimal(0)
    unaccounted: Decimal = Decimal(0)
    moles: Mapping[str, Decimal] = field(default_factory=_nothing)
    formula: str = ""
    molar_mass: Decimal | None = None
    units: Mapping[str, Decimal] = field(default_factory=_nothing)
    units_lost: Mapping[str, Decimal] = field(default_factory=_nothing)
    listed: Mapping[str, Decimal] = field(default_factory=_nothing)
    remarks: tuple[str, ...] = ()

    @property
    def loss(self) -> Decimal:
        """The loss on ignition, %: below 0 for a material that gains, such as silicon carbide."""
        with localcontext(exact_enough()):
            return sum(self.losses.values(), Decimal(0))


def analyse(composition: Mapping[str, Any] | None, table: OxideTable = STANDARD) -> Analysis:
    """The analysis of a composition record: ``{"kind": "formula", "formula": ...}``, ``{"kind": "analysis",
    "oxides": {oxide: figure}, "loss": figure, "sum tolerance": figure}``, or kind organic or unknown; each with
    its ``source``. Figures are decimals in text, mass % of the raw material. None counts as unknown.

    Results are kept, so the same record costs nothing the second time. Raises AnalysisError for an analysis that
    does not add up, FormulaError for a formula that cannot be read, ValueError for a figure that cannot.
    """
    if composition is None:
        return Analysis("unknown", "no composition is held", table, unknown=HUNDRED)
    kind, source = composition["kind"], composition.get("source", "")
    if kind == "formula":
        return _of_formula(composition["formula"], source, table)
    if kind == "analysis":
        return _of_figures(
            tuple((oxide, str(figure)) for oxide, figure in composition["oxides"].items()),
            str(composition.get("loss", 0)),
            str(composition.get("sum tolerance", SUM_TOLERANCE)),
            source,
            table,
        )
    if kind == "organic":
        return Analysis(kind, source, table, losses=MappingProxyType({ORGANIC: HUNDRED}))
    if kind == "unknown":
        return Analysis(kind, source, table, unknown=HUNDRED)
    raise ValueRefusedError(
        f"'{kind}' is no kind of composition", "known are formula, analysis, organic and unknown"
    )


LEAVES_WHOLLY: Final = (
    "all of it leaves in the fire, as vapour and gases; none of it is counted in the glaze, though it may act on the"
    " glaze and the kiln as it leaves"
)


@lru_cache(maxsize=1024)
def _of_formula(formula: str, source: str, table: OxideTable) -> Analysis:
    found = _as_a_whole(formula, calculate(formula, table))
    whole = table.mass(formula)
    with localcontext(exact_enough()):
        oxides = {oxide: units * table.mass(oxide) * 100 / whole for oxide, units in found.oxides.items()}
        losses = {form: units * table.mass(form) * 100 / whole for form, units in found.lost.items()}
        units_lost = dict(found.lost)
        if found.oxygen:
            losses[OXYGEN] = found.oxygen * table.mass(OXYGEN) * 100 / whole
            units_lost[OXYGEN] = found.oxygen
        # Nothing is left over but the last figure of the divisions, unless a book's own molar masses are used.
        over = Decimal(0)
        if table.stated:
            over = HUNDRED - sum(oxides.values()) - sum(losses.values())
        return Analysis(
            "formula",
            source,
            table,
            oxides=MappingProxyType(oxides),
            losses=MappingProxyType(losses),
            unaccounted=over,
            moles=MappingProxyType({oxide: units * 100 / whole for oxide, units in found.oxides.items()}),
            formula=formula,
            molar_mass=whole,
            units=found.oxides,
            units_lost=MappingProxyType(units_lost),
            remarks=found.remarks,
        )


def _as_a_whole(formula: str, found: Calculated) -> Calculated:
    """What leaves wholly is lost as itself: nothing stays that oxygen could be taken up by, whatever it breaks down or
    burns to on its way."""
    if found.oxides:
        return found
    alone = tuple(VOLATILE[one].alone for one in atoms(formula) if one in VOLATILE and VOLATILE[one].alone)
    return Calculated({}, {formula: Decimal(1)}, Decimal(0), alone or (LEAVES_WHOLLY,))


@lru_cache(maxsize=1024)
def _of_figures(
    listed: tuple[tuple[str, str], ...], loss: str, tolerance: str, source: str, table: OxideTable
) -> Analysis:
    figures = {constituent: _figure(constituent, text) for constituent, text in listed}
    stated_loss = _figure("the loss", loss)
    allowed = _figure("the sum tolerance", tolerance)
    oxides: dict[str, Decimal] = {}
    losses: dict[str, Decimal] = {AS_STATED: stated_loss} if stated_loss else {}
    moles: dict[str, Decimal] = {}
    remarks: list[str] = []
    with localcontext(exact_enough()):
        given_off = instead = Decimal(0)
        for constituent, figure in figures.items():
            found = calculate(constituent, table)
            units = figure / table.mass(constituent)
            for oxide, count in found.oxides.items():
                moles[oxide] = moles.get(oxide, Decimal(0)) + units * count
                # Not by way of the molar mass where it is the same oxide: the figure then stays as stated.
                mass = figure if oxide == constituent else units * count * table.mass(oxide)
                oxides[oxide] = oxides.get(oxide, Decimal(0)) + mass
            for form, count in found.lost.items():
                mass = figure if form == constituent else units * count * table.mass(form)
                losses[form] = losses.get(form, Decimal(0)) + mass
            given_off += units * found.oxygen * table.mass(OXYGEN)
            if constituent in HALOGENS:
                instead += units / 2 * table.mass(OXYGEN)
            remarks += (remark for remark in found.remarks if remark not in remarks)
        total = sum(figures.values(), Decimal(0)) - instead + stated_loss
        if abs(total - HUNDRED) > allowed:
            raise AnalysisError(_unbalanced(figures, instead, stated_loss, total, allowed))
        if given_off - instead:
            losses[OXYGEN] = given_off - instead
        return Analysis(
            "analysis",
            source,
            table,
            oxides=MappingProxyType({oxide: mass for oxide, mass in oxides.items() if mass}),
            losses=MappingProxyType({form: mass for form, mass in losses.items() if mass}),
            unaccounted=HUNDRED - total,
            moles=MappingProxyType({oxide: amount for oxide, amount in moles.items() if amount}),
            listed=MappingProxyType(figures),
            remarks=tuple(remarks),
        )


def _figure(of: str, text: str) -> Decimal:
    try:
        figure = Decimal(text)
    except InvalidOperation:
        raise ValueRefusedError(
            f"'{text}' for {of} is not a number", "write mass percent, such as 1.25"
        ) from None
    if not figure.is_finite() or not 0 <= figure <= HUNDRED:
        raise ValueRefusedError(f"{text} for {of} is not a mass percent", "it must be from 0 to 100")
    return figure


def _unbalanced(
    figures: Mapping[str, Decimal], instead: Decimal, loss: Decimal, total: Decimal, allowed: Decimal
) -> str:
    oxides = sum(figures.values(), Decimal(0))
    # Figures are shown as they stand, so that a reader can add them up again; the oxygen alone is rounded.
    less = f" less {instead:.2f} of oxygen that the halogens stand for" if instead else ""
    side = "short of" if total < HUNDRED else "over"
    shown = format(total if not instead else round(total, 2), "f")
    away = format(abs(total - HUNDRED) if not instead else round(abs(total - HUNDRED), 2), "f")
    return (
        f"the oxides add up to {oxides:f}{less} and the loss is {loss:f}: together {shown} %, which is {away} {side} "
        f"100, and only {allowed:f} is allowed; compare the figures with their source, for nothing is rescaled"
    )
