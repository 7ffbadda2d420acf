"""The unity formula: the melt in mol, with the fluxes taken as one. Also known as the Seger formula.

The convention, which the table below states oxide by oxide. It is common practice, and the group of an oxide
follows from its form:

- R2O and RO: the fluxes. Their sum is taken as 1. An RO that is there for its colour (MnO, FeO, CoO, NiO, CuO,
  CdO, and Ag2O and Cu2O) is written in this group but does not count towards the 1, unless asked for
  (``WITH_COLOURANTS``): a percent of cobalt carbonate should not move the figures of the glaze it colours.
- R2O3: alumina, and boric oxide with it, as C. F. Binns writes them ("The Potter's Craft", D. Van Nostrand, 1910).
  Iron, chrome and antimony stand here too, whatever they do in the melt.
- RO2: silica, and titania, zirconia and tin oxide with it, and what holds more oxygen (P2O5, V2O5, MoO3).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal, localcontext
from functools import lru_cache
from types import MappingProxyType
from typing import Final, Literal, NamedTuple

from glost.chemistry.melt import Melt
from glost.errors import ValueRefusedError
from glost.recipe.materials.elements import exact_enough
from glost.recipe.materials.formula import atoms

Group = Literal["RO", "R2O3", "RO2"]
GROUPS: Final[tuple[Group, ...]] = ("RO", "R2O3", "RO2")

ALKALIS: Final = ("Li2O", "Na2O", "K2O", "Rb2O", "Cs2O")
FLUXES: Final = (*ALKALIS, "MgO", "CaO", "SrO", "BaO", "ZnO", "PbO")
"""Oxides whose sum is taken as 1. Rb2O and Cs2O, which feldspars hold in traces, go with the other alkalis."""
COLOURANTS: Final = ("MnO", "FeO", "CoO", "NiO", "CuO", "Cu2O", "CdO", "Ag2O")
"""Oxides of the same form that count towards the 1 only when asked for."""

_ORDER: Final = (
    *(*FLUXES, "BeO", *COLOURANTS),
    *("Al2O3", "B2O3", "Fe2O3", "Cr2O3", "Sb2O3", "As2O3", "Bi2O3"),
    *("SiO2", "TiO2", "ZrO2", "SnO2", "P2O5"),
)
_PLACE: Final[Mapping[str, int]] = MappingProxyType({oxide: at for at, oxide in enumerate(_ORDER)})


@dataclass(frozen=True, slots=True)
class Convention:
    """Which oxides count towards the 1."""

    fluxes: frozenset[str]


PLAIN: Final = Convention(frozenset(FLUXES))
WITH_COLOURANTS: Final = Convention(frozenset((*FLUXES, *COLOURANTS)))


class Term(NamedTuple):
    """One oxide of the formula: its group, its equivalents, and whether it counts towards the 1."""

    oxide: str
    group: Group
    equivalents: Decimal
    counted: bool


@dataclass(frozen=True, slots=True)
class Unity:
    """A unity formula. ``on``: what is taken as 1, "flux" or "alumina". ``terms`` stand in the order of print."""

    on: Literal["flux", "alumina"]
    terms: tuple[Term, ...]

    def of(self, oxide: str) -> Decimal:
        """The equivalents of an oxide; 0 where it is not in the formula."""
        return next((term.equivalents for term in self.terms if term.oxide == oxide), Decimal(0))

    def group(self, group: Group) -> tuple[Term, ...]:
        """The terms of one group, in the order of print."""
        return tuple(term for term in self.terms if term.group == group)

    @property
    def silica_to_alumina(self) -> Decimal | None:
        """SiO2 : Al2O3 by mol, or None without alumina."""
        alumina = self.of("Al2O3")
        with localcontext(exact_enough()):
            return self.of("SiO2") / alumina if alumina else None

    @property
    def boron(self) -> Decimal:
        """The equivalents of B2O3."""
        return self.of("B2O3")

    @property
    def alkali(self) -> Decimal:
        """The alkalis together, in equivalents: R2O of the ratio R2O : RO, where the fluxes are taken as 1."""
        with localcontext(exact_enough()):
            return sum((term.equivalents for term in self.terms if term.oxide in ALKALIS), Decimal(0))

    def as_mapping(self) -> dict[str, Decimal]:
        """Oxide to equivalents, in the order of print."""
        return {term.oxide: term.equivalents for term in self.terms}


@lru_cache(maxsize=256)
def group_of(oxide: str) -> Group:
    """The group an oxide is written in, from its form. Raises FormulaError, and ValueError for what is no oxide
    of one element."""
    form = atoms(oxide)
    if len(form) != 2 or "O" not in form:
        raise ValueRefusedError(f"{oxide} is not the oxide of one element")
    (metal,) = (count for element, count in form.items() if element != "O")
    each = form["O"] / metal
    if each <= 1:
        return "RO"
    return "R2O3" if each < 2 else "RO2"


@lru_cache(maxsize=256)
def place(oxide: str) -> tuple[int, int, str]:
    """Sorts oxides into the order of print: groups first, then the usual order, then by name."""
    return GROUPS.index(group_of(oxide)), _PLACE.get(oxide, len(_PLACE)), oxide


def unity(melt: Melt, convention: Convention = PLAIN, on: Literal["flux", "alumina"] = "flux") -> Unity:
    """The unity formula of a melt: on the fluxes, or on alumina, as bodies and refractories are written.

    It describes the known materials only: see Melt.unknown. Raises ValueError where there is nothing to take as 1.
    """
    counts = frozenset({"Al2O3"}) if on == "alumina" else convention.fluxes
    with localcontext(exact_enough()):
        one = sum((amount for oxide, amount in melt.moles.items() if oxide in counts), Decimal(0))
        if not one:
            raise ValueRefusedError(
                "there is no alumina in it to take as 1"
                if on == "alumina"
                else "none of its oxides counts as a flux, so there is nothing to take as 1; a body can be taken on "
                "alumina"
            )
        return Unity(
            on,
            tuple(
                Term(oxide, group_of(oxide), melt.moles[oxide] / one, oxide in counts)
                for oxide in sorted(melt.moles, key=place)
            ),
        )
