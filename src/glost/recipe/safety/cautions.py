"""The usual cautions for dry glaze materials, in plain words.

None of these texts says that anything is free of danger, and none replaces what PRECEDENCE names.
"""

from collections.abc import Iterable
from typing import Final

from glost.recipe.fields import KILNS, atmospheres_in
from glost.recipe.safety.statements import classes_of

# Common practice.
PRECEDENCE: Final = (
    "Local codes, the supplier's safety data sheet and licensed practice come first; what stands here is"
    " only the usual caution."
)

# Respirable crystalline silica: 29 CFR 1910.1053 (second-hand, see limits.exposure_limits) limits it to 50 µg/m³ over
# eight hours and calls for wet methods in place of dry sweeping. P100 (at least 99.97 % efficient): 42 CFR 84.170. P3
# and FFP3 are the highest classes of EN 143 and EN 149 (from memory). No food or drink: P270 of Regulation (EC) No
# 1272/2008. The rest: common practice.
DUST_CAUTION: Final = (
    "Dust of dry materials harms the lungs, silica above all: wear a fitted P100 respirator and gloves when"
    " weighing, mixing and sieving (P3 or FFP3 by the European classes). Clean up wet, never sweep dry. No food,"
    " drink or smoking at the bench; wash hands afterwards."
)

# Common practice.
KILN_CAUTION: Final = (
    "Kilns give off harmful fumes: fire with the kiln vented to the outside and keep out of the room as far"
    " as you can."
)

# Test before use: 84/500/EEC (read) and FDA CPG 545.400 and 545.450 (second-hand) set limits for lead and cadmium
# released by fired ware, see limits.leaching_limits; that other metals leach as well is common practice.
FOOD_CAUTION: Final = (
    "No recipe shows that ware is fit for food or drink: a fired glaze can give off metals. Have fired"
    " pieces from your own kiln leach-tested by a laboratory, and keep to the law of the place, before food"
    " or drink touches them."
)

# P308+P313, P263, P260, P280, P273: Regulation (EC) No 1272/2008, annex IV. The rest: common practice.
ACUTE_CAUTION: Final = (
    "Poisonous or harmful if swallowed, breathed in or taken up through the skin: keep it locked up and"
    " labelled, off hands and out of the air. If exposed or concerned, get medical advice at once."
)
CHRONIC_CAUTION: Final = (
    "Damages organs, often only after long or repeated exposure: do not breathe the dust, even in small"
    " amounts."
)
SENSITISING_CAUTION: Final = (
    "Can cause an allergy of the skin or the lungs that stays for good: wear gloves and a respirator from"
    " the first time on, and stop at the first rash or wheeze."
)
CANCER_CAUTION: Final = (
    "Known or suspected to cause cancer or genetic defects: keep exposure as low as you can, and use a"
    " material that does without it where one will serve."
)
REPRODUCTIVE_CAUTION: Final = (
    "Known or suspected to harm fertility or the unborn or nursed child: avoid contact during pregnancy and"
    " while nursing."
)
CORROSIVE_CAUTION: Final = (
    "Burns skin and eyes: wear gloves, goggles and covering clothes. If it touches you, rinse with plenty of"
    " water and get medical advice."
)
# H318; P280, P305+P351+P338, P310: Regulation (EC) No 1272/2008, annex IV.
EYES_CAUTION: Final = (
    "Damages the eyes for good: wear goggles, against powder and against splashes of the slurry. If it gets into an"
    " eye, rinse at once with plenty of water, for many minutes, and get medical advice at once."
)
# H270 to H272; P210, P220, P370: Regulation (EC) No 1272/2008, annex IV. What not to grind with it: see pairs.
FIRE_CAUTION: Final = (
    "Feeds fire: keep it closed and dry, away from heat and from all that burns, such as sugar, gums, sawdust, paper,"
    " rags and oil, and from carbides, sulfides and metal powders; never grind it or store it with them. Take up"
    " spills with plenty of water, not with rags."
)
# H372 and H373 of suppliers, group 1 of the International Agency for Research on Cancer: see data/carried-dust.json.
QUARTZ_CAUTION: Final = (
    "The dust holds fine quartz or cristobalite, which scars the lungs for good and causes cancer, often years after"
    " it was breathed: do not breathe it, even in small amounts; work wet where you can. How much it holds, the"
    " supplier's safety data sheet says."
)
# Common practice.
CAUSTIC_CAUTION: Final = (
    "Caustic when wet: wear gloves and goggles, also when mixing and glazing. If it touches skin or eyes,"
    " rinse with plenty of water; for eyes get medical advice at once."
)
SOLUBLE_CAUTION: Final = (
    "Dissolves in water: it stays in the glaze water, which can carry it to the skin, so wear gloves in the"
    " slurry too. Do not pour the water away down a drain."
)
WATER_LIFE_CAUTION: Final = (
    "Harms life in water: let washings settle, collect the sludge, and dispose of it as the local rules say."
)

# Class of statements.CLASSES, caution. Cancer and genetic defects share one: the precautions are the same.
_BY_CLASS: Final = (
    ("acute", ACUTE_CAUTION),
    ("chronic", CHRONIC_CAUTION),
    ("sensitising", SENSITISING_CAUTION),
    ("carcinogenic", CANCER_CAUTION),
    ("mutagenic", CANCER_CAUTION),
    ("reproductive", REPRODUCTIVE_CAUTION),
    ("corrosive", CORROSIVE_CAUTION),
    ("eyes", EYES_CAUTION),
    ("fire", FIRE_CAUTION),
)

# What a kiln gives off by its atmosphere: common practice.
SALT_CAUTION: Final = (
    "Salt in a hot kiln gives off hydrogen chloride, which burns lungs and eyes: fire outdoors or under a hood that"
    " draws to the outside, stay upwind and out of the plume, and keep others out of it."
)
SODA_CAUTION: Final = (
    "Soda sprayed or thrown into a hot kiln comes back as caustic mist and steam: goggles, covering clothes, a"
    " respirator, upwind and out of the plume. With salt in it, it gives off hydrogen chloride as well."
)
MONOXIDE_CAUTION: Final = (
    "A kiln that burns fuel, or is made to smoke, gives off carbon monoxide, which has no smell and kills: fire"
    " outdoors or with extraction to the outside, and with a carbon monoxide alarm; never let the fumes into a room."
)
HOT_WARE_CAUTION: Final = (
    "Ware leaves the kiln glowing: face shield, heat-proof gloves and covering clothes of wool, cotton or leather,"
    " closed shoes, a clear way, nothing near that burns, water at hand, and never alone. A pot can burst."
)
_BY_ATMOSPHERE: Final = {
    "reduction": (MONOXIDE_CAUTION,),
    "wood": (MONOXIDE_CAUTION,),
    "salt": (SALT_CAUTION, MONOXIDE_CAUTION),
    "soda": (SODA_CAUTION, MONOXIDE_CAUTION),
    "raku": (HOT_WARE_CAUTION, MONOXIDE_CAUTION),
    **dict.fromkeys((kiln for kiln in KILNS if kiln != "electric"), (MONOXIDE_CAUTION,)),
}
_WATER_LIFE: Final = frozenset({"H400", "H410", "H411", "H412", "H413"})


def cautions_for(
    codes: Iterable[str], soluble: bool, caustic: bool, quartz: bool = False, fired: Iterable[str] = ()
) -> tuple[str, ...]:
    """The cautions for a material or a batch, each once: PRECEDENCE, dust, what the codes add, the kiln.

    codes: hazard statements ("H302", "H360FD", "H302+H332"), of one material or of all in the batch. soluble,
    caustic, quartz: whether any of it dissolves in water, is caustic when wet, or carries quartz or cristobalite in its
    dust, whose own statements are then not among the codes. fired: what a page says of its atmosphere and its kiln.
    PRECEDENCE, dust and kiln stand there in any case: no codes on record does not mean no hazard. FOOD_CAUTION is not
    among them: it is about ware, and every sheet of a recipe carries it besides.
    """
    listed = tuple(codes)
    classes = {name for code in listed for name in classes_of(code)}
    cautions = [PRECEDENCE, DUST_CAUTION]
    if quartz:
        cautions.append(QUARTZ_CAUTION)
    cautions += [text for name, text in _BY_CLASS if name in classes]
    if caustic:
        cautions.append(CAUSTIC_CAUTION)
    if soluble:
        cautions.append(SOLUBLE_CAUTION)
    if any(part.strip().upper()[:4] in _WATER_LIFE for code in listed for part in code.split("+")):
        cautions.append(WATER_LIFE_CAUTION)
    cautions.append(KILN_CAUTION)
    for each in atmospheres_in(*fired):
        cautions += _BY_ATMOSPHERE.get(each, ())
    return tuple(dict.fromkeys(cautions))
