"""The rules on restricted materials, dust, ware for food and unusual glazes, where their examples do not reach."""

from __future__ import annotations

import pytest

from glost.language.source import Source
from glost.linter.engine import LintContext, check
from glost.linter.rule import find_rule
from glost.recipe.materials.catalogue import Material, shipped_catalogue
from glost.recipe.materials.own import with_own_materials
from glost.recipe.safety.incompatible import WATER, groups, pairs
from glost.recipe.safety.limits import STANDINGS
from glost.recipe.settings import Settings

OWN = """\
materials:
  - {name: bought gloss, role: frit, source: invented, analysis: {SiO2: 40, PbO: 60}}
  - {name: window cullet, role: silicate, source: invented, analysis: {SiO2: 74.9, Na2O: 25, As2O3: 0.1}}
  - {name: yellow powder, role: colourant, source: invented, formula: CdS}
  - {name: attic powder, role: colourant, source: invented, restricted: law of the place}
  - {name: leadless frit, role: frit, source: invented}
  - {name: lead-free frit, role: frit, source: invented}
  - {name: old lead frit, role: frit, source: invented}
"""


BROKEN = Material(
    "broken frit",
    "frit",
    "invented",
    composition={
        "kind": "analysis",
        "oxides": {"SiO2": "60", "Xx2O3": "40"},
        "loss": "0",
        "source": "invented",
    },
)
"""No materials file can say this any more; what is made in another way must stop nothing either."""


def messages(
    rule: str,
    base: str,
    *,
    head: str = "",
    below: str = "",
    kind: str = "glaze",
    house: dict[str, str] | None = None,
    level: str = "error",
) -> list[tuple[int, str]]:
    """Line and message of what a rule finds on a page with the base from line 3 on; ``head`` is one line."""
    lines = "".join(f"    {line.strip()}\n" for line in base.split(";"))
    page = f'{kind} "Harbour Mist"\n{head or "origin: own test"}\nbase:\n{lines}{below}'
    catalogue = with_own_materials(shipped_catalogue(), Source("materials.yaml", OWN)).with_own([BROKEN])
    settings = Settings(handling=house or {}, rules={rule: level})
    bench = LintContext(catalogue, settings, rules=(find_rule(rule),))
    return [(finding.line, finding.message) for finding in check(Source("a.glost", page), bench)]


# ---- restricted-material -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("base", "what"),
    [
        ("white lead  50; silica  50", "white lead is restricted (lead): "),
        ("silica  99; realgar  1", None),
        ("bought gloss  100", "bought gloss is restricted (lead): "),
        ("yellow powder  100", "yellow powder is restricted (cadmium): "),
        ("attic powder  100", "attic powder is restricted (law of the place): its entry marks it"),
        ("window cullet  100", None),
        ("certified flat glass  100", None),
        ("selenium  1; silica  99", "selenium is restricted (selenium): "),
        ("sodium uranate  1; silica  99", "sodium uranate is restricted (uranium): "),
        ("potassium dichromate  1; silica  99", "potassium dichromate is restricted (chromium(VI)): "),
        ("silica  50; strontium carbonate  25; antimony trioxide  25", None),
    ],
)
def test_what_is_restricted(base: str, what: str | None) -> None:
    found = messages("restricted-material", base)
    assert len(found) == (what is not None)
    assert all(message.startswith(what or "") for _, message in found)


def test_every_restricted_material_of_the_catalogue_is_found_with_a_reason() -> None:
    restricted = [material for material in shipped_catalogue() if material.restricted]
    assert len(restricted) >= 15
    for material in restricted:
        ((_, message),) = messages("restricted-material", f"{material.name}  100")
        assert f"{material.name} is restricted ({material.restricted}): " in message
        assert "its entry marks it" not in message


def test_no_other_material_of_the_catalogue_is_found() -> None:
    for material in shipped_catalogue():
        if not material.restricted:
            assert messages("restricted-material", f"{material.name}  100") == []


def test_a_restricted_material_is_told_once() -> None:
    below = 'variation "more":\n    red lead  2\nseries "s":\n    red lead  1, 2\n'
    assert [line for line, _ in messages("restricted-material", "red lead  100", below=below)] == [4]


# ---- dust-hazard ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "note",
    [
        "P100 respirator",
        "respirators for everybody",
        "dust mask at least",
        "FFP3",
        "p3 filter",
        "N95",
        "do not breathe the dust",
        "Atemschutz tragen",
        "masque anti-poussière",
    ],
)
def test_a_word_on_breathing_is_enough(note: str) -> None:
    assert messages("dust-hazard", "silica  100", below=f"handling:\n    silica: {note}\n") == []
    assert messages("dust-hazard", "silica  100", house={"silica": note}) == []
    assert messages("dust-hazard", "silica  100", house={"all": note, "silica": "gloves"}) == []
    assert (
        messages("dust-hazard", "silica  100", below="handling:\n    silica: wet\n", house={"all": note})
        == []
    )


@pytest.mark.parametrize("note", ["gloves", "a damask apron", "page 12", "wash your hands; grade 100 mesh"])
def test_without_a_word_on_breathing_the_note_is_told(note: str) -> None:
    said = "the note says nothing of breathing, and this dust harms: silica (H350i, H372)"
    below = f"handling:\n    silica, kaolin: {note}\n"
    assert messages("dust-hazard", "silica  60; kaolin  40", below=below) == [
        (7, f"{said}, kaolin (H350i, H373)")
    ]
    assert messages("dust-hazard", "quartz  60; kaolin  40", house={"silica": note}) == [(4, said)]


# What is quarried carries quartz, whatever it is sold as; manganese harms by what is breathed in as well.
@pytest.mark.parametrize(
    "name",
    [
        *("potash feldspar", "soda feldspar", "kaolin", "bentonite", "pyrophyllite", "flint clay", "basalt"),
        *("calcined clay grog", "pumice", "diatomite", "illite", "yellow ochre", "talc", "wollastonite"),
        *("manganese carbonate", "manganese dioxide", "cobalt monoxide"),
    ],
)
def test_dust_of_every_powder_that_harms_by_breathing_is_told(name: str) -> None:
    ((_, message),) = messages("dust-hazard", f"{name}  100", below=f"handling:\n    {name}: gloves\n")
    assert message.startswith(f"the note says nothing of breathing, and this dust harms: {name} (H3")
    assert messages("dust-hazard", f"{name}  100", below=f"handling:\n    {name}: P3 respirator\n") == []


def test_one_note_is_told_once_with_all_its_materials() -> None:
    below = "handling:\n    all: gloves\n"
    ((line, message),) = messages(
        "dust-hazard", "silica  60; ball clay  30; nickel oxide  10; zinc oxide  1", below=below
    )
    assert line == 9
    assert message.endswith("silica (H350i, H372), ball clay (H350i, H372), nickel oxide (H350i, H372)")


def test_where_no_note_is_another_rule_speaks() -> None:
    assert messages("dust-hazard", "silica  100") == []
    assert len(messages("missing-handling-note", "silica  100")) == 1


def test_an_unreadable_line_may_be_the_note() -> None:
    found = messages("dust-hazard", "silica  100", below="handling:\n    silica: gloves\n    all P100\n")
    assert not [message for _, message in found if "breathing" in message]


# ---- food-contact-risk ---------------------------------------------------------------------------------

FOOD = "use: food"


@pytest.mark.parametrize("head", ["use: test", "use: decorative", "cone: 6"])
def test_only_a_recipe_for_food_is_looked_at(head: str) -> None:
    assert messages("food-contact-risk", "red lead  50; silica  50", head=head) == []


@pytest.mark.parametrize(
    ("base", "line", "words"),
    [
        ("silica  50; red lead  50", 5, "fires to 49.4 % PbO, most of it from red lead"),
        ("silica  50; old lead frit  50", 5, "holds lead, in old lead frit"),
        ("silica  90; encapsulated cadmium stain  10", 5, "holds cadmium, in encapsulated cadmium stain"),
        ("silica  99.9; selenium  0.1", 5, "holds selenium, in selenium"),
        ("silica  98; iron chromate  2", 5, "holds chromium(VI), in iron chromate"),
        ("silica  98; potassium dichromate  2", 5, "holds chromium(VI), in potassium dichromate"),
        ("barium borate frit  20; silica  80", 4, "% BaO, most of it from barium borate frit"),
        ("silica  99; antimony trioxide  1", 5, "fires to 1.0 % Sb2O3"),
        ("silica  99; uranium oxide  1", 5, "fires to 1.0 % UO3"),
        ("silica  97; black copper oxide  3", 5, "more than 2 % is a high load (a line of our own)"),
        ("silica  96; lithium carbonate  4; nepheline syenite  4", None, ""),
        ("silica  80; zinc oxide  20", None, ""),
        ("silica  98.5; black copper oxide  1.5", None, ""),
        ("silica  80; leadless frit  10; lead-free frit  10", None, ""),
        (
            "certified potash feldspar 70a  100".replace(
                "certified potash feldspar 70a", '"certified potash feldspar 70a"'
            ),
            None,
            "",
        ),
    ],
)
def test_metals_that_a_recipe_for_food_is_asked_about(base: str, line: int | None, words: str) -> None:
    found = messages("food-contact-risk", base, head=FOOD)
    assert [at for at, _ in found] == ([] if line is None else [line])
    assert all(words in message for _, message in found)


def test_lead_chromate_holds_two() -> None:
    found = messages("food-contact-risk", "silica  95; lead chromate  5", head=FOOD)
    assert [at for at, _ in found] == [5, 5]
    assert "PbO" in found[0][1]
    assert "chromium(VI)" in found[1][1]


def test_tests_of_a_recipe_are_fired_each_and_told_where_they_are_written() -> None:
    below = (
        "additions:\n    black copper oxide  1\n"
        'variation "green":\n    black copper oxide  4\n'
        'series "steps":\n    manganese dioxide  1, 6\n'
    )
    found = messages("food-contact-risk", "soda feldspar  70; silica  30", head=FOOD, below=below)
    assert [at for at, _ in found] == [9, 11]
    assert "in 'green', most of it from black copper oxide" in found[0][1]
    assert "in 'steps 2', most of it from manganese dioxide" in found[1][1]


def test_a_share_of_the_known_rest_is_called_so() -> None:
    found = messages(
        "food-contact-risk", "washed wood ash  50; silica  40; black copper oxide  10", head=FOOD
    )
    assert [message.split(", ")[0] for _, message in found] == [
        "the recipe is for food and fires to 20.0 % CuO of what is known of it"
    ]


def test_what_cannot_be_calculated_stops_nothing() -> None:
    for base in ("broken frit  100", "nobody's powder  100", "silica  0", "zinc oxide"):
        assert not [
            message for _, message in messages("food-contact-risk", base, head=FOOD) if "for food" in message
        ]


def test_an_allowance_names_the_laboratory_s_test() -> None:
    base = "silica  50; barium carbonate  50  # allow food-contact-risk: leach test of 2026-03, own file 12"
    assert messages("food-contact-risk", base, head=FOOD) == []


def test_no_message_says_that_anything_is_fit_for_food() -> None:
    for name in ("food-contact-risk", "restricted-material", "dust-hazard", "unusual-for-cone"):
        rule = find_rule(name)
        said = " ".join((rule.summary, rule.why, rule.how_to_fix, *(e.message for e in rule.expected)))
        assert "safe" not in said.replace("safety data sheet", "sheet")


# ---- unusual-for-cone ----------------------------------------------------------------------------------

FAR = "potash feldspar  40; silica  10; whiting  40; kaolin  10"


@pytest.mark.parametrize(
    ("head", "kind", "base", "count"),
    [
        ("cone: 10", "glaze", FAR, 3),
        ("cone: 9-11", "glaze", FAR, 3),
        ("cone: 8 1/2-11.5", "glaze", FAR, 3),
        ("cone: 7\u00bd-11", "glaze", FAR, 0),  # begins half a cone below the range
        ("cone: 11-12\u00bd", "glaze", FAR, 0),  # ends half a cone above it
        ("cone: 16", "glaze", FAR, 0),
        ("cone: 01 1/2", "glaze", "lead bisilicate frit  100", 1),
        ("cone: 08 1/2", "glaze", "lead bisilicate frit  100", 0),  # half a cone below 08
        ("cone: 6", "glaze", FAR, 0),  # no range is held
        ("cone: 6-9", "glaze", FAR, 0),  # partly outside the range's cones
        ("cone: 04", "glaze", FAR, 0),  # a range for lead glazes only
        ("cone: 4", "glaze", FAR, 0),  # a range for boron glazes only
        ("cone: 10", "slip", FAR, 0),
        ("cone: 99", "glaze", FAR, 0),
        ("atmosphere: raku", "glaze", FAR, 0),
        ("cone: 10", "glaze", "washed wood ash  60; whiting  40", 0),  # nobody knows what a wood ash holds
        ("cone: 10", "glaze", "silica  100", 0),  # nothing to take as 1
        ("cone: 4", "glaze", "calcium borate frit  100", 3),
        ("cone: 04", "glaze", "lead bisilicate frit  100", 1),
    ],
)
def test_only_glazes_of_a_kind_and_cone_that_is_held(head: str, kind: str, base: str, count: int) -> None:
    assert len(messages("unusual-for-cone", base, head=head, kind=kind)) == count


def test_boron_may_be_absent_at_stoneware_heat() -> None:
    usual = "potash feldspar  40; silica  30; whiting  20; kaolin  10"
    assert messages("unusual-for-cone", usual, head="cone: 10") == []
    little = "potash feldspar  40; silica  30; whiting  20; kaolin  9; calcium borate frit  1"
    assert messages("unusual-for-cone", little, head="cone: 10") == []


# ---- incompatible-materials ----------------------------------------------------------------------------


# Sources: P220, EUH031 and EUH032 of Regulation (EC) No 1272/2008; the rest from suppliers' sheets, from memory.
@pytest.mark.parametrize(
    ("base", "pair"),
    [
        ("saltpetre  60; sugar  40", ("saltpetre", "sugar")),
        ("sodium nitrate  60; cmc gum  40", ("sodium nitrate", "cmc gum")),
        ("potassium dichromate  60; starch  40", ("potassium dichromate", "starch")),
        ("red lead  60; charcoal  40", ("red lead", "charcoal")),
        ("potassium permanganate  60; glycerine  40", ("potassium permanganate", "glycerine")),
        ("saltpetre  60; silicon carbide  40", ("saltpetre", "silicon carbide")),
        ("silver nitrate  60; cadmium sulfide  40", ("silver nitrate", "cadmium sulfide")),
        ("sodium nitrate  60; iron pyrites  40", ("sodium nitrate", "iron pyrites")),
        ("sodium nitrate  60; aluminium powder  40", ("sodium nitrate", "aluminium powder")),
        ("sodium nitrate  60; iron filings  40", ("sodium nitrate", "iron filings")),
        ("quicklime  60; silica  40", ("quicklime", "water")),
        ("vinegar  60; galena  40", ("vinegar", "galena")),
        ("hydrochloric acid  60; cadmium sulfide  40", ("hydrochloric acid", "cadmium sulfide")),
        ("citric acid  60; potassium cyanide  40", ("citric acid", "potassium cyanide")),
        ("vinegar  60; red prussiate  40", ("vinegar", "red prussiate")),
        ("barium peroxide  60; wheat flour  40", ("barium peroxide", "wheat flour")),
        ("saltpetre  60; zircon flour  40", None),
        ("saltpetre  60; silica flour  40", None),
        ("saltpetre  60; silica  40", None),
        ("sugar  60; silicon carbide  40", None),
        ("saltpetre  60; coal ash  40", None),
        ("saltpetre  60; vinegar  40", None),
        ("saltpetre  60; red iron oxide  40", None),
        ("boric acid  60; cadmium sulfide  40", None),
        ("slaked lime  60; silica  40", None),
        ("whiting  60; magnesium oxide  40", None),
        ("manganese dioxide  60; cmc gum  40", None),
        ("saltpetre  99; sugar  0; silica  1", None),
    ],
)
def test_pairs_that_must_not_meet(base: str, pair: tuple[str, str] | None) -> None:
    found = messages("incompatible-materials", base)
    assert len(found) == (pair is not None)
    for line, message in found:
        assert pair is not None
        first, second = pair
        assert line == 4
        assert message.startswith(f"{first} (")
        assert second in message


def test_the_formula_of_an_own_material_tells_more_than_its_name() -> None:
    own = """\
materials:
  - {name: blue grains, role: colourant, source: invented, formula: Cu}
  - {name: oxidiser look, role: flux, source: invented, formula: CaCO3}
  - {name: white grains, role: flux, source: invented, formula: KNO3}
  - {name: white powder, role: flux, source: invented, formula: Ba(NO3)2}
  - {name: pan powder, role: binder, source: invented, formula: C12H22O11}
  - {name: black powder, role: colourant, source: invented, formula: C}
  - {name: blue sulfide, role: colourant, source: invented, formula: CoO}
"""
    catalogue = with_own_materials(shipped_catalogue(), Source("materials.yaml", own))
    bench = LintContext(catalogue, Settings(), rules=(find_rule("incompatible-materials"),))

    def found(*names: str) -> int:
        lines = "".join(f"    {name}  50\n" for name in names)
        return len(check(Source("a.glost", f'glaze "A"\nbase:\n{lines}'), bench))

    assert found("white grains", "blue grains") == 1
    assert found("white grains", "oxidiser look") == 0
    assert found("oxidiser look", "sugar") == 0
    assert found("white powder", "pan powder") == 1
    assert found("white powder", "black powder") == 1
    assert found("blue sulfide", "vinegar") == 0


def test_each_mix_of_a_page_is_looked_at_by_itself() -> None:
    below = 'variation "a":\n    saltpetre  2\nvariation "b":\n    sugar  1\n'
    assert messages("incompatible-materials", "silica  100", below=below) == []
    below = 'variation "a":\n    saltpetre  2\n    sugar  1\nvariation "b":\n    saltpetre  2\n    sugar  3\n'
    ((line, message),) = messages("incompatible-materials", "silica  100", below=below)
    assert (line, message.startswith("saltpetre (an oxidiser) and sugar (something that burns)")) == (6, True)


def test_what_clashes_stands_with_the_finding_and_where_that_is_written() -> None:
    for one in pairs():
        assert one.source.strip()
        assert one.standing in STANDINGS
        assert one.first in {group.name for group in groups()}
        assert one.second in {WATER, *(group.name for group in groups())}
    ((_, message),) = messages("incompatible-materials", "quicklime  100")
    assert message.endswith("reacts violently with water, from memory)")
