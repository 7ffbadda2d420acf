"""How much a page may hold, so that what every answer on it costs stays bounded."""

from __future__ import annotations

from glost.language import tree
from glost.language.diagnostics import Diagnostic
from glost.recipe.blends import count_of_points

MOST_AMOUNTS = 500
"""Amounts on a page, those of a series each counted. A triaxial blend in steps of 5 % has 231 tests; a page with more
than this is no recipe, and what every answer on it costs stays bounded."""

MOST_WEIGHINGS = 10_000
"""Lines on all batch sheets of a page: its tests, times the materials of each."""


def too_much(page: tree.Page) -> Diagnostic | None:
    """What is wrong where a page by itself holds too much, be it no recipe at all."""
    amounts = count = added = 0
    for block in page.blocks:
        here = [len(line.amounts) for line in block.lines if isinstance(line, tree.Item)]
        amounts += sum(here)
        if amounts > MOST_AMOUNTS:
            return Diagnostic(
                block.head.span,
                f"this page holds more than {MOST_AMOUNTS} amounts; a recipe is a page",
                "keep one recipe in a file, and part a long series",
            )
        if block.role in ("variation", "base_variation"):
            count += 1
        elif block.role in ("series", "base_series"):
            count += max(here, default=0)
        elif block.role in ("blend", "base_blend"):
            step = getattr(block.head, "step", None)
            count += count_of_points(max(here, default=0), step.value) if step else 0
        if block.role in ("base", "additions", "base_series", "base_blend"):
            added += len(here)
    return too_many(page, count, added)


def too_many(page: tree.Page, count: int, materials: int) -> Diagnostic | None:
    """What is wrong where ``count`` tests besides the recipe itself are too many, of so many materials each."""
    if (1 + count) * materials <= MOST_WEIGHINGS:
        return None
    return Diagnostic(
        page.blocks[0].head.span,
        f"{count} tests of {materials} materials stand on this page: more than {MOST_WEIGHINGS:,} lines to weigh",
        "part the variations, series and blends into several files",
    )
