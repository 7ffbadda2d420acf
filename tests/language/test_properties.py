"""What holds for every text: reading never raises, a broken line is one finding, laying out loses nothing."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.work import processor_seconds, steps_grow_in_proportion, time_grows_in_proportion

from glost.language.diagnostics import Diagnostic
from glost.language.layout import content, format_text
from glost.language.parse import parse
from glost.language.source import DecodeError, Source, apply, decode
from glost.recipe.analysed import AnalysedRecipe
from glost.recipe.materials.catalogue import Catalogue
from glost.recipe.resolve import resolve

CORPUS = Path(__file__).parents[2] / "corpus"
STUDIO = sorted((CORPUS / "studio").rglob("*.glost"))
ACCEPTED = sorted((CORPUS / "conformance" / "accept").glob("*.glost"))
NO_MATERIALS = Catalogue(())

quick = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def read(text: str) -> tuple[AnalysedRecipe, list[Diagnostic]]:
    resolved = resolve(parse(Source("page.glost", text)), NO_MATERIALS)
    return resolved, [*resolved.page.diagnostics, *resolved.diagnostics]


def check_anything(text: str) -> list[Diagnostic]:
    """What must hold of any text: it is read, and every finding stands inside it and says how to fix it."""
    resolved, found = read(text)
    source = resolved.page.source
    lines = text.count("\n") + 1
    for diagnostic in found:
        assert 0 <= diagnostic.span.start <= diagnostic.span.end <= len(text)
        start, end = source.position(diagnostic.span.start), source.position(diagnostic.span.end)
        assert 1 <= start.line <= lines
        assert start.line == end.line
        assert 1 <= start.column <= end.column
        assert diagnostic.message
        assert diagnostic.hint
        assert "\n" not in diagnostic.message
        apply(text, diagnostic.edits)
    broken = [source.position(f.span.start).line for f in resolved.page.diagnostics if not of_the_file(f)]
    assert len(broken) == len(set(broken)), "a line that cannot be read is told of once"
    return found


def check_fixes(text: str) -> None:
    """A fix that is offered for a line makes that line one that reads."""
    source = Source("page.glost", text)
    for diagnostic in parse(source).diagnostics:
        if diagnostic.edits and not of_the_file(diagnostic):
            after = parse(Source("page.glost", apply(text, diagnostic.edits)))
            left = {after.source.position(f.span.start).line for f in after.diagnostics if not of_the_file(f)}
            assert source.position(diagnostic.span.start).line not in left


def of_the_file(diagnostic: Diagnostic) -> bool:
    return (
        diagnostic.message.startswith(
            ("the file begins", "a line ends in CR LF", "the lines of this file end")
        )
        or "lines end in CR LF" in diagnostic.message
    )


# ---- any text ---------------------------------------------------------------------------------------------

WORDS = st.sampled_from(
    [
        "glaze",
        "base:",
        "additions:",
        "series",
        "variation",
        "handling:",
        "notes:",
        "cone:",
        "silica",
        "kaolin",
        '"',
        "“",
        "(",
        ")",
        "#",
        " # ",
        ":",
        ",",
        ";",
        ".",
        "-",
        "%",
        "g",
        "kg",
        " ",
        "    ",
        "\t",
        "\u00a0",
        "\r",
        "\n",
        "\n    ",
        "\u2028",
        "\u200b",
        "\u202e",
        "\ufeff",
        "22",
        ".5",
        "1,5",
        "1e5",
        "½",
        "٣",
        "３",
        "/",
        "=",
        "|",
        "_",
        "'",
    ]
)


@quick
@given(st.text())
def test_no_text_raises(text: str) -> None:
    check_anything(text)


@settings(quick, max_examples=300)
@given(st.lists(WORDS, max_size=40).map("".join))
def test_no_text_of_the_words_of_the_language_raises(text: str) -> None:
    check_anything(text)
    check_fixes(text)


@quick
@given(
    st.sampled_from(["base", "additions", 'series "s"', "handling", "notes", 'variation "v"']),
    st.lists(WORDS.filter(lambda word: "\n" not in word), min_size=1, max_size=12).map("".join),
)
def test_no_line_of_a_block_raises(head: str, line: str) -> None:
    page = f'glaze "A"\nbase:\n    silica  1\n\n{head}:\n    {line}\n{line}\n'
    check_anything(page)
    check_fixes(page)


@quick
@given(st.binary())
def test_no_bytes_raise_but_what_is_unreadable(data: bytes) -> None:
    refusal: DecodeError | None = None
    try:
        check_anything(decode(data))
    except DecodeError as error:
        refusal = error
    if refusal is not None:
        assert refusal.message
        assert refusal.hint
        assert refusal.position >= (1, 1)


# ---- pages that are being written -------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["comments-everywhere", "handling", "series"])
def test_every_prefix_of_a_page_is_read(name: str) -> None:
    text = (CORPUS / "conformance" / "accept" / f"{name}.glost").read_text("utf-8")
    for end in range(len(text)):
        check_anything(text[:end])


def one_line_changes(lines: list[str], chance: random.Random) -> Iterator[list[str]]:
    for at, line in enumerate(lines):
        yield lines[:at] + lines[at + 1 :]
        yield [*lines[: at + 1], line, *lines[at + 1 :]]
        yield lines[:at] + lines[at + 1 : at + 2] + [line] + lines[at + 2 :]
        cut = chance.randrange(len(line) + 1)
        sign = chance.choice('\t"#(),:;=%-. 0\u00a0\u200b“１')
        yield [*lines[:at], line[:cut] + sign + line[cut:], *lines[at + 1 :]]
        yield [*lines[:at], line[:cut] + line[cut + 1 :], *lines[at + 1 :]]


@pytest.mark.parametrize("path", STUDIO, ids=lambda path: path.stem)
def test_a_change_of_one_line_is_read(path: Path) -> None:
    lines = path.read_text("utf-8").splitlines()
    for changed in one_line_changes(lines, random.Random(path.stem)):
        check_anything("\n".join(changed) + "\n")


# ---- broken lines -----------------------------------------------------------------------------------------

GOOD = {
    "base": [
        "    silica  22",
        "    potash feldspar  30.5  (fine)",
        '    "frit 2"  4  # dry',
        "    whiting .5",
    ],
    "additions": ["    tin oxide  4", "    rutile  2 %", "    zinc oxide  1  (sifted)  # in"],
    "handling": ["    silica, rutile: wet", "    all: gloves  # yes"],
    "series": ["    tin oxide  1, 2, 3", "    rutile  4", "    zinc oxide  1,  2, 0"],
}
BROKEN_ITEMS = [
    "    silica",
    "    silica  1,5 6",
    "    22",
    "    silica\t22",
    "    silica: 22",
    "    silica  22 (a",
    "    silica  22 23",
    "    silica  1e5",
    "    “frit 2” 3",
    "    silica  22 parts",
    "    ?",
    "    22 silica",
    "    silica  -4",
    "    silica  2.",
    "    silica 22#",
    "\tsilica 2",
    "    silica  ２２",
    "    cone: 6",
]
BROKEN = {
    "base": BROKEN_ITEMS,
    "additions": BROKEN_ITEMS,
    "handling": [
        "    silica",
        "    silica:",
        "    : wet",
        "    silica : wet",
        '    "a: wet',
        "    silica: a\u2028b",
    ],
    "series": [*BROKEN_ITEMS, "    tin oxide  1,2", "    tin oxide  1; 2; 3", "    tin oxide  1,, 3"],
}
HEADS = {"base": "base:", "additions": "additions:", "handling": "handling:", "series": 'series "steps":'}


@settings(quick, max_examples=120)
@given(st.data())
def test_as_many_findings_as_broken_lines_and_every_good_line_survives(data: st.DataObject) -> None:
    lines, broken, good = ['glaze "A"'], [], dict.fromkeys(GOOD, 0)
    for role, head in HEADS.items():
        lines += ["", head, GOOD[role][0]]
        good[role] += 1
        for _ in range(data.draw(st.integers(0, 4))):
            if data.draw(st.booleans()):
                lines.append(data.draw(st.sampled_from(GOOD[role])))
                good[role] += 1
            else:
                lines.append(data.draw(st.sampled_from(BROKEN[role])))
                broken.append(len(lines))
    resolved, found = read("\n".join(lines) + "\n")
    assert [resolved.page.source.position(diagnostic.span.start).line for diagnostic in found] == broken
    recipe = resolved.recipe
    assert good == {
        "base": len(recipe.base),
        "additions": len(recipe.additions),
        "handling": len(recipe.handling),
        "series": len(recipe.series[0].steps),
    }


# ---- pages made up ----------------------------------------------------------------------------------------

LETTERS = st.sampled_from("abcdefgxyzåéß長石") | st.sampled_from("abcdefgh")
WORD = st.text(LETTERS, min_size=1, max_size=6)
NAME = st.lists(WORD, min_size=1, max_size=3)
QUOTED = st.text(st.sampled_from("abc 12.,:;#()%-長"), min_size=1, max_size=10).map(
    lambda name: f"x{name}x".split()
)
AMOUNT = st.decimals(0, 999999999, places=3).map(lambda number: f"{number:f}")
PROSE = st.lists(
    st.text(st.sampled_from('abcdefgh長石(),.:;%"-1/2'), min_size=1, max_size=8), min_size=1, max_size=5
)
COMMENT = st.none() | st.lists(WORD, max_size=3).map(lambda words: ["#", *words])


@st.composite
def spaced(draw: st.DrawFn) -> list[list[str]]:
    """A page as lines of pieces. Between two pieces stand blanks, how many does not matter. The first
    piece is "" for an indented line, whose blanks do not matter either."""
    lines = [["glaze", f'"{" ".join(draw(NAME))}"', *comment(draw)]]
    for key in draw(st.lists(st.sampled_from(["origin", "surface", "firing"]), unique=True)):
        lines.append([f"{key}:", *draw(PROSE), *comment(draw)])
    sections = [
        "base:",
        *draw(
            st.lists(
                st.sampled_from(["additions:", 'variation "a b":', 'series "s":', "handling:", "notes:"]),
                unique=True,
            )
        ),
    ]
    for head in sections:
        lines.append([*head.split(" ", 1), *comment(draw)])
        for _ in range(draw(st.integers(1, 3))):
            lines.append(
                [
                    "",
                    *draw(below(head.split(" ")[0].rstrip(":"))),
                    *(comment(draw) if head != "notes:" else []),
                ]
            )
            if draw(st.booleans()):
                lines.append(draw(st.sampled_from([[], ["", "# aside"], ["# column one"]])))
    return lines


def comment(draw: st.DrawFn) -> list[str]:
    return draw(COMMENT) or []


def below(section: str) -> st.SearchStrategy[list[str]]:
    """The pieces of a line below that head."""
    name = NAME | QUOTED.map(lambda words: [f'"{" ".join(words)}"'])
    if section == "notes":
        return PROSE.map(lambda words: [" ".join(words)])
    if section == "handling":
        return st.tuples(name, PROSE).map(lambda pair: [" ".join(pair[0]) + ":", *pair[1]])
    amounts = AMOUNT.map(lambda one: [one])
    if section == "series":
        amounts = st.tuples(AMOUNT, AMOUNT).map(lambda pair: [pair[0] + ",", pair[1]])
    elif section != "base":
        amounts = st.tuples(AMOUNT, st.sampled_from(["", "%"])).map(
            lambda pair: [piece for piece in pair if piece]
        )
    note = st.none() | NAME.map(lambda words: f"({' '.join(words)})")
    return st.tuples(name, amounts, note).map(
        lambda parts: [" ".join(parts[0]), *parts[1], *filter(None, [parts[2]])]
    )


def printed(lines: list[list[str]], chance: random.Random) -> str:
    out = []
    for pieces in lines:
        text = ""
        for at, piece in enumerate(pieces):
            text += piece if at == 0 else " " * chance.randint(1, 5) + piece
        out.append(text + " " * chance.choice([0, 0, 1, 4]))
        out += [" " * chance.choice([0, 2])] * chance.choice([0, 0, 0, 1, 2])
    return "\n".join(out) + chance.choice(["", "\n", "\n\n"])


def said(text: str) -> tuple[object, ...]:
    """The content of a page, with each run of blanks inside a text as one: the printer widens those too."""
    page = parse(Source("page.glost", text))
    assert page.diagnostics == ()
    return tuple(without_blanks(part) for part in content(page))


def without_blanks(part: object) -> object:
    match part:
        case str():
            return " ".join(part.split())
        case tuple():
            return part[:2] if part[:1] == ("text",) else tuple(without_blanks(inner) for inner in part)
        case _:
            return part


@settings(quick, max_examples=100)
@given(spaced(), st.randoms(use_true_random=False))
def test_a_page_made_up_reads_back_however_it_is_spaced(
    lines: list[list[str]], chance: random.Random
) -> None:
    first, second = printed(lines, chance), printed(lines, chance)
    assert said(first) == said(second)
    resolved, found = read(first)
    assert found == [] or {f.message for f in found} <= {"the amounts of this line have different units"}
    pieces = [piece for line in lines for piece in line if piece.startswith("#")]
    assert sum(first.count(piece) for piece in set(pieces)) >= len(pieces)
    out = format_text(resolved.page)
    assert said(out) == said(first)
    assert format_text(parse(Source("page.glost", out))) == out


@pytest.mark.parametrize("path", [*STUDIO, *ACCEPTED], ids=lambda path: path.stem)
def test_laying_out_twice_is_laying_out_once(path: Path) -> None:
    page = parse(Source(path.name, path.read_text("utf-8")))
    out = format_text(page)
    again = parse(Source(path.name, out))
    assert content(again) == content(page)
    assert format_text(again) == out


# ---- comments ---------------------------------------------------------------------------------------------


def commented(text: str) -> tuple[str, list[str]]:
    """The page with a comment of its own between any two lines, and behind every line that takes one."""
    out, marks = ["# mark lead"], ["# mark lead"]
    section = ""
    for number, line in enumerate(text.splitlines(), 1):
        if line and not line.startswith((" ", "#")):
            section = line.split(":")[0]
        below_text = line.startswith(" ") and (section == "notes" or f"\n{section}:\n" in text)
        of_text = below_text and section not in ("base", "additions", "handling")
        if line.strip() and "#" not in line and not of_text:
            line += f" # mark behind {number}"
            marks.append(f"# mark behind {number}")
        # Between the lines the comment stands now in column one, now indented.
        out += [line, f"{' ' * (number % 3)}# mark below {number}"]
        marks.append(f"# mark below {number}")
    return "\n".join(out) + "\n", marks


@pytest.mark.parametrize("path", STUDIO, ids=lambda path: path.stem)
def test_a_comment_in_every_place_survives_in_its_order(path: Path) -> None:
    text, marks = commented(path.read_text("utf-8"))
    out = format_text(parse(Source(path.name, text)))
    places = [out.index(mark + "\n") for mark in marks]
    assert places == sorted(places)
    for mark in marks:
        assert out.count(mark + "\n") == 1


# ---- long lines -------------------------------------------------------------------------------------------

PLACES = {
    "lead": "{}\n",
    "field": 'glaze "A"\norigin: {}\n',
    "title": 'glaze "A" {}\n',
    "head": 'glaze "A"\nbase {}\n',
    "column one": 'glaze "A"\nbase:\n{}\n',
    "item": 'glaze "A"\nbase:\n    silica {}\n',
    "item only": 'glaze "A"\nbase:\n    {}\n',
    "steps": 'glaze "A"\nseries "s":\n    silica {}\n',
    "handling": 'glaze "A"\nhandling:\n    silica{}\n',
    "notes": 'glaze "A"\nnotes:\n    {}\n',
}
PIECES = [
    " ",
    "# ",
    " #",
    '"',
    '" ',
    "(",
    ") ",
    "(a) ",
    "1",
    "1 ",
    "1, ",
    ",",
    ", ",
    "a ",
    "a, ",
    "a: ",
    ": ",
    "a\u00a0",
    "“",
    "１",
    "a1 g ",
    "-",
    "- ",
    ". ",
    "\t",
    "\r",
    "é ",
    "%",
    "1 % ",
]


LASTS = ("", " x", " 1", " (", ":")


def read_line(place: str, piece: str, last: str, length: int) -> object:
    return read(PLACES[place].format(piece * (length // len(piece)) + last))


@pytest.mark.parametrize("place", PLACES)
def test_work_grows_in_proportion_to_a_line(place: str) -> None:
    for piece, last in itertools.product(PIECES, LASTS):
        assert steps_grow_in_proportion(
            lambda length, piece=piece, last=last: read_line(place, piece, last, length),  # type: ignore[misc]
            300,
        ), (piece, last)


@pytest.mark.slow
@pytest.mark.parametrize("place", PLACES)
def test_time_grows_in_proportion_to_a_line(place: str) -> None:
    """Inside the expressions, where no steps can be counted."""
    for piece, last in itertools.product(PIECES, LASTS):
        # A short look first: what went over the longer line again and again would need far more than this.
        if processor_seconds(lambda piece=piece, last=last: read_line(place, piece, last, 24_000)) > FLOOR_S:  # type: ignore[misc]
            assert time_grows_in_proportion(
                lambda length, piece=piece, last=last: read_line(place, piece, last, length),  # type: ignore[misc]
                6_000,
            ), (piece, last)


FLOOR_S = 0.1


@pytest.mark.parametrize("place", PLACES)
def test_a_line_of_two_hundred_thousand_characters_is_read(place: str) -> None:
    for piece in (" ", "# ", '"', "1, ", "a ", "(a) "):
        assert read_line(place, piece, " x", 200_000)
