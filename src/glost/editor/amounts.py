"""Totals and grams beside the lines of a page, at its usual batch. Of a page that cannot be read whole none is shown,
since a sum that leaves a line out is a wrong one."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import NamedTuple

from glost.editor.page import Page
from glost.errors import ValueRefusedError
from glost.language import tree
from glost.recipe.recipe import Test, tests, total
from glost.weighing.balance import ASSUMED_BALANCE
from glost.weighing.batch import Line, Weighing, plan
from glost.weighing.rounding import exact_sum, plain


class Beside(NamedTuple):
    """What is shown behind an offset, and what it is."""

    offset: int
    text: str
    says: str


def beside(page: Page) -> list[Beside]:
    """All that is shown beside the lines of a page, in its order."""
    resolved = page.resolved
    if not resolved.complete or not resolved.recipe.base:
        return []
    every = list(tests(resolved.recipe))
    return sorted(_found(page, every))


def weighed(page: Page, test: Test) -> tuple[Weighing, ...]:
    """What is weighed of each line of a test at the usual batch, on the studio's balances; none where that cannot be
    planned."""
    parts = [(part, True) for part in test.base] + [(part, False) for part in test.additions]
    lines = [Line(part.called, part.parts, base, part.note) for part, base in parts]
    settings = page.settings
    balances = settings.balances or (ASSUMED_BALANCE,)
    try:
        return plan(lines, test.base_total, page.batch_g, balances, settings.weighing_tolerance).lines
    except (ValueRefusedError, ArithmeticError):
        return ()


def grams(mass: Decimal) -> str:
    """A mass as it stands beside a line."""
    return f"{mass:f} g"


def _found(page: Page, every: list[Test]) -> Iterator[Beside]:
    resolved, recipe = page.resolved, page.recipe
    says = f"at {grams(plain(page.batch_g))} of base, rounded for the balance"
    own = weighed(page, every[0])
    placed = [*resolved.base, *resolved.additions]
    for one, weighing in zip(placed, own, strict=False):
        yield Beside(_behind(one.item), f"= {grams(weighing.target_g)}", says)
    unit = " g" if recipe.in_masses else ""
    sums = {"base": f"total {plain(total(recipe.base)):f}{unit}"}
    added = exact_sum(part.parts for part in every[0].additions)
    sums["additions"] = f"total {plain(added):f}{unit}, on top of the base"
    for head in resolved.heads:
        if head.word.text in sums and head.name is None:
            yield Beside(_end(head), sums[head.word.text], "the sum of these lines")
    at = 1
    for _, lines in resolved.variations:
        yield from _set_anew(page, [(one.item, one.ingredient.called) for one in lines], [every[at]], says)
        at += 1
    for series, (_, steps) in zip(recipe.series, resolved.series, strict=False):
        here = every[at : at + len(series)]
        yield from _set_anew(page, [(item, step.material or step.name) for item, step in steps], here, says)
        at += len(series)


def _set_anew(
    page: Page, lines: list[tuple[tree.Item, str]], here: list[Test], says: str
) -> Iterator[Beside]:
    """The grams of lines that are set anew in some tests: one figure a test."""
    figures: dict[int, list[str]] = {at: [] for at in range(len(lines))}
    for test in here:
        left: dict[str, list[Weighing]] = {}
        for weighing in weighed(page, test):
            if not weighing.base:
                left.setdefault(weighing.material, []).append(weighing)
        for at, (_, called) in enumerate(lines):
            mine = left.get(called)
            if not mine:
                figures[at].append("left out")
                continue
            figures[at].append(f"{mine.pop(0).target_g:f}")
            if not mine:
                del left[called]
    for at, (item, _) in enumerate(lines):
        if figures[at]:
            text = ", ".join(figures[at])
            yield Beside(_behind(item), f"= {text}" + ("" if text.endswith("left out") else " g"), says)


def _behind(item: tree.Item) -> int:
    return item.amounts[-1].span.end


def _end(head: tree.Head) -> int:
    """Behind the colon."""
    return head.comment.span.start if head.comment is not None else head.span.end
