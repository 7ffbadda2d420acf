"""The extracts that the tests hold, each glass estimated by factors and an interval that had not seen its author.

Everything here is in the repository, so that anybody can count the tables of docs/models.md again without fitting.
"""

from __future__ import annotations

import csv
import functools
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any, NamedTuple

from glost.chemistry import expansion, softening
from glost.chemistry.additive import FITTED, Composition, Fit, composition, placed
from tests.fit.corners import Tried

DATA = Path(__file__).parents[1] / "outside" / "data"
NAMES = ("expansion", "softening")


def shipped(name: str) -> Fit:
    return expansion.fit() if name == "expansion" else softening.fit()


@functools.cache
def record(name: str) -> dict[str, Any]:
    """The factors and widths of each fold, and what the fit counted."""
    content: dict[str, Any] = json.loads((DATA / f"{name}-held-out.json").read_text("utf-8"))
    return content


class Row(NamedTuple):
    """A glass of an extract. ``later``: of a later year than the earlier fit, by an author who was new then."""

    author: str
    year: int
    fold: int
    later: bool
    measured: float
    whole: Composition


@functools.cache
def rows(name: str) -> tuple[Row, ...]:
    with (DATA / f"sciglass-{name}-held-out.csv").open(encoding="utf-8", newline="") as file:
        return tuple(
            Row(
                one["first_author"],
                int(one["year"]),
                int(one["fold"]),
                one["later"] == "1",
                float(one["measured"]),
                composition({oxide: float(one[f"mol_{oxide}"]) for oxide in FITTED}, FITTED, "mol"),
            )
            for one in csv.DictReader(file)
        )


def value(factors: Mapping[str, Any], mol: Mapping[str, float], inside: bool) -> float:
    """The estimate by factors as the record has them."""
    each: dict[str, float] = factors["factors" if inside else "plain"]
    total = sum(part * each[oxide] for oxide, part in mol.items()) / 100
    if not inside:
        return total
    products: list[tuple[str, str, float]] = factors["products"]
    return (
        total
        + sum(factor * mol.get(one, 0.0) * mol.get(other, 0.0) for one, other, factor in products) / 10_000
    )


def half_width(widths: list[float], steps: list[list[Any]], amounts: Mapping[str, float]) -> float:
    added = sum(
        add for add, (what, least) in zip(widths[1:], steps, strict=True) if amounts.get(what, 0.0) >= least
    )
    return max(widths[0] + added, widths[0] / 2)


def tried(name: str, row: Row, fold: int | None = None, earlier: bool = False) -> tuple[str, Tried]:
    """How a glass did, and its kind; with the fit to earlier years where ``earlier``."""
    held = record(name)
    place = placed(row.whole, shipped(name).ranges, row.whole.others, row.whole.share)
    number = row.fold if fold is None else fold
    factors = held["until"] if earlier else held["folds"][number]
    error = value(factors, row.whole.mol, place.inside) - row.measured
    if earlier:
        half = half_width(factors["widths"], factors["steps"], place.amounts)
        offset = 0.0
    else:
        widths = held["widths"][place.kind]
        half = half_width(widths["folds"][number], widths["steps"], place.amounts)
        offset = widths["offset"]
    return place.kind, Tried(
        error, abs(error - offset) <= half, half, row.author, row.year, row.whole.mass, row.whole.mol
    )


@functools.cache
def glazes(name: str) -> tuple[Tried, ...]:
    """Every glass of the extract that is like a glaze."""
    found = (tried(name, row) for row in rows(name))
    return tuple(one for kind, one in found if kind == "like a glaze")


@functools.cache
def later(name: str) -> tuple[Tried, ...]:
    """The later glasses, by the fit that ends with the earlier ones."""
    found = (tried(name, row, earlier=True) for row in rows(name) if row.later)
    return tuple(one for kind, one in found if kind == "like a glaze")


@functools.cache
def lead(name: str) -> tuple[Tried, ...]:
    """Glasses with more than 5 mol % of PbO, like a glaze or not."""
    return tuple(tried(name, row)[1] for row in rows(name) if row.whole.mol.get("PbO", 0.0) > 5)
