"""Hazard statements in groups that a person can ask for: what a test is to be free of."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final, NamedTuple

from glost.output.batch_sheet import Hazards
from glost.recipe.safety.statements import CLASSES


class Group(NamedTuple):
    """A group of hazard statements: its key, what it is called, in a cell and in full, and the H numbers, letters
    behind them left out."""

    key: str
    short: str
    words: str
    numbers: tuple[str, ...]


def _of(key: str, short: str, words: str, numbers: Iterable[str]) -> Group:
    return Group(key, short, words, tuple(sorted(numbers)))


# Grouping: the classes of safety.statements, and the wording of the statements for the rest. The order is our
# own: where a cell has no room for all, what cannot be undone is seen first.
GROUPS: Final = (
    _of(
        "acute", "poisonous", "poisonous or harmful: swallowed, breathed in or on the skin", CLASSES["acute"]
    ),
    _of("carcinogenic", "cancer", "cancer, quartz dust apart", CLASSES["carcinogenic"]),
    _of("mutagenic", "genes", "genetic defects", CLASSES["mutagenic"]),
    _of("reproductive", "unborn child", "fertility, the unborn or the nursed child", CLASSES["reproductive"]),
    _of("sensitising", "allergy", "allergy or asthma", CLASSES["sensitising"]),
    _of("corrosive", "burns", "burns the skin and eyes", CLASSES["corrosive"]),
    _of("chronic", "harms organs", "harms organs, often by long exposure", CLASSES["chronic"]),
    _of("eyes", "eyes", "damages the eyes for good", CLASSES["eyes"]),
    _of("irritant", "irritant", "irritates eyes, skin or airways", ("H315", "H319", "H335")),
    _of("fire", "feeds fire", "feeds fire: oxidisers", CLASSES["fire"]),
    _of("water", "water life", "life in water", ("H400", "H410", "H411", "H412", "H413")),
)
PHYSICAL: Final = Group("physical", "fire or metal", "burns, explodes or attacks metal", ("H200 to H290",))
QUARTZ: Final = Group("quartz", "quartz dust", "quartz or cristobalite in the dust", ())
"""What nearly every natural powder carries. Its statements are in no other group: a choice without cancer would leave
out every clay, and not one poison more."""
OTHER: Final = Group("other", "other", "any other statement on record", ())
ALL: Final = (*GROUPS, PHYSICAL, QUARTZ, OTHER)
"""Every group, in the order in which they are offered. Each statement belongs to one of them at least."""


def groups_of(codes: Iterable[str]) -> frozenset[str]:
    """The keys of the groups that the statements belong to; a combined one to those of all its parts. Letters behind
    a number and the way of writing are passed over: a slip must not hide a hazard."""
    found: set[str] = set()
    for code in codes:
        for part in code.split("+"):
            said = part.replace("*", "").strip().upper()
            mine = {group.key for group in GROUPS if said[:4] in group.numbers}
            if said.startswith("H2") and not mine:
                mine.add(PHYSICAL.key)
            found |= mine or {OTHER.key}
    return frozenset(found)


def groups_on_record(hazards: Hazards) -> frozenset[str]:
    """The keys of the groups that are on record for a test. Quartz in the dust is a group of its own: nearly every
    test has it, and others would not be found beside it."""
    own = groups_of(code for listed in hazards.listed if not listed.carried for code in listed.codes)
    return own | {QUARTZ.key} if any(listed.carried for listed in hazards.listed) else own
