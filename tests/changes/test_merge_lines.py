"""No line is lost by a merge, and none is invented: of two changes of different lines comes what both make of the page
one after the other."""

from __future__ import annotations

import random
import re
from collections import Counter
from pathlib import Path

import pytest

from glost.changes.merge import MergeError, merged
from glost.recipe.materials.catalogue import shipped_catalogue
from tests.changes.test_merge import by_lines
from tests.conftest import TOP

STUDIO = TOP / "corpus" / "studio"
PAGES = sorted((*STUDIO.glob("[!n]*/*.glost"), *STUDIO.glob("firings/*.firing")))[::3]
TRIES = 8
"""For each page."""


def edit(chance: random.Random, line: str) -> str | None:
    """Another number, a comment behind the line or below it, or no line at all."""
    numbers = list(re.finditer(r"\d+", line))
    how = chance.choice(["number", "number", "behind", "below", "out"])
    if how == "number" and numbers:
        found = chance.choice(numbers)
        return f"{line[: found.start()]}{int(found[0]) + chance.randint(1, 9)}{line[found.end() :]}"
    if how == "out" and line.startswith(" "):
        return None
    if how == "below" and line.startswith(" "):
        return f"{line}\n    # seen again {chance.randint(1, 99)}"
    return f"{line}  # seen {chance.randint(1, 99)}"


def lines_of(text: str) -> Counter[str]:
    """Free of how they are laid out."""
    return Counter(" ".join(line.split()) for line in text.splitlines() if line.strip())


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_two_changes_of_different_lines(page: Path) -> None:
    base = page.read_text("utf-8")
    lines = base.splitlines()
    at = [number for number, line in enumerate(lines) if line.strip() and not line.lstrip().startswith("#")]
    chance = random.Random(page.stem)

    def with_edits(*edits: tuple[int, str | None]) -> str:
        out: list[str | None] = list(lines)
        for number, line in edits:
            out[number] = line
        return "".join(f"{line}\n" for line in out if line is not None)

    put_together = 0
    for _ in range(TRIES):
        ours, theirs = ((number, edit(chance, lines[number])) for number in chance.sample(at, 2))
        sides = with_edits(ours), with_edits(theirs)
        try:
            results = [merged(base, *order, shipped_catalogue(), by_lines) for order in (sides, sides[::-1])]
        except MergeError:
            continue  # a page that no longer reads, or two changes of which it is not certain what they mean together
        if any(result.conflicts for result in results):
            continue
        put_together += 1
        for result in results:
            assert lines_of(result.text) == lines_of(with_edits(ours, theirs)), (ours, theirs)
    assert put_together
