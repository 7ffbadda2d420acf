"""Accounts for a spreadsheet: RFC 4180, a row a test, a column an oxide and figure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from glost.chemistry.unity import place
from glost.language.csv_cells import day_cell, guarded, record_of
from glost.output.formula import as_json
from glost.output.formula.account import Account
from glost.output.origin import ORIGIN_COLUMNS, revision_cells
from glost.weighing.rounding import trimmed

_FIRST = (
    "file",
    "recipe",
    "test",
    "kind",
    "taken as 1",
    "partial",
    "unknown %",
    "unknown",
    "loss on ignition %",
)
_TABLES = (("unity", "unity"), ("fired wt %", "fired_weight_percent"), ("fired mol %", "mol_percent"))
_RATIOS = (("SiO2 : Al2O3", "silica_to_alumina"), ("B2O3", "boron"), ("R2O", "alkali"))
_ESTIMATES = ("expansion", "softening")
_GRANTED = ("made up", "as ideal minerals", "as typical", "iron as")
_ENDS = ("low", "high")
_FIGURES = ("value", "low", "high", "model", "unit", "outside", "held")
_BODY = ("body", "body_expansion", "difference", "low", "high", "unit", "leaning", "note")


@dataclass(frozen=True, slots=True)
class Row:
    """One test: its oxides, its cells by column, and the oxides of which it has ranges."""

    oxides: tuple[str, ...]
    cells: Mapping[str, str]
    ranged: tuple[str, ...] = ()


def part(account: Account) -> Row:
    """The row of one test. Numbers are those of the JSON; a cell without a figure is empty."""
    data = as_json.data(account)
    name, day, changed = revision_cells(account.revision)
    cells = {
        "file": guarded(account.file),
        "collection": guarded(account.collection),
        "revision": guarded(name),
        "revision day": day_cell(day) if day else "",
        "changed since": changed,
        "recipe": guarded(account.test.recipe.name),
        "test": guarded(account.test.label),
        "kind": data["kind"],
        "taken as 1": " + ".join(data["convention"]["counted"]),
        "partial": "yes" if data["partial"] else "no",
        "unknown %": _number(data["unknown_percent"]),
        "unknown": guarded("; ".join(one["name"] for one in data["unknown"])),
        "loss on ignition %": _number(data["loss_on_ignition"]),
        "problems": guarded("; ".join(account.fired.problems)),
    }
    for name, key in _TABLES:
        cells |= {f"{name} {oxide}": _number(figure) for oxide, figure in (data[key] or {}).items()}
    cells |= {name: _number(data[key]) for name, key in _RATIOS}
    for name in _ESTIMATES:
        for key, figure in (data[name] or {}).items():
            cells[f"{name} {key}"] = _cell(figure)
    for key, figure in (data["body_fit"] or {}).items():
        cells[_body_column(key)] = "" if figure is None else _cell(figure)
    ranges = data["ranges"] or {}
    taken = data["taken_for_granted"]
    cells |= {
        "made up": guarded("; ".join(taken["made_up"])),
        "as ideal minerals": guarded("; ".join(taken["ideal_minerals"])),
        "as typical": guarded("; ".join(taken["typical_analyses"])),
        "iron as": taken["iron_as"],
    }
    for name, key in _TABLES:
        for oxide, ends in (ranges.get(key) or {}).items():
            cells |= {
                f"{name} {oxide} {end}": _number(figure) for end, figure in zip(_ENDS, ends, strict=True)
            }
    for name in _ESTIMATES:
        for end, figure in zip(_ENDS, ranges.get(name) or (), strict=False):
            cells[f"{name} moves {end}"] = _number(figure)
    return Row(account.oxides, cells, tuple(ranges.get("fired_weight_percent") or ()))


def whole(rows: Iterable[Row]) -> Iterator[str]:
    """The table with its header row; columns for every oxide that any of the tests holds, and of the body where
    one is known. Line ends are CR LF."""
    found = list(rows)
    oxides = sorted({oxide for row in found for oxide in row.oxides}, key=place)
    ranged = sorted({oxide for row in found for oxide in row.ranged}, key=place)
    columns = [
        *_FIRST,
        *(f"{name} {oxide}" for name, _ in _TABLES for oxide in oxides),
        *(name for name, _ in _RATIOS),
        *(f"{name} {figure}" for name in _ESTIMATES for figure in _FIGURES),
        # Where no body is known there is no word of any.
        *(column for column in map(_body_column, _BODY) if any(column in row.cells for row in found)),
        "problems",
        *_GRANTED,
        *(f"{name} {oxide} {end}" for name, _ in _TABLES for oxide in ranged for end in _ENDS),
        *(f"{name} moves {end}" for name in _ESTIMATES for end in _ENDS),
        *ORIGIN_COLUMNS[1:],
    ]
    yield record_of(columns)
    for row in found:
        yield record_of([row.cells.get(column, "") for column in columns])


def _body_column(key: str) -> str:
    return f"on the body {key.replace('_', ' ')}"


def _cell(value: float | str | list[str]) -> str:
    if isinstance(value, list):
        return guarded(", ".join(value))
    return guarded(value) if isinstance(value, str) else _number(value)


def _number(figure: float | None) -> str:
    return "" if figure is None else trimmed(f"{figure:.6f}")
