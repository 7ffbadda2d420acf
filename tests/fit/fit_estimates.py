"""Fits the project's own factors to open glass data, cross-validates them by author and writes what is shipped.

python -m tests.fit.fit_estimates FILE [--write]; see README.md beside this file and docs/models.md.
"""

from __future__ import annotations

import argparse
import csv
import datetime
import hashlib
import io
import json
import statistics
import sys
import zipfile
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from glost.chemistry import expansion, softening
from glost.chemistry.additive import (
    FITTED,
    LEFT_OUT_AT_MOST,
    LEFT_OUT_UNNOTICED,
    out_of_range,
    unlike_a_glaze,
)

TOP = Path(__file__).parents[2]
SHIPPED = TOP / "src" / "glost" / "chemistry" / "data"
OUTSIDE = TOP / "tests" / "outside" / "data"
WHEEL = "glasspy-0.4.2-py3-none-any.whl"
SHA256 = "0b249dfd66153a33549f40d1c7ab75010ff337a432603d14c8e030e895b8a3e7"
NOTICE = (
    "Derived from the SciGlass database, Copyright (c) 2019 EPAM Systems, offered under the ODC Open Database "
    "License (ODbL). Keep this notice with any copy; a database derived from these figures stays under the ODbL."
)

SEVERAL = 8
"""A range reaches as far as the glasses of at least this many authors do; fewer are no statistics."""
LEAST_REACH = 1.0
"""An oxide has a factor of its own when its range reaches at least this mol %."""
BORON_AT_MOST = 15.0
"""Mol % of B2O3 at which the range ends. Boron takes another place in the glass the more there is of it; beyond this
only two of three measurements lay in an interval that should hold nine of ten."""
FOLDS = 10
MOST_IN_FIT = 50
MOST_IN_ERRORS = 20
"""No author counts for more than so many glasses, in a fit and in a quantile of errors."""
COVERED = 0.9

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]


class Glass(NamedTuple):
    """Mol % of the oxides of FITTED (total 100); the mol % of other oxides beside these 100, traces left away; the
    figure; the first authors."""

    mol: tuple[float, ...]
    others: tuple[tuple[str, float], ...]
    measured: float
    authors: tuple[str, ...]


class Task(NamedTuple):
    """What is fitted: column of the data, its plausible values, error beyond which a glass counts less, and
    whether only glasses that are like a glaze take part."""

    name: str
    model: str
    column: str
    quantity: str
    unit: str
    plausible: tuple[float, float]
    far: float
    glazes_only: bool
    steps: tuple[float, ...]
    extract: str
    extract_column: str
    digits: int


EXPANSION = Task(
    "expansion",
    expansion.OWN,
    "TEC160",
    "mean linear expansion, about 20-300 °C",
    expansion.UNIT,
    (15, 250),
    6.0,
    False,
    (0, 2, 5, 10, 20),
    "sciglass-glazelike-cte-300.csv",
    "cte160C_1e-7",
    1,
)
SOFTENING = Task(
    "softening",
    "glost-softening",
    "T4",
    "temperature at 1000 Pa s",
    "°C",
    (300, 2000),
    30.0,
    True,
    (0, 20, 50, 100, 150),
    "sciglass-glazelike-viscosity-200.csv",
    "T_logeta3_C",
    0,
)

# Oxides that a glaze may hold and that the fit leaves out: to see what leaving them out costs.
COLOURANTS = {"MnO", "MnO2", "CoO", "NiO", "CuO", "SnO2", "Cr2O3", "CeO2", "V2O5", "Nd2O3"}


# ---- reading ---------------------------------------------------------------------------------------------


def table(wheel: zipfile.ZipFile, name: str) -> Iterator[list[str]]:
    inner = zipfile.ZipFile(io.BytesIO(wheel.read(f"glasspy/data/datafiles/select_{name}.csv.zip")))
    text = io.TextIOWrapper(inner.open(inner.namelist()[0]), "latin-1", newline="")
    return csv.reader(text, delimiter="\t")


def silicates(wheel: zipfile.ZipFile) -> dict[tuple[str, str], dict[str, float]]:
    """Mol % by (paper, glass) of glasses with 30 to 90 mol % SiO2; numbers given twice are left out."""
    out = {}
    seen: Counter[tuple[str, str]] = Counter()
    rows = table(wheel, "Gcomp")
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
            out[paper, glass] = mol
    return {key: mol for key, mol in out.items() if seen[key] == 1}


def measurements(
    wheel: zipfile.ZipFile, wanted: Iterable[str]
) -> Iterator[tuple[tuple[str, str], dict[str, str]]]:
    """The wanted columns of every glass that is numbered once."""
    rows = table(wheel, "SciGK")
    head = next(rows)
    at = {column: head.index(column) for column in wanted}
    found: dict[tuple[str, str], dict[str, str]] = {}
    seen: Counter[tuple[str, str]] = Counter()
    for row in rows:
        seen[row[0], row[1]] += 1
        found[row[0], row[1]] = {column: row[place] for column, place in at.items()}
    return ((key, cells) for key, cells in found.items() if seen[key] == 1)


def glasses(
    task: Task,
    compositions: Mapping[tuple[str, str], dict[str, float]],
    found: Iterable[tuple[Any, dict[str, str]]],
) -> list[Glass]:
    """One glass for each composition (to 0.01 mol %), with the median of what was reported for it."""
    reports = defaultdict(list)
    low, high = task.plausible
    for key, cells in found:
        mol = compositions.get(key)
        if mol is None or not cells[task.column] or not low <= float(cells[task.column]) <= high:
            continue
        others = {oxide: part for oxide, part in mol.items() if oxide not in FITTED}
        if not set(others) <= COLOURANTS:
            continue
        total = sum(mol.values()) - sum(others.values())
        rounded = tuple(round(100 * mol.get(oxide, 0.0) / total, 2) for oxide in FITTED)
        beside = tuple((oxide, round(100 * part / total, 2)) for oxide, part in sorted(others.items()))
        if sum(part for _, part in beside) <= LEFT_OUT_UNNOTICED:
            beside = ()
        reports[rounded, beside].append((float(cells[task.column]), cells["Author"].strip()))
    return [
        Glass(
            mol,
            beside,
            statistics.median(value for value, _ in those),
            tuple(dict.fromkeys(a for _, a in those)),
        )
        for (mol, beside), those in reports.items()
    ]


# ---- fitting ---------------------------------------------------------------------------------------------


def author_groups(found: Sequence[Glass]) -> list[str]:
    """The group of each glass. Authors who report one and the same composition are one group, so that a glass
    never helps to estimate itself."""
    parent: dict[str, str] = {}

    def root(author: str) -> str:
        parent.setdefault(author, author)
        while parent[author] != author:
            author = parent[author]
        return author

    first: dict[tuple[float, ...], str] = {}
    for glass in found:
        for author in glass.authors:
            parent[root(author)] = root(first.setdefault(glass.mol, author))
    return [root(glass.authors[0]) for glass in found]


def folds_of(groups: Sequence[str]) -> dict[str, int]:
    """The fold of each group: the largest first, each into the fold that holds the least."""
    size = [0] * FOLDS
    out = {}
    for group, count in sorted(Counter(groups).items(), key=lambda entry: (-entry[1], entry[0])):
        out[group] = size.index(min(size))
        size[out[group]] += count
    return out


def capped(groups: Sequence[str], most: int) -> Floats:
    """A weight for each glass, so that no group counts for more than ``most`` of them."""
    count = Counter(groups)
    return np.array([min(1.0, most / count[group]) for group in groups])


def factors_for(mol: Floats, measured: Floats, weight: Floats, far: float) -> Floats:
    """Least squares without a constant, in which an error beyond ``far`` counts in proportion and not squared
    (Huber's weights, 30 rounds): a misprinted value then pulls no harder than ``far``."""
    share = mol / 100
    inner = weight
    out: Floats = np.zeros(share.shape[1])
    for _ in range(30):
        normal = (share * inner[:, None]).T @ share
        out = np.asarray(np.linalg.solve(normal, (share * inner[:, None]).T @ measured), np.float64)
        inner = weight * np.minimum(1.0, far / np.maximum(np.abs(measured - share @ out), 1e-9))
    return out


def quantile(values: Floats, weight: Floats, part: float, one_more: float = 0.0) -> float:
    """The weighted quantile; ``one_more`` is the weight of a further glass of which nothing is known, which makes
    a share of errors into the interval for the next glass (split conformal)."""
    order = np.argsort(values)
    reached = np.cumsum(weight[order]) / (weight.sum() + one_more)
    return float(values[order][min(int(np.searchsorted(reached, part)), len(values) - 1)])


def spread(error: Floats, groups: Sequence[str], symmetric: bool) -> dict[str, Any]:
    """The record of ``additive.Spread`` for errors (estimate - measured)."""
    size = np.abs(error)
    even = np.ones(len(error))
    weight = capped(groups, MOST_IN_ERRORS)
    if symmetric:
        below = above = quantile(size, weight, COVERED, 1.0)
    else:
        part = (1 + COVERED) / 2
        below, above = quantile(error, weight, part, 1.0), quantile(-error, weight, part, 1.0)
    return {
        "glasses": len(error),
        "authors": len(set(groups)),
        "median": round(float(np.median(size)), 1),
        "ninetieth": round(quantile(size, even, 0.9), 1),
        "bias": round(float(np.median(error)), 1),
        "median_by_author": round(quantile(size, weight, 0.5), 1),
        "ninetieth_by_author": round(quantile(size, weight, 0.9), 1),
        "below": round(below, 1),
        "above": round(above, 1),
    }


def ranges_of(mol: Floats, groups: Sequence[str]) -> dict[str, tuple[float, float]]:
    """For each oxide the mol % between which at least SEVERAL groups have glasses at either end."""
    by_group = defaultdict(list)
    for row, group in zip(mol, groups, strict=True):
        by_group[group].append(row)
    most = np.array([np.max(rows, axis=0) for rows in by_group.values()])
    least = np.array([np.min(rows, axis=0) for rows in by_group.values()])
    return {
        oxide: (
            round(float(np.sort(least[:, i])[SEVERAL - 1]), 1),
            round(float(np.sort(most[:, i])[-SEVERAL]), 1),
        )
        for i, oxide in enumerate(FITTED)
    }


def rank_correlation(first: Floats, second: Floats) -> float:
    """Spearman's. Equal values share no rank, which changes nothing to two figures."""
    one, other = (np.argsort(np.argsort(values)).tolist() for values in (first, second))
    return round(statistics.correlation(one, other), 2)


def order_right(
    estimated: Floats, measured: Floats, groups: Sequence[str], steps: Sequence[float]
) -> list[dict[str, float]]:
    """How often two glasses of different groups were measured in the order of their estimates, by how far these
    lie apart: each step reaches to the next."""
    weight = capped(groups, MOST_IN_ERRORS)
    name = np.array(groups)
    apart = estimated[:, None] - estimated[None]
    differ = measured[:, None] - measured[None]
    both = weight[:, None] * weight[None]
    out = []
    for step, beyond in zip(steps, (*steps[1:], float("inf")), strict=True):
        pair = (apart > step) & (apart <= beyond) & (name[:, None] != name[None]) & (differ != 0)
        right = float(both[pair & (differ > 0)].sum() / both[pair].sum())
        out.append({"apart": step, "right": round(right, 2)})
    return out


# ---- a whole fit -----------------------------------------------------------------------------------------


class Outcome(NamedTuple):
    record: dict[str, Any]
    held_out: dict[str, Any]


def fitted(task: Task, found: list[Glass]) -> Outcome:
    """Ranges, factors and errors. Every error is of a glass whose author took no part in the factors used."""
    groups = author_groups(found)
    fold = folds_of(groups)
    folds = np.array([fold[group] for group in groups])
    measured = np.array([glass.measured for glass in found])
    all_mol = np.array([glass.mol for glass in found])
    glaze = np.array([not unlike_a_glaze(dict(zip(FITTED, glass.mol, strict=True))) for glass in found])
    beside = np.array([sum(part for _, part in glass.others) for glass in found])
    silica = (all_mol[:, 0] >= 40) & (all_mol[:, 0] <= 75)

    def of(part: Flags) -> list[str]:
        return [group for group, taken in zip(groups, part, strict=True) if taken]

    base = (beside == 0) & silica & (glaze if task.glazes_only else True)
    # An oxide that too few authors used in earnest has no factor: it is one of those left out.
    ranges = {
        oxide: span for oxide, span in ranges_of(all_mol[base], of(base)).items() if span[1] >= LEAST_REACH
    }
    ranges["B2O3"] = (ranges["B2O3"][0], min(ranges["B2O3"][1], BORON_AT_MOST))
    oxides = tuple(ranges)
    columns = [FITTED.index(oxide) for oxide in oxides]
    left_out = beside + 100 - all_mol[:, columns].sum(axis=1)
    few = left_out <= LEFT_OUT_UNNOTICED
    mol = 100 * all_mol[:, columns] / all_mol[:, columns].sum(axis=1, keepdims=True)
    inside = np.array([not out_of_range(dict(zip(oxides, row, strict=True)), ranges) for row in mol])
    used = base & inside & few
    weight = np.zeros(len(found))
    weight[used] = capped(of(used), MOST_IN_FIT)
    factors = factors_for(mol[used], measured[used], weight[used], task.far)
    by_fold = []
    estimated = np.zeros(len(found))
    for number in range(FOLDS):
        seen = used & (folds != number)
        by_fold.append(factors_for(mol[seen], measured[seen], weight[seen], task.far))
        estimated[folds == number] = mol[folds == number] @ by_fold[-1] / 100
    error = estimated - measured

    if task.glazes_only:
        good = inside & glaze & few & (estimated >= softening.LOWEST)
        kinds = {"like a glaze": good, "outside": ~good & silica}
    else:
        trusted = inside & (glaze | (estimated <= expansion.HIGHEST))
        kinds = {
            "like a glaze": few & trusted & glaze,
            "in range": few & trusted & ~glaze,
            "oxides left out": trusted & ~few & (left_out <= LEFT_OUT_AT_MOST),
            "outside": ~trusted,
        }
    ranked = kinds["like a glaze"]
    record = {
        "model": task.model,
        "quantity": task.quantity,
        "unit": task.unit,
        "fitted": datetime.datetime.now(tz=datetime.UTC).date().isoformat(),
        "method": (
            f"sum over oxides of mol fraction times factor; least squares in which an error beyond {task.far:g} "
            f"({task.unit}) counts in proportion, no author counting for more than {MOST_IN_FIT} glasses; errors by "
            f"{FOLDS}-fold cross-validation by first author"
        ),
        "data": f"SciGlass, column {task.column} in the data files of the PyPI file {WHEEL}, sha256 {SHA256}",
        "licence": NOTICE,
        "glasses": int(used.sum()),
        "authors": len(set(of(used))),
        "factors": {o: round(float(f), task.digits) for o, f in zip(oxides, factors, strict=True)},
        "ranges": ranges,
        "errors": {kind: spread(error[part], of(part), True) for kind, part in kinds.items()},
        "rank correlation": rank_correlation(estimated[ranked], measured[ranked]),
        "order": order_right(estimated[ranked], measured[ranked], of(ranked), task.steps),
    }
    fold_of_author = {
        author: int(fold[group])
        for glass, group in zip(found, groups, strict=True)
        for author in glass.authors
    }
    named = [dict(zip(oxides, map(float, one), strict=True)) for one in by_fold]
    return Outcome(record, held_out(task, record, named, fold_of_author))


def held_out(
    task: Task,
    record: Mapping[str, Any],
    by_fold: Sequence[Mapping[str, float]],
    fold_of_author: Mapping[str, int],
) -> dict[str, Any]:
    """What a test needs to estimate each row of an extract with factors that never saw its author, and the errors
    that it must find: ``held out`` with these, ``shipped`` with the shipped factors. A row with more than a trace
    of an oxide that has no factor does not count."""
    folds = [{oxide: round(factor, 2) for oxide, factor in one.items()} for one in by_fold]
    rows = []
    errors: dict[str, list[float]] = {"held out": [], "shipped": []}
    with (OUTSIDE / task.extract).open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            mol = {oxide: float(row[f"mol_{oxide}"]) for oxide in FITTED}
            total = sum(mol[oxide] for oxide in folds[0])
            if not row[task.extract_column] or 100 - 100 * total / sum(mol.values()) > LEFT_OUT_UNNOTICED:
                continue
            rows.append(row)
            own = folds[fold_of_author[row["first_author"]]]
            for name, factors in (("held out", own), ("shipped", record["factors"])):
                value = sum(mol[oxide] * factor for oxide, factor in factors.items()) / total
                errors[name].append(abs(value - float(row[task.extract_column])))
    return {
        "notice": NOTICE,
        "extract": task.extract,
        "column": task.extract_column,
        "folds": folds,
        "fold of glass": {
            f"{row['paper_kod']}/{row['glass_no']}": fold_of_author[row["first_author"]] for row in rows
        },
        "errors": {
            name: {
                "glasses": len(those),
                "median": round(float(np.median(those)), 2),
                "ninetieth": round(float(np.quantile(those, 0.9)), 2),
            }
            for name, those in errors.items()
        },
    }


def published_errors(found: list[Glass]) -> dict[str, Any]:
    """How far each published set is off on the same glasses, by kind as ``expansion.judged`` sees it. A kind that
    few authors measured is not listed."""
    groups = author_groups(found)
    out: dict[str, Any] = {}
    for model in expansion.PUBLISHED:
        errors = defaultdict(list)
        for glass, group in zip(found, groups, strict=True):
            mol = {oxide: part for oxide, part in zip(FITTED, glass.mol, strict=True) if part} | dict(
                glass.others
            )
            value, kind, _, _ = expansion.judged(mol, model, "mol")
            errors[kind].append((value - glass.measured, group))
        out[model] = {}
        for kind in ("like a glaze", "in range", "oxides left out", "outside"):
            those, by = [error for error, _ in errors[kind]], [group for _, group in errors[kind]]
            if len(set(by)) >= SEVERAL:
                out[model][kind] = spread(np.array(those), by, False)
    return out


def write(path: Path, record: Mapping[str, Any]) -> None:
    """JSON with one entry of the outermost object, and of each object in it, on a line."""

    def lines(value: Mapping[str, Any], indent: str) -> Iterator[str]:
        for i, (key, entry) in enumerate(value.items()):
            comma = "," if i < len(value) - 1 else ""
            if isinstance(entry, Mapping) and any(isinstance(inner, Mapping) for inner in entry.values()):
                yield f"{indent}{json.dumps(key)}: {{"
                yield from lines(entry, indent + " ")
                yield f"{indent}}}{comma}"
            elif isinstance(entry, list):
                yield f"{indent}{json.dumps(key)}: ["
                for j, inner in enumerate(entry):
                    yield f"{indent} {json.dumps(inner, ensure_ascii=False)}{',' if j < len(entry) - 1 else ''}"
                yield f"{indent}]{comma}"
            else:
                yield f"{indent}{json.dumps(key)}: {json.dumps(entry, ensure_ascii=False)}{comma}"

    path.write_text("\n".join(["{", *lines(record, " "), "}", ""]), "utf-8")


def main(arguments: Sequence[str]) -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("wheel", type=Path)
    parser.add_argument("--write", action="store_true")
    options = parser.parse_args(arguments)
    content = options.wheel.read_bytes()
    if hashlib.sha256(content).hexdigest() != SHA256:
        raise SystemExit(f"{options.wheel} is not {WHEEL} with sha256 {SHA256}")
    keep: Callable[[Path, Mapping[str, Any]], None] = write if options.write else lambda path, record: None
    with zipfile.ZipFile(io.BytesIO(content)) as wheel:
        compositions = silicates(wheel)
        found = list(measurements(wheel, (EXPANSION.column, SOFTENING.column, "Author")))
    for task in (EXPANSION, SOFTENING):
        these = glasses(task, compositions, found)
        record, folds = fitted(task, these)
        if task is EXPANSION:
            # The published sets are judged over the ranges of this fit, so it is written first.
            keep(SHIPPED / "expansion-fit.json", {**record, "published": {}})
            expansion.fit.cache_clear()
            record["published"] = published_errors(these)
        keep(SHIPPED / f"{task.name}-fit.json", record)
        keep(OUTSIDE / f"{task.name}-held-out.json", folds)
        print(json.dumps({**record, "held out": folds["errors"]}, indent=1, ensure_ascii=False))


if __name__ == "__main__":
    main(sys.argv[1:])
