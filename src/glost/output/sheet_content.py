"""What a batch sheet says, as nodes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from glost.output import care
from glost.output.batch_sheet import CHECKED, FIRED, READ_FIRST, WATER_HINT, BatchSheet, SheetLine
from glost.output.model import (
    Band,
    Blank,
    Cell,
    Column,
    Heading,
    Node,
    Paragraph,
    Prose,
    Row,
    Table,
    Terms,
    Tick,
)


def content(sheet: BatchSheet) -> Iterator[Node]:
    """The sheet of one test; the care comes before what is filled in by hand, statements to be looked up last."""
    yield Heading(sheet.name)
    yield Terms(list(_head(sheet)))
    yield from (Paragraph(error, "attention") for error in sheet.attention)
    if sheet.base or sheet.additions:
        yield from (Paragraph(sheet.mass, "strong"), Paragraph(READ_FIRST), _table(sheet))
    if sheet.balance_note:
        yield Paragraph(sheet.balance_note)
    yield from (Paragraph(warning, "attention") for warning in sheet.warnings)
    yield Terms(list(_slurry(sheet)))
    yield from (Heading("Handling and cautions", 3), care.cautions(sheet.hazards, sheet.cautions))
    yield from care.notes([(note, "") for note in sheet.handling], level=4)
    if sheet.notes:
        yield from (Heading("Notes", 3), Prose(sheet.notes))
    yield from (Heading("To fill in", 3), _by_hand((*CHECKED, "remarks")))
    yield from (Heading("Fired result", 3), _by_hand((*FIRED, "remarks")))
    yield from care.statements(sheet.hazards, 3)


def _head(sheet: BatchSheet) -> Iterator[tuple[str, str]]:
    if sheet.sets:
        yield "sets", sheet.sets
    number = f", sheet {sheet.number} of {sheet.count}" if sheet.count > 1 else ""
    yield "kind", f"{sheet.kind}{number}"
    for key, text in sheet.fields:
        yield key, text.replace("\n", " ")
    yield "file", f"{sheet.file}, {sheet.revision}"


def _slurry(sheet: BatchSheet) -> Iterator[tuple[str, str | Blank]]:
    yield "water", sheet.water or Blank(after=f"g ({WATER_HINT})")
    if sheet.gravity:
        yield "gravity", Blank(before=f"{sheet.gravity} asked for, measured")
    yield "sieve", sheet.sieve or Blank(after="mesh")


def _table(sheet: BatchSheet) -> Table:
    columns = [
        Column(""),
        Column("material"),
        Column("parts", figures=True),
        Column("grams", figures=True),
        Column("on"),
        Column("total", figures=True),
        Column("weighed"),
        Column("lot"),
        Column("note"),
    ]
    return Table(columns, list(_rows(sheet)))


def _rows(sheet: BatchSheet) -> Iterator[Row | Band]:
    several = len(sheet.balances) > 1
    vessel = 0
    for title, lines in (("", sheet.base), ("additions", sheet.additions)):
        if title and lines:
            yield Band(title)
        for line in lines:
            head = sheet.vessel_head(vessel, line)
            if head:
                yield Band(head)
            vessel = line.vessel or vessel
            yield Row(_cells(line, several))
    yield Row(("", sheet.total_word, "", f"{sheet.total:f}", "", "", Blank(), "", ""), strong=True)


def _cells(line: SheetLine, several: bool) -> tuple[Cell, ...]:
    """``several``: more than one balance is used, so that each line names its own."""
    return (
        Tick(line.name, not line.within),
        line.name,
        f"{line.parts:f}" if line.portion == 1 else "",
        f"{line.grams:f}",
        line.balance if several else "",
        "" if line.running is None else f"{line.running:f}",
        Blank(),
        Blank(),
        line.remark,
    )


def _by_hand(words: Sequence[str]) -> Table:
    return Table([Column(word) for word in words], [Row([Blank()] * len(words))])
