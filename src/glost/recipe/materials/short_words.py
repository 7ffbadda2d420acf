"""Words that may mean several materials, with what they may mean: the usual form in studios first (common practice).

Such a word is never taken for one of them. It is no name and no alias of any material; a collection that uses it for
one jar says so by an alias in its materials.yaml. Only materials that a catalogue holds are listed.
"""

from __future__ import annotations

from typing import Final

from glost.recipe.materials.spelling import word_set

_FELDSPARS = (
    "potash feldspar, soda feldspar, nepheline syenite, spodumene, petalite, mixed feldspar, lime feldspar"
)
_FRITS = (
    "calcium borate frit, soda borate frit, soda lime borate frit, potash borate frit, alkaline frit, "
    "lithium borate frit, strontium borate frit, zinc borate frit, zirconium opaque frit"
)
_LEAD_FRITS = "lead bisilicate frit, lead sesquisilicate frit, lead monosilicate frit, lead borosilicate frit"
_ASHES = "wood ash, washed wood ash, straw ash, rice husk ash, bone ash, volcanic ash, coal ash"
_CLAYS = "kaolin, ball clay, stoneware clay, red earthenware clay, fireclay, bentonite"
_STAINS = (
    "zirconium vanadium blue stain, zirconium praseodymium yellow stain, zirconium iron pink stain, "
    "chrome tin pink stain, victoria green stain, cobalt aluminate blue stain, cobalt iron chrome black stain"
)
_IRON_OXIDES = "red iron oxide, black iron oxide, yellow iron oxide, iron monoxide"
_BORATES = "borax, boric acid, colemanite, ulexite, calcium borate frit"

_MAY_BE: Final = {
    "feldspar": _FELDSPARS,
    "spar": _FELDSPARS,
    "alkali feldspar": "potash feldspar, soda feldspar, mixed feldspar",
    "alkaline feldspar": "potash feldspar, soda feldspar, mixed feldspar",
    "lithium feldspar": "spodumene, petalite",
    "lithium aluminium silicate": "spodumene, petalite",
    "sodium aluminium silicate": "soda feldspar, nepheline",
    "potassium aluminium silicate": "potash feldspar, mica",
    "aluminium silicate": "kaolin, pyrophyllite, kyanite, sillimanite, andalusite, calcined kaolin",
    "aluminium silicate hydrate": "kaolin, pyrophyllite",
    "hydrated aluminium silicate": "kaolin, pyrophyllite",
    "magnesium silicate": "talc, olivine",
    "frit": _FRITS,
    "borate frit": _FRITS,
    "boron frit": _FRITS,
    "borax frit": "soda borate frit, soda lime borate frit, calcium borate frit, clear enamel frit",
    "borosilicate frit": "soda lime borate frit, low-expansion borosilicate frit, soda borate frit",
    "leadless frit": _FRITS,
    "lead free frit": _FRITS,
    "lead frit": _LEAD_FRITS,
    "lead silicate": _LEAD_FRITS,
    "ash": _ASHES,
    "plant ash": "wood ash, straw ash, rice husk ash, seaweed ash",
    "clay": _CLAYS,
    "earthenware": "red earthenware clay",
    "stain": _STAINS,
    "pigment": _STAINS,
    "ceramic stain": _STAINS,
    "ceramic pigment": _STAINS,
    "glass": "soda-lime glass, alkaline frit, fused silica",
    "gum": "cmc gum, gum arabic, xanthan gum, gum tragacanth",
    "white bentonite": "bentonite, calcium bentonite",
    "fuller's earth": "calcium bentonite, attapulgite",
    "stone": "china stone, granite, pumice",
    "lime": "whiting, slaked lime, quicklime, dolomite",
    "soda": "soda ash, soda feldspar, sodium bicarbonate, soda crystals",
    "potash": "potash feldspar, pearl ash, saltpetre",
    "bone": "bone ash, tricalcium phosphate",
    "borate": _BORATES,
    "boron": _BORATES,
    "calcium borate": "calcium borate frit, colemanite",
    "sodium borate": "borax, borax pentahydrate, anhydrous borax, soda borate frit",
    "sodium tetraborate": "borax, borax pentahydrate, anhydrous borax",
    "disodium tetraborate": "borax, borax pentahydrate, anhydrous borax",
    "borocalcite": "colemanite, ulexite",
    "iron": "red iron oxide, black iron oxide, yellow iron oxide, iron sulfate, ferric chloride",
    "iron oxide": _IRON_OXIDES,
    "brown iron": "red iron oxide, black iron oxide, burnt umber",
    "brown iron oxide": "red iron oxide, black iron oxide, burnt umber",
    "red oxide": "red iron oxide",
    "black oxide": "black iron oxide, black copper oxide",
    "copper": "copper carbonate, black copper oxide, red copper oxide, copper sulfate",
    "copper oxide": "black copper oxide, red copper oxide",
    "cobalt": "cobalt carbonate, cobalt oxide, cobalt monoxide, cobalt sulfate, cobalt chloride",
    "chrome": "chromium oxide, chromite",
    "manganese": "manganese dioxide, manganese carbonate, granular manganese dioxide",
    "manganese oxide": "manganese dioxide, granular manganese dioxide",
    "nickel": "nickel oxide, black nickel oxide, nickel carbonate",
    "tin": "tin oxide",
    "titanium": "titanium dioxide, rutile, anatase, ilmenite",
    "zinc": "zinc oxide, calcined zinc oxide",
    "barium": "barium carbonate, barium sulfate, barium borate frit",
    "strontium": "strontium carbonate, strontium sulfate, strontium borate frit",
    "lithium": "lithium carbonate, spodumene, petalite, lepidolite, lithium borate frit",
    "lithia": "lithium carbonate, spodumene, petalite, lepidolite, lithium borate frit",
    "magnesium": "magnesium carbonate, talc, dolomite, magnesium oxide, magnesium sulfate",
    "calcium": "whiting, wollastonite, dolomite, bone ash",
    "calcium phosphate": "bone ash, tricalcium phosphate, dicalcium phosphate",
    "calcium sulfate": "gypsum, plaster",
    "sodium": "soda ash, soda feldspar, sodium bicarbonate, sodium silicate",
    "sodium phosphate": "sodium hexametaphosphate, sodium tripolyphosphate, tetrasodium pyrophosphate",
    "potassium": "potash feldspar, pearl ash, saltpetre",
    "aluminium": "alumina, alumina hydrate, kaolin",
    "silicon": "silica, silicon carbide",
    "silicate": "sodium silicate, zirconium silicate, wollastonite",
    "zirconium": "zirconium silicate, zirconium oxide",
    "vanadium": "tin vanadium yellow stain, zirconium vanadium blue stain, vanadium pentoxide",
    "antimony": "antimony trioxide",
    "cerium": "cerium oxide",
    "bismuth": "bismuth oxide",
    "molybdenum": "molybdenum trioxide",
    "tungsten": "tungsten trioxide",
    "praseodymium": "praseodymium oxide, zirconium praseodymium yellow stain",
    "neodymium": "neodymium oxide",
    "erbium": "erbium oxide",
    "lanthanum": "lanthanum oxide",
    "silver": "silver nitrate",
    "lead": f"{_LEAD_FRITS}, white lead, red lead, litharge",
    "lead oxide": "litharge, red lead",
    "lead carbonate": "white lead, neutral lead carbonate",
    "arsenic": "arsenic trioxide",
    "cadmium": "encapsulated cadmium stain, cadmium sulfide, cadmium sulfoselenide",
    "uranium": "uranium oxide, sodium uranate",
    "urania": "uranium oxide",
    "pva": "polyvinyl alcohol, white glue",
    "cellulose": "cmc gum, methyl cellulose, hydroxypropyl methylcellulose",
    "glue": "white glue, gum arabic, dextrin",
    "wax": "wax emulsion",
}
MAY_BE: Final = {word: tuple(names.split(", ")) for word, names in _MAY_BE.items()}
"""From a word to the materials it may mean."""

ELEMENTS_ALONE: Final = word_set(
    "iron copper cobalt chromium manganese nickel tin titanium zinc barium strontium lithium magnesium calcium sodium "
    "potassium aluminium silicon zirconium vanadium antimony cerium bismuth molybdenum tungsten praseodymium neodymium "
    "erbium lanthanum silver lead arsenic cadmium uranium"
)
"""Those of the words that are bare elements: with 'powder' or 'metal' behind it, each means the metal."""

_BY_FORMULA: Final = {
    "SiO2": "silica",
    "TiO2": "titanium dioxide",
    "ZnO": "zinc oxide",
    "MnO2": "manganese dioxide",
    "FeTiO3": "ilmenite",
    "Al2SiO5": "kyanite, sillimanite, andalusite",
    "MgCO3": "magnesium carbonate, magnesite",
    "CaO": "whiting, wollastonite, dolomite, quicklime",
    "MgO": "magnesium oxide",
    "Na2O": "soda feldspar, soda ash, soda borate frit",
    "K2O": "potash feldspar, pearl ash",
    "Li2O": "lithium carbonate, spodumene, petalite",
    "BaO": "barium carbonate",
    "SrO": "strontium carbonate",
    "P2O5": "bone ash, tricalcium phosphate",
}
BY_FORMULA: Final = {formula: tuple(names.split(", ")) for formula, names in _BY_FORMULA.items()}
"""Formulas that several materials have, and oxides that stand in an analysis rather than in a jar. One name: that is
meant where its composition is the formula's. Several, or one of another composition: the formula is refused."""
