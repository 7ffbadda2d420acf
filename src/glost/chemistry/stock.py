"""The materials at hand: those that were named, or what the catalogue offers to a potter."""

from __future__ import annotations

from collections.abc import Iterable, Sequence, Set
from typing import Final, NamedTuple

from glost.chemistry.analysis import Analysis
from glost.chemistry.bracket import invented
from glost.chemistry.firing import Calculator, Unknown
from glost.recipe.materials.catalogue import Catalogue, Material

ADDED: Final = ("colourant", "opacifier", "suspender", "binder", "deflocculant")
"""Roles that are added to a base, and not a part of it."""
_COARSE: Final = frozenset(("grog", "sand", "granular", "spangles"))
"""Words in the names of what is sold coarse, and so melts late; the finer material of the same kind comes first."""

_ALIKE: Final = ("clay", "feldspar", "silica", "frit", "ash")
"""Roles in which one material does what another does; fluxes and silicates are too many kinds of thing."""

_OWN, _LIKE, _USUAL, _TROUBLESOME, _ADDED = range(5)


class Stock(NamedTuple):
    """What there is to weigh: canonical names in the order of preference, and the catalogue that knows their analyses.
    ``named``: somebody listed them, so that all are taken as they come."""

    catalogue: Catalogue
    names: tuple[str, ...]
    named: bool


def usual_stock(catalogue: Catalogue, used: Set[str] | None = None) -> Stock:
    """What is at hand where nobody says: of the catalogue, in its order, what is ``used`` somewhere (None: all of it),
    without what dissolves in the glaze water, what is restricted, what only changes the slurry, what is there to
    calculate with, and what has a made-up composition."""
    return Stock(
        catalogue,
        tuple(
            material.name
            for material in catalogue
            if (used is None or material.name in used) and _usual(material)
        ),
        False,
    )


def _usual(material: Material) -> bool:
    return (
        material.soluble != "yes"
        and not material.restricted
        and material.role not in ("binder", "deflocculant", "suspender")
        and not material.reference
        and not invented(material.composition)
    )


def in_order(stock: Stock, kiln: Calculator, own: Sequence[str], without: Set[str]) -> list[tuple[str, int]]:
    """The materials to match with, each with its tier: the recipe's ``own`` first. Of a stock that nobody named, those
    of the role of what has run out come next, so that a clay gives way to a clay; what is caustic or coarse, dissolves
    a little, or of which part may leave in the fire or stay (sulfur, fluorine) comes later, and what is made to colour
    or to cloud a glaze last. Of a named one all else comes together."""
    gone = (stock.catalogue.find(name) for name in own if name in without)
    missed = {material.role for material in gone if material is not None and material.role in _ALIKE}
    if not stock.named:
        names: Iterable[str] = (*own, *stock.names)
    else:
        listed = set(stock.names)
        names = (*(name for name in own if name in listed), *stock.names)
    out: dict[str, int] = {}
    for name in names:
        material = stock.catalogue.find(name)
        if material is None or name in without:
            continue
        out.setdefault(name, _OWN if name in own else _tier(material, kiln, missed, stock.named))
    return list(out.items())


def _tier(material: Material, kiln: Calculator, missed: Set[str], named: bool) -> int:
    if named:
        return _USUAL
    if material.role in ADDED:
        return _ADDED
    analysis = kiln.analysis(material.name)
    uncertain = not isinstance(analysis, Unknown) and bool(analysis.remarks)
    if material.caustic or material.soluble != "no" or uncertain or _COARSE & set(material.name.split()):
        return _TROUBLESOME
    return _LIKE if material.role in missed else _USUAL


def known(kiln: Calculator, name: str) -> Analysis | None:
    """What a material brings, where that is known and anything of it stays in the fire."""
    found = kiln.analysis(name)
    return found if isinstance(found, Analysis) and found.moles else None
