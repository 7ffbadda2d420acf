"""What each element is counted as when it has been fired, and what leaves: the one table of both.

A glaze is calculated in oxides, whatever the raw material was. Elements with several oxides are converted with the
one stated here; oxygen that is given off or taken up by that stands in the loss on ignition under its own name.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal, localcontext
from types import MappingProxyType
from typing import Final

from glost.errors import ValueRefusedError
from glost.recipe.materials.elements import ATOMIC_WEIGHTS, exact_enough
from glost.recipe.materials.formula import atoms

# Which oxide stands for the element is common practice for an oxidising fire, save where a remark says more.
COUNTED_AS: Final[Mapping[str, str]] = MappingProxyType(
    {
        # fluxes
        "Li": "Li2O",
        "Na": "Na2O",
        "K": "K2O",
        "Rb": "Rb2O",
        "Cs": "Cs2O",
        "Be": "BeO",
        "Mg": "MgO",
        "Ca": "CaO",
        "Sr": "SrO",
        "Ba": "BaO",
        "Zn": "ZnO",
        "Pb": "PbO",  # red lead loses oxygen
        # colouring oxides of the form RO
        "Mn": "MnO",  # manganese dioxide gives oxygen off well below the heat of any glaze fire
        "Co": "CoO",  # Co3O4 loses 6.64 % of its mass as oxygen
        "Ni": "NiO",
        "Cu": "CuO",  # red copper oxide takes oxygen up
        "Cd": "CdO",
        "Ag": "Ag2O",  # in the fire it is metal or silver in the glass; counted so to be counted at all
        # R2O3
        "Al": "Al2O3",
        "B": "B2O3",
        "Fe": "Fe2O3",  # FeO and Fe3O4 take oxygen up; for a reducing fire see IRON_AS
        "Cr": "Cr2O3",  # chromates and dichromates lose oxygen
        "Sb": "Sb2O3",
        "As": "As2O3",
        "Bi": "Bi2O3",
        "Ga": "Ga2O3",
        "In": "In2O3",
        "Sc": "Sc2O3",
        "Y": "Y2O3",
        "La": "La2O3",
        "Pr": "Pr2O3",  # Pr6O11, as sold, loses oxygen
        "Nd": "Nd2O3",
        "Sm": "Sm2O3",
        "Eu": "Eu2O3",
        "Gd": "Gd2O3",
        "Tb": "Tb2O3",
        "Dy": "Dy2O3",
        "Ho": "Ho2O3",
        "Er": "Er2O3",
        "Tm": "Tm2O3",
        "Yb": "Yb2O3",
        "Lu": "Lu2O3",
        # RO2 and the acids beyond it
        "Si": "SiO2",  # silicon carbide takes oxygen up, and loses CO2
        "Ti": "TiO2",
        "Zr": "ZrO2",
        "Hf": "HfO2",
        "Sn": "SnO2",
        "Ge": "GeO2",
        "Ce": "CeO2",
        "Te": "TeO2",
        "Th": "ThO2",
        "P": "P2O5",
        "V": "V2O5",
        "Nb": "Nb2O5",
        "Ta": "Ta2O5",
        "Mo": "MoO3",
        "W": "WO3",
        "U": "UO3",  # its oxides between UO2 and UO3 take oxygen up
    }
)


@dataclass(frozen=True, slots=True)
class Volatile:
    """An element that is counted as lost. ``form``: what it is written as in the loss. ``remark``: what that
    leaves out, for those of which part can stay behind; "" for those that leave wholly. ``alone``: the same where
    nothing else of the material could stay either."""

    form: str
    remark: str = ""
    alone: str = ""


_SELENIUM: Final = "selenium is counted as lost, all of it; as a pigment part of it stays"

VOLATILE: Final[Mapping[str, Volatile]] = MappingProxyType(
    {
        "H": Volatile("H2O"),
        "C": Volatile("CO2"),
        "N": Volatile("N2O5"),  # leaves as nitrogen, its oxides and oxygen; the mass is the same
        "S": Volatile(
            "SO3",
            "sulfur is counted as lost, all of it, as SO3; sulfates of calcium, barium and strontium may keep part "
            "of it at low heats, and glasses keep a few tenths of a percent",
        ),
        "F": Volatile(
            "F",
            "fluorine is counted as lost, all of it, and its metal as oxide; in a glaze part of it stays",
        ),
        "Cl": Volatile(
            "Cl",
            "chlorine is counted as lost, all of it, and its metal as oxide; chlorides may carry metal off with them",
        ),
        "Br": Volatile("Br"),
        "I": Volatile("I"),
        "Se": Volatile("Se", _SELENIUM, _SELENIUM),
    }
)

HALOGENS: Final = ("F", "Cl", "Br", "I")
"""An analysis lists these beside oxides that hold too much oxygen for them: each two atoms stand for one O."""

OXYGEN: Final = "O"
"""How oxygen given off (above 0) or taken up (below 0) is called in a loss."""


@dataclass(frozen=True, slots=True, eq=False)
class OxideTable:
    """How raw materials are calculated: atomic weights, and the oxide of each element.

    ``stated`` holds molar masses, by the formula as written, that take the place of the sum of atoms: an old
    book's own "equivalent weights" for raw materials or oxides. Compared by identity, so that it can be a key.
    """

    weights: Mapping[str, Decimal] = field(default_factory=lambda: ATOMIC_WEIGHTS)
    counted_as: Mapping[str, str] = field(default_factory=lambda: COUNTED_AS)
    stated: Mapping[str, Decimal] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for element, oxide in self.counted_as.items():
            if set(atoms(oxide)) != {element, "O"}:
                raise ValueRefusedError(
                    f"{element} cannot be counted as {oxide}", "write one of its own oxides"
                )

    def mass(self, formula: str) -> Decimal:
        """The molar mass of a formula, g/mol: the stated one, else the sum of its atoms, exact. Raises
        FormulaError, and ValueError for an element that has no atomic weight in this table."""
        if formula in self.stated:
            return self.stated[formula]
        with localcontext(exact_enough()):
            total = Decimal(0)
            for element, count in atoms(formula).items():
                weight = self.weights.get(element)
                if weight is None:
                    raise ValueRefusedError(f"no atomic weight is held for {element}, which {formula} needs")
                total += count * weight
            return total

    def with_oxides(self, **counted_as: str) -> OxideTable:
        """This table with some elements counted as other oxides: ``with_oxides(Fe="FeO")``."""
        return replace(self, counted_as=MappingProxyType({**self.counted_as, **counted_as}))


STANDARD: Final = OxideTable()
"""Standard atomic weights, and the oxides of ``COUNTED_AS``."""
IRON_AS: Final[Mapping[str, OxideTable]] = MappingProxyType(
    {
        "Fe2O3": STANDARD,
        "Fe3O4": STANDARD.with_oxides(Fe="Fe3O4"),
        "FeO": STANDARD.with_oxides(Fe="FeO"),
    }
)
"""Tables by the oxide of iron: as it stays in an oxidising fire, half reduced, and as in a reducing one."""


@dataclass(frozen=True, slots=True)
class Calculated:
    """One unit of a formula calculated as fired, in formula units: ``oxides`` that stay, ``lost`` forms that leave,
    and ``oxygen`` atoms given off (above 0) or taken up (below 0). ``remarks``: what the calculation leaves out."""

    oxides: Mapping[str, Decimal]
    lost: Mapping[str, Decimal]
    oxygen: Decimal
    remarks: tuple[str, ...]


def calculate(formula: str, table: OxideTable = STANDARD) -> Calculated:
    """What one unit of a formula is counted as when fired. Raises FormulaError, and ValueError for an element
    that has no oxide in the table and does not leave."""
    oxides: dict[str, Decimal] = {}
    lost: dict[str, Decimal] = {}
    remarks = []
    with localcontext(exact_enough()):
        oxygen = Decimal(0)
        for element, count in atoms(formula).items():
            if element == "O":
                oxygen += count
                continue
            volatile = VOLATILE.get(element)
            form = volatile.form if volatile else table.counted_as.get(element)
            if form is None:
                raise ValueRefusedError(f"{element} in {formula} has no oxide that it is counted as")
            if volatile and volatile.remark:
                remarks.append(volatile.remark)
            inside = atoms(form)
            units = count / inside[element]
            (lost if volatile else oxides)[form] = units
            oxygen -= units * inside.get("O", Decimal(0))
    return Calculated(MappingProxyType(oxides), MappingProxyType(lost), oxygen, tuple(remarks))
