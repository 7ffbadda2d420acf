"""Between which compositions a material lies: a natural powder differs from load to load, a mineral from its ideal.

A bracket is a list of whole analyses, each with a source. The material is taken to be one of them, its typical
composition, or any mixture of these: nothing else. No analysis is made up out of the lowest figure of each oxide, for
in a feldspar potash is low where soda is high.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal, localcontext
from types import MappingProxyType
from typing import Any, Final

from glost.chemistry.analysis import HUNDRED, Analysis, analyse
from glost.recipe.materials.elements import exact_enough
from glost.recipe.materials.oxides import STANDARD, OxideTable

LESS_OR_MORE: Final = (Decimal("0.5"), Decimal("1.5"))
"""How far each oxide of a made-up frit is taken to lie off, at most, the others making room for it by no more than that
themselves. This project's own assumption: frits that are sold for the same use differ about as much (from memory)."""


def invented(record: Mapping[str, Any] | None) -> bool:
    """Whether a composition is made up, so that no real material is known to have it."""
    return bool(record and record.get("invented"))


def corners(record: Mapping[str, Any] | None, table: OxideTable = STANDARD) -> tuple[Analysis, ...]:
    """The analyses of a composition's bracket, without the typical one; () where none is held. Raises what
    ``analyse`` does."""
    if record is None:
        return ()
    if invented(record):
        return tuple(_around(analyse(record, table)))
    return tuple(analyse(member, table) for member in record.get("bracket", ()))


def _around(typical: Analysis) -> Iterator[Analysis]:
    """A composition with less, and with more, of each of its oxides in turn, at the same loss."""
    with localcontext(exact_enough()):
        fired = sum(typical.oxides.values(), Decimal(0))
        for oxide, held in typical.oxides.items():
            for factor in LESS_OR_MORE:
                others = fired - held
                if not others:
                    continue
                less, more = (fired - others * each for each in reversed(LESS_OR_MORE))
                wanted = min(max(held * factor, less), more)
                rest = (fired - wanted) / others
                oxides = {
                    name: wanted if name == oxide else mass * rest for name, mass in typical.oxides.items()
                }
                yield Analysis(
                    typical.kind,
                    typical.source,
                    typical.table,
                    oxides=MappingProxyType(oxides),
                    losses=typical.losses,
                    unaccounted=HUNDRED - fired - typical.loss,
                    moles=MappingProxyType(
                        {name: mass / typical.table.mass(name) for name, mass in oxides.items()}
                    ),
                )
