"""Measured glasses out of the open data: one for each composition, with what was reported of it."""

from __future__ import annotations

import csv
import hashlib
import io
import statistics
import zipfile
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import NamedTuple

from glost.chemistry.additive import FITTED, LEFT_OUT_AT_MOST, LEFT_OUT_UNNOTICED

WHEEL = "glasspy-0.4.2-py3-none-any.whl"
SHA256 = "0b249dfd66153a33549f40d1c7ab75010ff337a432603d14c8e030e895b8a3e7"
NOTICE = (
    "Derived from the SciGlass database, Copyright (c) 2019 EPAM Systems, offered under the ODC Open Database "
    "License (ODbL). Keep this notice with any copy; a database derived from these figures stays under the ODbL."
)

COLOURANTS = {"MnO", "MnO2", "CoO", "NiO", "CuO", "SnO2", "Cr2O3", "CeO2", "V2O5", "Nd2O3"}
"""Oxides that a glaze may hold and that the fits leave out: to see what leaving them out costs."""

Key = tuple[str, str]
_Rounded = tuple[tuple[float, ...], tuple[tuple[str, float], ...]]


class Glass(NamedTuple):
    """Mol % of the oxides of FITTED (total 100); the mol % of other oxides beside these 100, traces left away; the
    median of what was reported, one for each column asked for (None where nothing was); the first author and the
    year of the first report."""

    mol: tuple[float, ...]
    others: tuple[tuple[str, float], ...]
    measured: tuple[float | None, ...]
    author: str
    year: int


class Data(NamedTuple):
    """What was read: mol % of each glass, and its cells by column."""

    compositions: dict[Key, dict[str, float]]
    cells: dict[Key, dict[str, str]]


def read(path: Path, columns: Iterable[str]) -> Data:
    """The glasses of the data file, with these columns. Refuses a file that is not the one meant."""
    content = path.read_bytes()
    if hashlib.sha256(content).hexdigest() != SHA256:
        raise SystemExit(f"{path} is not {WHEEL} with sha256 {SHA256}")
    with zipfile.ZipFile(io.BytesIO(content)) as wheel:
        return Data(_silicates(wheel), _measurements(wheel, (*columns, "Author", "Year")))


def _table(wheel: zipfile.ZipFile, name: str) -> Iterator[list[str]]:
    inner = zipfile.ZipFile(io.BytesIO(wheel.read(f"glasspy/data/datafiles/select_{name}.csv.zip")))
    text = io.TextIOWrapper(inner.open(inner.namelist()[0]), "latin-1", newline="")
    return csv.reader(text, delimiter="\t")


def _silicates(wheel: zipfile.ZipFile) -> dict[Key, dict[str, float]]:
    """Mol % by (paper, glass) of glasses with 30 to 90 mol % SiO2; numbers given twice are left out."""
    out = {}
    seen: Counter[Key] = Counter()
    rows = _table(wheel, "Gcomp")
    next(rows)
    for paper, glass, text in rows:
        seen[paper, glass] += 1
        # oxide, molar mass, wt %, mol %, and so on
        cells = text.strip("\x7f").split("\x7f")
        try:
            mol = {cells[i]: float(cells[i + 3]) for i in range(0, len(cells) - 3, 4) if float(cells[i + 3])}
        except ValueError:
            continue
        if 30 <= mol.get("SiO2", 0) <= 90 and 99 <= sum(mol.values()) <= 101:
            # FeO counts as Fe2O3 in the estimates, so it does here.
            if "FeO" in mol:
                mol["Fe2O3"] = mol.get("Fe2O3", 0.0) + mol.pop("FeO") / 2
            out[paper, glass] = mol
    return {key: mol for key, mol in out.items() if seen[key] == 1}


def _measurements(wheel: zipfile.ZipFile, wanted: Iterable[str]) -> dict[Key, dict[str, str]]:
    """The wanted columns of every glass that is numbered once."""
    rows = _table(wheel, "SciGK")
    head = next(rows)
    at = {column: head.index(column) for column in wanted}
    found: dict[Key, dict[str, str]] = {}
    seen: Counter[Key] = Counter()
    for row in rows:
        seen[row[0], row[1]] += 1
        found[row[0], row[1]] = {column: row[place] for column, place in at.items()}
    return {key: cells for key, cells in found.items() if seen[key] == 1}


def glasses(data: Data, columns: tuple[str, ...], plausible: tuple[float, float]) -> list[Glass]:
    """One glass for each composition (to 0.01 mol %) of which a plausible figure was reported in any of the columns,
    with at most the colourants beside the sixteen oxides."""
    low, high = plausible
    values: dict[_Rounded, list[list[float]]] = defaultdict(lambda: [[] for _ in columns])
    first: dict[_Rounded, tuple[str, int]] = {}
    for key, cells in data.cells.items():
        mol = data.compositions.get(key)
        if mol is None:
            continue
        figures = [float(cells[column] or "nan") for column in columns]
        if not any(low <= figure <= high for figure in figures):
            continue
        rounded = _rounded(mol)
        if rounded is None:
            continue
        for found, figure in zip(values[rounded], figures, strict=True):
            if low <= figure <= high:
                found.append(figure)
        author, year = cells["Author"].strip(), int(cells["Year"] or 0)
        known = first.setdefault(rounded, (author, year))
        first[rounded] = known[0], min(known[1], year)
    return [
        Glass(
            *rounded, tuple(statistics.median(found) if found else None for found in those), *first[rounded]
        )
        for rounded, those in values.items()
    ]


def _rounded(mol: Mapping[str, float]) -> _Rounded | None:
    others = {oxide: part for oxide, part in mol.items() if oxide not in FITTED}
    total = sum(mol.values())
    beside = sum(others.values())
    if beside <= LEFT_OUT_UNNOTICED:
        others = {}
    elif not set(others) <= COLOURANTS or beside > LEFT_OUT_AT_MOST:
        return None
    total -= beside
    return (
        tuple(round(100 * mol.get(oxide, 0.0) / total, 2) for oxide in FITTED),
        tuple((oxide, round(100 * part / total, 2)) for oxide, part in sorted(others.items())),
    )
