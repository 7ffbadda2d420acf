"""The working of a unity formula, step by step, as a textbook prints it: rows to follow with a pocket calculator.

Every figure is worked out from the figures printed before it, not from hidden ones, and rounded there and then: a 5
goes up. Equivalents have ``Working.places`` decimals: six, or more for a batch below 100 parts. The formula has four,
grams four, the percentages of a loss four, other percentages two. Each row says its own sum in ``how``. Because of the
rounding on the way, the last printed figure can differ by 1 from that of ``glost.chemistry.unity``, which rounds
nothing, and by more where the fluxes are a small part of the batch.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal, localcontext
from fractions import Fraction
from typing import Final, Literal

from glost.chemistry.analysis import AS_STATED, Analysis
from glost.chemistry.melt import Melt
from glost.chemistry.unity import PLAIN, Convention, Group, group_of, place
from glost.recipe.materials.elements import exact_enough
from glost.recipe.materials.formula import atoms
from glost.recipe.materials.oxides import OXYGEN, OxideTable, calculate

FORMULA_DECIMALS: Final = 4
GRAM_DECIMALS: Final = 4
PERCENT_DECIMALS: Final = 2
LOSS_DECIMALS: Final = 4
_HARDLY: Final = Fraction(1, 10**20)


@dataclass(frozen=True, slots=True)
class MolarMass:
    """A formula and its molar mass, g/mol, exact. ``atoms``: element, count, atomic weight; empty where the table
    states the molar mass as it is."""

    formula: str
    atoms: tuple[tuple[str, Decimal, Decimal], ...]
    mass: Decimal

    @property
    def how(self) -> str:
        if not self.atoms:
            return f"{_plain(self.mass)} as stated"
        return f"{' + '.join(_times(count, weight) for _, count, weight in self.atoms)} = {_plain(self.mass)}"


@dataclass(frozen=True, slots=True)
class MaterialStep:
    """A line of the batch: ``parts`` (rounded to ``places`` decimals where they have more), where the composition
    comes from, and for a formula the ``equivalents`` of it: parts divided by ``molar_mass``."""

    reference: int
    material: str
    parts: Decimal
    kind: str
    source: str
    formula: str = ""
    molar_mass: Decimal | None = None
    equivalents: Decimal | None = None

    @property
    def how(self) -> str:
        if self.molar_mass is None or self.equivalents is None:
            return ""
        return f"{_plain(self.parts)} / {_plain(self.molar_mass)} = {_plain(self.equivalents)}"


@dataclass(frozen=True, slots=True)
class OxideStep:
    """What a line brings of one oxide. From a formula: the ``equivalents_of_formula`` times ``units``. From an
    analysis: ``grams`` (parts times ``percent`` of ``constituent``) divided by the constituent's ``molar_mass``, times
    ``units`` where the constituent is another oxide than the one it is counted as."""

    reference: int
    material: str
    oxide: str
    units: Decimal
    equivalents: Decimal
    equivalents_of_formula: Decimal | None = None
    constituent: str = ""
    parts: Decimal | None = None
    percent: Decimal | None = None
    grams: Decimal | None = None
    molar_mass: Decimal | None = None

    @property
    def how(self) -> str:
        """One sum, or two with a semicolon between them."""
        end = f" = {_plain(self.equivalents)}"
        if self.grams is None or self.parts is None or self.percent is None or self.molar_mass is None:
            assert self.equivalents_of_formula is not None
            return f"{_count(self.units)} × {_plain(self.equivalents_of_formula)}{end}"
        first = f"{_plain(self.parts)} × {_plain(self.percent)} / 100 = {_plain(self.grams)}"
        times = "" if self.units == 1 else f" × {_count(self.units)}"
        return f"{first}; {_plain(self.grams)} / {_plain(self.molar_mass)}{times}{end}"


@dataclass(frozen=True, slots=True)
class SumStep:
    """The equivalents of one oxide over all lines, exact sum of the printed ones; then divided by what is taken as 1
    into the ``result``, the figure of the unity formula (None where there is nothing to divide by)."""

    oxide: str
    group: Group
    counted: bool
    terms: tuple[Decimal, ...]
    equivalents: Decimal
    one: Decimal | None
    result: Decimal | None

    @property
    def how(self) -> str:
        return _sum(self.terms, self.equivalents)

    @property
    def how_divided(self) -> str:
        if self.one is None or self.result is None:
            return ""
        return f"{_plain(self.equivalents)} / {_plain(self.one)} = {_plain(self.result)}"


@dataclass(frozen=True, slots=True)
class WeightStep:
    """One oxide by mass: equivalents times molar mass, then percent of all ``grams`` together."""

    oxide: str
    equivalents: Decimal
    molar_mass: Decimal
    grams: Decimal
    all_grams: Decimal
    percent: Decimal

    @property
    def how(self) -> str:
        return f"{_plain(self.equivalents)} × {_plain(self.molar_mass)} = {_plain(self.grams)}"

    @property
    def how_percent(self) -> str:
        return f"{_plain(self.grams)} / {_plain(self.all_grams)} × 100 = {_plain(self.percent)}"


@dataclass(frozen=True, slots=True)
class LossStep:
    """What a line loses. For a formula, ``lost_mass`` of ``molar_mass`` g/mol goes: ``forms`` names form, units and
    molar mass. ``percent`` is rounded to four decimals, below 0 for a material that gains."""

    reference: int
    material: str
    parts: Decimal
    percent: Decimal
    loss: Decimal
    forms: tuple[tuple[str, Decimal, Decimal], ...] = ()
    lost_mass: Decimal | None = None
    molar_mass: Decimal | None = None

    @property
    def how_percent(self) -> str:
        """Two sums with a semicolon between them, or one where a single form leaves once; "" for an analysis, which
        states its loss."""
        if self.lost_mass is None or self.molar_mass is None:
            return ""
        added = " + ".join(_times(units, mass) for _, units, mass in self.forms)
        lost = _plain(self.lost_mass)
        first = "" if added == lost else f"{added} = {lost}; "
        return f"{first}{lost} / {_plain(self.molar_mass)} × 100 = {_plain(self.percent)}"

    @property
    def how(self) -> str:
        return f"{_plain(self.parts)} × {_plain(self.percent)} / 100 = {_plain(self.loss)}"


@dataclass(frozen=True, slots=True)
class Working:
    """All rows, in the order in which they are worked out. ``one`` is the sum that is taken as 1, None where no
    oxide counts. ``loss`` is in parts, ``loss_percent`` of ``total_parts``. ``unknown`` names the lines that nothing is
    known of: the working leaves them out."""

    on: Literal["flux", "alumina"]
    places: int
    masses: tuple[MolarMass, ...]
    materials: tuple[MaterialStep, ...]
    oxides: tuple[OxideStep, ...]
    sums: tuple[SumStep, ...]
    one: Decimal | None
    weights: tuple[WeightStep, ...]
    losses: tuple[LossStep, ...]
    total_parts: Decimal
    loss: Decimal
    loss_percent: Decimal
    unknown: tuple[str, ...]
    remarks: tuple[str, ...]

    @property
    def how_one(self) -> str:
        if self.one is None:
            return ""
        return _sum((row.equivalents for row in self.sums if row.counted), self.one)

    @property
    def how_loss(self) -> str:
        """One or two sums, with a semicolon between them."""
        added = _sum((row.loss for row in self.losses), self.loss)
        first = f"{added}; " if len(self.losses) > 1 else ""
        return f"{first}{_plain(self.loss)} / {_plain(self.total_parts)} × 100 = {_plain(self.loss_percent)}"


def working(melt: Melt, convention: Convention = PLAIN, on: Literal["flux", "alumina"] = "flux") -> Working:
    """The working of a melt's unity formula, fired composition and loss on ignition."""
    with localcontext(exact_enough()):
        # Six decimals, more for a batch of less than 100 parts, so that none of the figures is lost.
        places = max(6, 8 - melt.total_parts.adjusted())
        materials = tuple(
            _material(line.reference, line.material, _at_most(line.parts, places), line.analysis, places)
            for line in melt.lines
        )
        rows = [
            row
            for step, line in zip(materials, melt.lines, strict=True)
            if line.analysis
            for row in _oxides(step, line.analysis, places)
        ]
        counts = frozenset({"Al2O3"}) if on == "alumina" else convention.fluxes
        added = {
            oxide: tuple(row.equivalents for row in rows if row.oxide == oxide)
            for oxide in sorted({row.oxide for row in rows}, key=place)
        }
        totals = {oxide: sum(terms, Decimal(0)) for oxide, terms in added.items()}
        one = sum((total for oxide, total in totals.items() if oxide in counts), Decimal(0)) or None
        sums = tuple(
            SumStep(
                oxide,
                group_of(oxide),
                oxide in counts,
                added[oxide],
                total,
                one,
                _rounded(total / one, FORMULA_DECIMALS) if one else None,
            )
            for oxide, total in totals.items()
        )
        losses = tuple(
            _loss(step, line.analysis)
            for step, line in zip(materials, melt.lines, strict=True)
            if line.analysis and line.analysis.losses
        )
        total_parts = sum((step.parts for step in materials), Decimal(0))
        loss = sum((row.loss for row in losses), Decimal(0))
        return Working(
            on,
            places,
            _masses(melt, totals, melt.table),
            materials,
            tuple(rows),
            sums,
            one,
            _weights(totals, melt.table),
            losses,
            total_parts,
            loss,
            _rounded(loss / total_parts * 100, PERCENT_DECIMALS),
            tuple(step.material for step in materials if step.kind == "unknown"),
            melt.remarks,
        )


def _material(
    reference: int, material: str, parts: Decimal, analysis: Analysis | None, places: int
) -> MaterialStep:
    if analysis is None:
        return MaterialStep(reference, material, parts, "unknown", "no composition is held")
    if analysis.molar_mass is None:
        return MaterialStep(reference, material, parts, analysis.kind, analysis.source)
    equivalents = _rounded(parts / analysis.molar_mass, places)
    return MaterialStep(
        reference,
        material,
        parts,
        analysis.kind,
        analysis.source,
        analysis.formula,
        analysis.molar_mass,
        equivalents,
    )


def _oxides(step: MaterialStep, analysis: Analysis, places: int) -> Iterable[OxideStep]:
    for oxide, units in analysis.units.items():
        assert step.equivalents is not None
        yield OxideStep(
            step.reference,
            step.material,
            oxide,
            units,
            _rounded(units * step.equivalents, places),
            equivalents_of_formula=step.equivalents,
        )
    for constituent, percent in analysis.listed.items():
        mass = analysis.table.mass(constituent)
        grams = _rounded(step.parts * percent / 100, places)
        for oxide, units in calculate(constituent, analysis.table).oxides.items():
            yield OxideStep(
                step.reference,
                step.material,
                oxide,
                units,
                _rounded(grams / mass * units, places),
                constituent=constituent,
                parts=step.parts,
                percent=percent,
                grams=grams,
                molar_mass=mass,
            )


def _weights(totals: Mapping[str, Decimal], table: OxideTable) -> tuple[WeightStep, ...]:
    grams = {oxide: _rounded(total * table.mass(oxide), GRAM_DECIMALS) for oxide, total in totals.items()}
    all_grams = sum(grams.values(), Decimal(0))
    return tuple(
        WeightStep(
            oxide,
            totals[oxide],
            table.mass(oxide),
            mass,
            all_grams,
            _rounded(mass / all_grams * 100, PERCENT_DECIMALS),
        )
        for oxide, mass in grams.items()
        if all_grams
    )


def _loss(step: MaterialStep, analysis: Analysis) -> LossStep:
    if analysis.molar_mass is None:
        percent = _at_most(analysis.loss, LOSS_DECIMALS)
        forms: tuple[tuple[str, Decimal, Decimal], ...] = ()
        lost = None
    else:
        forms = tuple((form, units, analysis.table.mass(form)) for form, units in analysis.units_lost.items())
        lost = _at_most(sum((units * mass for _, units, mass in forms), Decimal(0)), GRAM_DECIMALS)
        percent = _rounded(lost / analysis.molar_mass * 100, LOSS_DECIMALS)
    return LossStep(
        step.reference,
        step.material,
        step.parts,
        percent,
        _rounded(step.parts * percent / 100, GRAM_DECIMALS),
        forms,
        lost,
        analysis.molar_mass,
    )


def _masses(melt: Melt, oxides: Iterable[str], table: OxideTable) -> tuple[MolarMass, ...]:
    """Every molar mass that the working divides or multiplies by, each once, in the order of use."""
    used: dict[str, None] = {}
    for line in melt.lines:
        if line.analysis is None:
            continue
        if line.analysis.formula:
            used[line.analysis.formula] = None
        used.update(dict.fromkeys((*line.analysis.listed, *line.analysis.units_lost)))
    used.update(dict.fromkeys(oxides))
    used.pop(AS_STATED, None)
    return tuple(
        MolarMass(
            formula,
            ()
            if formula in table.stated
            else tuple((element, count, table.weights[element]) for element, count in atoms(formula).items()),
            table.mass(formula),
        )
        for formula in used
        if formula != OXYGEN
    )


def _rounded(value: Decimal, decimals: int) -> Decimal:
    return value.quantize(Decimal(1).scaleb(-decimals), rounding=ROUND_HALF_UP)


def _at_most(value: Decimal, decimals: int) -> Decimal:
    exponent = value.as_tuple().exponent
    return _rounded(value, decimals) if isinstance(exponent, int) and exponent < -decimals else value


def _plain(value: Decimal) -> str:
    return format(value, "f")


def _count(count: Decimal) -> str:
    """A count of formula units: thirds, as of magnetite, have no end as a decimal."""
    near = Fraction(count).limit_denominator(24)
    return _plain(count) if near == count or abs(near - Fraction(count)) > _HARDLY else str(near)


def _times(count: Decimal, value: Decimal) -> str:
    return _plain(value) if count == 1 else f"{_count(count)} × {_plain(value)}"


def _sum(terms: Iterable[Decimal], total: Decimal) -> str:
    shown = [_plain(term) for term in terms]
    return f"{' + '.join(shown)} = {_plain(total)}" if len(shown) > 1 else _plain(total)
