"""What a batch sheet says, as nodes, for every medium that shows one."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from glost.output import care
from glost.output.batch_sheet import (
    CHECKED,
    FIRED,
    READ_FIRST,
    WATER_HINT,
    BatchSheet,
    Hazards,
    Note,
    SheetLine,
    batch_sheets,
    hazards_of_all,
    revision_said,
)
from glost.output.board import MAP, Cup, Mapped, maps_of
from glost.output.format import Job
from glost.output.model import (
    Band,
    Blank,
    Cell,
    Column,
    Form,
    Heading,
    Named,
    Node,
    Paragraph,
    Prose,
    Row,
    Table,
    Terms,
    Tick,
)

AS_IT_STANDS = "as it stands"
"""What the test of the recipe itself is called among others."""
ELSEWHERE = "Hazard statements on record stand once for all these sheets, behind the last of them."


def pages(job: Job, level: int) -> Iterator[list[Node]]:
    """A page a test that is asked for. Of several, what is to be looked up of their hazards stands once, on a page
    behind them. ``level``: of their titles."""
    sheets = batch_sheets(job)
    alone = len(sheets) == 1
    for mapped in maps_of(Cup(test) for test in job.asked) if job.recipe.blends else ():
        yield list(map_page(mapped, job, level))
    for sheet in sheets:
        yield list(content(sheet, level, alone))
    if not alone and told(hazards := hazards_of_all([job])):
        yield [Heading(f"{job.recipe.name}: hazard statements", level), *care.statements(hazards, level + 1)]


def map_page(mapped: Mapped, job: Job, level: int) -> Iterator[Node]:
    """The page that the cups of a blend are set out on, before the sheets of its points."""
    yield Heading(f"{mapped.title}: {MAP[0].lower()}{MAP[1:]}", level)
    revision = revision_said(job.revision)
    about = [("kind", f"{mapped.recipe.kind}, {mapped.shape}"), *mapped.corners]
    yield Terms([*about, ("file", f"{job.file}, {revision}")], "corners")
    yield mapped.map


def content(sheet: BatchSheet, level: int, alone: bool) -> Iterator[Node]:
    """The sheet of one test; the care comes before what is filled in by hand, statements to be looked up last.
    ``alone``: they stand on this sheet, not behind several."""
    yield Heading(sheet.name, level)
    yield Terms([*_test(sheet), ("kind", kind(sheet)), *fields(sheet)])
    yield from (Paragraph(error, "attention") for error in sheet.attention)
    if sheet.base or sheet.additions:
        yield from (Paragraph(sheet.mass, "strong"), Paragraph(READ_FIRST), table(sheet))
    if sheet.balance_note:
        yield Paragraph(sheet.balance_note)
    yield from (Paragraph(warning, "attention") for warning in sheet.warnings)
    yield slurry(sheet)
    yield from (Heading("Handling and cautions", level + 1), *handling(sheet, level + 2))
    if not alone and told(sheet.hazards):
        yield Paragraph(ELSEWHERE)
    yield from notes(sheet, level + 1)
    yield Heading("To fill in", level + 1)
    yield from by_hand(level + 1)
    if alone:
        yield from care.statements(sheet.hazards, level + 1)


def kind(sheet: BatchSheet) -> str:
    """The kind of recipe, and which of its sheets this is."""
    return f"{sheet.kind}, sheet {sheet.number} of {sheet.count}" if sheet.count > 1 else sheet.kind


def step(sheet: BatchSheet) -> str:
    """The test with what it sets; "" for a recipe that has no other."""
    return sheet.step or (AS_IT_STANDS if sheet.count > 1 else "")


def told(hazards: Hazards) -> bool:
    """Whether there is anything to look up."""
    return bool(hazards.listed or hazards.silent or hazards.notes)


def _test(sheet: BatchSheet) -> Iterator[tuple[str, str]]:
    if step(sheet):
        yield "test", step(sheet)
    yield from place(sheet)


def place(sheet: BatchSheet) -> Iterator[tuple[str, str]]:
    """Where the point of a blend stands on its board."""
    if sheet.point is not None:
        yield "place", f"number {sheet.point.number} on the board"


def fields(sheet: BatchSheet) -> Iterator[tuple[str, str]]:
    """What the recipe says of itself, and where it stands."""
    for key, text in sheet.fields:
        yield key, text.replace("\n", " ")
    yield "file", f"{sheet.file}, {sheet.revision}"
    for one in sheet.uses:
        yield "uses", f'{one.kind} "{one.name}": {one.file}, {revision_said(one.revision)}'


def slurry(sheet: BatchSheet) -> Terms:
    """Water, what was poured of it, gravity and sieve."""
    rows: list[tuple[str, str | Blank]] = []
    if sheet.water:
        rows.append(("water", sheet.water))
        rows += [("", remark) for remark in sheet.water_remarks]
        rows.append(("poured", Blank(after="g", name="water")))
    else:
        rows.append(("water", Blank(after=f"g ({WATER_HINT})", name="water")))
        rows += [("", remark) for remark in sheet.water_remarks]
    if sheet.gravity:
        rows.append(("gravity", Blank(before=f"{sheet.gravity} asked for, measured", name="gravity")))
    rows.append(("sieve", sheet.sieve or Blank(after="mesh", name="sieve")))
    return Terms(rows, "slurry", told_apart=True)


_COLUMNS = (
    Column(""),
    Column("material", names=True),
    Column("parts", figures=True),
    Column("grams", figures=True, strong=True),
    Column("on"),
    Column("total", figures=True),
    Column("weighed"),
    Column("lot"),
)
_WEIGHED, _LOT = Blank(name="weighed"), Blank(name="lot")


def table(sheet: BatchSheet) -> Table:
    """The lines to weigh; the sum of all is the last row, and stands nowhere else."""
    return Table(_COLUMNS, list(_rows(sheet)), written=True, name="paper")


def _rows(sheet: BatchSheet) -> Iterator[Row | Band]:
    several = len(sheet.balances) > 1
    vessel = 0
    for title, lines in (("", sheet.base), ("additions", sheet.additions)):
        if title and lines:
            yield Band(title)
        for line in lines:
            head = sheet.vessel_head(vessel, line)
            if head:
                yield Band(head, "vessel")
            vessel = line.vessel or vessel
            yield Row(_cells(line, several), below=line.remark)
    yield Row(
        ("", sheet.total_word, "", Named(f"{sheet.total:f}", "target"), "", "", Blank(name="total"), ""),
        strong=True,
    )


def _cells(line: SheetLine, several: bool) -> tuple[Cell, ...]:
    """``several``: more than one balance is used, so that each line names its own."""
    return (
        Tick(line.name, not line.within),
        line.name,
        f"{line.parts:f}" if line.portion == 1 else "",
        Named(f"{line.grams:f}", "grams"),
        line.balance if several else "",
        Named("" if line.running is None else f"{line.running:f}", "running"),
        _WEIGHED,
        _LOT,
    )


def handling(sheet: BatchSheet, level: int) -> Iterator[Node]:
    """What has to be read before a jar is opened. ``level``: of the headings within."""
    yield care.cautions(sheet.hazards, sheet.cautions)
    yield from _notes_of(sheet.handling, level)


@lru_cache(maxsize=512)
def _notes_of(handling: tuple[Note, ...], level: int) -> tuple[Node, ...]:
    """Most sheets of a run have the same."""
    return tuple(care.notes([(note, "") for note in handling], level=level))


def notes(sheet: BatchSheet, level: int) -> Iterator[Node]:
    """The notes of the recipe."""
    if sheet.notes:
        yield from (Heading("Notes", level), Prose(sheet.notes))


def by_hand(level: int) -> Iterator[Node]:
    """What is filled in at the bench, and when the test is fired."""
    yield from (Form(CHECKED, "remarks"), Heading("Fired result", level), Form(FIRED, "remarks"))
