"""Where a lot went, as a report."""

from __future__ import annotations

from collections.abc import Iterator

from glost.output.model import Column, Entries, Entry, Heading, Node, Paragraph, Row, Table
from glost.records.lots import Lot


def content(lot: Lot) -> Iterator[Node]:
    """The whole report."""
    count = f"{lot.batches} batch{'es' if lot.batches != 1 else ''}"
    yield Heading(f"Lot {lot.lot}: {count}", 1)
    if lot.came:
        yield Entries([Entry(f"{one.grams:f} g on {one.day}", f"{one.material} came") for one in lot.came])
    if not lot.uses:
        yield Paragraph("No record of a batch names this lot. A line may have been weighed without its lot.")
        return
    yield Entries([Entry(f"{grams:f} g in all", name) for name, grams in lot.totals])
    yield Heading("Went into")
    yield Table(
        [
            Column("day"),
            Column("batch", strong=True),
            Column("material"),
            Column("grams", True),
            Column("weighed by"),
            Column("for"),
        ],
        [
            Row(
                (
                    use.recorded_at[:10],
                    use.name,
                    use.material,
                    f"{use.grams:f}",
                    use.person,
                    use.project,
                ),
                f"{use.file}{'' if use.weighed else ' (no weighed mass was written down: its target)'}",
            )
            for use in lot.uses
        ],
    )
    if lot.tiles:
        names = {use.file: use.name for use in lot.uses}
        yield Heading("Fired")
        yield Table(
            [Column("day"), Column("firing"), Column("tile"), Column("batch", strong=True), Column("faults")],
            [
                Row((one.day, one.firing, one.tile, names[one.batch], ", ".join(one.faults)), one.file)
                for one in lot.tiles
            ],
        )
    else:
        yield Paragraph("No fired tile of these batches is known here.")
    yield Paragraph("A line that was weighed without its lot is not among them.")
