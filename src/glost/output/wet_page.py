"""The plan of a blend that is poured, for a page or a note: the slips with all that is weighed into them, the map of
the cups, what is poured into each, and the care that all of it asks for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

from glost.output.batch_sheet import batch_sheet
from glost.output.board import Cup, maps_of, said_of_corner
from glost.output.format import Job
from glost.output.model import Column, Heading, Node, Paragraph, Row, Section, Table, Terms, Tick
from glost.output.model.html import page
from glost.output.session.content import care_with, errors, statements
from glost.output.session.session import bench_session
from glost.output.sheet_content import table
from glost.output.wet_blend import STEP_ML, Bucket, WetBlend, poured_as, remarks
from glost.weighing.rounding import round_to

_STYLES = ("common.css", "board.css", "pour.css")
_TENTH = Decimal("0.1")


def as_page(made: WetBlend, job: Job) -> str:
    """The whole page."""
    return page(poured_as(made), content(made, job), _STYLES)


def content(made: WetBlend, job: Job) -> Iterator[Node]:
    """The whole plan. The care comes before anything is weighed."""
    slips = [bucket for bucket in made.buckets if bucket.poured_ml]
    weighed = bench_session([(job, bucket.test) for bucket in slips])
    yield Heading(poured_as(made), 1)
    yield Paragraph(made.file, "aside")
    yield from errors(weighed)
    yield care_with(weighed)
    yield Heading("Mix these slips first, 10 % more than is poured, and sieve them")
    for bucket in made.buckets:
        yield from _bucket(bucket, job)
    yield Heading(f"Pour, to {STEP_ML} ml; stir each slip before every pour")
    yield from _map(made)
    yield _pours(made)
    yield Section("", [Paragraph(text) for text in remarks(made)])
    yield statements(weighed)


def _bucket(bucket: Bucket, job: Job) -> Iterator[Node]:
    yield Heading(f"{bucket.letter}: {said_of_corner(bucket.test)}", 3)
    if not bucket.poured_ml:
        yield Paragraph("No cup takes any of it.")
        return
    sheet = batch_sheet(replace(job, batch_g=round_to(bucket.base_g, _TENTH)), bucket.test)
    yield Terms(
        [
            ("slip", f"{_to(bucket.mixed_ml, '0.1')} ml"),
            ("dry", f"{sheet.total:f} g"),
            ("water", f"{_to(bucket.water_g, '0.1')} g"),
            ("gravity", f"{_to(Fraction(bucket.slip.gravity), '0.001')} ({bucket.by})"),
        ]
    )
    yield table(sheet)
    yield from (Paragraph(warning, "attention") for warning in sheet.warnings)


def _map(made: WetBlend) -> Iterator[Node]:
    """The map of the cups that are poured."""
    numbers = {cup.point.number for cup in made.cups}
    for mapped in maps_of(Cup(test) for test in made.tests if test.point and test.point.number in numbers):
        yield Terms([("shape", mapped.shape), *mapped.corners], "corners")
        yield mapped.map


def _pours(made: WetBlend) -> Table:
    columns = [Column(""), Column("no", figures=True), Column("shares", names=True)]
    columns += [Column(f"{bucket.letter} ml", figures=True, strong=True) for bucket in made.buckets]
    columns += [Column("which gives"), Column("equal volumes would give")]
    return Table(
        columns,
        [
            Row(
                (
                    Tick(f"cup {cup.point.number} poured"),
                    f"{cup.point.number}",
                    cup.point.label,
                    *(f"{one:f}" for one in cup.poured_ml),
                    _shares(cup.given),
                    "the same" if cup.point.corner is not None else _shares(cup.by_equal_volumes),
                )
            )
            for cup in made.cups
        ],
        name="pours",
    )


def _shares(shares: tuple[Fraction, ...]) -> str:
    return "/".join(_to(share * 100, "0.1") for share in shares)


def _to(value: Fraction, division: str) -> str:
    return f"{round_to(value, Decimal(division)):f}"
