"""Fits the project's own estimates to open glass data, cross-validates them by author and writes what is shipped.

python -m tests.fit.fit_estimates FILE [--write]; see README.md beside this file and docs/models.md.
"""

from __future__ import annotations

import argparse
import csv
import datetime
import itertools
import json
import statistics
import sys
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from glost.chemistry import expansion, softening
from glost.chemistry.additive import (
    FITTED,
    Composition,
    Fit,
    Placed,
    composition,
    fit_of,
    placed,
    unlike_a_glaze,
)
from tests.fit.corners import MOST_IN_ERRORS, Tried, capped, row, table
from tests.fit.glass_data import NOTICE, SHA256, WHEEL, Glass, glasses, read

TOP = Path(__file__).parents[2]
SHIPPED = TOP / "src" / "glost" / "chemistry" / "data"
OUTSIDE = TOP / "tests" / "outside" / "data"

SEVERAL = 8
"""A range reaches as far as the glasses of at least this many authors do; fewer are no statistics."""
FOLDS = 10
MOST_IN_FIT = 50
"""No author counts for more than so many glasses of a column in a fit."""
COVERED = 0.907
"""A little more than nine of ten: a glass that helped to find a width is a little more likely to lie within it than the
next one, and it is the next ones that are to be held."""
PRODUCTS = 24
"""How many products of two mol fractions a fit may choose. Held-out errors fall little beyond 16, and no more at 32."""
RIDGE = 0.01
"""What keeps the factors of products small, per squared factor and in glasses of full weight."""
FURTHER_RIDGE = 3.0
"""The same for the further sum of a second column, so that it differs from the first by what the glasses show."""
GLAZES_COUNT = 2.0
"""A glass that is like a glaze counts for as many others in a fit."""
FEWEST = 15
"""A step of an interval needs so many glasses, of at least five authors."""
YEAR = 2000
"""Fitted to this year and tried on later glasses of authors who had published none before."""

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Wholes = NDArray[np.int64]

PAIRS = list(itertools.combinations_with_replacement(range(len(FITTED)), 2))

Steps = tuple[tuple[str, float], ...]


class Task(NamedTuple):
    """What is fitted: the columns of the data (the first is estimated, the second helps), the mean of each, the
    plausible values, the mol % of SiO2 of the glasses that take part, the error beyond which a glass counts less, the
    steps of order, the digits of a factor; and by kind of composition what may widen an interval: mass % of an
    oxide, of all alkali, or mol % beyond the ranges."""

    name: str
    model: str
    columns: tuple[str, ...]
    quantities: tuple[str, ...]
    unit: str
    plausible: tuple[float, float]
    silica: tuple[float, float]
    far: float
    apart: tuple[float, ...]
    digits: int
    steps: Mapping[str, Steps]


LIKE: Steps = (
    ("Li2O", 1),
    ("Li2O", 3),
    ("B2O3", 3),
    ("B2O3", 8),
    ("B2O3", 15),
    ("ZnO", 2),
    ("BaO", 3),
    ("MgO", 3),
    ("Fe2O3", 2),
    ("PbO", 2),
    ("TiO2", 2),
)
UNLIKE: Steps = (
    ("alkali", 20),
    ("Li2O", 3),
    ("B2O3", 15),
    ("B2O3", 30),
    ("ZnO", 10),
    ("BaO", 10),
    ("MgO", 10),
    ("Fe2O3", 2),
    ("PbO", 10),
    ("PbO", 40),
    ("TiO2", 5),
    ("P2O5", 3),
)
BEYOND: Steps = (("beyond", 2), ("beyond", 6))

EXPANSION = Task(
    "expansion",
    expansion.OWN,
    ("TEC160", "TEC210"),
    ("mean linear expansion, about 20-300 °C", "mean linear expansion, about 20-400 °C"),
    expansion.UNIT,
    (15, 250),
    (35, 80),
    4.0,
    (0, 2, 5, 10, 20),
    1,
    {"like a glaze": LIKE, "in range": UNLIKE, "oxides left out": (), "outside": BEYOND},
)
SOFTENING = Task(
    "softening",
    softening.MODEL,
    ("T4",),
    ("temperature at 1000 Pa s",),
    softening.UNIT,
    (300, 2000),
    (30, 85),
    30.0,
    (0, 20, 50, 100, 150),
    0,
    {
        "like a glaze": (*LIKE, ("P2O5", 2)),
        "in range": (*UNLIKE, ("Fe2O3", 10)),
        "oxides left out": (),
        "outside": BEYOND,
    },
)


# ---- the glasses as tables -------------------------------------------------------------------------------


class Table(NamedTuple):
    """The glasses of a task: mol fractions, products of two, what was measured (nan where it was not), authors, years;
    which are plain (no oxide without a factor), and which are like a glaze. ``twins`` has one number for compositions
    that agree to 0.1 mol %."""

    all: list[Glass]
    wholes: list[Composition]
    share: Floats
    product: Floats
    measured: Floats
    author: list[str]
    year: Wholes
    plain: Flags
    glaze: Flags
    twins: Wholes


def mol_of(glass: Glass) -> dict[str, float]:
    return {oxide: part for oxide, part in zip(FITTED, glass.mol, strict=True) if part} | dict(glass.others)


def table_of(found: list[Glass]) -> Table:
    share = np.array([glass.mol for glass in found]) / 100
    wholes = [composition(mol_of(glass), FITTED, "mol") for glass in found]
    number: dict[tuple[float, ...], int] = {}
    twins = [number.setdefault(tuple(round(part, 1) for part in glass.mol), len(number)) for glass in found]
    return Table(
        found,
        wholes,
        share,
        np.stack([share[:, i] * share[:, j] for i, j in PAIRS], axis=1),
        np.array([[np.nan if x is None else x for x in glass.measured] for glass in found]),
        [glass.author for glass in found],
        np.array([glass.year for glass in found]),
        np.array([not glass.others for glass in found]),
        np.array([not unlike_a_glaze(whole.mass) for whole in wholes]),
        np.array(twins),
    )


def of(those: Sequence[str], part: Flags) -> list[str]:
    return [one for one, taken in zip(those, part, strict=True) if taken]


def folds_by_author(data: Table) -> Wholes:
    """The fold of each glass: the authors with most glasses like glazes first, each into the fold that holds least."""
    glazes, count = Counter(of(data.author, data.glaze)), Counter(data.author)
    size = [0.0] * FOLDS
    fold = {}
    for author in sorted(count, key=lambda one: (-glazes[one], -count[one], one)):
        fold[author] = size.index(min(size))
        size[fold[author]] += glazes[author] + count[author] / 10
    return np.array([fold[author] for author in data.author])


def folds_at_random(data: Table) -> Wholes:
    """Twins lie in one fold; authors do not."""
    chosen = np.random.default_rng(0).integers(FOLDS, size=int(data.twins.max()) + 1)
    return np.asarray(chosen[data.twins], np.int64)


def without(data: Table, left: Flags) -> Flags:
    """What may be fitted where these glasses are held out: no glass of the same composition either."""
    return ~left & ~np.isin(data.twins, data.twins[left])


# ---- fitting ---------------------------------------------------------------------------------------------


class Factors(NamedTuple):
    """One fit: factors per mol fraction and of the chosen products; the plain sum; for each, what is added for the
    second column (nothing where there is none)."""

    factors: Floats
    products: dict[int, float]
    further: Floats
    plain: Floats
    further_plain: Floats


def solved(
    design: Floats, measured: Floats, weight: Floats, far: float, ridge: Floats
) -> tuple[Floats, Floats]:
    """Least squares without a constant, in which an error beyond ``far`` counts in proportion and not squared
    (Huber's weights, 15 rounds): a misprinted value then pulls no harder than ``far``. With the last weights."""
    inner = weight
    out: Floats = np.zeros(design.shape[1])
    for _ in range(15):
        left = (design * inner[:, None]).T
        out = np.asarray(np.linalg.solve(left @ design + np.diag(ridge), left @ measured), np.float64)
        inner = weight * np.minimum(1.0, far / np.maximum(np.abs(measured - design @ out), 1e-9))
    return out, inner


def chosen_products(base: Floats, offered: Floats, measured: Floats, weight: Floats) -> list[int]:
    """The products that together with the base explain most, one after the other: each the one that lowers the
    weighted sum of squares most."""
    every = np.hstack([base, offered])
    left = (every * weight[:, None]).T
    normal = left @ every + np.diag([1e-9] * base.shape[1] + [RIDGE] * offered.shape[1])
    target = left @ measured
    taken = list(range(base.shape[1]))
    for _ in range(PRODUCTS):
        inverse = np.linalg.inv(normal[np.ix_(taken, taken)])
        across = normal[:, taken]
        rest = target - across @ (inverse @ target[taken])
        gain = rest**2 / np.maximum(np.diag(normal) - np.einsum("ij,jk,ik->i", across, inverse, across), 1e-9)
        gain[taken] = -1
        taken.append(int(np.argmax(gain)))
    return [column - base.shape[1] for column in taken[base.shape[1] :]]


def fit_to(task: Task, data: Table, part: Flags) -> Factors:
    """A fit to the plain glasses of that part. Both columns together: the second is the first and a further sum."""
    low, high = task.silica
    silica = (data.share[:, 0] >= low / 100) & (data.share[:, 0] <= high / 100)
    at, second = [], []
    for column in range(len(task.columns)):
        rows = np.where(part & silica & data.plain & ~np.isnan(data.measured[:, column]))[0]
        at.append(rows)
        second.append(np.full(len(rows), float(column)))
    index, further = np.concatenate(at), np.concatenate(second)
    measured = data.measured[index, further.astype(int)]
    weight = np.concatenate([capped([data.author[i] for i in rows], MOST_IN_FIT) for rows in at])
    weight = weight * np.where(data.glaze[index], GLAZES_COUNT, 1.0)
    oxides = len(FITTED)
    base, ridge = data.share[index], np.full(oxides, 1e-9)
    if len(task.columns) > 1:
        base = np.hstack([base, base * further[:, None]])
        ridge = np.concatenate([ridge, np.full(oxides, FURTHER_RIDGE)])
    plain, inner = solved(base, measured, weight, task.far, ridge)
    products = chosen_products(base, data.product[index], measured, inner)
    design = np.hstack([base, data.product[index][:, products]])
    both, _ = solved(design, measured, weight, task.far, np.concatenate([ridge, np.full(PRODUCTS, RIDGE)]))
    nothing = np.zeros(oxides)
    wide = base.shape[1]
    return Factors(
        both[:oxides],
        dict(zip(products, map(float, both[wide:]), strict=True)),
        both[oxides:wide] if wide > oxides else nothing,
        plain[:oxides],
        plain[oxides:wide] if wide > oxides else nothing,
    )


def rounded(fit: Factors, digits: int) -> Factors:
    return Factors(
        np.round(fit.factors, digits),
        {pair: round(factor, digits) for pair, factor in fit.products.items()},
        np.round(fit.further, digits),
        np.round(fit.plain, digits),
        np.round(fit.further_plain, digits),
    )


def value(data: Table, fit: Factors, inside: Flags, column: int) -> Floats:
    """The estimate of every glass."""
    pairs = list(fit.products)
    squared = data.product[:, pairs] @ np.array([fit.products[pair] for pair in pairs])
    products = data.share @ (fit.factors + column * fit.further) + squared
    plain = data.share @ (fit.plain + column * fit.further_plain)
    return np.where(inside, products, plain)


def ranges_of(share: Floats, authors: Sequence[str]) -> dict[str, tuple[float, float]]:
    """For each oxide the mol % between which at least SEVERAL authors have glasses at either end."""
    by_author = defaultdict(list)
    for row_, author in zip(100 * share, authors, strict=True):
        by_author[author].append(row_)
    most = np.array([np.max(rows, axis=0) for rows in by_author.values()])
    least = np.array([np.min(rows, axis=0) for rows in by_author.values()])
    return {
        oxide: (
            round(float(np.sort(least[:, i])[SEVERAL - 1]), 1),
            round(float(np.sort(most[:, i])[-SEVERAL]), 1),
        )
        for i, oxide in enumerate(FITTED)
    }


# ---- intervals -------------------------------------------------------------------------------------------


def step_table(places: Sequence[Placed], steps: Steps) -> Floats:
    """A column of 1 and one for each step: 1 where it applies."""
    return np.array(
        [[1.0, *(float(place.amounts.get(what, 0.0) >= least) for what, least in steps)] for place in places]
    )


def half_width(applies: Floats, size: Floats, weight: Floats) -> Floats:
    """Base and steps of the half width that nine of ten errors keep to in every corner: quantile regression on 0 and 1,
    which leaves one of ten outside among those that a step applies to. Solved as its dual linear programme."""
    from scipy.optimize import linprog

    # One more glass for each step of which nothing is known, as far off as any: few glasses then claim less.
    unknown = np.eye(applies.shape[1])
    unknown[:, 0] = 1.0
    applies = np.vstack([applies, unknown])
    size = np.concatenate([size, np.full(len(unknown), 10 * size.max())])
    weight = np.concatenate([weight, np.ones(len(unknown))])
    bounds = np.stack([weight * (COVERED - 1), weight * COVERED], axis=1)
    found = linprog(-size, A_eq=applies.T, b_eq=np.zeros(applies.shape[1]), bounds=bounds, method="highs")
    return -np.asarray(found.eqlin.marginals, np.float64)


class Widths(NamedTuple):
    """Base and steps of each fold, made without it, and of all; the steps that enough glasses bear."""

    steps: Steps
    offset: float
    by_fold: Floats
    of_all: Floats


def even_and_by_author(authors: Sequence[str]) -> Floats:
    """Half a weight of 1 for each glass, half one that lets no author count for more than 20."""
    weight = np.array(capped(authors))
    return np.asarray(0.5 + 0.5 * weight / weight.mean(), np.float64)


def widths_of(
    error: Floats,
    places: Sequence[Placed],
    authors: Sequence[str],
    folds: Wholes,
    steps: Steps,
    centred: bool,
) -> Widths:
    """The half widths. ``centred`` False: the set leans; its interval lies around the estimate less its lean."""
    weight = even_and_by_author(authors)
    borne = tuple(
        (what, least)
        for what, least in steps
        if sum(there := [place.amounts.get(what, 0.0) >= least for place in places]) >= FEWEST
        and len({author for author, one in zip(authors, there, strict=True) if one}) >= 5
    )
    offset = 0.0 if centred else round(float(np.median(error)), 1)
    size, applies = np.abs(error - offset), step_table(places, borne)
    by_fold = [
        half_width(applies[folds != fold], size[folds != fold], weight[folds != fold])
        for fold in range(FOLDS)
    ]
    return Widths(borne, offset, np.round(by_fold, 1), np.round(half_width(applies, size, weight), 1))


def halves(widths: Widths, applies: Floats, folds: Wholes) -> Floats:
    """The half width of each glass, by the steps that were made without its fold."""
    out = (applies * widths.by_fold[folds]).sum(axis=1)
    return np.asarray(np.maximum(out, widths.by_fold[folds][:, 0] / 2), np.float64)


def tried_glass(data: Table, at: int, error: float, half: float, offset: float = 0.0) -> Tried:
    whole = data.wholes[at]
    within = abs(error - offset) <= half
    return Tried(error, within, half, data.author[at], int(data.year[at]), whole.mass, whole.mol)


class Judging(NamedTuple):
    """The record of a kind of glasses as a data file has it, how each of its glasses did, and its widths."""

    record: dict[str, Any]
    tried: list[Tried]
    widths: Widths


def judge(
    error: Floats,
    places: Sequence[Placed],
    data: Table,
    part: Wholes,
    folds: Wholes,
    steps: Steps,
    centred: bool = True,
) -> Judging:
    """What is told of the glasses at the places ``part``, all of one kind; ``error``, ``places`` and ``folds`` are
    theirs."""
    authors = [data.author[i] for i in part]
    widths = widths_of(error, places, authors, folds, steps, centred)
    applies = step_table(places, widths.steps)
    half = halves(widths, applies, folds)
    tried = [
        tried_glass(data, int(i), float(error[k]), float(half[k]), widths.offset) for k, i in enumerate(part)
    ]
    whole = row(tried)
    told = []
    for column, (what, least) in enumerate(widths.steps, 1):
        there = row([one for one, applied in zip(tried, applies[:, column], strict=True) if applied])
        told.append(
            [what, least, float(widths.of_all[column]), there.glasses, there.held, there.held_by_author]
        )
    record = {
        "glasses": whole.glasses,
        "authors": whole.authors,
        "median": whole.median,
        "ninetieth": whole.ninetieth,
        "bias": whole.bias,
        "median_by_author": whole.median_by_author,
        "ninetieth_by_author": whole.ninetieth_by_author,
        "held": whole.held,
        "held_by_author": whole.held_by_author,
        "offset": widths.offset,
        "base": float(widths.of_all[0]),
        "steps": told,
    }
    return Judging(record, tried, widths)


# ---- order -----------------------------------------------------------------------------------------------


def rank_correlation(first: Floats, second: Floats) -> float:
    """Spearman's. Equal values share no rank, which changes nothing to two figures."""
    one, other = (np.argsort(np.argsort(values)).tolist() for values in (first, second))
    return round(statistics.correlation(one, other), 2)


def order_right(
    estimated: Floats, measured: Floats, authors: Sequence[str], steps: Sequence[float]
) -> list[dict[str, float]]:
    """How often two glasses of different authors were measured in the order of their estimates, by how far these
    lie apart: each step reaches to the next."""
    weight = np.array(capped(authors, MOST_IN_ERRORS))
    name = np.array(authors)
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
    extract: list[list[Any]]


def held_out_values(
    task: Task, data: Table, inside: Flags, folds: Wholes, column: int
) -> tuple[list[Factors], Floats]:
    """The fits that each leave a fold out, and the estimate of every glass by the one that had not seen it."""
    fits, estimated = [], np.zeros(len(data.all))
    for fold in range(FOLDS):
        left = folds == fold
        # Rounded as they are shipped, so that a test finds the same figures.
        fits.append(rounded(fit_to(task, data, without(data, left)), task.digits))
        estimated[left] = value(data, fits[-1], inside, column)[left]
    return fits, estimated


def fitted(task: Task, data: Table) -> Outcome:
    """Factors, ranges and errors. Every error is of a glass whose author took no part in the factors used, and no
    glass of the same composition did."""
    low, high = task.silica
    silica = (data.share[:, 0] >= low / 100) & (data.share[:, 0] <= high / 100)
    ranges = ranges_of(data.share[data.plain & silica], of(data.author, data.plain & silica))
    places = [placed(whole, ranges, whole.others, whole.share) for whole in data.wholes]
    inside = np.array([place.inside for place in places])
    kinds = np.array([place.kind if not place.reason else "" for place in places])
    folds = folds_by_author(data)
    fit = rounded(fit_to(task, data, np.ones(len(data.all), bool)), task.digits)

    by_column, shares = [], None
    fits: list[Factors] = []
    for column, quantity in enumerate(task.quantities):
        fits, estimated = held_out_values(task, data, inside, folds, column)
        known = ~np.isnan(data.measured[:, column])
        judged = {}
        for kind, steps in task.steps.items():
            part = np.where((kinds == kind) & known)[0]
            error = (estimated - data.measured[:, column])[part]
            judged[kind] = judge(error, [places[i] for i in part], data, part, folds[part], steps)
        by_column.append(judged)
        if shares is None:
            shares = estimated, known
        print(quantity, {kind: one.record for kind, one in judged.items()}, sep="\n")
    assert shares is not None
    estimated, known = shares
    first = by_column[0]
    ranked = known & (kinds == "like a glaze")
    measured = data.measured[:, 0]

    # The same with folds that part authors, as most published errors are counted.
    _, at_random = held_out_values(task, data, inside, folds_at_random(data), 0)
    random_row = row(
        Tried(float(at_random[i] - measured[i]), True, 0.0, data.author[i], 0, {}, {})
        for i in np.where(ranked)[0]
    )
    record = {
        "model": task.model,
        "quantity": task.quantities[0],
        "unit": task.unit,
        "fitted": datetime.datetime.now(tz=datetime.UTC).date().isoformat(),
        "method": (
            f"sum over oxides of mol fraction times factor, and over {PRODUCTS} products of two mol fractions; least "
            f"squares in which an error beyond {task.far:g} ({task.unit}) counts in proportion, no author counting for "
            f"more than {MOST_IN_FIT} glasses; errors by {FOLDS}-fold cross-validation by first author"
        ),
        "data": (
            f"SciGlass, column {' and '.join(task.columns)} in the data files of the PyPI file {WHEEL}, sha256 {SHA256}"
        ),
        "licence": NOTICE,
        "glasses": int((data.plain & silica).sum()),
        "authors": len(set(of(data.author, data.plain & silica))),
        "factors": named(fit.factors),
        "products": products_of(fit),
        "plain": named(fit.plain),
        "ranges": ranges,
        "errors": {kind: one.record for kind, one in first.items()},
        "rank correlation": rank_correlation(estimated[ranked], measured[ranked]),
        "order": order_right(estimated[ranked], measured[ranked], of(data.author, ranked), task.apart),
    }
    if len(task.columns) > 1:
        record["to 400"] = {
            "quantity": task.quantities[1],
            "further": named(fit.further),
            "further plain": named(fit.further_plain),
            "errors": {kind: one.record for kind, one in by_column[1].items()},
        }
    earlier = rounded(fit_to(task, data, (data.year <= YEAR) & (data.year > 0)), task.digits)
    new = later(data) & known & (kinds == "like a glaze")
    later_error = (value(data, earlier, inside, 0) - measured)[new]
    later_places = [place for place, one in zip(places, new, strict=True) if one]
    glaze = first["like a glaze"]
    until = np.where(ranked & (data.year <= YEAR))[0]
    old = widths_of(
        (estimated - measured)[until],
        [places[i] for i in until],
        [data.author[i] for i in until],
        folds[until],
        task.steps["like a glaze"],
        True,
    )
    half = np.maximum(step_table(later_places, old.steps) @ old.of_all, old.of_all[0] / 2)
    tried_later = [
        tried_glass(data, int(i), float(error), float(wide))
        for error, wide, i in zip(later_error, half, np.where(new)[0], strict=True)
    ]
    lead = [
        one
        for kind in ("like a glaze", "in range")
        for one in first[kind].tried
        if one.mol.get("PbO", 0.0) > 5
    ]
    held_out = {
        "notice": NOTICE,
        "columns": list(task.columns),
        "year": YEAR,
        "folds": [fold_record(one) for one in fits],
        "widths": {
            kind: {
                "steps": [list(step) for step in one.widths.steps],
                "offset": one.widths.offset,
                "folds": one.widths.by_fold.tolist(),
            }
            for kind, one in first.items()
        },
        "until": {
            **fold_record(earlier),
            "steps": [list(s) for s in old.steps],
            "widths": old.of_all.tolist(),
        },
        "tables": {
            "corners": {name: list(one) for name, one in table(glaze.tried).items()},
            "like a glaze, random folds": list(random_row)[:7],
            "later than the fit": list(row(tried_later)),
            "PbO above 5 mol %": list(row(lead)),
        },
    }
    print(json.dumps(held_out["tables"], indent=1))
    return Outcome(record, held_out, list(extract_of(data, kinds, folds, known, new)))


def later(data: Table) -> Flags:
    """Glasses of later years, by authors who published none before, of compositions that were not known before."""
    before = data.year <= YEAR
    known = set(of(data.author, before))
    unknown = np.array([author not in known for author in data.author])
    return np.asarray(without(data, before) & ~before & unknown, np.bool_)


def named(factors: Floats) -> dict[str, float]:
    return dict(zip(FITTED, map(float, factors), strict=True))


def products_of(fit: Factors) -> list[list[Any]]:
    return [[FITTED[PAIRS[p][0]], FITTED[PAIRS[p][1]], factor] for p, factor in sorted(fit.products.items())]


def fold_record(fit: Factors) -> dict[str, Any]:
    return {"factors": named(fit.factors), "products": products_of(fit), "plain": named(fit.plain)}


def extract_of(
    data: Table, kinds: NDArray[np.str_], folds: Wholes, known: Flags, new: Flags
) -> Iterator[list[Any]]:
    """The rows of the extract that the tests hold: every glass like a glaze of which the estimated quantity was
    measured, and those with more than 5 mol % of PbO."""
    for i, glass in enumerate(data.all):
        lead = kinds[i] == "in range" and glass.mol[FITTED.index("PbO")] > 5
        if known[i] and data.plain[i] and (kinds[i] == "like a glaze" or lead):
            yield [glass.author, glass.year, int(folds[i]), int(new[i]), glass.measured[0], *glass.mol]


def published_errors(data: Table, ranges_fit: Fit, folds: Wholes) -> dict[str, Any]:
    """How far each published set is off on the same glasses, by kind. A kind that few authors measured is not
    listed."""
    out: dict[str, Any] = {}
    for model in expansion.PUBLISHED:
        judged = [expansion.judged(mol_of(glass), model, "mol", ranges_fit) for glass in data.all]
        out[model] = {}
        for kind, steps in EXPANSION.steps.items():
            part = np.array(
                [
                    i
                    for i, one in enumerate(judged)
                    if one.place.kind == kind and not one.place.reason and not np.isnan(data.measured[i, 0])
                ],
                np.int64,
            )
            if len({data.author[i] for i in part}) >= SEVERAL:
                error = np.array([judged[i].value for i in part]) - data.measured[part, 0]
                places = [judged[i].place for i in part]
                out[model][kind] = judge(error, places, data, part, folds[part], steps, centred=False).record
    return out


# ---- writing ---------------------------------------------------------------------------------------------


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


def write_extract(path: Path, rows: Sequence[Sequence[Any]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(
            ["first_author", "year", "fold", "later", "measured", *(f"mol_{oxide}" for oxide in FITTED)]
        )
        writer.writerows([f"{cell:g}" if isinstance(cell, float) else cell for cell in one] for one in rows)


def main(arguments: Sequence[str]) -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("file", type=Path)
    parser.add_argument("--write", action="store_true")
    options = parser.parse_args(arguments)
    everything = read(options.file, (*EXPANSION.columns, *SOFTENING.columns))
    for task in (EXPANSION, SOFTENING):
        data = table_of(glasses(everything, task.columns, task.plausible))
        outcome = fitted(task, data)
        if task is EXPANSION:
            outcome.record["published"] = published_errors(
                data, fit_of(outcome.record), folds_by_author(data)
            )
        if options.write:
            write(SHIPPED / f"{task.name}-fit.json", outcome.record)
            write(OUTSIDE / f"{task.name}-held-out.json", outcome.held_out)
            write_extract(OUTSIDE / f"sciglass-{task.name}-held-out.csv", outcome.extract)
        print(json.dumps(outcome.record, indent=1, ensure_ascii=False))


if __name__ == "__main__":
    main(sys.argv[1:])
