"""What must be said of a material stands on every form that goes to the bench.

The table is written by hand, from the hazards that the materials are known for: the statements of Regulation (EC) No
1272/2008, annex VI (as the catalogue names them, with their standing), what dissolves and what is caustic (common
practice), and Directive 84/500/EEC, which sets limits for what ware gives off of lead and cadmium. It names no
function and no constant of the program, so that a sentence which is lost on the way is missed here.
"""

from __future__ import annotations

import html
import re
from pathlib import Path

import pytest

from glost.cli import main

PAGE = """\
glaze "Tern"
cone: 6
atmosphere: oxidation
origin: invented

base:
    nepheline syenite      60
    whiting                40

additions:
    {}    5
"""

ALWAYS = (
    "Local codes, the supplier's safety data sheet and licensed practice come first",
    "Dust of dry materials harms the lungs, silica above all: wear a fitted P100 respirator and gloves",
    "P3 or FFP3 by the European classes",
    "Clean up wet, never sweep dry.",
    "No food, drink or smoking at the bench; wash hands afterwards.",
    "Kilns give off harmful fumes: fire with the kiln vented to the outside",
    "No recipe shows that ware is fit for food or drink: a fired glaze can give off metals.",
    "leach-tested by a laboratory",
)

SWALLOWED = "{}: Poisonous or harmful if swallowed, breathed in or taken up through the skin"
ORGANS = "{}: Damages organs, often only after long or repeated exposure: do not breathe the dust"
CANCER = "{}: Known or suspected to cause cancer or genetic defects"
CHILD = (
    "{}: Known or suspected to harm fertility or the unborn or nursed child: avoid contact during pregnancy"
)
ALLERGY = "{}: Can cause an allergy of the skin or the lungs that stays for good"
BURNS = "{}: Burns skin and eyes: wear gloves, goggles and covering clothes."
EYES = "{}: Damages the eyes for good: wear goggles"
FIRE = "{}: Feeds fire: keep it closed and dry, away from heat and from all that burns"
QUARTZ = "{}: The dust holds fine quartz or cristobalite, which scars the lungs for good and causes cancer"
CAUSTIC = "{}: Caustic when wet: wear gloves and goggles, also when mixing and glazing."
DISSOLVES = "{}: Dissolves in water: it stays in the glaze water, which can carry it to the skin"
WATER = "{}: Harms life in water: let washings settle, collect the sludge"
LEACHING = "{}: Limits of what ware may give off are for lead and cadmium."
RESTRICTED = "{}: restricted"

FIRED = {
    "reduction": ("gives off carbon monoxide, which has no smell and kills",),
    "salt": ("Salt in a hot kiln gives off hydrogen chloride, which burns lungs and eyes", "carbon monoxide"),
    "soda": ("Soda sprayed or thrown into a hot kiln comes back as caustic mist", "carbon monoxide"),
    "raku": ("Ware leaves the kiln glowing: face shield, heat-proof gloves", "carbon monoxide"),
    "wood": ("carbon monoxide",),
}
"""What stands on the forms of a page with this atmosphere (common practice)."""

SAID: dict[str, tuple[str, ...]] = {
    "silica": (QUARTZ,),
    "cristobalite": (QUARTZ,),
    "ball clay": (QUARTZ,),
    "kaolin": (QUARTZ,),
    "potash feldspar": (QUARTZ,),
    "bentonite": (QUARTZ,),
    "talc": (QUARTZ, ORGANS, CANCER),
    "manganese carbonate": (ORGANS, "manganese carbonate: Dust and kiln fumes of manganese harm the nerves"),
    "cobalt monoxide": (SWALLOWED, ALLERGY, CANCER, WATER),
    "saltpetre": (FIRE, DISSOLVES),
    "sodium nitrate": (FIRE, DISSOLVES),
    "slaked lime": (EYES, CAUSTIC),
    "tetrasodium pyrophosphate": (SWALLOWED, EYES, DISSOLVES),
    "red copper oxide": (SWALLOWED, EYES, WATER),
    "copper sulfate": (SWALLOWED, EYES, DISSOLVES, WATER),
    "barium carbonate": (SWALLOWED,),
    "lithium carbonate": (SWALLOWED, CHILD, DISSOLVES),
    "manganese dioxide": (
        SWALLOWED,
        ORGANS,
        "manganese dioxide: Dust and kiln fumes harm the nerves over time",
    ),
    "copper carbonate": (SWALLOWED, WATER),
    "black copper oxide": (WATER,),
    "zinc oxide": (WATER,),
    "cobalt oxide": (ALLERGY,),
    "cobalt carbonate": (ALLERGY, CANCER, CHILD, WATER),
    "nickel oxide": (ALLERGY, CANCER, ORGANS, WATER),
    "nickel carbonate": (SWALLOWED, ALLERGY, CANCER, CHILD, ORGANS, WATER),
    "iron chromate": (RESTRICTED, ALLERGY, CANCER, WATER),
    "vanadium pentoxide": (SWALLOWED, CANCER, CHILD, ORGANS, DISSOLVES, WATER),
    "antimony trioxide": (CANCER,),
    "borax": (CHILD, DISSOLVES),
    "boric acid": (CHILD, DISSOLVES),
    "colemanite": (CHILD, DISSOLVES),
    "soda ash": (CAUSTIC, DISSOLVES),
    "pearl ash": (CAUSTIC, DISSOLVES),
    "wood ash": (CAUSTIC, DISSOLVES),
    "quicklime": (EYES, CAUSTIC),
    "silver nitrate": (FIRE, BURNS, DISSOLVES, WATER),
    "potassium dichromate": (
        *(RESTRICTED, SWALLOWED, ALLERGY, CANCER, CHILD, BURNS, ORGANS, FIRE, DISSOLVES, WATER),
    ),
    "arsenic trioxide": (RESTRICTED, SWALLOWED, CANCER, BURNS, WATER),
    "selenium": (RESTRICTED, SWALLOWED, ORGANS),
    "uranium oxide": (RESTRICTED, SWALLOWED, ORGANS, WATER),
    "red lead": (RESTRICTED, FIRE, SWALLOWED, CHILD, ORGANS, WATER, LEACHING),
    "litharge": (RESTRICTED, SWALLOWED, CHILD, ORGANS, WATER, LEACHING),
    "lead bisilicate frit": (RESTRICTED, SWALLOWED, CHILD, ORGANS, WATER, LEACHING),
    "lead chromate": (RESTRICTED, CANCER, CHILD, ORGANS, WATER, LEACHING),
    "cadmium sulfide": (RESTRICTED, SWALLOWED, CANCER, CHILD, ORGANS, WATER, LEACHING),
    "cadmium sulfoselenide": (RESTRICTED, CANCER, LEACHING),
    "encapsulated cadmium stain": (RESTRICTED, CANCER, LEACHING),
}
"""What stands on the forms, with the material in the place of the brackets."""

FORMS = {
    "sheet": ("convert", "--to", "sheet"),
    "markdown": ("convert", "--to", "markdown"),
    "html": ("convert", "--to", "html"),
    "session": ("session", "--batch", "500 g"),
    "session in Markdown": ("session", "--batch", "500 g", "--output", "markdown"),
    "session in HTML": ("session", "--batch", "500 g", "--output", "html"),
}

SHORT = {
    RESTRICTED: "{}: restricted",
    SWALLOWED: "{}: .*poisonous or harmful if swallowed",
    ORGANS: "{}: .*damages organs",
    CANCER: "{}: .*known or suspected to cause (?:cancer|genetic defects)",
    CHILD: "{}: .*harm fertility or the unborn child",
    ALLERGY: "{}: .*allergy",
    BURNS: "{}: .*burns",
    EYES: "{}: .*damages the eyes",
    FIRE: "{}: .*feeds fire",
    QUARTZ: "{}: .*scars the lungs and causes cancer",
}
"""The words for it on a label, which has no room for more; an expression."""


def plain(text: str) -> str:
    """What a reader sees of a form: no marks of HTML and Markdown, no line breaks."""
    text = re.sub(r"<style>.*?</style>|<script\b.*?</script>", " ", text, flags=re.DOTALL)
    text = html.unescape(re.sub(r"<[^>]+>", " ", text))
    text = re.sub(r"\\(?=[^\w\s])|\*\*|^\s*[-*!>] ", "", text, flags=re.MULTILINE)
    return re.sub(r"\s+([:;,.])", r"\1", " ".join(text.split()))


def form_of(
    material: str,
    command: tuple[str, ...],
    folder: Path,
    capsys: pytest.CaptureFixture[str],
    atmosphere: str = "oxidation",
) -> str:
    page = folder / "tern.glost"
    page.write_text(PAGE.format(material).replace("oxidation", atmosphere), "utf-8")
    with pytest.raises(SystemExit) as ended:
        main([command[0], str(page), *command[1:]])
    assert ended.value.code == 0
    return plain(capsys.readouterr().out)


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("material", SAID)
def test_every_sentence_stands_on_every_form(
    material: str, form: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shown = form_of(material, FORMS[form], tmp_path, capsys)
    for sentence in (*ALWAYS, *SAID[material]):
        assert sentence.format(material) in shown


@pytest.mark.parametrize("form", FORMS)
def test_no_sentence_stands_where_it_is_not_meant(
    form: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Or the table above would be kept by a form that says everything of everything."""
    shown = form_of("tin oxide", FORMS[form], tmp_path, capsys)
    for sentences in SAID.values():
        for sentence in sentences:
            assert sentence.format("tin oxide") not in shown
            assert sentence.removeprefix("{}: ") not in shown


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("atmosphere", FIRED)
def test_what_the_kiln_gives_off_stands_on_every_form(
    atmosphere: str, form: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shown = form_of("tin oxide", FORMS[form], tmp_path, capsys, atmosphere)
    plain_fire = form_of("tin oxide", FORMS[form], tmp_path, capsys)
    for sentence in FIRED[atmosphere]:
        assert sentence in shown
        assert sentence not in plain_fire


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize(
    ("lines", "sentence"),
    [
        (
            "saltpetre    5\n    cmc gum",
            "saltpetre, cmc gum: Must not be ground or stored together: dry and ground",
        ),
        (
            "silver nitrate    5\n    silicon carbide",
            "silver nitrate, silicon carbide: Must not be ground or stored",
        ),
        (
            "vinegar    5\n    galena",
            "vinegar, galena: Must not be ground or stored together: the acid frees",
        ),
        ("quicklime", "quicklime: Must not meet water: it boils the water"),
    ],
)
def test_what_must_not_meet_stands_on_every_form(
    lines: str, sentence: str, form: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert sentence in form_of(lines, FORMS[form], tmp_path, capsys)
    assert "Must not" not in form_of("tin oxide", FORMS[form], tmp_path, capsys)


@pytest.mark.parametrize("material", SAID)
def test_labels(material: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shown = form_of(material, ("convert", "--to", "labels"), tmp_path, capsys)
    for sentence in SAID[material]:
        if sentence in SHORT:
            assert re.search(SHORT[sentence].format(material), shown), sentence
    for always in (
        "Dry dust harms the lungs: P100 or P3 respirator, gloves, clean up wet.",
        "Not for food or drink.",
    ):
        assert always in shown
    assert "The supplier's safety data sheet comes first." in shown


@pytest.mark.parametrize("material", [one for one, said in SAID.items() if RESTRICTED in said])
def test_plan_of_a_batch(material: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shown = form_of(material, ("batch", "--batch", "500 g"), tmp_path, capsys)
    assert RESTRICTED.format(material) in shown
    assert "Read the cautions of the batch sheet before a jar is opened" in shown
