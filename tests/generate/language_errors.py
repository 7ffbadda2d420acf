"""docs/language.md: the section on what can go wrong.

Every row is a real run: the line is put on a page, the page is read, and what is said of it is written down.
"""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

from glost.errors import Position
from glost.language.diagnostics import Diagnostic
from glost.language.parse import parse
from glost.language.source import DecodeError, Source, decode
from glost.linter.reporters.plain import visible
from glost.recipe.materials.catalogue import shipped_catalogue
from glost.recipe.resolve import resolve

PAGE = Path(__file__).parents[2] / "docs" / "language.md"
BEGIN = "<!-- errors: written by tests/generate/language_errors.py -->"
END = "<!-- end of errors -->"

TITLE = 'glaze "Harbour Mist"\n'
FIELDS = "cone: 6\n"
BASE = "\nbase:\n    nepheline syenite      60\n    whiting                40\n"


class Case(NamedTuple):
    """An accident: its title, the line it is about, and where on the page that line stands. ``place`` is a
    word of PLACES, or the page itself with {} for the line."""

    title: str
    line: str
    place: str


PLACES = {
    "page": "{}\n",
    "first": "{}\n" + FIELDS + BASE,
    "above": "{}\n" + TITLE + FIELDS + BASE,
    "field": TITLE + "{}\n" + BASE,
    "below a field": TITLE + FIELDS + "{}\n" + BASE,
    "below the title": TITLE + "{}\n" + FIELDS + BASE,
    "base": TITLE + FIELDS + BASE + "{}\n",
    "base alone": TITLE + FIELDS + "\nbase:\n{}\n",
    "additions": TITLE + FIELDS + BASE + "\nadditions:\n{}\n",
    "series": TITLE + FIELDS + BASE + '\nseries "cobalt steps":\n{}\n',
    "second step": TITLE + FIELDS + BASE + '\nseries "steps":\n    tin oxide  1, 2, 3\n{}\n',
    "handling": TITLE + FIELDS + BASE + "\nhandling:\n{}\n",
    "notes": TITLE + FIELDS + BASE + "\nnotes:\n{}\n",
    "head": TITLE + FIELDS + BASE + "\n{}\n    tin oxide  4\n",
    "last": TITLE + FIELDS + BASE + "\n{}\n",
    "variation": TITLE + FIELDS + BASE + '\nvariation "storm":\n    cobalt carbonate  1\n{}\n',
    "blend": TITLE + FIELDS + BASE + '\nblend "colours" by 50 %:\n{}\n',
    "indented head": TITLE + FIELDS + BASE + "{}\n    tin oxide  4\n",
    "base head": TITLE + FIELDS + "\n{}\n    silica  100\n",
}

SECTIONS: tuple[tuple[str, tuple[Case, ...]], ...] = (
    (
        "The file",
        (
            Case("an empty file", "", "page"),
            Case("a byte order mark", '\ufeffglaze "Harbour Mist"', "first"),
            Case("one line from a Windows editor", "cone: 6\r", "field"),
            Case("many lines from a Windows editor", "cone: 6\r\nuse: test\r", "field"),
            Case(
                "every line from a very old editor", TITLE.strip() + "\rcone: 6\rbase:\r    silica 100", "{}"
            ),
            Case("only comments", "# a note", "page"),
            Case("the page of a firing, where a recipe is asked for", 'firing "Small Kiln 12"', "page"),
            Case("notes, and no recipe", "Blue, second try: silica 30, whiting 20!", "page"),
            Case("more amounts than a recipe has", "    tin oxide  " + ", ".join(["1"] * 501), "series"),
            Case(
                "more sheets than anybody weighs",
                "    tin oxide  " + ", ".join(["1"] * 400),
                TITLE + FIELDS + "\nbase:\n" + "    silica  1\n" * 50 + '\nseries "steps":\n{}\n',
            ),
        ),
    ),
    (
        "Characters that are not what they look like",
        (
            Case("a tab", "    tin oxide\t4", "additions"),
            Case("a non-breaking space", "    tin oxide\u00a04", "additions"),
            Case("an odd kind of blank", "    tin oxide\u20034", "additions"),
            Case("a line separator", "    Runs.\u2028Keep clear.", "notes"),
            Case("a lone carriage return", "    Runs.\rKeep clear.", "notes"),
            Case("a sign that turns the direction", "    tin \u202eoxide 4", "additions"),
            Case("a control character", "    tin oxide\x07  4", "additions"),
            Case("an invisible character", "    tin\u200b oxide  4", "additions"),
            Case("a typographic quotation mark", "glaze \u201cHarbour Mist\u201d", "first"),
            Case("a full-width figure", "    tin oxide  \uff14", "additions"),
            Case("a figure of another script", "    tin oxide  \u0664", "additions"),
            Case("a full-width sign", "    tin oxide  4 \uff05", "additions"),
            Case("a sign that only looks like one", "    cobalt carbonate  0\u066b5", "additions"),
        ),
    ),
    (
        "The first line",
        (
            Case("no first line", "cone: 6", "{}\n" + BASE),
            Case("a name without quotation marks", "glaze Harbour Mist", "first"),
            Case("a name without a kind", '"Harbour Mist"', "first"),
            Case("something else first", "Harbour Mist!", "first"),
            Case("a kind that there is not", 'glase "Harbour Mist"', "first"),
            Case("a kind without a name", "glaze", "first"),
            Case("a kind without a name, further below", "glaze", "last"),
            Case("an empty name", 'glaze ""', "first"),
            Case("a capital", 'Glaze "Harbour Mist"', "first"),
            Case("a colon behind the name", 'glaze "Harbour Mist":', "first"),
            Case("a colon behind the kind", 'glaze: "Harbour Mist"', "first"),
            Case("a sign behind the kind", 'glaze = "Harbour Mist"', "first"),
            Case("more behind the name", 'glaze "Harbour Mist" cone 6', "first"),
            Case("a comment without a blank", 'glaze "Harbour Mist"# old', "first"),
            Case("a quotation mark that is not closed", 'glaze "Harbour Mist', "first"),
            Case("an indented first line", '  glaze "Harbour Mist"', "first"),
            Case("a line above it", "    note", "above"),
            Case("the first line further below", 'glaze "Harbour Mist"', FIELDS + "{}\n" + BASE),
            Case("a second recipe", 'glaze "Second"', "last"),
        ),
    ),
    (
        "Fields",
        (
            Case("no colon", "cone 6", "field"),
            Case("another sign for the colon", "cone = 6", "field"),
            Case("a blank before the colon", "cone : 6", "field"),
            Case("a capital", "Cone: 6", "field"),
            Case("nothing behind the colon", "cone:", "field"),
            Case("an indented field", "  date: 2026-03-14", "below the title"),
            Case("an indented line below a field", "    and hotter", "below a field"),
            Case("a material below a field", "surface:\n    tin oxide  4", "field"),
            Case("an indented line below the title", "    blue", "below the title"),
            Case("a field twice", "cone: 7", "below a field"),
            Case("a bullet before it", "- cone: 6", "field"),
            Case("a line that is nothing", "!!", "field"),
            Case("another name of a field", "color: pale blue", "field"),
            Case("both names of a field", "color: pale blue", TITLE + "colour: blue\n{}\n" + BASE),
            Case("a cone that is none", "cone: six", "field"),
            Case("a cone with its sign", "cone: ^10", "field"),
            Case("a cone with a letter", "cone: c/6", "field"),
            Case("a cone with its word", "cone: cone 5-6", "field"),
            Case("half a low cone as a decimal", "cone: 05.5", "field"),
            Case("two cones", "cone: 5/6", "field"),
            Case("a cone and its atmosphere", "cone: 10 R", "field"),
            Case("a temperature for a cone", "cone: 1240 C", "field"),
            Case("a range from hot to cool", "cone: 6-5", "field"),
            Case("a use that there is not", "use: dinnerware", "field"),
            Case("a date in another order", "date: 14.3.2026", "field"),
            Case("a batch without a unit", "batch: 500", "field"),
            Case("a batch of nothing", "batch: 0 g", "field"),
            Case("water without its sign", "water: 60", "field"),
            Case("a gravity that is none", "gravity: 145", "field"),
            Case("a sieve that is none", "sieve: fine", "field"),
            Case("a full-width figure in a value", "cone: \uff16", "field"),
            Case("two lines where one is read", "test", TITLE + BASE + "use:\n    food\n    {}\n"),
            Case("only commas", "tags: ,", "field"),
            Case("a blank before the colon of an unknown field", "glossy : yes", "field"),
        ),
    ),
    (
        "Heads",
        (
            Case("no base", 'glaze "Harbour Mist"', "{}\n" + FIELDS),
            Case("no colon", "additions", "head"),
            Case("another sign for the colon", "additions;", "head"),
            Case("a blank before the colon", "additions :", "head"),
            Case("a capital", "Additions:", "head"),
            Case("a capital and no colon", "Additions", "head"),
            Case("more behind the head", "base tin oxide", "last"),
            Case("a material behind the head", "base: silica  100", "last"),
            Case("a comment without a blank", "additions:#colour", "head"),
            Case("a slip in a head", "aditions", "head"),
            Case("a slip in a named head", 'varation "storm":', "head"),
            Case("a named head without quotation marks", "variation storm:", "head"),
            Case("a colon too many", 'variation: "storm"', "head"),
            Case("no blank before the name", 'variation"storm":', "head"),
            Case("an empty name", 'variation "":', "head"),
            Case("more behind the name", 'variation "storm": grey', "head"),
            Case("an indented head", "  additions:", "indented head"),
            Case("nothing below a head", "additions:", "last"),
            Case("a head twice", "base:", "{}\n".join((TITLE + BASE + "\n", "    silica  1\n"))),
            Case(
                "a name twice",
                'variation "storm":',
                TITLE + BASE + '\nvariation "storm":\n    tin oxide  1\n\n{}\n    tin oxide  2\n',
            ),
        ),
    ),
    (
        "Where lines stand",
        (
            Case("a material in column one", "tin oxide  4", "additions"),
            Case("text in column one", "Runs at the foot.", "notes"),
            Case("a handling line in column one", "zinc oxide, whiting: gloves", "handling"),
            Case(
                "one handling line in column one",
                "zinc oxide: gloves",
                TITLE + FIELDS + BASE + "\nhandling:\n    all: wet-clean\n{}\n",
            ),
            Case("a very long line", "    " + "very " * 500, "additions"),
        ),
    ),
    (
        "Lines of materials",
        (
            Case("no amount", "    tin oxide", "additions"),
            Case("no blank before the amount", "    silica22", "additions"),
            Case("no material", "    4", "additions"),
            Case("only amounts", "    4, 5", "additions"),
            Case("only a sign", "    ---", "additions"),
            Case("the amount first", "    4 tin oxide", "additions"),
            Case("two amounts", "    tin oxide  4 5", "additions"),
            Case("two amounts, or one of thousands", "    tin oxide  1 000", "additions"),
            Case("several amounts outside a series", "    tin oxide  4, 5", "additions"),
            Case("a colon between", "    tin oxide: 4", "additions"),
            Case("a dash before it", "    - tin oxide  4", "additions"),
            Case("a plus before it, in the base", "    + tin oxide  4", "base"),
            Case("a comma at the end", "    tin oxide  4,", "additions"),
            Case("words behind the amount", "    tin oxide  4 sifted", "additions"),
            Case("words behind the note", "    tin oxide  4 (sifted) twice", "additions"),
            Case("a sign behind the amount", "    tin oxide  4 !", "additions"),
            Case("two units", "    tin oxide  4 g kg", "additions"),
            Case("a bracket without a partner", "    tin oxide  4 (sifted", "additions"),
            Case("two notes", "    tin oxide  4 (sifted) (twice)", "additions"),
            Case("the note before the amount", "    tin oxide (sifted)  4", "additions"),
            Case("the amount in brackets", "    tin oxide (4)", "additions"),
            Case("a quotation mark that is not closed", '    "frit 12  4', "additions"),
            Case("nothing between quotation marks", '    ""  4', "additions"),
            Case("single quotation marks", "    'frit 12'  4", "additions"),
            Case("a sign in a name", "    clay #3 dry  4", "additions"),
            Case("the sign of a comment elsewhere", "    // tin oxide  4 %", "additions"),
            Case("a name that ends in a figure", "    frit 12  4", "additions"),
            Case("a comment without a blank", "    tin oxide  4# sifted", "additions"),
            Case("the sign before the figure", "    tin oxide  % 4", "additions"),
            Case("a unit in another spelling", "    tin oxide  4 grams", "base alone"),
            Case("the word parts", "    tin oxide  4 parts", "additions"),
            Case("a unit that is not read", "    tin oxide  4 cups", "additions"),
            Case("another sign in a name", "    whiting; fine  4", "additions"),
            Case("a line that is nothing of this", "    &  0.5  (sifted)", "additions"),
        ),
    ),
    (
        "Numbers",
        (
            Case("a decimal comma", "    cobalt carbonate  0,5", "additions"),
            Case("a comma before three figures", "    tin oxide  1,500", "additions"),
            Case("a comma with nothing before it", "    tin oxide  ,5", "additions"),
            Case("several commas", "    tin oxide  1,2,3", "additions"),
            Case("a comma and a point", "    tin oxide  1.5,5", "additions"),
            Case("a comma between thousands", "    tin oxide  1,500.5", "additions"),
            Case("a point between thousands", "    tin oxide  1.500,5", "additions"),
            Case("a sign between figures", "    tin oxide  1_500", "additions"),
            Case("a negative amount", "    tin oxide  -4", "additions"),
            Case("a plus sign", "    tin oxide  +4", "additions"),
            Case("a plus sign in the base", "    zinc oxide  +4", "base"),
            Case("a plus sign in a variation", "    tin oxide  +4", TITLE + BASE + '\nvariation "v":\n{}\n'),
            Case("a range", "    tin oxide  4-5", "additions"),
            Case("a fraction", "    tin oxide  1/2", "additions"),
            Case("a fraction of a part", "    tin oxide  1/2 part", "additions"),
            Case("a whole number and a fraction", "    kaolin  65 3/4", "base"),
            Case("figures that may be no fraction", "    tin oxide  2/4", "additions"),
            Case("a fraction that is no short decimal", "    tin oxide  1/3", "additions"),
            Case("a fraction in one sign", "    tin oxide  \u00bd", "additions"),
            Case("an exponent", "    tin oxide  1e2", "additions"),
            Case("two decimal points", "    tin oxide  1.2.3", "additions"),
            Case("a point at the end", "    tin oxide  4.", "additions"),
            Case("too many figures", "    tin oxide  0.12345678", "additions"),
            Case("no number", "    tin oxide  nan", "additions"),
            Case("a sign before a figure", "    tin oxide  ~4", "additions"),
        ),
    ),
    (
        "Units",
        (
            Case("per cent in the base", "    zinc oxide  10 %", "base"),
            Case("a mass among parts", "    zinc oxide  10 g", "base"),
            Case("parts among masses", "    silica  22", TITLE + "\nbase:\n    whiting  40 g\n{}\n"),
            Case("a mass added to parts", "    tin oxide  4 g", "additions"),
        ),
    ),
    (
        "Series",
        (
            Case("a comma that may be decimal", "    cobalt carbonate  0,5", "series"),
            Case("commas without blanks", "    cobalt carbonate  1,2,3", "series"),
            Case("no commas", "    cobalt carbonate  0.25 0.5 1", "series"),
            Case("semicolons", "    cobalt carbonate  0.25; 0.5; 1", "series"),
            Case("a blank before the comma", "    cobalt carbonate  0.25 , 0.5", "series"),
            Case("a comma first", "    cobalt carbonate , 0.5", "series"),
            Case("two commas together", "    cobalt carbonate  0.25, , 1", "series"),
            Case("a word among the amounts", "    cobalt carbonate  0.25, none, 1", "series"),
            Case("lines of unequal length", "    cobalt carbonate  0.25, 0.5", "second step"),
            Case("units that change on a line", "    cobalt carbonate  0.25 %, 0.5", "series"),
        ),
    ),
    (
        "Variations and blends",
        (
            Case("a field that a variation does not have", "    cone: 8", "variation"),
            Case("a field of a variation without a colon", "    colour  deep blue", "variation"),
            Case("a field of a variation with a capital letter", "    Surface: matte", "variation"),
            Case("another word for a field of a variation", "    color: deep blue", "variation"),
            Case("another sign behind a field of a variation", "    colour = deep blue", "variation"),
            Case("a blank before the colon of a variation's field", "    colour : deep blue", "variation"),
            Case("a field of a variation twice", "    colour: blue\n    colour: green", "variation"),
            Case("a step that does not divide 100", 'blend "line" by 30 %:\n    rutile  1, 0', "last"),
            Case("more corners than a blend has", "    rutile  1, 2, 3, 4, 5", "blend"),
            Case(
                "another step in the second block of a blend",
                'base blend "line" by 50 %:\n    silica  20, 40\nblend "line" by 25 %:\n    rutile  1, 2',
                "last",
            ),
            Case(
                "more corners in the second block of a blend",
                'base blend "line" by 50 %:\n    silica  20, 40\nblend "line" by 50 %:\n    rutile  1, 2, 3',
                "last",
            ),
            Case(
                "two tests of one name",
                'variation "steps 1":\n    rutile  1\nseries "steps":\n    rutile  2, 3',
                "last",
            ),
            Case(
                "no base for a variation to stand on",
                'base series "silica":\n    silica  20, 30\nvariation "storm":\n    rutile  1',
                TITLE + FIELDS + "\n{}\n",
            ),
        ),
    ),
    (
        "Recipes among the ingredients",
        (
            Case("a colon behind the kind", '    glaze: "Clear Ebb"  50', "base"),
            Case("a kind with a capital letter", '    Glaze "Clear Ebb"  50', "base"),
            Case("a word that is like no kind", '    oxide "Clear Ebb"  50', "base"),
            Case("a word that is no kind", '    glase "Clear Ebb"  50', "base"),
            Case("a recipe, and no collection to find it in", '    glaze "Clear Ebb"  50', "base"),
            Case(
                "a recipe as its own ingredient",
                'base variation "half":\n    glaze "Harbour Mist"  50',
                "last",
            ),
        ),
    ),
    (
        "Handling lines",
        (
            Case("no colon", "    zinc oxide gloves", "handling"),
            Case("another sign for the colon", "    zinc oxide = gloves", "handling"),
            Case("nothing behind the colon", "    zinc oxide:", "handling"),
            Case("nothing before the colon", "    : gloves", "handling"),
            Case("a blank before the colon", "    zinc oxide : gloves", "handling"),
            Case("a comma too many", "    zinc oxide, : gloves", "handling"),
            Case("another sign between names", "    zinc oxide & whiting: gloves", "handling"),
            Case("a quotation mark that is not closed", '    "frit 12: gloves', "handling"),
            Case("a sign in a name", "    frit (fine): gloves", "handling"),
        ),
    ),
)

BYTES: tuple[tuple[str, bytes], ...] = (
    ("a file that is too large", b"#" * 300_000),
    ("a file with too many lines", b"#\n" * 10_001),
    ("UTF-16, as some editors save it", TITLE.encode("utf-16")),
    ("a zero byte", b'glaze "Harbour\x00 Mist"\n'),
    ("another encoding", "# K\u00fcche\n".encode("latin-1")),
)
"""Files that cannot be taken as text: exit status 2."""


def text_of(case: Case) -> str:
    """The page that the case stands on."""
    return PLACES.get(case.place, case.place).replace("{}", case.line)


def faults_of(case: Case) -> list[tuple[Position, Diagnostic]]:
    """What is said of the page, with line and column."""
    source = Source("recipe.glost", text_of(case))
    resolved = resolve(parse(source), shipped_catalogue())
    return [(source.position(f.span.start), f) for f in (*resolved.page.diagnostics, *resolved.diagnostics)]


def section() -> str:
    """The section between the two marker comments, with them."""
    out = [BEGIN, ""]
    for title, cases in SECTIONS:
        out += [f"### {title}", "", "| accident | line | message | fix |", "| --- | --- | --- | --- |"]
        for case in cases:
            for _, diagnostic in faults_of(case):
                hint = _prose(diagnostic.hint) + (" **(--fix)**" if diagnostic.edits else "")
                out.append(_row(case.title, _code(_shown(case.line)), _prose(diagnostic.message), hint))
        out.append("")
    out += [
        "### Files that cannot be read at all",
        "",
        "| accident | place | message | fix |",
        "| --- | --- | --- | --- |",
    ]
    for title, data in BYTES:
        try:
            decode(data)
        except DecodeError as error:
            place = f"line {error.position.line}, column {error.position.column}"
            out.append(_row(title, place, _prose(error.message), _prose(error.hint)))
    return "\n".join([*out, "", END])


def _shown(line: str) -> str:
    short = line if len(line) <= 60 else f"{line[:40].rstrip()} ..."
    return visible(short.replace("\n", " \u21b5 "))


def _row(*cells: str) -> str:
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


def _code(text: str) -> str:
    if not text.strip():
        return "(nothing)"
    return f"`` {text.rstrip()} ``" if "`" in text else f"`{text.rstrip()}`"


def _prose(text: str) -> str:
    """Text that Markdown shows as it is."""
    out = visible(text)
    for sign in "\\*_[]<`":
        out = out.replace(sign, "\\" + sign)
    return out


def with_section(page: str) -> str:
    """The page with its section written anew."""
    before, _, rest = page.partition(BEGIN)
    return before + section() + rest.partition(END)[2]


def files() -> dict[Path, str]:
    return {PAGE: with_section(PAGE.read_text("utf-8"))}
