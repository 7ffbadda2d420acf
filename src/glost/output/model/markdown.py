"""Nodes as GitHub-flavoured Markdown."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from glost.output.board_rows import listed, rows_of
from glost.output.escape import visible, visible_lines
from glost.output.model import (
    Band,
    Blank,
    Cell,
    Changed,
    Column,
    Entries,
    Form,
    Heading,
    Leaf,
    Line,
    Map,
    Named,
    Node,
    Paragraph,
    Prose,
    Row,
    Table,
    Terms,
    Tick,
    Trend,
    filled,
    leaves,
)

# Whatever can begin an emphasis, a link, code, a table cell, a heading or a formula.
_MARKS = re.compile(r"[\\`*_\[\]|#~$]")
_ADDRESS = re.compile(r":(?=//)|(?<=\bwww)\.", re.IGNORECASE)
_NAMED = re.compile(
    r"""[@#!$](?=\w) | [%~](?=["\w]) | (?<![\w&])&amp;(?=\w) | \bGH-(?=[0-9])
    | \[(?=\w+:) | \*(?=iteration:) | :(?=[+\w-]*[+a-z-][+\w-]*:) | [{\[](?=[+-])""",
    re.IGNORECASE | re.VERBOSE,
)
"""Where a name begins that a code host would notify, or make a link or a picture of: of a person, an issue, a merge
request, a label, a milestone, an iteration, or anything that stands in brackets behind its kind; an emoji; words that
are marked as taken out or put in (from memory, of the two hosts that are used most)."""
_START = re.compile(r"^(?:[-+=]|/(?=[a-z])|[0-9]+(?=[.)](?:\s|$)))", re.IGNORECASE)
"""What means something at the start of a line: a list, a heading, a command to the code host (such as /close)."""


def escaped(text: str) -> str:
    """``text`` on one line, with nothing in it that Markdown or HTML would take for a mark."""
    return _START.sub(_start, _held_apart(text, _MARKS))


def within_tag(text: str) -> str:
    """``text`` on one line between two tags, where Markdown reads no marks and a code host still looks for names."""
    return _held_apart(text)


def _held_apart(text: str, marks: re.Pattern[str] | None = None) -> str:
    """With nothing that would be taken for a tag, a name or an address. A backslash would hide these from Markdown
    alone: what looks for them reads the finished text."""
    out = []
    at = 0
    shown = visible(text).replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    for end in [
        *sorted({found.end() for find in (_ADDRESS, _NAMED) for found in find.finditer(shown)}),
        None,
    ]:
        part = shown[at:end]
        out.append(part if marks is None else marks.sub(r"\\\g<0>", part))
        at = len(shown) if end is None else end
    return "<!-- -->".join(out)


def _start(found: re.Match[str]) -> str:
    # A list number is held back by its point, which is the only place where a backslash works.
    return f"{found[0]}\\" if found[0].isdecimal() else f"\\{found[0]}"


def as_markdown(nodes: Iterable[Node]) -> str:
    """The nodes with one empty line between any two."""
    return "\n".join("".join(f"{line}\n" for line in _lines(node)) for node in _apart(nodes))


def _apart(nodes: Iterable[Node]) -> Iterator[Leaf | _Comment]:
    """The nodes, with an empty comment between two lists: they would be read as one."""
    before: Leaf | None = None
    for node in leaves(nodes):
        if isinstance(before, (Terms, Entries)) and isinstance(node, (Terms, Entries)):
            yield _Comment()
        yield node
        before = node


class _Comment:
    """What a reader of the finished text does not see."""


def _lines(node: Leaf | _Comment) -> Iterator[str]:
    match node:
        case _Comment():
            yield "<!-- -->"
        case Heading(text, level):
            yield f"{'#' * level} {escaped(text)}"
        case Paragraph():
            yield _paragraph(node)
        case Line(text):
            yield escaped(text)
        case Terms(rows):
            for word, value in rows:
                yield f"- {_lead(word)}{_cell(value, strong=False)}"
        case Entries(rows):
            for entry in rows:
                yield f"- {'**!** ' if entry.attention else ''}{_lead(entry.lead)}{escaped(entry.text)}"
        case Prose(text):
            yield from _prose(text)
        case Form(words, long):
            every = [*words, long]
            yield from _table(Table([Column(word) for word in every], [Row([Blank()] * len(every))]))
        case Map():
            yield from ("```text", *rows_of(node), "```", "")
            yield from _table(
                Table(
                    [Column(""), Column("no", figures=True), Column("shares")],
                    [Row([Tick(number), number, words]) for number, words in listed(node)],
                )
            )
        case Table():
            yield from _table(filled(node))


def _lead(lead: str) -> str:
    return f"**{escaped(lead)}**: " if lead else ""


def _paragraph(node: Paragraph) -> str:
    match node.kind:
        case "attention":
            return f"> **Attention**: {_lead(node.lead)}{escaped(node.text)}"
        case "strong":
            return f"**{escaped(f'{node.lead}: {node.text}' if node.lead else node.text)}**"
        case _:
            return f"{_lead(node.lead)}{escaped(node.text)}"


def _prose(text: str) -> Iterator[str]:
    """Lines of free text, each kept as a line; an empty one separates two paragraphs."""
    lines = visible_lines(text)
    for at, line in enumerate(lines):
        bare = line.lstrip(" ")
        continues = bare and at + 1 < len(lines) and lines[at + 1].strip(" ")
        yield "&nbsp;" * (len(line) - len(bare)) + escaped(bare) + ("\\" if continues else "") if bare else ""


def _table(table: Table) -> Iterator[str]:
    yield _row(escaped(": ".join(filter(None, (column.group, column.head)))) for column in table.columns)
    yield _row("---:" if column.figures else "---" for column in table.columns)
    for row in table.rows:
        if isinstance(row, Band):
            yield _row(_band(table, row))
        else:
            yield _row(_cells(table, row))


def _band(table: Table, band: Band) -> list[str]:
    """The band in the first column that is no column of boxes, which is as wide as a box."""
    cells = [""] * len(table.columns)
    boxes = any(isinstance(row, Row) and isinstance(row.cells[0], Tick) for row in table.rows)
    cells[1 if boxes and len(cells) > 1 else 0] = f"**{escaped(band.text)}**"
    return cells


def _cells(table: Table, row: Row) -> Iterator[str]:
    below = f" ({escaped(row.below)})" if row.below else ""
    for column, cell in zip(table.columns, row.cells, strict=True):
        mark = _cell(cell, column.strong or row.strong)
        if below and not isinstance(cell, Tick):
            mark, below = mark + below, ""
        yield mark


def _row(cells: Iterable[str]) -> str:
    return f"| {' | '.join(cells)} |"


def _cell(cell: Cell, strong: bool) -> str:
    match cell:
        case Tick(_, attention):
            return "☐ **!**" if attention else "☐"
        case Blank(columns, before, after, _):
            # With blanks around it, it is no emphasis.
            return " ".join(filter(None, (escaped(before), "_" * columns, escaped(after))))
        case Named(text):
            return f"**{escaped(text)}**" if strong and text else escaped(text)
        case Changed(text):
            return f"**{escaped(f'{text} *')}**"
        case Trend():
            return escaped(cell.text)
        case _:
            return f"**{escaped(cell)}**" if strong and cell else escaped(cell)
