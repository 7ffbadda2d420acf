"""A collection as it stands before anyone has checked it: many recipes, and a known number of findings."""

from __future__ import annotations

import random
from pathlib import Path

FEWEST, MOST = 2, 11
"""Findings in one recipe."""


def write_old_collection(folder: Path, recipes: int, findings: int, seed: int = 1) -> list[Path]:
    """Writes so many recipes with so many findings in all, the same for the same seed."""
    chance = random.Random(seed)
    shares = _shares(chance, recipes, findings)
    files = []
    for number, share in enumerate(shares):
        path = folder / f"box-{number % 9}" / f"old-test-{number:04}.glost"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(_recipe(chance, number, share), "utf-8")
        files.append(path)
    return files


def _shares(chance: random.Random, recipes: int, findings: int) -> list[int]:
    each, rest = divmod(findings, recipes)
    shares = [each + (at < rest) for at in range(recipes)]
    for _ in range(4 * recipes):
        giver, taker = chance.sample(range(recipes), 2)
        if shares[giver] > FEWEST and shares[taker] < MOST:
            shares[giver] -= 1
            shares[taker] += 1
    return shares


def _recipe(chance: random.Random, number: int, findings: int) -> str:
    """A recipe with exactly so many findings, each of another line or rule."""
    # With a field that nobody knows, rules that ask for a whole page wait; so a card has either kind of slip.
    shelves = chance.random() < 0.85
    slips = [] if shelves else chance.sample(["cone", "atmosphere", "origin", "total"], min(4, findings))
    others = findings - len(slips)
    jars = int(chance.random() < 0.2) if shelves else others
    unknown = [f'    "jar {number} {chr(97 + at)}"  {at + 3}' for at in range(jars)]
    filled = sum(range(3, 3 + len(unknown)))
    lines = [f'glaze "Old Test {number:04}"']
    lines += [f"shelf {chr(97 + at)}: row {chance.randint(1, 40)}" for at in range(others - jars)]
    lines += [
        line
        for key, line in (
            ("cone", f"cone: {chance.choice(['06', '6', '9-10'])}"),
            ("atmosphere", f"atmosphere: {chance.choice(['oxidation', 'reduction'])}"),
            ("origin", "origin: an old box of cards"),
        )
        if key not in slips
    ]
    # No line is so small that the assumed balance is not sure of it.
    whiting = chance.randint(3, 20)
    silicate = 100 - filled - whiting - (1 if "total" in slips else 0)
    lines += ["", "base:", f"    nepheline syenite  {silicate}", *unknown, f"    whiting  {whiting}", ""]
    if not unknown:  # where all else is known, one more line keeps two recipes from being the same mix
        lines += ["additions:", f"    zinc oxide  {number // 10 + 1}.{number % 10 + 1} %", ""]
    return "\n".join(lines)
