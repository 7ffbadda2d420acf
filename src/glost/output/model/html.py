"""Nodes as markup for a browser, and as a page of nothing but markup and style sheets."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from glost.output.board_picture import drawn as drawn_map
from glost.output.escape import visible_lines
from glost.output.model import (
    Band,
    Blank,
    Cell,
    Changed,
    Entries,
    Entry,
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
    Section,
    Table,
    Terms,
    Tick,
    Trend,
    filled,
    leaves,
)
from glost.output.trend import drawn
from glost.output.web import document, shown

_TICKED = '<span class="unseen">done</span>'
"""The head of a column of boxes, for who hears a page."""


def page(title: str, nodes: Iterable[Node], styles: Sequence[str]) -> str:
    """A whole page that needs nothing else. ``styles``: names of style sheets, see output.web."""
    return document(title, ["<main>", *as_html(nodes), "</main>"], styles)


def as_html(nodes: Iterable[Node]) -> Iterator[str]:
    """The markup of all nodes, line by line."""
    for node in nodes:
        if isinstance(node, Section):
            yield f"<section{_class(node.name)}>"
            yield from as_html(node.nodes)
            yield "</section>"
        else:
            for leaf in leaves([node]):
                yield from _lines(leaf)


def _lines(node: Leaf) -> Iterator[str]:
    match node:
        case Heading(text, level):
            yield f"<h{level}>{shown(text)}</h{level}>"
        case Paragraph():
            yield _paragraph(node)
        case Line(text):
            yield f'<p class="aside">{shown(text)}</p>'
        case Terms(rows, name, told_apart):
            yield f"<dl{_class(name or 'terms')}>"
            for word, value in rows:
                row = _class(word if told_apart else "")
                yield f"<div{row}><dt>{shown(word)}</dt> <dd>{_cell(value, strong=False)}</dd></div>"
            yield "</dl>"
        case Form(words, long):
            yield '<dl class="form">'
            for word in words:
                yield f"<div><dt>{shown(word)}</dt> <dd{_blank(word)}></dd></div>"
            yield "</dl>"
            yield f'<p class="remarks">{shown(long)} <span{_blank(long)}></span><span class="blank"></span></p>'
        case Entries(rows):
            yield "<ul>"
            yield from (f"<li>{_entry(entry)}</li>" for entry in rows)
            yield "</ul>"
        case Prose(text):
            # Notes are written by people, in their own script: its direction is that of the text.
            yield f'<p dir="auto">{"<br>".join(map(shown, visible_lines(text)))}</p>'
        case Map():
            yield from drawn_map(node)
        case Table():
            yield from _table(filled(node))


def _lead(lead: str) -> str:
    return f"<b>{shown(lead)}:</b> " if lead else ""


def _paragraph(node: Paragraph) -> str:
    text = _lead(node.lead) + shown(node.text)
    match node.kind:
        case "attention":
            return f'<p class="warning"><b>Attention:</b> {text}</p>'
        case "strong":
            return f"<p><b>{text}</b></p>"
        case "aside":
            return f'<p class="aside">{text}</p>'
        case _:
            return f"<p>{text}</p>"


def _entry(entry: Entry) -> str:
    mark = '<b class="mark">!</b> ' if entry.attention else ""
    return mark + _lead(entry.lead) + shown(entry.text)


def _table(table: Table) -> Iterator[str]:
    yield f"<table{_class(table.name)}><thead><tr>"
    if any(column.group for column in table.columns):
        for group, columns in groupby(table.columns, key=lambda column: column.group):
            size, word = len(list(columns)), shown(group)
            yield (
                f'<th scope="colgroup" colspan="{size}">{word}</th>'
                if word
                else f'<td colspan="{size}"></td>'
            )
        yield "</tr><tr>"
    for at, column in enumerate(table.columns):
        boxes = any(isinstance(row, Row) and isinstance(row.cells[at], Tick) for row in table.rows)
        head = shown(column.head) or (_TICKED if boxes else "")
        # A head without a word would be read out as one that says nothing.
        yield f'<th scope="col"{_figure(column.figures)}>{head}</th>' if head else "<td></td>"
    yield "</tr></thead><tbody>"
    for row in table.rows:
        if isinstance(row, Band):
            fill = f' data-fill="{shown(row.name)}"' if row.name else ""
            head = f'<th class="band" scope="rowgroup" colspan="{len(table.columns)}"{fill}>'
            yield f"<tr>{head}{shown(row.text)}</th></tr>"
        else:
            yield f"<tr{_class('total' if row.strong else '')}>{''.join(_cells(table, row))}</tr>"
    yield "</tbody></table>"


def _cells(table: Table, row: Row) -> Iterator[str]:
    below = f"<small>{shown(row.below)}</small>" if row.below else ""
    for column, cell in zip(table.columns, row.cells, strict=True):
        strong = column.strong or row.strong
        if isinstance(cell, Blank) and cell.name:
            # The cell itself is the room to write in.
            yield f"<td{_blank(cell.name)}></td>"
            continue
        markup = _cell(cell, strong)
        if below and not isinstance(cell, Tick):
            markup, below = f"{markup} {below}", ""
        if column.names:
            yield f'<th scope="row">{markup}</th>'
        elif isinstance(cell, Changed):
            yield f'<td class="figure changed">{markup}</td>'
        else:
            kinds = (
                ["figure"] * column.figures + ["strong"] * column.strong + ["tick"] * isinstance(cell, Tick)
            )
            fill = f' data-fill="{shown(cell.name)}"' if isinstance(cell, Named) else ""
            yield f"<td{_class(' '.join(kinds))}{fill}>{markup}</td>"


def _cell(cell: Cell, strong: bool) -> str:
    match cell:
        case Tick(what, attention):
            mark = ' <b class="mark">!</b>' if attention else ""
            return f'<input type="checkbox" class="box" autocomplete="off" aria-label="{shown(what)}">{mark}'
        case Blank(columns, before, after, name):
            room = f"<span{_blank(name, 'gap')}></span>" if name else "_" * columns
            return " ".join(filter(None, (shown(before), room, shown(after))))
        case Named(text):
            return shown(text)
        case Changed(text):
            # A mark that is only a colour would say nothing to many.
            return f"<b>{shown(text)} *</b>"
        case Trend():
            return drawn(cell)
        case _:
            return f"<b>{shown(cell)}</b>" if strong and cell else shown(cell)


def _class(name: str) -> str:
    return f' class="{shown(name)}"' if name else ""


def _blank(name: str, kind: str = "blank") -> str:
    """Room to write in, and what is written there."""
    return f'{_class(kind)} data-fill="{shown(name)}"'


def _figure(figures: bool) -> str:
    return _class("figure" if figures else "")
