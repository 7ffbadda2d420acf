"""A batch of raw materials, and what is left of it as a melt."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal, localcontext
from types import MappingProxyType
from typing import NamedTuple

from glost.chemistry.analysis import HUNDRED, Analysis
from glost.errors import ValueRefusedError
from glost.recipe.materials.elements import exact_enough
from glost.recipe.materials.oxides import STANDARD, OxideTable


class Line(NamedTuple):
    """One line of a batch: ``parts`` by mass, in any unit that all lines share. ``analysis`` None is a material
    without one. ``reference`` is the caller's own mark of where the line stands, such as its line number. ``corners``:
    what else the material may be, see ``bracket``; the melt itself is that of ``analysis``."""

    material: str
    parts: Decimal
    analysis: Analysis | None
    reference: int = 0
    corners: tuple[Analysis, ...] = ()


@dataclass(frozen=True, slots=True)
class Melt:
    """What a batch brings. All figures are per 100 g of the dry batch as weighed, additions included.

    ``oxides``: grams of each oxide that stays. ``moles``: mol of each. ``losses``: grams lost, by form; "O" is
    oxygen given off or, below 0, taken up. ``unknown``: grams of materials without a composition; where it is
    above 0 every other figure describes the known rest only. ``unaccounted``: grams by which analyses fall short
    of 100 (below 0: are over it). Grams of oxides, losses, unknown and unaccounted add up to 100.
    ``remarks``: what the calculation leaves out. ``table``: what all materials were calculated with."""

    lines: tuple[Line, ...]
    table: OxideTable
    total_parts: Decimal
    oxides: Mapping[str, Decimal]
    moles: Mapping[str, Decimal]
    losses: Mapping[str, Decimal]
    unknown: Decimal
    unaccounted: Decimal
    remarks: tuple[str, ...]

    @property
    def loss(self) -> Decimal:
        """The loss on ignition, % of the batch: what the known materials lose."""
        with localcontext(exact_enough()):
            return sum(self.losses.values(), Decimal(0))

    @property
    def fired(self) -> Decimal:
        """Grams of oxides that 100 g of batch leave."""
        with localcontext(exact_enough()):
            return sum(self.oxides.values(), Decimal(0))

    def weight_percent(self) -> Mapping[str, Decimal]:
        """The fired composition by mass, adding up to 100; empty where nothing known stays."""
        return _percent(self.oxides)

    def mol_percent(self) -> Mapping[str, Decimal]:
        """The fired composition by mol, adding up to 100; empty where nothing known stays."""
        return _percent(self.moles)

    def origin(self) -> Mapping[str, tuple[Decimal, ...]]:
        """Grams of each oxide that each line brings to 100 g of batch, one figure a line in the lines' order."""
        with localcontext(exact_enough()):
            shares = [HUNDRED * line.parts / self.total_parts for line in self.lines]
            held = [line.analysis.oxides if line.analysis else {} for line in self.lines]
            return {
                oxide: tuple(
                    share * oxides.get(oxide, Decimal(0)) / 100
                    for share, oxides in zip(shares, held, strict=True)
                )
                for oxide in self.oxides
            }


def melt(lines: Iterable[Line], table: OxideTable = STANDARD) -> Melt:
    """The melt of a batch. All analyses must have been calculated with ``table``. Raises ValueError for amounts
    below 0 or without a sum, and for an analysis calculated with another table."""
    batch = tuple(lines)
    oxides: dict[str, Decimal] = {}
    moles: dict[str, Decimal] = {}
    losses: dict[str, Decimal] = {}
    remarks: dict[str, None] = {}
    unknown = unaccounted = Decimal(0)
    with localcontext(exact_enough()):
        total = Decimal(0)
        for line in batch:
            if not line.parts.is_finite() or line.parts < 0:
                raise ValueRefusedError(f"{line.parts} of {line.material} cannot be weighed out")
            total += line.parts
        if not total:
            raise ValueRefusedError("all amounts are 0: there is nothing to melt")
        for line in batch:
            if not line.parts:
                continue
            # Of each material 100 g are known; this is the share of that which 100 g of batch hold.
            share = line.parts / total
            analysis = line.analysis
            if analysis is None:
                unknown += share * 100
                continue
            if analysis.table is not table:
                raise ValueRefusedError(
                    f"{line.material} was calculated with another table of oxides than the batch"
                )
            for oxide, mass in analysis.oxides.items():
                oxides[oxide] = oxides.get(oxide, 0) + share * mass
            for oxide, amount in analysis.moles.items():
                moles[oxide] = moles.get(oxide, 0) + share * amount
            for form, mass in analysis.losses.items():
                losses[form] = losses.get(form, 0) + share * mass
            unknown += share * analysis.unknown
            unaccounted += share * analysis.unaccounted
            for remark in analysis.remarks:
                remarks[remark] = None
    return Melt(
        batch,
        table,
        total,
        MappingProxyType(oxides),
        MappingProxyType(moles),
        MappingProxyType(losses),
        unknown,
        unaccounted,
        tuple(remarks),
    )


def _percent(amounts: Mapping[str, Decimal]) -> Mapping[str, Decimal]:
    with localcontext(exact_enough()):
        total = sum(amounts.values(), Decimal(0))
        return {oxide: HUNDRED * amount / total for oxide, amount in amounts.items()}
