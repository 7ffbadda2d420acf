"""The usual cautions for dry glaze materials, in plain words.

None of these texts says that anything is free of danger, and none replaces what PRECEDENCE names.
"""

from collections.abc import Iterable
from typing import Final

from glost.recipe.safety.statements import classes_of

# Common practice.
PRECEDENCE: Final = (
    "Local codes, the supplier's safety data sheet and licensed practice come first; what stands here is"
    " only the usual caution."
)

# Respirable crystalline silica: 29 CFR 1910.1053 (second-hand, see limits.exposure_limits) limits it to 50 µg/m³ over
# eight hours and calls for wet methods in place of dry sweeping. P100 (at least 99.97 % efficient): 42 CFR 84.170. No
# food or drink: P270 of Regulation (EC) No 1272/2008. The rest: common practice.
DUST_CAUTION: Final = (
    "Dust of dry materials harms the lungs, silica above all: wear a fitted P100 respirator and gloves when"
    " weighing, mixing and sieving. Clean up wet, never sweep dry. No food, drink or smoking at the bench;"
    " wash hands afterwards."
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
)
_WATER_LIFE: Final = frozenset({"H400", "H410", "H411", "H412", "H413"})


def cautions_for(codes: Iterable[str], soluble: bool, caustic: bool) -> tuple[str, ...]:
    """The cautions for a material or a batch, each once: PRECEDENCE, dust, what the codes add, the kiln.

    codes: hazard statements ("H302", "H360FD", "H302+H332"), of one material or of all in the batch. soluble,
    caustic: whether any of it dissolves in water or is caustic when wet. PRECEDENCE, dust and kiln stand
    there in any case: no codes on record does not mean no hazard. FOOD_CAUTION is not among them: it is about
    ware, and every sheet of a recipe carries it besides.
    """
    listed = tuple(codes)
    classes = {name for code in listed for name in classes_of(code)}
    cautions = [PRECEDENCE, DUST_CAUTION]
    cautions += [text for name, text in _BY_CLASS if name in classes]
    if caustic:
        cautions.append(CAUSTIC_CAUTION)
    if soluble:
        cautions.append(SOLUBLE_CAUTION)
    if any(part.strip().upper()[:4] in _WATER_LIFE for code in listed for part in code.split("+")):
        cautions.append(WATER_LIFE_CAUTION)
    cautions.append(KILN_CAUTION)
    return tuple(dict.fromkeys(cautions))
