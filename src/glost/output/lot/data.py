"""Where a lot went for programs: JSON as schema/lot.schema.json has it, and a table for a spreadsheet."""

from __future__ import annotations

from typing import Final

from glost.language.csv_cells import guarded, record_of
from glost.language.exact_json import written
from glost.records.lots import Lot

VERSION: Final = 1
KIND: Final = "glost lot"
_COLUMNS: Final = (
    "lot",
    "recorded_at",
    "recipe",
    "test",
    "person",
    "project",
    "material",
    "grams",
    "weighed",
    "file",
)


def as_csv(lot: Lot) -> str:
    """A row a line of a batch. Line ends are CR LF."""
    rows = [record_of(_COLUMNS)]
    for use in lot.uses:
        rows.append(
            record_of(
                (
                    guarded(lot.lot),
                    guarded(use.recorded_at),
                    guarded(use.recipe),
                    guarded(use.test),
                    guarded(use.person),
                    guarded(use.project),
                    guarded(use.material),
                    f"{use.grams:f}",
                    "yes" if use.weighed else "no",
                    guarded(use.file),
                )
            )
        )
    return "".join(rows)


def as_json(lot: Lot) -> str:
    return (
        written(
            {
                "version": VERSION,
                "kind": KIND,
                "lot": lot.lot,
                "batches": lot.batches,
                "deliveries": [
                    {"day": str(one.day), "material": one.material, "mass_g": one.grams} for one in lot.came
                ],
                "totals": [{"material": name, "mass_g": grams} for name, grams in lot.totals],
                "uses": [
                    {
                        "recorded_at": use.recorded_at,
                        "recipe": use.recipe,
                        "test": use.test,
                        "person": use.person,
                        "project": use.project,
                        "material": use.material,
                        "mass_g": use.grams,
                        "weighed": use.weighed,
                        "file": use.file,
                    }
                    for use in lot.uses
                ],
                "tiles": [one._asdict() | {"faults": list(one.faults)} for one in lot.tiles],
            }
        )
        + "\n"
    )
