"""The words that say which element and which kind of material a name means."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from glost.recipe.materials.spelling import word_set

_ELEMENTS: Final = {
    "Fe": "iron ferric ferrous ferroso",
    "Cu": "copper cupric cuprous",
    "Co": "cobalt cobaltous cobaltic cobaltosic",
    "Ni": "nickel nickelous nickelic dinickel",
    "Mn": "manganese manganous manganic permanganate",
    "Cr": "chromium chromic chromate dichromate bichromate",
    "V": "vanadium vanadic vanadate metavanadate",
    "Ti": "titanium titania titanic titanate",
    "Sn": "tin stannic stannous stannate",
    "Zr": "zirconium zirconia zircon",
    "Zn": "zinc",
    "Ba": "barium baria baryta",
    "Sr": "strontium strontia",
    "Li": "lithium lithia",
    "Na": "sodium soda disodium trisodium tetrasodium pentasodium",
    "K": "potassium potash tetrapotassium",
    "Ca": "calcium lime tricalcium dicalcium calcic",
    "Mg": "magnesium magnesia",
    "Al": "aluminium alumina aluminate",
    "Si": "silicon silica silicate bisilicate disilicate borosilicate",
    "B": "boron boric boracic borate borax boracite tetraborate borosilicate diboron borocalcite",
    "Pb": "lead plumbous plumbic",
    "As": "arsenic arsenious arsenate",
    "Sb": "antimony antimonous antimonate antimoniate",
    "Bi": "bismuth subnitrate",
    "Cd": "cadmium",
    "Se": "selenium selenide sulfoselenide",
    "U": "uranium uranate triuranium",
    "Mo": "molybdenum molybdic molybdate",
    "W": "tungsten tungstic tungstate",
    "Ce": "cerium ceria ceric",
    "Pr": "praseodymium",
    "Nd": "neodymium",
    "Er": "erbium",
    "La": "lanthanum lanthana",
    "Ho": "holmium",
    "Y": "yttrium yttria",
    "Sm": "samarium",
    "Ag": "silver argentic",
    "Au": "gold",
    "P": "phosphate phosphorus phosphoric triphosphate pyrophosphate hexametaphosphate tripolyphosphate polyphosphate",
    "F": "fluoride fluorine silicofluoride fluor",
    "S": "sulfate sulfide sulfur",
    "Cl": "chloride",
    "N": "nitrate nitre",
}
ELEMENTS: Final = {word: symbol for symbol, said in _ELEMENTS.items() for word in said.split()}
"""Words that say an element, and its symbol."""

ANIONS: Final = frozenset(("P", "F", "S", "Cl", "N", "C", "H", "O"))
BASES: Final = frozenset(("Na", "K", "Ca", "Mg", "Al", "Si")) | ANIONS
"""Elements that half of all materials hold. What harms in a material is what it holds besides."""

_KINDS: Final = {
    "oxide": "oxide monoxide dioxide trioxide pentoxide sesquioxide tetroxide octoxide",
    "carbonate": "carbonate",
    "bicarbonate": "bicarbonate",
    "sulfate": "sulfate vitriol",
    "sulfide": "sulfide",
    "silicate": "silicate bisilicate disilicate sesquisilicate monosilicate orthosilicate",
    "phosphate": "phosphate triphosphate pyrophosphate hexametaphosphate tripolyphosphate polyphosphate",
    "chloride": "chloride",
    "nitrate": "nitrate nitre",
    "borate": "borate tetraborate",
    "fluoride": "fluoride",
    "hydroxide": "hydroxide hydrate hydrated trihydrate",
    "chromate": "chromate dichromate bichromate",
    "carbide": "carbide",
    "acid": "acid",
    "frit": "frit",
    "stain": "stain pigment",
    "feldspar": "feldspar spar",
    "clay": "clay",
    "ash": "ash",
    "glass": "glass cullet",
    "gum": "gum",
    "ochre": "ochre",
    "bentonite": "bentonite",
    "plaster": "plaster",
    "stone": "stone",
}
KINDS: Final = {word: kind for kind, said in _KINDS.items() for word in said.split()}
"""Words that say a kind of material."""
FAMILIES: Final = frozenset(("frit", "stain", "feldspar", "clay", "ash", "glass", "gum", "bentonite"))
"""Kinds that are told although another word of the name is not known: it is a shop's word or a place's."""

METAL: Final = word_set(
    "metal metallic powder powdered dust filings filing turning wire foil wool shaving granule granular"
)
"""Behind the bare name of an element they say the metal itself, which none of its compounds is."""
COLOURS: Final = word_set(
    "red black yellow green blue white brown grey pink orange purple violet turquoise coral lilac cream"
)


def elements(said: Sequence[str]) -> frozenset[str]:
    """The elements that words name. One that a name says it is free of, as in 'lead free', is not among them."""
    found = set()
    for at, word in enumerate(said):
        symbol = ELEMENTS.get(word)
        if symbol and not (at + 1 < len(said) and said[at + 1] == "free"):
            found.add(symbol)
    return frozenset(found)


def kinds(said: Iterable[str]) -> frozenset[str]:
    """The kinds of material that words name."""
    return frozenset(KINDS[word] for word in said if word in KINDS)
