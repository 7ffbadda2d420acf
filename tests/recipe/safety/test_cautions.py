"""The usual cautions."""

import re

import pytest

from glost.recipe.safety import cautions
from glost.recipe.safety.cautions import DUST_CAUTION, FOOD_CAUTION, KILN_CAUTION, PRECEDENCE, cautions_for

TEXTS = {name: text for name, text in vars(cautions).items() if name.isupper() and isinstance(text, str)}


@pytest.mark.parametrize("name", sorted(TEXTS))
def test_no_text_calls_anything_safe(name: str) -> None:
    text = TEXTS[name].replace("safety data sheet", "sheet")
    assert not re.search(r"safe|harmless|non-?toxic|no risk|without risk", text, re.IGNORECASE)
    assert text.endswith(".")
    assert "  " not in text


def test_the_usual_cautions_are_there_in_any_case() -> None:
    plain = cautions_for([], soluble=False, caustic=False)
    assert plain == (PRECEDENCE, DUST_CAUTION, KILN_CAUTION)
    for word in ("P100 respirator", "gloves", "wet", "food, drink"):
        assert word in DUST_CAUTION
    assert "vented" in KILN_CAUTION
    for word in ("Local codes", "supplier's safety data sheet", "licensed practice", "come first"):
        assert word in PRECEDENCE
    assert "leach-tested" in FOOD_CAUTION


@pytest.mark.parametrize(
    ("code", "added"),
    [
        ("H302", cautions.ACUTE_CAUTION),
        ("H302+H332", cautions.ACUTE_CAUTION),
        ("H373", cautions.CHRONIC_CAUTION),
        ("H317", cautions.SENSITISING_CAUTION),
        ("H350i", cautions.CANCER_CAUTION),
        ("H341", cautions.CANCER_CAUTION),
        ("H360FD", cautions.REPRODUCTIVE_CAUTION),
        ("H314", cautions.CORROSIVE_CAUTION),
        ("H318", cautions.EYES_CAUTION),
        ("H272", cautions.FIRE_CAUTION),
        ("H410", cautions.WATER_LIFE_CAUTION),
    ],
)
def test_codes_add_their_caution(code: str, added: str) -> None:
    assert cautions_for([code], soluble=False, caustic=False) == (
        PRECEDENCE,
        DUST_CAUTION,
        added,
        KILN_CAUTION,
    )


# What a kiln gives off: common practice.
@pytest.mark.parametrize(
    ("atmosphere", "said"),
    [
        ("", ()),
        ("oxidation", ()),
        ("oxidising", ()),
        ("neutral", ()),
        ("electric", ()),
        ("somewhere", ()),
        ("reduction", ("carbon monoxide",)),
        ("Redux", ("carbon monoxide",)),
        ("gas", ("carbon monoxide",)),
        ("wood", ("carbon monoxide",)),
        ("salt", ("hydrogen chloride", "carbon monoxide")),
        ("soda", ("caustic mist", "carbon monoxide")),
        ("raku", ("glowing", "carbon monoxide")),
        ("heavy reduction", ("carbon monoxide",)),
        ("Salt, soda", ("hydrogen chloride", "carbon monoxide", "caustic mist")),
        ("wood-fired", ("carbon monoxide",)),
        ("reduction_cooled", ("carbon monoxide",)),
        ("red", ("carbon monoxide",)),
        ("red where thick, oil spots", ()),
        ("an oil kiln, ox", ("carbon monoxide",)),
        ("salted caramel", ()),
    ],
)
def test_cautions_follow_the_atmosphere(atmosphere: str, said: tuple[str, ...]) -> None:
    plain = cautions_for([], soluble=False, caustic=False)
    more = cautions_for([], soluble=False, caustic=False, fired=[atmosphere])
    assert more[: len(plain)] == plain
    assert len(more) == len(plain) + len(said)
    for word, text in zip(said, more[len(plain) :], strict=True):
        assert word in text


def test_what_is_said_of_the_firing_counts_too() -> None:
    more = cautions_for([], soluble=False, caustic=False, fired=["oxidation", "gas kiln, slow cool"])
    assert more[-1] == cautions.MONOXIDE_CAUTION
    assert more == cautions_for(
        [], soluble=False, caustic=False, fired=["gas", "gas kiln, reduction from 010"]
    )


def test_quartz_in_the_dust_has_a_caution_of_its_own() -> None:
    said = cautions_for([], soluble=False, caustic=False, quartz=True)
    assert said == (PRECEDENCE, DUST_CAUTION, cautions.QUARTZ_CAUTION, KILN_CAUTION)
    assert "cancer" in cautions.QUARTZ_CAUTION
    assert "lungs" in cautions.QUARTZ_CAUTION


def test_respirators_are_named_by_both_classes() -> None:
    assert "P100" in DUST_CAUTION
    assert "P3" in DUST_CAUTION


def test_each_caution_once_and_precedence_first() -> None:
    every = cautions_for(iter(["H341", "H350", "H350", "H400", "H410", "H302"]), soluble=True, caustic=True)
    assert every[0] == PRECEDENCE
    assert len(every) == len(set(every)) == 8
    assert cautions.SOLUBLE_CAUTION in every
    assert cautions.CAUSTIC_CAUTION in every
