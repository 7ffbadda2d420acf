"""Where a rule begins and where it ends: amounts on the line itself, blocks that are easily forgotten, and the
words for each case. The examples of the rules show the middle of the road; these stand at its edges."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from glost.language.source import Source
from glost.linter.engine import LintContext, check, examine
from glost.linter.finding import Finding
from glost.linter.fixing import fix
from glost.linter.report import cross_check
from glost.linter.rule import find_rule
from glost.recipe.materials.catalogue import Catalogue, Hazard, Material, shipped_catalogue
from glost.recipe.settings import Settings
from glost.weighing.balance import Balance

TITLE = 'glaze "A"\n'
HUNDRED = "base:\n    nepheline syenite  60\n    whiting  40\n"
NONE = Settings()


def own(name: str, *hazards: Hazard, role: str = "flux", soluble: str = "no") -> Material:
    return Material(name, role, "invented", soluble=soluble, hazards=hazards)


def bench(rule: str, settings: Settings = NONE, catalogue: Catalogue | None = None) -> LintContext:
    return LintContext(catalogue or shipped_catalogue(), settings, rules=(find_rule(rule),))


def findings(
    rule: str,
    text: str,
    settings: Settings = NONE,
    *,
    path: str = "a.glost",
    catalogue: Catalogue | None = None,
) -> list[Finding]:
    return check(Source(path, text), bench(rule, settings, catalogue))


def said(rule: str, text: str, settings: Settings = NONE) -> list[tuple[int, str]]:
    return [(finding.line, finding.message) for finding in findings(rule, text, settings)]


def lines(rule: str, text: str, settings: Settings = NONE, catalogue: Catalogue | None = None) -> list[int]:
    return [finding.line for finding in findings(rule, text, settings, catalogue=catalogue)]


def base(*amounts: str) -> str:
    return "base:\n" + "".join(
        f"    material {chr(97 + at)}  {amount}\n" for at, amount in enumerate(amounts)
    )


# ---- base-total -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("amounts", "message"),
    [
        (("60", "40.05"), None),
        (("60", "39.95"), None),
        (("60", "40.06"), "the base totals 100.06, not 100 (0.06 too much)"),
        (("60", "39.94"), "the base totals 99.94, not 100 (0.06 too little)"),
        (("60 g", "30 g"), None),
        (("0", "0"), None),
    ],
)
def test_base_may_be_off_by_the_tolerance_itself(amounts: tuple[str, ...], message: str | None) -> None:
    assert said("base-total", TITLE + base(*amounts)) == ([(2, message)] if message else [])


def test_tolerance_of_the_base_is_the_collections() -> None:
    text = TITLE + base("60", "39")
    assert lines("base-total", text, Settings(base_tolerance=Decimal(1))) == []
    assert lines("base-total", text, Settings(base_tolerance=Decimal("0.99"))) == [2]


# ---- bare-addition --------------------------------------------------------------------------------------


def test_bare_number_is_asked_about_in_every_block_and_nothing_else_is() -> None:
    blocks = (
        "additions:\n    tin oxide  4\n    rutile  2 %\n    whiting  0\n"
        'variation "v":\n    tin oxide  5\n'
        'series "s":\n    rutile  1, 2, 0\n'
    )
    assert said("bare-addition", TITLE + base("40", "40") + blocks) == [
        (6, "4 on a base that totals 80 may be parts or per cent"),
        (10, "5 on a base that totals 80 may be parts or per cent"),
        (12, "1 on a base that totals 80 may be parts or per cent"),
        (12, "2 on a base that totals 80 may be parts or per cent"),
    ]
    assert said("bare-addition", TITLE + HUNDRED + blocks) == []
    assert lines("bare-addition", TITLE + base("40 g", "60 g") + blocks) == [6, 10, 12, 12]
    assert lines("bare-addition", TITLE + base("0", "0") + blocks) == []
    unread = TITLE + base("40", "40", "") + "additions:\n    tin oxide  4\n"
    assert {finding.rule for finding in findings("bare-addition", unread)} == {"syntax"}


def test_base_of_one_is_a_base_like_any_other() -> None:
    """A recipe in shares of one, as a spreadsheet gives it."""
    text = TITLE + base("0.6", "0.4") + "additions:\n    tin oxide  {}\n"
    assert lines("bare-addition", text.format("0.04")) == [6]
    assert lines("base-total", text.format("0.04")) == [2]
    assert lines("implausible-amount", text.format("1.04")) == [6]
    assert lines("below-readability", text.format("0.0004")) == [6]
    small = Settings(balances=(Balance("bench", Decimal(90), Decimal("0.1")),))
    assert lines("over-capacity", text.format("0.04"), small) == [1]


@pytest.mark.parametrize(("second", "found"), [("40.05", []), ("40.06", [6]), ("39.95", []), ("39.94", [6])])
def test_bare_number_stands_on_a_base_within_the_tolerance(second: str, found: list[int]) -> None:
    assert lines("bare-addition", TITLE + base("60", second) + "additions:\n    tin oxide  4\n") == found


def test_bare_number_is_fixed_by_the_unit_or_by_the_base() -> None:
    addition = "additions:\n    tin oxide  4\n"
    (parts,) = findings("bare-addition", TITLE + base("40", "40") + addition)
    assert parts.hint == "write 4 % if it is per cent of the base, or bring the base to 100"
    (masses,) = findings("bare-addition", TITLE + base("40 g", "40 g") + addition)
    assert masses.hint == "write 4 % if it is per cent of the base, or a mass such as 4 g"


# ---- below-readability ----------------------------------------------------------------------------------

TENTHS = Settings(balances=(Balance("bench", Decimal(2000), Decimal("0.1")),))


@pytest.mark.parametrize(
    ("amount", "message"),
    [
        ("2.45", "2.45 g in a batch of 100 g; the balance 'bench' makes it 2.4 g, which is 2 % off"),
        ("0.1", "0.1 g in a batch of 100 g; the balance 'bench' is sure of it to ± 0.058 g, which is 58 %"),
        ("0.05", "0.05 g in a batch of 100 g, and the balance 'bench' reads steps of 0.1 g"),
        ("0.098", "0.098 g in a batch of 100 g, and the balance 'bench' reads steps of 0.1 g"),
        ("0.099", "0.099 g in a batch of 100 g, and the balance 'bench' reads steps of 0.1 g"),
        (
            "0.101",
            "0.101 g in a batch of 100 g; the balance 'bench' is sure of it to ± 0.058 g, which is 57 %",
        ),
        ("0.1021", "0.1021 g in a batch of 100 g; the balance 'bench' makes it 0.1 g, which is 2.1 % off"),
        (
            "2.55",
            "2.55 g in a batch of 100 g; the balance 'bench' is sure of it to ± 0.058 g, which is 2.3 %",
        ),
        ("2.89", "2.89 g in a batch of 100 g; the balance 'bench' is sure of it to ± 0.058 g, which is 2 %"),
        ("2.9", None),
        ("2.95", None),
        ("0", None),
    ],
)
def test_amount_is_held_against_the_steps_of_the_balance(amount: str, message: str | None) -> None:
    text = TITLE + HUNDRED + f"additions:\n    rutile  {amount}\n"
    assert said("below-readability", text, TENTHS) == ([(6, message)] if message else [])


def test_amount_may_be_off_by_the_tolerance_itself() -> None:
    # Steps of 0.6 g: 1.2 g is sure to 0.347 g, which is 29 % of it; 1.5 g reads 1.2, a fifth off, and is sure to 23 %.
    coarse = Balance("coarse", Decimal(2000), Decimal("0.6"))
    text = TITLE + HUNDRED + "additions:\n    rutile  {}\n"

    def found(amount: str, tolerance: str) -> list[int]:
        house = Settings(balances=(coarse,), weighing_tolerance=Decimal(tolerance))
        return lines("below-readability", text.format(amount), house)

    exact = (Fraction("0.246") ** 2 + Fraction("0.36") / 6, Fraction("1.2") ** 2)
    for tolerance, lines_found in (("0.29", []), ("0.28", [6])):
        assert (exact[0] <= Fraction(tolerance) ** 2 * exact[1]) == (not lines_found)
        assert found("1.2", tolerance) == lines_found
    assert found("1.5", "0.2") == [6]
    assert found("1.5", "0.25") == []


def test_every_block_is_weighed_and_scaled_to_the_batch() -> None:
    text = (
        TITLE
        + "batch: 50 g\nbase:\n    silica  99.9\n    kaolin  0.1\n"
        + "additions:\n    rutile  0.15 %\n    tin oxide  10\n"
        + 'variation "v":\n    rutile  0.11\n'
        + 'series "s":\n    rutile  0.13, 1, 0.17\n    tin oxide  0.19\n'
    )
    assert said("below-readability", text, TENTHS) == [
        (5, "0.05 g in a batch of 50 g, and the balance 'bench' reads steps of 0.1 g"),
        (7, "0.075 g in a batch of 50 g, and the balance 'bench' reads steps of 0.1 g"),
        (10, "0.055 g in a batch of 50 g, and the balance 'bench' reads steps of 0.1 g"),
        (12, "0.065 g in a batch of 50 g, and the balance 'bench' reads steps of 0.1 g"),
        (12, "0.5 g in a batch of 50 g; the balance 'bench' is sure of it to ± 0.058 g, which is 12 %"),
        (12, "0.085 g in a batch of 50 g, and the balance 'bench' reads steps of 0.1 g"),
        (13, "0.095 g in a batch of 50 g, and the balance 'bench' reads steps of 0.1 g"),
    ]


def test_no_batch_is_guessed_where_the_base_is_unread_or_nothing() -> None:
    addition = "additions:\n    rutile  0.05\n"
    assert lines("below-readability", TITLE + HUNDRED + addition, TENTHS) == [6]
    assert lines("below-readability", TITLE + base("0", "0") + addition, TENTHS) == []
    unread = TITLE + HUNDRED.replace("40", "") + addition
    assert {f.rule for f in findings("below-readability", unread, TENTHS)} == {"syntax"}


def test_finest_balance_that_carries_the_amount_is_taken() -> None:
    """What the fine balance does not carry goes to the coarse one, whose steps are too wide for it."""
    fine, coarse = (
        Balance("fine", Decimal(200), Decimal("0.01")),
        Balance("floor", Decimal(30000), Decimal(10)),
    )
    both = Settings(balances=(fine, coarse))
    text = TITLE + "batch: 1 kg\nbase:\n    silica  {}\n    kaolin  {}\n"
    assert lines("below-readability", text.format("80", "20"), both) == []
    assert said("below-readability", text.format("79.5", "20.5"), both) == [
        (5, "205 g in a batch of 1000 g; the balance 'floor' makes it 200 g, which is 2.4 % off"),
    ]


@pytest.mark.parametrize(("amount", "found"), [("200", []), ("200.0001", [5]), ("201", [5])])
def test_balance_carries_its_capacity_and_no_more(amount: str, found: list[int]) -> None:
    fine, coarse = (
        Balance("fine", Decimal(200), Decimal("0.01")),
        Balance("floor", Decimal(30000), Decimal(30)),
    )
    text = TITLE + f"\nbase:\n    silica  3000 g\n    kaolin  {amount} g\n"
    assert lines("below-readability", text, Settings(balances=(fine, coarse))) == found


def test_the_least_batch_that_will_do_is_named() -> None:
    text = TITLE + HUNDRED + "additions:\n    rutile  0.25\n"
    (listed,) = findings("below-readability", text, TENTHS)
    premix = "or make a premix, as glost batch works it out"
    assert listed.hint == f"weigh a batch of at least 1200 g, take it on a finer balance, {premix}"
    (assumed,) = findings("below-readability", text)
    assert (
        assumed.message == "0.25 g in a batch of 100 g; the assumed balance makes it 0.2 g, which is 20 % off"
    )
    assert assumed.hint == (
        f"weigh a batch of at least 1200 g, {premix}, or list a finer balance in glost.yaml (none is listed there;"
        " one of 0.1 g is assumed)"
    )
    small = Settings(balances=(Balance("pocket", Decimal(2), Decimal("0.1")),))
    *_, last = findings("below-readability", text, small)
    assert last.hint == f"weigh a larger batch, take it on a finer balance, {premix}"


def test_balance_weighs_nothing_below_its_stated_minimum() -> None:
    fine = Balance("fine", Decimal(200), Decimal("0.01"), minimum_g=Decimal("0.5"))
    text = TITLE + HUNDRED + "additions:\n    rutile  {}\n"
    assert lines("below-readability", text.format("0.5"), Settings(balances=(fine,))) == []
    assert lines("below-readability", text.format("0.495"), Settings(balances=(fine,))) == []  # reads as 0.50
    assert lines("below-readability", text.format("0.493"), Settings(balances=(fine,))) == [6]  # as 0.49
    assert lines("below-readability", text.format("0"), Settings(balances=(fine,))) == []
    (step,) = findings("below-readability", text.format("0.01"), Settings(balances=(fine,)))
    assert step.message.endswith("the balance 'fine' is not used below 0.5 g")
    coarse = Balance("bench", Decimal(2000), Decimal("0.1"), minimum_g=Decimal("0.5"))
    (above,) = findings("below-readability", text.format("0.75"), Settings(balances=(coarse,)))
    assert above.message.endswith("the balance 'bench' makes it 0.8 g, which is 6.7 % off")
    (finding,) = findings("below-readability", text.format("0.4"), Settings(balances=(fine,)))
    assert finding.message == "0.4 g in a batch of 100 g, and the balance 'fine' is not used below 0.5 g"
    assert finding.hint.startswith(
        "weigh a batch of at least 130 g, take it on a finer balance, or make a premix"
    )


def test_balance_whose_minimum_rules_an_amount_out_is_passed_over_while_another_will_do() -> None:
    fine = Balance("fine", Decimal(200), Decimal("0.01"), minimum_g=Decimal("0.5"))
    text = TITLE + HUNDRED + "additions:\n    rutile  {}\n"
    both = Settings(balances=(fine, *TENTHS.balances))
    assert said("below-readability", text.format("0.4"), both) == [
        (6, "0.4 g in a batch of 100 g; the balance 'bench' is sure of it to ± 0.058 g, which is 14 %")
    ]
    careful = Settings(balances=(fine, Balance("medium", Decimal(500), Decimal("0.01"))))
    assert lines("below-readability", text.format("0.4"), careful) == []
    assert said("below-readability", text.format("0.45"), both) == [
        (6, "0.45 g in a batch of 100 g; the balance 'bench' makes it 0.4 g, which is 11.1 % off")
    ]
    floor = Balance("floor", Decimal(30000), Decimal("0.1"), minimum_g=Decimal(50))
    pocket = Balance("pocket", Decimal(20), Decimal("0.01"))
    thirty = TITLE + "base:\n    silica  70\n    kaolin  30\n"
    assert said("below-readability", thirty, Settings(balances=(pocket, floor))) == [
        (4, "30 g in a batch of 100 g, and the balance 'floor' is not used below 50 g")
    ]


# ---- colourant-in-base ----------------------------------------------------------------------------------


def test_colourants_and_opacifiers_are_found_in_the_base_of_a_glaze_alone() -> None:
    block = "base:\n    silica  80\n    rutile  10\n    cobalt oxide  10\n    a powder nobody knows  0\n"
    rest = "additions:\n    tin oxide  2\n"
    found = [
        (4, "rutile is an opacifier, and stands in the base"),
        (5, "cobalt oxide is a colourant, and stands in the base"),
    ]
    assert said("colourant-in-base", TITLE + block + rest) == found
    for kind in ("engobe", "slip", "wash", "body"):
        assert said("colourant-in-base", f'{kind} "A"\n' + block + rest) == []


# ---- duplicate-material ---------------------------------------------------------------------------------


def test_material_stands_once_in_each_block() -> None:
    text = (
        TITLE
        + "base:\n    whiting  50\n    silica  20\n    calcium carbonate  30\n"
        + "additions:\n    tin oxide  2\n    tin oxide  1\n"
        + 'variation "v":\n    tin oxide  2\n    tin oxide  3\n'
        + 'series "s":\n    quarry dust  1, 2\n    quarry dust  2, 3\n'
        + 'series "t":\n    quarry dust  1, 2\n    tin oxide  2, 3\n'
    )
    assert said("duplicate-material", text) == [
        (5, "whiting stands a second time in this base, first on line 3 (there as 'whiting')"),
        (8, "tin oxide stands a second time among the additions, first on line 7"),
        (11, "tin oxide stands a second time in this variation, first on line 10"),
        (14, "quarry dust stands a second time in this series, first on line 13"),
    ]


def test_third_line_of_a_material_is_told_of_the_first() -> None:
    text = TITLE + "base:\n    silica  50\n    silica  20\n    silica  30\n    whiting  0\n    whiting  0\n"
    assert [message.split(", ")[1] for _, message in said("duplicate-material", text)] == [
        "first on line 3",
        "first on line 3",
        "first on line 6",
    ]


# ---- file-name ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("title", "path", "renamed"),
    [
        ("Harbour Mist", "harbour-mist.glost", None),
        ("Harbour Mist", "glazes/Harbour_Mist.glost", None),
        ("Harbour Mist", "glazes\\harbour mist.glost", None),
        ("Harbour Mist", "harbour-mist.old.glost", "harbour-mist"),
        ("Harbour Mist 2", "harbour-mist.glost", "harbour-mist-2"),
        ("Harbour   Mist (storm)", "quay.glost", "harbour-mist-storm"),
        ("Straße", "strasse.glost", None),
        ("...", "quay.glost", "recipe"),
        ("Harbour Mist", "-", None),
    ],
)
def test_file_is_called_as_the_recipe_however_the_words_are_joined(
    title: str, path: str, renamed: str | None
) -> None:
    found = findings("file-name", f'glaze "{title}"\n' + HUNDRED, path=path)
    assert [finding.hint for finding in found] == (
        [f"rename the file to {renamed}.glost, or the recipe"] if renamed else []
    )


def test_file_without_a_title_has_no_name_to_differ() -> None:
    assert {finding.rule for finding in findings("file-name", HUNDRED)} <= {"syntax"}


# ---- idle-handling-note ---------------------------------------------------------------------------------


def test_handling_note_is_for_a_material_of_the_recipe() -> None:
    notes = (
        "handling:\n    all: gloves\n    calcium carbonate, quarry dust: mask\n"
        "    tin oxide: mask\n    nephelin syenite: mask\n    moonlight: mask\n"
    )
    text = TITLE + HUNDRED + "additions:\n    quarry dust  2\n" + notes
    found = findings("idle-handling-note", text)
    assert [(f.line, f.message) for f in found] == [
        (10, "the note is for tin oxide, which is not in the recipe"),
        (11, "the note is for nephelin syenite, which is not in the recipe"),
        (12, "the note is for moonlight, which is not in the recipe"),
    ]
    rest = "the name, take the note away, or write  all:  where it holds for every material"
    assert [f.hint for f in found] == [
        f"correct {rest}",
        f"did you mean nepheline syenite? Correct {rest}",
        f"correct {rest}",
    ]
    unread = text.replace("40", "")
    assert {f.rule for f in findings("idle-handling-note", unread)} == {"syntax"}
    together = TITLE + HUNDRED + "handling:\n    all, whiting, tin oxide, rutile: mask\n"
    (both,) = findings("idle-handling-note", together)
    assert both.message == "the note is for tin oxide and rutile, which are not in the recipe"
    assert both.hint == (
        "correct the names, take them out, or write  all:  where it holds for every material"
    )
    assert both.text[both.column - 1 : both.end_column - 1] == "tin oxide, rutile"


# ---- implausible-amount ---------------------------------------------------------------------------------


def test_nothing_of_a_material_is_asked_about_in_the_recipe_and_not_in_its_tests() -> None:
    text = (
        TITLE
        + "base:\n    silica  100\n    whiting  0\n"
        + "additions:\n    rutile  0.0\n    tin oxide  0 %\n    quarry dust  1\n"
        + 'variation "v":\n    quarry dust  0\n'
        + 'series "s":\n    quarry dust  0, 1\n'
    )
    assert said("implausible-amount", text) == [
        (4, "whiting is given as 0"),
        (6, "rutile is given as 0"),
        (7, "tin oxide is given as 0"),
    ]


@pytest.mark.parametrize(
    ("amount", "found"), [("100", False), ("100.01", True), ("100 %", False), ("101 %", True), ("40", False)]
)
def test_more_is_added_than_there_is_base_only_above_the_base(amount: str, found: bool) -> None:
    blocks = (
        f"additions:\n    tin oxide  {amount}\n"
        f'variation "v":\n    rutile  {amount}\n'
        f'series "s":\n    quarry dust  {amount}, {amount}\n'
    )
    assert said("implausible-amount", TITLE + HUNDRED + blocks) == (
        [
            (6, "more tin oxide is added than there is base"),
            (8, "more rutile is added than there is base"),
            (10, "more quarry dust is added than there is base"),
            (10, "more quarry dust is added than there is base"),
        ]
        if found
        else []
    )


def test_amount_that_holds_for_all_steps_of_a_series_is_looked_at_once() -> None:
    series = 'series "s":\n    tin oxide  {}\n    rutile  1, 2, 3\n'
    assert said("implausible-amount", TITLE + HUNDRED + series.format("4")) == []
    assert said("implausible-amount", TITLE + HUNDRED + series.format("400")) == [
        (6, "more tin oxide is added than there is base")
    ]


def test_nothing_is_more_than_a_base_of_nothing() -> None:
    text = TITLE + base("0", "0") + "additions:\n    tin oxide  2\n"
    assert said("implausible-amount", text) == [
        (3, "material a is given as 0"),
        (4, "material b is given as 0"),
    ]


# ---- missing-atmosphere, missing-cone, missing-origin ---------------------------------------------------


@pytest.mark.parametrize("field", ["atmosphere: oxidation", "cone: 6", "origin: own test"])
def test_missing_field_is_found_at_the_title_once_all_can_be_read(field: str) -> None:
    rule = f"missing-{field.partition(':')[0]}"
    (finding,) = findings(rule, TITLE + HUNDRED)
    assert (finding.line, finding.column, finding.end_column) == (1, 7, 10)
    assert findings(rule, TITLE + field + "\n" + HUNDRED) == []
    assert {f.rule for f in findings(rule, TITLE + HUNDRED.replace("40", ""))} == {"syntax"}
    assert {f.rule for f in findings(rule, HUNDRED)} <= {"syntax"}


def test_missing_atmosphere_names_those_there_are() -> None:
    (finding,) = findings("missing-atmosphere", TITLE + HUNDRED)
    assert finding.hint.endswith("(or reduction, neutral, raku, salt, soda, wood)")


# ---- missing-handling-note ------------------------------------------------------------------------------

LUNG = Hazard(("H372",), "a sheet", "from memory")
SKIN = Hazard(("H317", "H400"), "a sheet", "from memory")
HARM = shipped_catalogue().with_own(
    [
        own("dust a", LUNG),
        own("dust b", Hazard(("H319", "H400", "H228"), "a sheet", "read")),
        own("dust c", LUNG, SKIN, Hazard(("H400",), "another sheet", "read")),
        own("dust d", Hazard(("H341",), "own sheet", "studio"), Hazard(("H302",), "a table", "read")),
        own("dust f", Hazard(("H318",), "a sheet", "read", basis="law")),
        own("dust g", Hazard(("H272",), "a sheet", "from memory", basis="industry")),
        own("dust h", Hazard(("H350",), "a sheet", "from memory", basis="opinion")),
        own("dust i", Hazard(("H373", "H350i"), "a sheet", "read", basis="industry", carried="quartz")),
        own("dust j", Hazard(("H372", "H350i"), "a sheet", "read", basis="industry", carried="quartz")),
    ]
)


def harm(text: str, settings: Settings = NONE) -> list[tuple[int, str]]:
    found = findings("missing-handling-note", text, settings, catalogue=HARM)
    return [(f.line, f.message.partition(" has no handling note")[0]) for f in found]


def test_what_harms_people_is_found_once_wherever_it_stands() -> None:
    text = (
        TITLE
        + "base:\n    dust b  60\n    quarry dust  40\n"
        + "additions:\n    dust a  1\n    dust a  1\n"
        + 'variation "v":\n    dust a  1\n    dust c  1\n'
        + 'series "s":\n    dust d  1, 2\n'
    )
    assert harm(text) == [(6, "dust a"), (10, "dust c"), (12, "dust d")]
    assert harm(text + "handling:\n    dust a, dust d: mask\n") == [(10, "dust c")]
    assert harm(text + "handling:\n    all: mask\n") == []
    assert harm(text, Settings(handling={"dust c": "mask"})) == [(6, "dust a"), (12, "dust d")]
    assert harm(text, Settings(handling={"all": "mask"})) == []


def test_note_under_another_name_of_the_material_counts() -> None:
    ware = Material("dust e", "flux", "invented", aliases=("grey dust",), hazards=(LUNG,))
    text = TITLE + "base:\n    silica  60\n    grey dust  40\nhandling:\n    silica: mask\n    {}: mask\n"
    catalogue = shipped_catalogue().with_own([ware])
    for name, found in (("grey dust", []), ("Dust E", []), ("black dust", [4])):
        assert lines("missing-handling-note", text.format(name), catalogue=catalogue) == found


def test_statements_stand_with_the_sources_that_name_them_and_no_others() -> None:
    text = TITLE + "base:\n    {}  100\n"
    (lung,) = findings("missing-handling-note", text.format("dust c"), catalogue=HARM)
    assert lung.message.startswith("dust c has no handling note, and can harm: H317 ")
    assert "; H372 " in lung.message
    assert "H372 Causes damage to organs through prolonged or repeated exposure (" in lung.message
    assert "H400" not in lung.message
    assert lung.message.endswith("(a sheet, from memory)")
    (studio,) = findings("missing-handling-note", text.format("dust d"), catalogue=HARM)
    assert studio.message.endswith("(own sheet; a table, read)")


@pytest.mark.parametrize(
    ("name", "end"),
    [
        ("dust f", "H318 Causes serious eye damage (law: a sheet, read)"),
        ("dust g", "H272 May intensify fire; oxidiser (industry: a sheet, from memory)"),
        ("dust h", "H350 May cause cancer (a committee's opinion, not law: a sheet, from memory)"),
        ("dust j", "long exposure (industry: a sheet, read)"),
    ],
)
def test_what_the_statements_rest_on_is_told(name: str, end: str) -> None:
    (found,) = findings("missing-handling-note", TITLE + f"base:\n    {name}  100\n", catalogue=HARM)
    assert found.message.endswith(end.replace("long exposure", "prolonged or repeated exposure"))


def test_some_quartz_is_left_to_the_caution_on_dust() -> None:
    text = TITLE + "base:\n    dust i  60\n    kaolin  20\n    potash feldspar  20\n"
    assert findings("missing-handling-note", text, catalogue=HARM) == []


def test_nothing_is_said_of_notes_while_a_line_cannot_be_read() -> None:
    text = TITLE + "base:\n    dust a  60\n    dust b  40\nhandling:\n    dust a{} mask\n"
    assert findings("missing-handling-note", text.format(":"), catalogue=HARM) == []
    found = findings("missing-handling-note", text.format(""), catalogue=HARM)
    assert [(f.line, f.rule) for f in found] == [(6, "syntax")]


# ---- other-name -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "written"),
    [
        ("grey ash", "grey ash"),
        ("grey ash 2", '"grey ash 2"'),
        ("grey ash 2b", '"grey ash 2b"'),
        ("grey ash .2", '"grey ash .2"'),
        ("grey 2 ash", "grey 2 ash"),
        ("grey: ash", '"grey: ash"'),
        ("grey (ash)", '"grey (ash)"'),
        ("grey, ash", '"grey, ash"'),
        ("grey -ash", '"grey -ash"'),
        ("b2", "b2"),
        ("cobalt-free ash", "cobalt-free ash"),
        ("b-grade ash", "b-grade ash"),
    ],
)
def test_other_name_is_fixed_to_one_that_reads_back(name: str, written: str) -> None:
    catalogue = Catalogue([Material(name, "ash", "invented", aliases=("our ash",)), own("silica")])
    page = TITLE + "base:\n    our ash  60\n    silica  40\n"
    after = fix(Source("a.glost", page), bench("other-name", catalogue=catalogue))
    assert after.text == page.replace("our ash", written)
    assert after.left.findings == []


@pytest.mark.parametrize(
    ("written", "fixed"),
    [
        ("flint 325 mesh", "silica 325 mesh"),
        ('"Flint (200#)"', '"silica 200#"'),
        ("quartz powder fine", "silica fine"),
        ("oxide-of-tin", "tin oxide"),
        ("iron oxide red", "red iron oxide"),
        ("Fe2O3", "red iron oxide"),
        ("200 mesh syenite nepheline", "nepheline syenite 200 mesh"),
    ],
)
def test_other_name_keeps_the_grain(written: str, fixed: str) -> None:
    page = TITLE + f"base:\n    {written}  60\n    whiting  40\n"
    after = fix(Source("a.glost", page), bench("other-name", catalogue=shipped_catalogue()))
    assert after.text == page.replace(written, fixed)
    assert after.left.findings == []


@pytest.mark.parametrize(
    "written", ["silica 325 mesh", '"silica (200#)"', "325 mesh silica", "Silica powder"]
)
def test_the_usual_name_with_its_grain_is_no_other_name(written: str) -> None:
    page = TITLE + f"base:\n    {written}  60\n    whiting  40\n"
    assert findings("other-name", page, catalogue=shipped_catalogue()) == []


@pytest.mark.parametrize(
    ("written", "message", "asked"),
    [
        (
            "copper oxide",
            "'copper oxide' does not say which material it is",
            (
                "which is meant: black copper oxide (CuO) or red copper oxide (Cu2O)? Write its whole name, or make "
                "'copper oxide' an alias of one in the collection's materials.yaml"
            ),
        ),
        (
            "dark potash spar x",
            "'dark potash spar x' is no material that is known here",
            (
                "did you mean potash feldspar or mixed feldspar? Correct the name, or add the material to the "
                "collection's materials.yaml"
            ),
        ),
    ],
)
def test_what_is_not_certain_is_asked_and_never_written(written: str, message: str, asked: str) -> None:
    page = TITLE + f"base:\n    {written}  60\n    whiting  40\n"
    (found,) = findings("unknown-material", page, catalogue=shipped_catalogue())
    assert (found.message, found.hint) == (message, asked)
    after = fix(Source("a.glost", page), bench("unknown-material", catalogue=shipped_catalogue()))
    assert after.text == page


def test_other_name_says_what_differs() -> None:
    text = TITLE + "base:\n    Whiting  20\n    calcium carbonate  20\n    silica  60\n    quarry dust  0\n"
    found = findings("other-name", text)
    assert [(f.line, f.message, f.hint) for f in found] == [
        (
            3,
            "'Whiting' differs from whiting in letter case or blanks",
            "write whiting; glost lint --fix writes it",
        ),
        (4, "'calcium carbonate' is whiting by another name", "write whiting; glost lint --fix writes it"),
    ]


# ---- over-capacity --------------------------------------------------------------------------------------


def carrying(*balances: tuple[str, str, str | None]) -> Settings:
    return Settings(
        balances=tuple(
            Balance(name, Decimal(capacity), Decimal("0.1"), cup_g=None if cup is None else Decimal(cup))
            for name, capacity, cup in balances
        )
    )


def test_batch_is_carried_up_to_the_capacity_with_cup_and_the_heaviest_test() -> None:
    text = (
        TITLE
        + "batch: {} g\n"
        + HUNDRED
        + "additions:\n    tin oxide  5\n"
        + 'variation "v":\n    rutile  20\n'
        + 'series "s":\n    rutile  1, 2\n'
    )
    bench_alone = carrying(("bench", "2000", None))
    assert said("over-capacity", text.format(1600), bench_alone) == []
    assert said("over-capacity", text.format(1601), bench_alone) == [
        (2, "the batch weighs 2001 g with its additions, and the largest balance, 'bench', carries 2000 g")
    ]
    cup = carrying(("bench", "2000", "100"))
    assert said("over-capacity", text.format(1520), cup) == []
    overloaded = (
        "the batch weighs 1901 g with its additions and a cup of 100 g, and the largest balance, 'bench', "
        "carries 2000 g"
    )
    assert said("over-capacity", text.format(1521), cup) == [(2, overloaded)]


def test_largest_balance_is_the_one_with_the_most_room_beside_its_cup() -> None:
    text = TITLE + "batch: 1900 g\n" + HUNDRED
    assert said("over-capacity", text, carrying(("a", "2000", "500"), ("b", "1900", None))) == []
    assert said("over-capacity", text, carrying(("a", "2000", "500"), ("b", "1899", None))) == [
        (2, "the batch weighs 1900 g with its additions, and the largest balance, 'b', carries 1899 g")
    ]


def test_room_is_calculated_without_a_cup_where_none_is_given() -> None:
    text = TITLE + "batch: {} g\n" + HUNDRED
    assert (
        said("over-capacity", text.format(1900), carrying(("a", "1900", None), ("b", "2000", "100.5"))) == []
    )
    assert (
        said("over-capacity", text.format(1900), carrying(("a", "1899.5", None), ("b", "2000", "100"))) == []
    )


def test_batch_of_the_collection_is_found_at_the_title() -> None:
    settings = carrying(("bench", "90", None))
    assert [line for line, _ in said("over-capacity", TITLE + HUNDRED, settings)] == [1]
    assert said("over-capacity", TITLE + HUNDRED) == []
    assert said("over-capacity", TITLE + base("0", "0"), settings) == []
    for unread in (TITLE + HUNDRED.replace("40", ""), HUNDRED):
        assert {f.rule for f in findings("over-capacity", unread, settings)} <= {"syntax"}


# ---- same-composition and same-name ---------------------------------------------------------------------


def against(rule: str, *texts: str) -> list[tuple[str, str]]:
    reports = [examine(Source(f"{at}.glost", text), bench(rule)) for at, text in enumerate(texts)]
    return [(f.file, f.message) for f in cross_check(reports) if f.rule == rule]


SAME = "another recipe is the same mix under another name: "
ONE = 'glaze "One"\nbase:\n    silica  60\n    whiting  40\nadditions:\n    tin oxide  5\n'


@pytest.mark.parametrize(
    ("other", "same"),
    [
        (ONE, True),
        (ONE.replace("60", "0.60").replace("40", "0.4").replace("  5", "  0.05"), True),
        (ONE.replace("60", "600 g").replace("40", "400 g").replace("  5", "  5 %"), True),
        (ONE.replace("60", "30").replace("40", "20").replace("  5", "  2.5"), True),
        (ONE.replace("60", "20\n    quartz  40").replace("quartz", "silica"), True),
        (ONE.replace("  5", "  5\n    rutile  0"), True),
        (ONE.replace("60", "60.001"), False),
        (ONE.replace("  5", "  5.5"), False),
        (ONE.replace("tin oxide", "rutile"), False),
        (ONE.replace("additions:\n", ""), False),
        (ONE + 'variation "v":\n    tin oxide  6\n', False),
        (ONE + 'variation "v":\n    tin oxide  5\n', False),
    ],
)
def test_same_mix_is_told_by_proportion_and_not_by_how_it_is_written(other: str, same: bool) -> None:
    found = against("same-composition", ONE, other.replace('"One"', '"Two"'))
    assert found == ([("0.glost", f"{SAME}1.glost:1"), ("1.glost", f"{SAME}0.glost:1")] if same else [])


@pytest.mark.parametrize("added", ["alumina", "rutile", "zinc oxide"])
def test_part_of_the_base_is_not_an_addition(added: str) -> None:
    one = ONE.replace("tin oxide", added)
    assert against("same-composition", one, one.replace('"One"', '"Two"').replace("additions:\n", "")) == []


def test_page_that_cannot_be_read_in_full_is_no_mix_to_compare() -> None:
    unread = ONE.replace('"One"', '"Two"') + "    rutile\n"
    assert against("same-composition", ONE, unread) == []


def test_variations_are_held_against_each_other_in_any_order() -> None:
    first, second = 'variation "v":\n    rutile  1\n', 'variation "w":\n    rutile  2\n'
    other = ONE.replace('"One"', '"Two"')
    assert len(against("same-composition", ONE + first + second, other + second + first)) == 2


def test_one_name_on_two_pages_is_for_the_other_rule() -> None:
    text = ONE.replace('"One"', '"ONE   "').replace("   ", "")
    assert against("same-composition", ONE, ONE) == []
    assert against("same-composition", ONE, text) == []
    assert against("same-name", ONE, text) == [
        ("0.glost", "another recipe is called 'One' too: 1.glost:1"),
        ("1.glost", "another recipe is called 'ONE' too: 0.glost:1"),
    ]


def test_one_material_alone_or_nothing_at_all_is_no_mix() -> None:
    for block in ("base:\n    silica  100\n", "base:\n    silica  0\n    whiting  0\n", ""):
        assert against("same-composition", 'glaze "One"\n' + block, 'glaze "Two"\n' + block) == []
    two = "base:\n    silica  50\n    whiting  50\n"
    assert len(against("same-composition", 'glaze "One"\n' + two, 'glaze "Two"\n' + two)) == 2


def test_three_others_are_named_and_the_rest_are_counted() -> None:
    pages = [ONE.replace('"One"', f'"{at}"') for at in range(6)]
    for count, names in (
        (2, "1.glost:1"),
        (4, "1.glost:1, 2.glost:1, 3.glost:1"),
        (5, "1.glost:1, 2.glost:1, 3.glost:1 and 1 more"),
        (6, "1.glost:1, 2.glost:1, 3.glost:1 and 2 more"),
    ):
        found = against("same-composition", *pages[:count])
        assert len(found) == count
        assert found[0] == ("0.glost", SAME + names)


# ---- soluble-material -----------------------------------------------------------------------------------


def test_soluble_material_is_found_once_and_not_where_it_is_meant_to_dissolve() -> None:
    block = (
        "base:\n    soda ash  50\n    silica  50\n    quarry dust  0\n    sodium silicate  0\n    wood ash  0\n"
        'additions:\n    soda ash  1\n    borax  1\nvariation "v":\n    borax  2\n    pearl ash  2\n'
    )
    for kind in ("glaze", "engobe", "slip"):
        assert lines("soluble-material", f'{kind} "A"\n' + block) == [3, 10, 13]
    for kind in ("wash", "body"):
        assert lines("soluble-material", f'{kind} "A"\n' + block) == []


# ---- unknown-atmosphere, unknown-cone, unknown-field, unknown-material ----------------------------------


@pytest.mark.parametrize(
    ("word", "message", "hint", "becomes"),
    [
        ("Reduction", "'Reduction' is written in lower case", "write reduction", "reduction"),
        ("OX", "'OX' is another spelling of oxidation", "write oxidation", "oxidation"),
        ("oxydation", "'oxydation' is another spelling of oxidation", "write oxidation", "oxidation"),
        (
            "electric",
            "'electric' is a kind of kiln, and no atmosphere",
            "write oxidation, where nothing",
            None,
        ),
        ("Gas", "'Gas' is a kind of kiln, and no atmosphere", "write reduction, oxidation or neutral", None),
        # Only near to a word: offered, and never changed.
        ("reductoin", "'reductoin' is no atmosphere that is known here", "did you mean reduction?", None),
        ("sold", "'sold' is no atmosphere that is known here", "did you mean soda?", None),
        ("moonlight", "'moonlight' is no atmosphere that is known here", "The known ones are", None),
        ("wood", "", "", None),
    ],
)
def test_atmosphere_is_fixed_only_in_a_known_spelling(
    word: str, message: str, hint: str, becomes: str | None
) -> None:
    text = TITLE + f"atmosphere: {word}\n" + HUNDRED
    found = findings("unknown-atmosphere", text)
    assert [(f.line, f.column, f.message) for f in found] == ([(2, 13, message)] if message else [])
    assert not found or found[0].hint.startswith(hint) or hint in found[0].hint
    fixed = fix(Source("a.glost", text), bench("unknown-atmosphere"))
    assert fixed.text == (text.replace(word, becomes) if becomes else text)


@pytest.mark.parametrize(
    ("cone", "wrong"),
    [
        *(("60", "60"), ("6", None), ("022", None), ("15", None), ("42", None), ("43", "43"), ("023", "023")),
        *(("6-60", "60"), ("42 1/2", "42 1/2"), ("022 1/2", "022 1/2"), ("021 1/2", None), ("40-43", "43")),
    ],
)
def test_cone_that_is_not_made_is_named(cone: str, wrong: str | None) -> None:
    text = TITLE + f"cone: {cone}\n" + HUNDRED
    assert said("unknown-cone", text) == ([(2, f"there is no cone {wrong}")] if wrong else [])
    below = TITLE + f"cone:\n    {cone}\n" + HUNDRED
    assert [message for _, message in said("unknown-cone", below)] == (
        [f"there is no cone {wrong}"] if wrong else []
    )


def test_cones_that_there_are_are_told() -> None:
    (finding,) = findings("unknown-cone", TITLE + "cone: 60\n" + HUNDRED)
    assert finding.hint.startswith("the cones run from 022 (the coolest) to 01 and from 1 to 42;")


@pytest.mark.parametrize(
    ("word", "near"),
    [
        ("atmosfere", "did you mean 'atmosphere'? What is no field is written below  notes:"),
        ("wate", "did you mean 'water'"),
        ("moonlight", "The fields are application, "),
        # Words of their own that only look like the name of a field.
        *(
            (word, "")
            for word in ("zone", "done", "clone", "bone", "later", "patch", "match", "muse", "fuse", "sieved")
        ),
    ],
)
def test_what_a_field_means_is_never_guessed(word: str, near: str) -> None:
    text = TITLE + f"{word}: 6\n" + HUNDRED
    (found,) = findings("unknown-field", text)
    assert found.hint.startswith(near)
    assert found.edits == ()
    assert fix(Source("a.glost", text), bench("unknown-field")).text == text


def test_unknown_material_is_answered_with_all_that_are_near() -> None:
    near = [own("grey dust"), own("gray dust"), own("grey rust"), own("whiting")]
    text = TITLE + "base:\n    {}  60\n    whiting  40\n"
    rest = "the name, or add the material to the collection's materials.yaml"
    for known, name, fixes in (
        (near, "grey dusk", "did you mean grey dust or gray dust? Correct "),
        (near[:2] + near[3:], "grey dusk", "did you mean grey dust or gray dust? Correct "),
        (near[2:], "grey rusk", "did you mean grey rust? Correct "),
        (near, "moonlight", "correct "),
    ):
        found = findings("unknown-material", text.format(name), catalogue=Catalogue(known))
        assert [(f.line, f.message, f.hint) for f in found] == [
            (3, f"'{name}' is no material that is known here", fixes + rest)
        ]


@pytest.mark.parametrize(("name", "water"), [("Water", True), ("hot tap water", True), ("ash water", False)])
def test_water_is_told_where_it_belongs(name: str, water: bool) -> None:
    text = TITLE + f"base:\n    {name}  60\n    whiting  40\n"
    (found,) = findings("unknown-material", text, catalogue=shipped_catalogue())
    assert ("water: 85 %" in (found.hint or "")) == water


# ---- allowance and idle-allowance -----------------------------------------------------------------------


def test_every_allowance_is_looked_at_and_a_comment_is_passed_over() -> None:
    text = (
        TITLE
        + "base:\n    silica  60  # allow slow-cooling to begin\n    whiting  40  # allow base-totl: as on the card\n"
    )
    (finding,) = findings("allowance", text)
    assert (finding.line, finding.message) == (4, "there is no rule 'base-totl' to allow")
    assert finding.hint.startswith("did you mean base-total? 'glost explain'")


def test_idle_allowance_says_where_it_caught_nothing() -> None:
    rules = LintContext(
        shipped_catalogue(), NONE, rules=(find_rule("base-total"), find_rule("idle-allowance"))
    )
    allow = "# allow base-total: as the card has it"
    for text, where in (
        (f"{allow}\n{TITLE}{HUNDRED}", "on this page"),
        (f"{TITLE.strip()}  {allow}\n{HUNDRED}", "on its line"),
        (TITLE + HUNDRED.replace("60", f"60  {allow}"), "on its line"),
    ):
        found = check(Source("a.glost", text), rules)
        assert [f.message for f in found] == [f"the allowance of base-total catches nothing {where}"]
