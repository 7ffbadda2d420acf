"""What tests cost for programs: JSON as schema/cost.schema.json has it, and a table for a spreadsheet."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Any, Final

from glost.language.csv_cells import guarded, record_of
from glost.language.exact_json import written
from glost.output.batch.figures import to_places
from glost.output.cost.account import CostLine, TestCost
from glost.output.stock.data import money_data, price_data

VERSION: Final = 1
KIND: Final = "glost cost"
_COLUMNS: Final = (
    "file",
    "recipe",
    "test",
    "material",
    "part",
    "grams",
    "per_kg",
    "currency",
    "cost",
    "price_from",
)


def as_csv(costs: Sequence[TestCost]) -> str:
    """A row a line of a test. Without a price its cells are empty, never 0. Line ends are CR LF."""
    rows = [record_of(_COLUMNS)]
    for one in costs:
        for line in one.lines:
            price, cost = price_data(line.price), line.cost
            rows.append(
                record_of(
                    (
                        guarded(one.file),
                        guarded(one.recipe),
                        guarded(one.label),
                        guarded(line.material),
                        _part(line),
                        f"{to_places(line.grams, 6):f}",
                        f"{price['per_kg']:f}" if price else "",
                        cost.currency if cost else "",
                        f"{cost.rounded:f}" if cost else "",
                        guarded(price["source"]) if price else "",
                    )
                )
            )
    return "".join(rows)


def _part(line: CostLine) -> str:
    return "base" if line.base else "addition"


def as_json(costs: Sequence[TestCost]) -> str:
    return written({"version": VERSION, "kind": KIND, "tests": [_test(one) for one in costs]}) + "\n"


def _litre(one: TestCost) -> dict[str, Any]:
    litre = one.litre
    if litre is None:
        return {
            "dry_g": None,
            "gravity": None,
            "measured": False,
            "cost": [],
            "density_assumed": [],
            "why": one.no_litre,
        }
    return {
        "dry_g": to_places(Fraction(litre.dry_g), 6),
        "gravity": to_places(Fraction(litre.gravity), 6),
        "measured": litre.measured,
        "cost": [money_data(money) for money in one.cost_of_litre],
        "density_assumed": list(litre.assumed),
        "why": "",
    }


def _test(one: TestCost) -> dict[str, Any]:
    return {
        "file": one.file,
        "name": one.name,
        "recipe": one.recipe,
        "label": one.label,
        "base_mass_g": one.base_g,
        "total_g": to_places(one.total_g, 6),
        "complete": one.complete,
        "cost": [money_data(money) for money in one.cost],
        "cost_of_100_g": [money_data(money) for money in one.cost_of_100_g],
        "litre": _litre(one),
        "unpriced": list(one.unpriced),
        "lines": [
            {
                "material": line.material,
                "base": line.base,
                "mass_g": to_places(line.grams, 6),
                "price": price_data(line.price),
                "cost": None if line.cost is None else money_data(line.cost),
            }
            for line in one.lines
        ],
    }
