"""Each node of a report in each medium."""

from __future__ import annotations

import re
from fractions import Fraction
from html.parser import HTMLParser

import pytest
from hypothesis import given
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from glost.language.width import width
from glost.output.model import (
    Band,
    Blank,
    Changed,
    Column,
    Entries,
    Entry,
    Heading,
    Line,
    Moment,
    Node,
    Paragraph,
    Prose,
    Row,
    Section,
    Table,
    Terms,
    Tick,
    Trend,
)
from glost.output.model.html import as_html
from glost.output.model.markdown import as_markdown, within_tag
from glost.output.model.text import COLUMNS, aligned, as_text

HOSTILE = "a|b *c* <img src=x onerror=alert(1)> `d` [e](http://f) @g \x1b[31m \u202e & #h"

CASES: dict[str, tuple[Node, str, str, str]] = {
    "title": (Heading("Five cups", 1), f"Five cups\n{'=' * 80}\n", "# Five cups\n", "<h1>Five cups</h1>"),
    "section heading": (Heading("Cups"), "Cups\n----\n", "## Cups\n", "<h2>Cups</h2>"),
    "lower heading": (Heading("Cup 1", 3), "Cup 1\n", "### Cup 1\n", "<h3>Cup 1</h3>"),
    "paragraph": (Paragraph("Tare it."), "Tare it.\n", "Tare it.\n", "<p>Tare it.</p>"),
    "paragraph with a lead": (
        Paragraph("10 g", lead="divide"),
        "divide: 10 g\n",
        "**divide**: 10 g\n",
        "<p><b>divide:</b> 10 g</p>",
    ),
    "attention": (
        Paragraph("Too small.", "attention"),
        "!   Too small.\n",
        "> **Attention**: Too small.\n",
        '<p class="warning"><b>Attention:</b> Too small.</p>',
    ),
    "strong": (
        Paragraph("base 100 g", "strong"),
        "base 100 g\n",
        "**base 100 g**\n",
        "<p><b>base 100 g</b></p>",
    ),
    "aside": (Paragraph("toxic", "aside"), "toxic\n", "toxic\n", '<p class="aside">toxic</p>'),
    "aside with a lead": (
        Paragraph("iron is counted as Fe2O3; " * 4, "aside", "note"),
        """\
note: iron is counted as Fe2O3; iron is counted as Fe2O3; iron is counted as
      Fe2O3; iron is counted as Fe2O3;
""",
        f"**note**: {'iron is counted as Fe2O3; ' * 4}\n",
        f'<p class="aside"><b>note:</b> {"iron is counted as Fe2O3; " * 4}</p>',
    ),
    "facts": (
        Section("", [Paragraph("base 100 g, no additions " * 4, "fact"), Paragraph("12 g", "fact", "water")]),
        """\
  base 100 g, no additions base 100 g, no additions base 100 g, no additions
    base 100 g, no additions
  water: 12 g
""",
        f"{'base 100 g, no additions ' * 4}\n\n**water**: 12 g\n",
        f"<section> <p>{'base 100 g, no additions ' * 4}</p> <p><b>water:</b> 12 g</p> </section>",
    ),
    "columns of one group": (
        Table(
            [
                Column("", names=True, least=6),
                *(Column(head, figures=True, group="mol") for head in ("before", "now")),
                Column("now", figures=True, group="% by mass"),
            ],
            [Row(["SiO2", "3.1", "3.25", "70"])],
        ),
        """\
           mol       % by mass
        before   now        now
SiO2       3.1  3.25         70
""",
        """\
|  | mol: before | mol: now | % by mass: now |
| --- | ---: | ---: | ---: |
| SiO2 | 3.1 | 3.25 | 70 |
""",
        """\
<table><thead><tr>
<td colspan="1"></td>
<th scope="colgroup" colspan="2">mol</th>
<th scope="colgroup" colspan="1">% by mass</th>
</tr><tr>
<td></td>
<th scope="col" class="figure">before</th>
<th scope="col" class="figure">now</th>
<th scope="col" class="figure">now</th>
</tr></thead><tbody>
<tr><th scope="row">SiO2</th><td class="figure">3.1</td><td class="figure">3.25</td><td class="figure">70</td></tr>
</tbody></table>""",
    ),
    "line": (
        Line(f"{'a folder/' * 12}a.glost"),
        f"  {'a folder/' * 12}a.glost\n",
        f"{'a folder/' * 12}a.glost\n",
        f'<p class="aside">{"a folder/" * 12}a.glost</p>',
    ),
    "terms": (
        Terms([("water", "60 g"), ("", "left open")]),
        "  water     60 g\n            left open\n",
        "- **water**: 60 g\n- left open\n",
        '<dl class="terms"> <div><dt>water</dt> <dd>60 g</dd></div> <div><dt></dt> <dd>left open</dd></div> </dl>',
    ),
    "room to write in": (
        Terms([("water", Blank(6, after="g")), ("gravity", Blank(6, "1.45 asked for, measured"))]),
        "  water     ______ g\n  gravity   1.45 asked for, measured ______\n",
        "- **water**: ______ g\n- **gravity**: 1.45 asked for, measured ______\n",
        """\
<dl class="terms">
<div><dt>water</dt> <dd>______ g</dd></div>
<div><dt>gravity</dt> <dd>1.45 asked for, measured ______</dd></div>
</dl>""",
    ),
    "list": (
        Entries([Entry("wear gloves", "cobalt"), Entry("lead", attention=True)]),
        "  - cobalt: wear gloves\n  ! lead\n",
        "- **cobalt**: wear gloves\n- **!** lead\n",
        '<ul> <li><b>cobalt:</b> wear gloves</li> <li><b class="mark">!</b> lead</li> </ul>',
    ),
    "prose": (
        Prose("first\n  second\n\nthird"),
        "  first\n    second\n\n  third\n",
        "first\\\n&nbsp;&nbsp;second\n\nthird\n",
        '<p dir="auto">first<br>  second<br><br>third</p>',
    ),
    "section": (
        Section("care", [Heading("Care")]),
        "Care\n----\n",
        "## Care\n",
        '<section class="care"> <h2>Care</h2> </section>',
    ),
    "table": (
        Table(
            [Column(""), Column("material"), Column("grams", figures=True, strong=True), Column("lot")],
            [
                Row([Tick("silica"), "silica", "24.5", Blank(4)]),
                Band("additions"),
                Row([Tick("tin", attention=True), "tin", "1.25", ""], below="opacifier"),
            ],
        ),
        """\
    material  grams  lot
[ ] silica    24.5   ____
additions
[ ]!tin        1.25
      opacifier
""",
        """\
|  | material | grams | lot |
| --- | --- | ---: | --- |
| ☐ | silica | **24.5** | ____ |
|  | **additions** |  |  |
| ☐ **!** | tin (opacifier) | **1.25** |  |
""",
        """\
<table><thead><tr>
<th scope="col"><span class="unseen">done</span></th>
<th scope="col">material</th>
<th scope="col" class="figure">grams</th>
<th scope="col">lot</th>
</tr></thead><tbody>
<tr><td class="tick"><input type="checkbox" class="box" autocomplete="off" aria-label="silica"></td><td>silica</td>\
<td class="figure strong"><b>24.5</b></td><td>____</td></tr>
<tr><th class="band" scope="rowgroup" colspan="4">additions</th></tr>
<tr><td class="tick"><input type="checkbox" class="box" autocomplete="off" aria-label="tin"> <b class="mark">!</b></td>\
<td>tin <small>opacifier</small></td><td class="figure strong"><b>1.25</b></td><td></td></tr>
</tbody></table>""",
    ),
    "changed figures, with the line of all": (
        Table(
            [Column("material", names=True), Column("so far"), Column("now", figures=True)],
            [
                Row(
                    [
                        "silica",
                        Trend(
                            [
                                Moment("a1", Fraction(20), False),
                                Moment("b2", None, True),
                                Moment("c3", Fraction(45, 2), True),
                            ]
                        ),
                        Changed("22.5"),
                    ]
                ),
                Row(["whiting", Trend([Moment("a1", Fraction(4), False)]), "4"]),
            ],
            name="revisions",
        ),
        """\
material  so far                        now
silica    20; none in b2; 22.5 in c3  *22.5
whiting   4                             4
""",
        """\
| material | so far | now |
| --- | --- | ---: |
| silica | 20; none in b2; 22.5 in c3 | **22.5 \\*** |
| whiting | 4 | 4 |
""",
        (
            '<table class="revisions"><thead><tr> <th scope="col">material</th> <th scope="col">so far</th> '
            '<th scope="col" class="figure">now</th> </tr></thead><tbody> '
            '<tr><th scope="row">silica</th><td>'
            '<svg class="trend" viewBox="0 0 112 24" width="112" height="24" role="img" '
            'aria-label="20; none in b2; 22.5 in c3"><path d="M4 20M108 4"/>'
            '<circle cx="4" cy="20" r="2.6"/>'
            '<circle cx="108" cy="4" r="2.6"/></svg></td><td class="figure changed"><b>22.5 *</b></td></tr> '
            '<tr><th scope="row">whiting</th><td>'
            '<svg class="trend" viewBox="0 0 112 24" width="112" height="24" role="img" aria-label="4">'
            '<path d="M4 12"/><circle cx="4" cy="12" r="2.6"/></svg></td>'
            '<td class="figure">4</td></tr> </tbody></table>'
        ),
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_a_node_in_each_medium(case: str) -> None:
    node, text, markdown, html = CASES[case]
    assert as_text([node]) == text
    assert as_markdown([node]) == markdown
    assert " ".join(as_html([node])) == html.replace("\n", " ")


def test_a_column_without_anything_in_it_is_left_out() -> None:
    table = Table(
        [Column("a"), Column("on"), Column("b")], [Row(["x", "", "1"]), Band("more"), Row(["y", "", ""])]
    )
    assert "on" not in as_text([table])
    assert as_markdown([table]).startswith("| a | b |")
    assert ">on<" not in " ".join(as_html([table]))
    empty = Table([Column("a")], [Row([""])])
    assert as_markdown([empty]).startswith("| a |")
    assert as_text([empty]) == "a\n\n"


def test_a_column_that_takes_room_in_any_case_is_kept() -> None:
    rows = [Row(["", "CaO", "1.00"])]
    columns = [Column("", least=4), Column("", least=5), Column("mol", figures=True, least=6)]
    assert as_text([Table(columns, rows)]) == "                mol\n      CaO      1.00\n"
    wide = [Row(["R2O, RO", "CaO", "1.00"])]
    assert as_text([Table(columns, wide)]).splitlines()[1] == "R2O, RO  CaO      1.00"


def test_what_is_never_broken_runs_over() -> None:
    path = "/".join(["a folder"] * 12)
    table = Table([Column(""), Column("", unbroken=True)], [Row(["silica", path])])
    assert as_text([table]) == f"silica  {path}\n"


def test_rows_may_stand_in_below_their_bands() -> None:
    rows: list[Row | Band] = [Row(["silica", "24"]), Band("additions"), Row(["tin oxide", "5"])]
    table = Table([Column("base"), Column("parts", figures=True)], rows, stepped=True)
    assert as_text([table]).splitlines() == [
        "base         parts",
        "  silica        24",
        "additions",
        "  tin oxide      5",
    ]
    plain = Table(table.columns, rows)
    assert as_markdown([table]) == as_markdown([plain])
    assert list(as_html([table])) == list(as_html([plain]))


def test_words_of_terms_stand_alike_where_they_take_room() -> None:
    rows = [("B2O3", "0.1"), ("loss on ignition", "8 %")]
    one, *_ = as_text([Terms(rows, least=19)]).splitlines()
    assert one == "  B2O3                0.1"
    assert as_text([Terms(rows[:1], least=19)]).splitlines() == [one]


def test_close_nodes_have_no_empty_line_between_and_inset_ones_stand_further_in() -> None:
    terms = Terms([("water", "60 g")])
    table = Table([Column("a"), Column("b")], [Row(["1", "2"])])
    steps: list[Node] = [
        Section("", [Paragraph(title), Section("", [table, terms], inset=True)], close=True)
        for title in ("1. Masses", "2. Moles")
    ]
    before = Section("", [Heading("Storm", 3), Line("a.glost"), Entries([Entry("x")])], close=True)
    inner = ["    a  b", "    1  2", "    water     60 g"]
    assert as_text([before, *steps], margin=2).splitlines() == [
        *("Storm", "  a.glost", "  - x"),
        *("", "  1. Masses", *inner),
        *("", "  2. Moles", *inner),
    ]


def test_only_a_column_of_boxes_is_said_to_be_one() -> None:
    table = Table([Column(""), Column("")], [Row([Tick("x"), "CaO"])])
    assert " ".join(as_html([table])).count("unseen") == 1


@pytest.mark.parametrize("empty", [Terms([]), Entries([]), Table([Column("a")], [])])
def test_what_has_no_rows_says_nothing(empty: Node) -> None:
    nodes: list[Node] = [Heading("Cups"), empty, Paragraph("none")]
    without: list[Node] = [Heading("Cups"), Paragraph("none")]
    assert as_text(nodes) == as_text(without)
    assert as_markdown(nodes) == as_markdown(without)
    assert list(as_html(nodes)) == list(as_html(without))


def test_two_lists_of_markdown_stay_two() -> None:
    lists: list[Node] = [Entries([Entry("one")]), Terms([("two", "three")])]
    page = MarkdownIt("commonmark").render(as_markdown(lists))
    assert page.count("<ul>") == 2


def test_figures_stand_below_each_other_by_their_points() -> None:
    assert aligned(["1.25", "100", "<0.01", ""]) == ["  1.25", "100   ", " <0.01", "      "]
    assert aligned(["0.15 EUR", "12.5 EUR", "-", "no price at all"]) == [
        *("       0.15 EUR", "      12.5 EUR ", "       -       ", "no price at all"),
    ]
    table = Table(
        [Column("", False), Column("cup", figures=True), Column("g", figures=True)],
        [Row([Tick("a"), "9", "5.25"]), Row([Tick("b"), "10", "100.5"])],
    )
    assert as_text([table]).splitlines() == [
        "    cup       g",
        "[ ]   9    5.25",
        "[ ]  10  100.5",
    ]


def test_a_long_name_stands_above_its_figures_and_a_long_remark_goes_on_below() -> None:
    name = "a material with a name of many words that is far too long for any column of a table on a page"
    rows = [Row([Tick("x"), name, "1.0", "and a remark in a column of its own, as long as a sentence"])]
    lines = as_text(
        [Table([Column(""), Column("material"), Column("g", True), Column("note")], rows)]
    ).splitlines()
    assert max(map(width, lines)) <= COLUMNS
    assert "".join(f"[ ] {name}".split()) in "".join("".join(lines).split())
    assert sum("1.0" in line for line in lines) == 1


def test_a_table_whose_figures_are_too_wide_is_told_row_by_row() -> None:
    figures = ["1" * 30, "2" * 30, "3" * 30]
    columns = [Column("material"), *(Column(head, True) for head in "abc")]
    lines = as_text([Table(columns, [Row(["silica", *figures])])]).splitlines()
    assert max(map(width, lines)) <= COLUMNS
    text = " ".join(" ".join(lines).split())
    for head, figure in zip("abc", figures, strict=True):
        assert f"{head} {figure}" in text


def everywhere(text: str) -> list[Node]:
    """A report that has ``text`` in every place where a text can stand."""
    return [
        Section(
            "care",
            [
                *(Heading(text, level) for level in (1, 2, 3)),
                *(Paragraph(text, kind, text) for kind in ("", "attention", "strong", "aside")),
                Terms([(text, text), (text, Blank(4, text, text))]),
                Entries([Entry(text, text, attention=True), Entry(text)]),
                Prose(text),
                Table(
                    [Column(""), Column(text), Column(text, figures=True), Column(text)],
                    [Row([Tick(text), text, text, text], below=text), Band(text)],
                ),
                Table([Column(text)], [Row([text])]),
            ],
        )
    ]


@given(st.text(min_size=1, max_size=200))
def test_no_line_of_text_is_wider_than_a_page(text: str) -> None:
    lines = as_text(everywhere(text)).split("\n")
    assert max(map(width, lines)) <= COLUMNS
    assert "\x1b" not in "".join(lines)


class _Markup(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: set[str] = set()
        self.text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        if tag not in ("input", "br"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.text += data


def _seen(markup: str) -> _Markup:
    found = _Markup()
    found.feed(markup)
    found.close()
    assert found.open == []
    return found


def test_nothing_in_a_text_becomes_markup() -> None:
    page = _seen("".join(as_html(everywhere(HOSTILE))))
    plain = _seen("".join(as_html(everywhere("plain"))))
    assert page.tags == plain.tags
    assert page.text.count("<img src=x onerror=alert(1)>") == plain.text.count("plain")


def test_nothing_in_a_text_becomes_a_mark_of_markdown() -> None:
    """Read by markdown-it-py, an implementation of CommonMark, with its tables."""
    reader = MarkdownIt("commonmark").enable("table")
    page = _seen(reader.render(as_markdown(everywhere(HOSTILE))))
    plain = _seen(reader.render(as_markdown(everywhere("plain"))))
    assert page.tags == plain.tags
    assert page.text.count("a|b *c* <img src=x onerror=alert(1)> `d`") == plain.text.count("plain")
    assert "\x1b" not in page.text


# ---- tables that have to narrow ----------------------------------------------------------------------------

WORDS = st.lists(st.text("abcdefgh", min_size=1, max_size=16), min_size=1, max_size=6).map(" ".join)


def broken_words(cells: list[str], lines: list[str]) -> list[str]:
    """The words that stand whole on no line."""
    there = {word for line in lines for word in line.split()}
    return [word for cell in cells for word in cell.split() if word not in there]


@given(st.lists(st.lists(WORDS, min_size=3, max_size=3), min_size=1, max_size=4), st.integers(40, 90))
def test_no_word_is_broken_as_long_as_another_column_has_room(rows: list[list[str]], columns: int) -> None:
    heads = ["no", "material", "says", "author"]
    table = Table(
        [Column(heads[0], figures=True), *map(Column, heads[1:])],
        [Row([str(at), *cells]) for at, cells in enumerate(rows, 1)],
    )
    lines = as_text([table], columns).splitlines()
    stacks = list(zip(heads[1:], *rows, strict=True))
    longest = [max(8, max(len(word) for cell in stack for word in cell.split())) for stack in stacks]
    if sum(longest) + 12 + 3 * 2 <= columns:  # the column of numbers comes before all others
        assert broken_words([cell for row in rows for cell in row], lines) == []
    assert max(map(len, lines)) <= columns


def test_the_widest_columns_narrow_and_to_one_width() -> None:
    texts = ["a " * 40, "b " * 25, "c " * 5]
    table = Table([Column("tests"), *map(Column, "xyz")], [Row(["one", *texts])])
    first, *_ = [line for line in as_text([table], 60).splitlines() if line.startswith("one")]
    # 60 but for the name of 5, three gaps of 2 and the short column of 9 leaves 40 for two: ten words and blanks each.
    assert [first.count(letter) for letter in "abc"] == [10, 10, 5]


def test_a_word_that_cannot_stay_whole_is_broken_behind_its_hyphen() -> None:
    name = "Harbourlightskeep-Seaweedgrove"
    table = Table([Column("x"), Column("says"), Column("author")], [Row(["one", "two words", name])])
    lines = as_text([table], 45).splitlines()
    assert name in lines[1]  # 3, 8 and 30, and two gaps
    lines = as_text([table], 44).splitlines()
    assert [line.split()[-1] for line in lines[1:]] == ["Harbourlightskeep-", "Seaweedgrove"]


def test_what_stands_in_goes_on_as_far_in() -> None:
    table = Table(
        [Column("line", figures=True), Column("what"), Column("says")],
        [Row(["3", "  nepheline syenite", "y " * 40])],
    )
    lines = as_text([table], 32).splitlines()
    assert [lines[1].index("nepheline"), lines[2].index("syenite")] == [8, 8]


NAMES = [
    "@ida", "x@ida", "@werkstatt/alle", "#12", "haus#12", "!4", "haus!7", "~alt", '~"zwei Worte"', "%12", '%"Mai 1"',
    "$7", "&3", "GH-5", "gh-5", "*iteration:4", "[vulnerability:4]", "[issue:9]", "^alert#5", ":tada:", ":+1:",
    "http://e.example", "HTTPS://E.EXAMPLE/a", "www.e.example", "ftp://e.example", "a@b.example", "{+ x +}", "[- x -]",
]  # fmt: skip
"""What two code hosts make a mention, a reference, a link or a picture of (from memory)."""
TAKEN = re.compile(
    r"""@\w|[#!$]\d|[~%]["\w]|(?<!\w)&\d|GH-\d|\*iteration:|\[(vulnerability|issue):|:[\w+]+:|://|www\.\w|[{\[][+-]""",
    re.IGNORECASE,
)


@pytest.mark.parametrize("name", NAMES)
def test_no_name_calls_anybody(name: str) -> None:
    """A code host looks for names in each run of text of the finished page. Every one is taken where nothing is done
    about it; none where it stands in a paragraph, a cell, a list, a heading or a tag. What is shown is the name."""
    assert TAKEN.search(name)
    nodes: list[Node] = [
        Heading(f"so {name}", 3),
        Paragraph(name),
        Entries([Entry(f"{name} -> {name}", name, True)]),
        Table([Column(name)], [Row([f"so {name}"])]),
    ]
    page = (
        MarkdownIt("commonmark").enable("table").render(f"{as_markdown(nodes)}\n<p>{within_tag(name)}</p>\n")
    )
    runs = _runs_of(page)
    assert [run for run in runs if TAKEN.search(run)] == []
    assert "".join(runs).count(name) == 8


def _runs_of(page: str) -> list[str]:
    class _Reader(HTMLParser):
        def __init__(self) -> None:
            super().__init__(convert_charrefs=True)
            self.runs: list[str] = []

        def handle_data(self, data: str) -> None:
            self.runs.append(data)

    reader = _Reader()
    reader.feed(page)
    reader.close()
    return reader.runs


def test_no_line_is_a_command_to_a_code_host() -> None:
    for text in ("/close", "/label ~x", "/Approve"):
        for node in (Paragraph(text), Line(text), Prose(f"first\n{text}")):
            assert not [line for line in as_markdown([node]).splitlines() if line.startswith("/")]
