"""What an editor is told of a page, without an editor: findings, fixes, completion, hover, names, outline, amounts."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from unittest.mock import patch

import hypothesis
import hypothesis.strategies as st
import pytest

from glost.editor import amounts, complete, entries, fixes, hover, layout, mentions, moved, outline
from glost.editor.page import Page
from glost.editor.positions import UNITS, Place, Positions
from glost.editor.studio import Studio
from glost.language.layout import FormatError, format_text
from glost.language.parse import parse
from glost.language.source import LARGEST_FILE, Span, apply
from glost.recipe.materials.catalogue import shipped_catalogue
from tests.conftest import STUDIO, TOP
from tests.work import count_steps, steps_grow_in_proportion

HEAD = 'glaze "Ebb"\ncone: 6\natmosphere: oxidation\norigin: invented\n\n'
PAGE = HEAD + "base:\n    silica  60\n    whiting  40\n\nadditions:\n    cobalt carbonate  1\n"
PAGE += '\nvariation "storm":\n    cobalt carbonate  2\n'


def write(text: str, tmp_path: Path, name: str = "ebb.glost") -> tuple[Studio, Page]:
    studio = Studio([tmp_path])
    return studio, studio.write(tmp_path / name, text)


# ---- positions ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("encoding", UNITS)
@hypothesis.given(text=st.text(st.sampled_from("aß€🌊e\u0301 \n\r\u2028"), max_size=30))
def test_every_place_leads_back_to_its_character(encoding: str, text: str) -> None:
    positions = Positions(text, encoding)
    for offset in range(len(text) + 1):
        place = positions.place(offset)
        back = positions.offset(place)
        # Only between CR and LF is there no place: that is the end of the line.
        assert back == offset or text[back:offset] == "\r"


def test_units_are_those_of_the_encodings() -> None:
    """Bytes, 16-bit code units and characters, as Python's own codecs count them."""
    text = "aß€🌊x"
    assert Positions(text, "utf-8").place(4).unit == len("aß€🌊".encode())
    assert Positions(text, "utf-16").place(4).unit == len("aß€🌊".encode("utf-16-le")) // 2
    assert Positions(text, "utf-32").place(4).unit == len("aß€🌊".encode("utf-32-le")) // 4


def test_a_place_inside_a_character_or_behind_the_text_is_taken_to_the_nearest() -> None:
    positions = Positions("🌊b\nc", "utf-16")
    assert positions.offset(Place(0, 1)) == 0
    assert positions.offset(Place(0, 99)) == 2
    assert positions.offset(Place(9, 0)) == 4


# ---- findings, and what is read for them --------------------------------------------------------------------------


@pytest.mark.parametrize("skip", ["held", "h*", "held/near.glost", "**/near.glost"])
def test_what_a_collection_skips_is_no_neighbour(tmp_path: Path, skip: str) -> None:
    """As on the command line: folders, pages and patterns."""
    (tmp_path / "glost.yaml").write_text(f'skip: ["{skip}"]\n')
    (tmp_path / "held").mkdir()
    (tmp_path / "held" / "near.glost").write_text(PAGE.replace("Ebb", "Near"))
    studio, page = write(PAGE, tmp_path)
    assert [one.file for one in studio.pages(page.path)] == ["ebb.glost"]
    (tmp_path / "glost.yaml").write_text("{}\n")
    assert len(list(studio.pages(page.path))) == 2


def test_findings_are_those_of_the_command_line_for_every_page_of_the_studio() -> None:
    from glost.linter.report import cross_check
    from glost.workspace.collection import Collections, find
    from glost.workspace.runs.lint_file import FileLinter
    from glost.workspace.runs.lint_options import LintOptions

    collections = Collections()
    linter = FileLinter(LintOptions(), collections)
    paths = find([str(STUDIO)], collections)
    expected = cross_check(linter.look(path).report for path in paths)
    studio = Studio([STUDIO])
    told = []
    for path in paths:
        page = studio.write(path, path.read_text("utf-8"))
        told += [(path.name, f.line, f.column, f.rule, f.level) for f in studio.findings(page)]
    assert sorted(told) == sorted((Path(f.file).name, f.line, f.column, f.rule, f.level) for f in expected)


def test_a_name_is_held_against_the_other_pages_as_they_are_in_the_editor(tmp_path: Path) -> None:
    (tmp_path / "glost.yaml").write_text("")
    (tmp_path / "other.glost").write_text(PAGE)
    studio, page = write(PAGE, tmp_path)
    assert "same-name" in {one.rule for one in studio.findings(page)}
    other = studio.write(tmp_path / "other.glost", PAGE.replace('"Ebb"', '"Flood"'))
    assert "same-name" not in {one.rule for one in studio.findings(page)}
    assert "same-name" not in {one.rule for one in studio.findings(other)}
    studio.close(tmp_path / "other.glost")
    assert "same-name" in {one.rule for one in studio.findings(page)}


def test_settings_are_read_again_when_their_file_changes(tmp_path: Path) -> None:
    text = PAGE.replace("40", "39")
    studio, page = write(text, tmp_path)
    levels = {one.rule: one.level for one in studio.findings(page)}
    assert levels["base-total"] == "error"
    (tmp_path / "glost.yaml").write_text("rules: {base-total: hint}\n")
    studio.look_again()
    (page,) = studio.opened
    assert {one.rule: one.level for one in studio.findings(page)}["base-total"] == "hint"
    (tmp_path / "glost.yaml").write_text("rules: {base-totall: hint}\n")
    page = studio.write(page.path, text)
    refused = studio.refusal(page.path)
    assert refused is not None
    assert "base-totall" in refused.message
    assert {one.rule: one.level for one in studio.findings(page)}["base-total"] == "error"
    (tmp_path / "glost.yaml").write_text("rules: {base-total: warning}\n")
    page = studio.write(page.path, text)
    assert studio.refusal(page.path) is None
    assert {one.rule: one.level for one in studio.findings(page)}["base-total"] == "warning"


@pytest.mark.parametrize("text", ["a" * (LARGEST_FILE + 1), 'glaze "A\x00"\n', "\ud800", "\n" * 10_001])
def test_a_text_that_is_no_page_is_told_of_and_no_more(tmp_path: Path, text: str) -> None:
    studio, page = write(text, tmp_path)
    (finding,) = studio.findings(page)
    assert finding.rule == "unreadable"
    assert amounts.beside(page) == []
    assert outline.outline(page.tree) == []
    assert hover.told_at(page, 0, [page]) is None


def test_nothing_outside_is_read_nothing_is_started_and_nothing_is_written(tmp_path: Path) -> None:
    """Held by the audit events of Python, which tell of each file that is opened and each process."""
    outside, folder = tmp_path / "outside", tmp_path / "opened"
    outside.mkdir()
    folder.mkdir()
    (outside / "secret.glost").write_text(PAGE)
    (folder / "linked.glost").symlink_to(outside / "secret.glost")
    (folder / "away").symlink_to(outside)
    (folder / "glost.yaml").write_text("")
    (folder / "near.glost").write_text(PAGE.replace("Ebb", "Near"))
    shipped_catalogue()
    seen: list[tuple[str, str, object]] = []
    watching = True

    def watch(event: str, arguments: tuple[object, ...]) -> None:
        if watching and event in (
            "open",
            "subprocess.Popen",
            "os.system",
            "os.exec",
            "os.fork",
            "os.posix_spawn",
        ):
            seen.append((event, str(arguments[0]), arguments[1] if len(arguments) > 1 else None))

    sys.addaudithook(watch)
    with patch.dict(os.environ, {"GLOST_CACHE": "off"}):
        studio, page = write(PAGE, folder)
        studio.findings(page)
        assert [one.file for one in studio.pages(page.path)] == ["ebb.glost", "near.glost"]
        hover.told_at(page, PAGE.index("silica"), studio.pages(page.path))
        layout.layout_edits(page)
    watching = False
    assert {event for event, _, _ in seen} == {"open"}
    assert not [path for _, path, _ in seen if str(outside) in path or "linked" in path]
    assert not [entry for entry in seen if isinstance(entry[2], str) and set(entry[2]) & set("wax+")]


# ---- work --------------------------------------------------------------------------------------------------------


def _long_page(lines: int) -> str:
    steps = "".join(f'series "s {n}":\n    cobalt carbonate  0.{n % 9 + 1}\n\n' for n in range(lines // 3))
    return PAGE.replace("origin", "batch: 1000 g\norigin") + "\n" + steps


def test_a_keystroke_reads_the_page_once_and_no_other(tmp_path: Path) -> None:
    (tmp_path / "glost.yaml").write_text("")
    for n in range(20):
        (tmp_path / f"{n}.glost").write_text(PAGE.replace("Ebb", f"Ebb {n}"))
    studio, page = write(PAGE, tmp_path)
    studio.findings(page)
    with patch("glost.editor.page.parse", wraps=parse) as read:
        page = studio.write(page.path, PAGE + "notes:\n    x\n")
        studio.findings(page)
    assert read.call_count == 1


def test_a_page_of_500_lines_answers_a_keystroke_in_bounded_work(tmp_path: Path) -> None:
    """The work grows in proportion to the page, and is that of one look at it."""
    studio = Studio([tmp_path])

    def answer(lines: int) -> None:
        studio.findings(studio.write(tmp_path / "ebb.glost", _long_page(lines)))

    assert steps_grow_in_proportion(answer, 120)
    assert count_steps(lambda: answer(500)) < 1_000_000


# ---- fixes ---------------------------------------------------------------------------------------------------------


def test_every_fix_that_is_offered_takes_its_finding_away() -> None:
    studio = Studio([STUDIO])
    count = 0
    for path in sorted((TOP / "corpus" / "conformance" / "reject").glob("*.glost")):
        try:
            text = path.read_bytes().decode("utf-8")
        except UnicodeDecodeError:
            continue
        page = studio.write(path, text)
        for one in fixes.offered(page, studio.findings(page), Span(0, len(text))):
            after = studio.write(path, apply(text, one.edits))
            assert (one.finding.rule, one.finding.message) not in {
                (f.rule, f.message) for f in studio.findings(after) if f.line == one.finding.line
            }
            count += 1
        studio.write(path, text)
    assert count > 50


# ---- names to choose among -----------------------------------------------------------------------------------------

OWN_CLAYS = """materials:
  - {name: quay clay 12, role: clay, source: invented, analysis: {SiO2: 60, Al2O3: 30}, loss: 10}
  - {name: quay clay 14, role: clay, source: invented, analysis: {SiO2: 62, Al2O3: 28}, loss: 10}
"""


def choices_at(studio: Studio, page: Page, text: str, word: str) -> list[fixes.OfferedFix]:
    at = text.index(word)
    return [one for one in fixes.offered(page, studio.findings(page), Span(at, at + len(word))) if one.chosen]


@pytest.mark.parametrize(
    ("word", "rule", "written"),
    [
        ("kaolinn", "unknown-material", ["kaolin"]),
        ("iron", "unknown-material", ["red iron oxide", "black iron oxide", "yellow iron oxide"]),
        ("quay clay 13", "unknown-material", ['"quay clay 12"', '"quay clay 14"']),
        ('glaze "Ebbin"', "syntax", ['glaze "Ebbing"']),
        ("Ebbing", "unknown-material", ['glaze "Ebbing"']),
    ],
)
def test_each_name_that_a_message_offers_can_be_chosen(
    tmp_path: Path, word: str, rule: str, written: list[str]
) -> None:
    (tmp_path / "glost.yaml").write_text("materials: materials.yaml\n")
    (tmp_path / "materials.yaml").write_text(OWN_CLAYS)
    (tmp_path / "ebbing.glost").write_text(PAGE.replace("Ebb", "Ebbing"))
    name = f'"{word}"' if word[-1].isdigit() else word
    text = PAGE.replace("whiting", name)
    studio, page = write(text, tmp_path)
    offered = choices_at(studio, page, text, name)
    assert {one.finding.rule for one in offered} == {rule}
    texts = [edit.text for one in offered for edit in one.edits]
    assert texts[: len(written)] == written
    (finding,) = {one.finding for one in offered}
    places = [finding.hint.index(text.strip('"').rpartition(' "')[2]) for text in texts]
    assert places == sorted(places)  # as the message has them
    for one in offered:
        after = apply(text, one.edits)
        there = studio.findings(studio.write(page.path, after))
        assert (finding.rule, finding.message) not in {(other.rule, other.message) for other in there}
        assert after.count("\n") == text.count("\n")


@pytest.mark.parametrize(
    ("line", "becomes"),
    [
        ("atmosphere: oxidating", "atmosphere: oxidation"),
        ("surfase: satin", "surface: satin"),
        ("aditions:\n    rutile  3", "additions:\n    rutile  3"),
        ("plus:\n    rutile  3", "additions:\n    rutile  3"),
        ('variatoin "x":\n    rutile  3', 'variation "x":\n    rutile  3'),
        ("# allow missing-con: it is a slip for any cone", "# allow missing-cone: it is a slip for any cone"),
    ],
)
def test_other_words_that_a_message_offers_can_be_chosen(tmp_path: Path, line: str, becomes: str) -> None:
    text = (
        'glaze "Ebb"\ncone: 6\norigin: invented\n\nbase:\n    silica  60\n    whiting  40\n\n' + line + "\n"
    )
    studio, page = write(text, tmp_path)
    offered = [one for one in fixes.offered(page, studio.findings(page), Span(0, len(text))) if one.chosen]
    assert text.replace(line, becomes) in {apply(text, one.edits) for one in offered}


def test_a_choice_on_the_page_of_a_firing(tmp_path: Path) -> None:
    text = 'firing "Small kiln"\ndate: 2026-03-21\nkilm: small electric\n'
    studio, page = write(text, tmp_path, "a.firing")
    offered = choices_at(studio, page, text, "kilm")
    assert [apply(text, one.edits) for one in offered] == [text.replace("kilm", "kiln")]


def test_the_test_of_a_tile_can_be_chosen(tmp_path: Path) -> None:
    (tmp_path / "ebb.glost").write_text(PAGE)
    text = 'firing "Small kiln"\ndate: 2026-03-21\n\ntile "A":\n    test: glaze "Ebbs"\n    surface: satin\n'
    studio, page = write(text, tmp_path, "a.firing")
    offered = choices_at(studio, page, text, 'glaze "Ebbs"')
    assert 'glaze "Ebb"' in [edit.text for one in offered for edit in one.edits]
    after = apply(text, offered[0].edits)
    assert "unknown-test" not in {one.rule for one in studio.findings(studio.write(page.path, after))}


def test_what_is_chosen_is_never_made_by_itself(tmp_path: Path) -> None:
    text = PAGE.replace("whiting", "kaolinn")
    studio, page = write(text, tmp_path)
    assert choices_at(studio, page, text, "kaolinn")
    assert fixes.fix_all(page) is None
    # Nor where something else on the page is fixed.
    text = text.replace("atmosphere", "Atmosphere")
    studio, page = write(text, tmp_path)
    fixed = fixes.fix_all(page)
    assert fixed is not None
    assert "kaolinn" in fixed


def test_what_is_restricted_says_so_where_it_is_chosen(tmp_path: Path) -> None:
    text = PAGE.replace("whiting", "lead")
    studio, page = write(text, tmp_path)
    titles = [one.title for one in choices_at(studio, page, text, "lead")]
    assert titles
    assert all("restricted: " in title for title in titles)


# ---- layout ---------------------------------------------------------------------------------------------------------


def test_layout_edits_give_the_one_layout(tmp_path: Path) -> None:
    _, page = write(PAGE, tmp_path)
    assert apply(PAGE, layout.layout_edits(page)) == format_text(page.tree)


def test_a_range_is_laid_out_alone(tmp_path: Path) -> None:
    _, page = write(PAGE, tmp_path)
    at = PAGE.index("    silica")
    done = apply(PAGE, layout.layout_edits(page, Span(at, at + 10)))
    assert "    silica                 60\n    whiting  40\n" in done


def test_a_page_that_cannot_be_read_is_not_laid_out(tmp_path: Path) -> None:
    _, page = write(PAGE.replace("60", "6O"), tmp_path)
    with pytest.raises(FormatError):
        layout.layout_edits(page)


# ---- completion ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "wanted", "unwanted"),
    [
        ("|", {"glaze", "engobe"}, {"silica"}),
        (HEAD + "ba|", {"base", "batch", "variation"}, {"cone", "silica", "glaze"}),
        (HEAD + "use: |", {"food", "test"}, {"base"}),
        ('glaze "E"\natmosphere: re|', {"reduction", "raku"}, {"base"}),
        ('glaze "E"\ncone: |', {"06", "10", "6"}, {"43"}),
        (HEAD + "base:\n    sil|", {"silica", "silicon carbide"}, {"cone", "all"}),
        (HEAD + "base:\n    flint|", {"flint"}, set()),
        (HEAD + "handling:\n    a|", {"all", "silica"}, {"base"}),
        (HEAD + "base:\n    silica  6|", set(), {"silica"}),
        (HEAD + "base:\n    silica  60  # allow du|", {"dust-hazard", "base-total"}, {"silica"}),
        (HEAD + "base:\n    silica  60  # sil|", set(), {"silica"}),
        (HEAD + "notes:\n    sil|", set(), {"silica"}),
        (HEAD + 'notes:\n    like "|', {"Near"}, {"silica", "Ebb"}),
        (HEAD + "body: |", {"Shore"}, {"Near"}),
        (HEAD + "base:\n    |", {"silica", "Near", "Shore"}, {"Ebb", "surface"}),
        (HEAD + 'base:\n    glaze "N|', {"Near"}, {"Shore", "Ebb", "silica"}),
        (HEAD + "base:\n    body |", {"Shore"}, {"Near", "silica"}),
        (HEAD + 'variation "v":\n    |', {"surface", "colour", "silica"}, {"cone", "base"}),
        (HEAD + 'variation "v":\n    surface: dry\n    co|', {"colour", "cobalt oxide"}, {"surface"}),
        (HEAD + 'variation "v":\n    surface: dry\nbase variation "V":\n    |', {"colour"}, {"surface"}),
    ],
)
def test_what_is_offered_at_a_place(tmp_path: Path, text: str, wanted: set[str], unwanted: set[str]) -> None:
    (tmp_path / "near.glost").write_text(PAGE.replace("Ebb", "Near"))
    (tmp_path / "shore.glost").write_text(PAGE.replace('glaze "Ebb"', 'body "Shore"'))
    offset = text.index("|")
    studio, page = write(text.replace("|", ""), tmp_path)
    labels = {one.label for one in complete.offers(page, offset, studio.pages(page.path))}
    assert wanted <= labels
    assert not unwanted & labels


FIRING = 'firing "F"\ndate: 2026-05-14\n'


@pytest.mark.parametrize(
    ("text", "wanted", "unwanted"),
    [
        (FIRING + "|", {"kiln", "reached", "schedule", "tile", "notes"}, {"date", "firing", "base", "glaze"}),
        (FIRING + "schedule:\n    to 600 C freely\nre|", {"reached", "tile"}, {"schedule", "date"}),
        (FIRING + "reached: |", {"06", "6"}, {"43", "oxidation"}),
        (FIRING + "atmosphere: |", {"reduction"}, {"6"}),
        (FIRING + "body: |", {"Shore"}, {"Near"}),
        (FIRING + 'tile "1":\n    |', {"test", "batch", "photo"}, {"cone", "silica", "surface: "}),
        (FIRING + 'tile "1":\n    flow: 1 mm\n    f|', {"faults", "test"}, {"flow"}),
        (FIRING + 'tile "1":\n    test: |', {"Near", "Near, storm", "Shore"}, {"silica"}),
        (FIRING + 'tile "1":\n    faults: scum, |', {"crazing", "pinholes"}, {"Near"}),
        (FIRING + "schedule:\n    |", {"from", "hold"}, {"test", "silica"}),
        (FIRING + "notes:\n    |", set(), {"test", "silica", "from"}),
        (FIRING + 'tile "1":\n    remarks: thin # |', set(), {"test", "silica", "from"}),
    ],
)
def test_what_is_offered_on_the_page_of_a_firing(
    tmp_path: Path, text: str, wanted: set[str], unwanted: set[str]
) -> None:
    (tmp_path / "near.glost").write_text(PAGE.replace("Ebb", "Near"))
    (tmp_path / "shore.glost").write_text(PAGE.replace('glaze "Ebb"', 'body "Shore"'))
    offset = text.index("|")
    studio, page = write(text.replace("|", ""), tmp_path, "f.firing")
    labels = {one.label for one in complete.offers(page, offset, studio.pages(page.path))}
    assert wanted <= labels
    assert not unwanted & labels


def test_a_recipe_that_is_offered_as_an_ingredient_reads_as_one(tmp_path: Path) -> None:
    (tmp_path / "near.glost").write_text(PAGE.replace("Ebb", "Near"))
    for typed in ("", "ne", 'glaze "', "glaze "):
        text = f"{HEAD}base:\n    {typed}"
        studio, page = write(text, tmp_path)
        (offer,) = [
            one for one in complete.offers(page, len(text), studio.pages(page.path)) if one.label == "Near"
        ]
        _, after = write(f"{text[: offer.span.start]}{offer.text}  100\n", tmp_path)
        assert list(after.recipe.uses) == ['glaze "Near"'], typed


def test_another_name_of_a_material_is_written_as_the_page_should_have_it(tmp_path: Path) -> None:
    text = HEAD + "base:\n    flint"
    _, page = write(text, tmp_path)
    (offer,) = [one for one in complete.offers(page, len(text), [page]) if one.label == "flint"]
    assert text[: offer.span.start] + offer.text == HEAD + "base:\n    silica"


# ---- hover and amounts ---------------------------------------------------------------------------------------------


def test_a_material_is_told_with_hazards_composition_and_uses(tmp_path: Path) -> None:
    studio, page = write(PAGE, tmp_path)
    told = hover.told_at(page, PAGE.index("cobalt carb"), studio.pages(page.path))
    assert told is not None
    for part in ("H317", "CoCO3", "Local codes", "used in 1 recipe of this collection", "Ebb  (ebb.glost)"):
        assert part in told.text


def test_a_test_is_told_with_formula_and_batch_as_the_command_line_has_them(tmp_path: Path) -> None:
    from glost.chemistry.firing import Calculator
    from glost.recipe.recipe import tests

    studio, page = write(PAGE, tmp_path)
    told = hover.told_at(page, PAGE.index("storm"), studio.pages(page.path))
    assert told is not None
    fired = Calculator(page.catalogue).fire(list(tests(page.recipe))[1])
    assert fired.unity is not None
    silica = next(term for term in fired.unity.terms if term.oxide == "SiO2")
    assert f"{silica.equivalents:.3f}" in told.text
    assert "+ cobalt carbonate" in told.text
    line = next(line for line in told.text.split("\n") if "+ cobalt carbonate" in line)
    assert "  2.0 g" in line or "  2 g" in line or "  2.00 g" in line, line  # 2 of 100 parts, at 100 g


def test_of_a_page_that_cannot_be_read_whole_nothing_is_calculated(tmp_path: Path) -> None:
    text = PAGE.replace("whiting  40", "whiting  4O")
    studio, page = write(text, tmp_path)
    assert amounts.beside(page) == []
    told = hover.told_at(page, text.index("storm"), studio.pages(page.path))
    assert told is not None
    assert "cannot be read whole" in told.text
    assert "SiO2" not in told.text


def test_amounts_beside_the_lines_are_those_of_the_usual_batch(tmp_path: Path) -> None:
    (tmp_path / "glost.yaml").write_text("batch: 250 g\n")
    text = PAGE + '\nseries "steps":\n    cobalt carbonate  0, 2 %\n'.replace("0, 2 %", "0 %, 2 %")
    _, page = write(text, tmp_path)
    shown = {text.count("\n", 0, one.offset): one.text for one in amounts.beside(page)}
    lines = text.split("\n")
    by_line = {lines[at].strip(): value for at, value in shown.items()}
    assert by_line["base:"] == "total 100"
    assert by_line["silica  60"].startswith("= 150")  # 60 % of 250 g
    assert by_line["whiting  40"].startswith("= 100")
    assert by_line["cobalt carbonate  2"].startswith("= 5")
    assert by_line["cobalt carbonate  0 %, 2 %"].startswith("= left out, 5")


# ---- names ---------------------------------------------------------------------------------------------------------


NEAR = (
    HEAD.replace("Ebb", "Near")
    + 'body: Ebb\nbase:\n    silica  60\n    ebb  40\nnotes:\n    As "EBB", not Ebb.  "storm"\n'
)


def _at(studio: Studio, page: Page, offset: int) -> tuple[mentions.Meaning, list[Page]]:
    pages = list(studio.pages(page.path))
    found = mentions.meaning_at(page, offset, mentions.names_of(pages))
    assert found is not None
    return found[0], pages


def test_a_recipe_is_found_wherever_it_is_named(tmp_path: Path) -> None:
    (tmp_path / "near.glost").write_text(NEAR)
    studio, page = write(PAGE, tmp_path)
    meaning, pages = _at(studio, page, PAGE.index("Ebb"))
    found = list(mentions.found(meaning, page, pages))
    named = [(one.page.file, one.page.text[slice(*one.mention.span)], one.mention.defines) for one in found]
    assert named == [
        ("ebb.glost", "Ebb", True),
        ("near.glost", "Ebb", False),
        ("near.glost", "ebb", False),
        ("near.glost", "EBB", False),
    ]


def test_a_new_name_is_written_wherever_the_recipe_is_named(tmp_path: Path) -> None:
    (tmp_path / "near.glost").write_text(NEAR)
    studio, page = write(PAGE, tmp_path)
    meaning, pages = _at(studio, page, PAGE.index("Ebb"))
    changed = {
        one.file: apply(one.text, edits)
        for one, edits in mentions.rename(meaning, "Low tide, 2%", page, pages)
    }
    assert changed["ebb.glost"] == PAGE.replace('"Ebb"', '"Low tide, 2%"')
    after = changed["near.glost"]
    assert "body: Low tide, 2%\n" in after
    assert '    "Low tide, 2%"  40\n' in after  # without quotes it would be no name
    assert 'As "Low tide, 2%", not Ebb.' in after


USING = HEAD.replace("Ebb", "Using") + (
    'base:\n    glaze "Ebb"  40\n    glaze "Ebb, Storm"  40  # "Ebb, storm" is darker\n    glaze "Ebb, steps 2"  20\n'
)
SERIES = '\nseries "steps":\n    cobalt carbonate  1, 2\n'
FIRED = 'firing "F"\ndate: 2026-05-14\ntile "storm":\n    test: glaze "Ebb, storm"\ntile "2":\n    test: glaze "Ebb"\n'


def _everywhere(studio: Studio, page: Page) -> list[Page]:
    return [*studio.pages(page.path), *studio.firings(page.path)]


@pytest.mark.parametrize(
    ("at", "new", "using", "fired"),
    [
        ("Ebb", "Low tide", USING.replace("Ebb", "Low tide"), FIRED.replace("Ebb", "Low tide")),
        (
            "storm",
            "gale",
            USING.replace("Storm", "gale").replace("storm", "gale"),
            FIRED.replace(", storm", ", gale"),
        ),
        ("steps", "stairs", USING.replace("steps", "stairs"), FIRED),
    ],
)
def test_ingredients_and_tiles_are_named_anew_with_a_recipe_and_its_tests(
    tmp_path: Path, at: str, new: str, using: str, fired: str
) -> None:
    (tmp_path / "using.glost").write_text(USING)
    (tmp_path / "f.firing").write_text(FIRED)
    text = PAGE + SERIES
    studio, page = write(text, tmp_path)
    every = _everywhere(studio, page)
    found = mentions.meaning_at(page, text.index(at), mentions.names_of(every))
    assert found is not None
    changed = {one.file: apply(one.text, edits) for one, edits in mentions.rename(found[0], new, page, every)}
    expected = {"ebb.glost": text.replace(at, new), "using.glost": using, "f.firing": fired}
    assert changed == {
        file: after for file, after in expected.items() if file != "f.firing" or after != FIRED
    }


def test_an_ingredient_and_a_tile_lead_to_the_recipe_and_to_its_test(tmp_path: Path) -> None:
    (tmp_path / "ebb.glost").write_text(PAGE + SERIES)
    studio, using = write(USING, tmp_path, "using.glost")
    fired = studio.write(tmp_path / "f.firing", FIRED)
    for page, before, wanted in (
        (using, 'glaze "E', "Ebb"),
        (using, 'glaze "Ebb, St', "storm"),
        (using, 'glaze "Ebb, steps', "steps"),
        (fired, 'test: glaze "Ebb', "Ebb"),
        (fired, 'test: glaze "Ebb, s', "storm"),
    ):
        every = _everywhere(studio, page)
        asked = mentions.meaning_at(page, page.text.index(before) + len(before), mentions.names_of(every))
        assert asked is not None, before
        places = [one for one in mentions.found(asked[0], page, every) if one.mention.defines]
        assert [(one.page.file, one.page.text[slice(*one.mention.span)]) for one in places] == [
            ("ebb.glost", wanted)
        ]


@pytest.mark.parametrize(
    ("old", "file", "name"),
    [
        ("Harbour Mist", "sea-fog", "Sea Fog"),
        ("Harbour mist", "sea-fog", "Sea fog"),
        ("harbour mist", "sea_fog 2", "sea fog 2"),
        ("Harbour Mist", "Harbour Mist", None),  # another way to write the same
        ("Other", "sea-fog", None),  # the file was not called by it
    ],
)
def test_the_name_of_a_recipe_goes_with_that_of_its_file(
    tmp_path: Path, old: str, file: str, name: str | None
) -> None:
    _, page = write(PAGE.replace("Ebb", old), tmp_path, "harbour-mist.glost")
    assert moved.new_name(page, tmp_path / f"{file}.glost") == name


def test_pictures_of_tiles_are_found_where_they_lie_afterwards(tmp_path: Path) -> None:
    text = FIRED + "    photo: photos/1.jpg\n"
    _, page = write(text, tmp_path, "f.firing")

    def after(*moves: tuple[str, str]) -> list[str]:
        asked = [moved.Move(tmp_path / old, tmp_path / new) for old, new in moves]
        return [
            apply(one.text, edits).splitlines()[-1].strip() for one, edits in moved.pictures(asked, [page])
        ]

    assert after(("photos/1.jpg", "photos/14-a.jpg")) == ["photo: photos/14-a.jpg"]
    assert after(("photos", "pictures")) == ["photo: pictures/1.jpg"]
    assert after(("f.firing", "firings/f.firing")) == ["photo: ../photos/1.jpg"]
    assert after(("f.firing", "new/f.firing"), ("photos", "new/photos")) == []
    assert after(("photos/2.jpg", "photos/3.jpg")) == []


@pytest.mark.parametrize("name", ["orchard ash", '"orchard ash"', "Orchard  Ash"])
def test_a_material_of_the_collection_leads_to_its_entry(tmp_path: Path, name: str) -> None:
    (tmp_path / "glost.yaml").write_text("materials: own.yaml\n")
    own = f"# ours\nmaterials:\n  - role: ash\n    name: {name}\n    aliases: [apple ash]\n    source: invented\n"
    (tmp_path / "own.yaml").write_text(own)
    _, page = write(HEAD + "base:\n    apple ash  60\n    silica  40\n", tmp_path)
    (used, flint) = [one for one in mentions.mentions(page, {}) if one.kind == "material"]
    place = entries.place_of(used.name, page.collection)
    assert place is not None
    assert (place.path.name, place.text[slice(*place.span)]) == ("own.yaml", name.strip('"'))
    assert entries.place_of(flint.name, page.collection) is None
    (tmp_path / "own.yaml").unlink()
    assert entries.place_of(used.name, page.collection) is None


def test_a_test_is_renamed_on_its_own_page(tmp_path: Path) -> None:
    (tmp_path / "near.glost").write_text(NEAR)
    text = PAGE + '\nnotes:\n    "storm" is the darker one\n'
    studio, page = write(text, tmp_path)
    meaning, pages = _at(studio, page, text.rindex("storm"))
    ((one, edits),) = mentions.rename(meaning, "gale", page, pages)
    assert apply(one.text, edits) == text.replace("storm", "gale")


@pytest.mark.parametrize(
    ("at", "new", "why"),
    [
        ("Ebb", "Near", "another recipe"),
        ("Ebb", 'a "b', "cannot be the name"),
        ("Ebb", " ", "cannot be the name"),
        ("silica", "flint", "not renamed"),
    ],
)
def test_a_name_that_cannot_be_given_is_refused(tmp_path: Path, at: str, new: str, why: str) -> None:
    (tmp_path / "near.glost").write_text(NEAR)
    studio, page = write(PAGE, tmp_path)
    meaning, pages = _at(studio, page, PAGE.index(at))
    with pytest.raises(mentions.RenameError, match=why):
        mentions.rename(meaning, new, page, pages)


# ---- outline -------------------------------------------------------------------------------------------------------


def test_the_outline_holds_blocks_and_lines(tmp_path: Path) -> None:
    _, page = write(PAGE, tmp_path)
    (recipe,) = outline.outline(page.tree)
    assert [one.name for one in recipe.inner] == [
        "cone",
        "atmosphere",
        "origin",
        "base",
        "additions",
        "storm",
    ]
    assert [(one.name, one.detail) for one in recipe.inner[3].inner] == [("silica", "60"), ("whiting", "40")]
    for entry in (recipe, *recipe.inner):
        assert entry.span.start <= entry.name_span.start <= entry.name_span.end <= entry.span.end


def test_blocks_and_runs_of_comments_fold(tmp_path: Path) -> None:
    text = "# one\n# two\n" + PAGE
    _, page = write(text, tmp_path)
    lines = text.split("\n")
    folded = {(lines[one.first - 1], lines[one.last - 1]) for one in outline.folds(page.tree)}
    assert folded == {
        ("# one", "# two"),
        ("base:", "    whiting  40"),
        ("additions:", "    cobalt carbonate  1"),
        ('variation "storm":', "    cobalt carbonate  2"),
    }
