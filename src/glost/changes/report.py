"""The report of a comparison before it has a form: pairs of recipes, and per pair what a person should see."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final, Literal, NamedTuple

from glost.changes.comparison import Change, Comparison, How
from glost.changes.fired_change import FiredChange
from glost.changes.judgement import Noted
from glost.changes.meaning import (
    AROUND,
    THROUGH,
    WEIGHED,
    Fact,
    Place,
    Section,
    Weighed,
    Written,
    fact_text,
    rounded,
)
from glost.changes.pictures import Picture

State = Literal["same", "reworded", "rounded", "renamed", "changed", "added", "removed", "unreadable"]

HEADINGS: Final[dict[Section, str]] = {
    "base": "base, parts of 100",
    "additions": "additions, for 100 of the base",
    "variation": "variation",
    "base variation": "base variation",
    "series": "series",
    "base series": "base series",
    "blend": "blend",
    "base blend": "base blend",
    "handling": "handling",
}
HOW: Final[dict[How, str]] = {
    "scale": "base written at another scale",
    "spelling": "spelled",
    "amounts": "amount written",
    "value": "written",
    "order": "order",
    "lines": "lines for",
}
REWORDED: Final = "only written otherwise, the same in meaning:"
NOTHING: Final = "-"
FOLLOWS: Final = "follows the total"


@dataclass(frozen=True, slots=True)
class Reported:
    """One recipe on one or both sides. ``old`` and ``new`` are its files as they are shown. ``text_differs``: the
    files differ, be it only in layout or comments. ``fired``: the tests that fire to something else. ``come`` and
    ``gone``: findings of the rules; ``hazards``: those that a material brings anew; ``allowances``: those that stand
    there anew or for another reason. ``moved``: it lies elsewhere now.
    ``path``: below the side, where it is now. ``pictures``: what tests look like on both sides, where that was
    asked for."""

    old: str | None
    new: str | None
    name: str
    state: State
    text_differs: bool
    comparison: Comparison | None = None
    fired: tuple[FiredChange, ...] = ()
    come: tuple[Noted, ...] = ()
    gone: tuple[Noted, ...] = ()
    hazards: tuple[tuple[str, tuple[str, ...]], ...] = ()
    allowances: tuple[tuple[Place, Fact], ...] = ()
    moved: bool = False
    path: str = ""
    pictures: tuple[Picture, ...] = ()

    @property
    def differs(self) -> bool:
        """Whether the two sides mean something else."""
        return self.state not in ("same", "reworded", "rounded")

    @property
    def title(self) -> str:
        """The recipe's name, or both where it has another now."""
        comparison = self.comparison
        if comparison is not None and comparison.old_name != comparison.new_name:
            return f"{comparison.old_name}, now {comparison.new_name}"
        return self.name


class CollectionChange(NamedTuple):
    """What a collection says otherwise: its glost.yaml on both sides, None where there is none; each change with the
    recipes that it touches; and how many recipes are in it on both sides. ``left_out``: so many are on one side alone,
    since the other skips them."""

    old: str | None
    new: str | None
    changes: tuple[tuple[Change, tuple[Reported, ...]], ...]
    recipes: int
    left_out: int = 0


class Report(NamedTuple):
    """All that is between two sides: what is not the same, how many recipes are, and the collections. ``judged``: of
    so many of the same, the rules find something else, since their levels are others."""

    recipes: Sequence[Reported]
    same: int = 0
    collections: Sequence[CollectionChange] = ()
    judged: int = 0

    @property
    def differs(self) -> bool:
        """Whether any recipe means something else, or is judged otherwise."""
        return bool(self.judged) or any(one.differs for one in self.recipes)


def state_of(comparison: Comparison) -> State:
    """What a comparison comes to."""
    if comparison.renamed:
        return "renamed"
    if comparison.real:
        return "changed"
    return "rounded" if comparison.changes else "reworded" if comparison.rewordings else "same"


class Row(NamedTuple):
    """A line of the table of amounts."""

    what: str
    old: str
    new: str
    change: str
    written: str


class Part(NamedTuple):
    """A section of the report: its heading, its rows of amounts, and what is told in words (what, old, new)."""

    heading: str
    rows: tuple[Row, ...] = ()
    said: tuple[tuple[str, str, str], ...] = ()


def parts_of(comparison: Comparison) -> Iterator[Part]:
    """The changes, section by section. What only follows the total stands behind what moved it."""
    groups: dict[tuple[Section, str], list[Change]] = {}
    for change in comparison.real:
        section, within, _ = change.place
        if section in AROUND:
            continue
        groups.setdefault((section, within), []).append(change)
    for (section, within), changes in groups.items():
        if section == THROUGH:
            yield _through(within, changes)
            continue
        if section in WEIGHED:
            yield _weighed(section, within, changes)
            continue
        heading = HEADINGS.get(section, "")
        said = tuple((change.place.what or section, _said(change, 0), _said(change, 1)) for change in changes)
        yield Part(heading, said=said)


def _weighed(section: Section, within: str, changes: Sequence[Change]) -> Part:
    heading = HEADINGS[section]
    if within or section in ("variation", "series"):
        whole = next((change for change in changes if not change.place.what), None)
        done = "" if whole is None else " (new)" if whole.old is None else " (taken out)"
        heading = f'{heading} "{within}"{done}, for 100 of the base'
    lines = sorted((change for change in changes if change.place.what), key=lambda change: change.follows)
    told = [change for change in lines if isinstance(change.new if change.old is None else change.old, str)]
    lines = [change for change in lines if change not in told]
    notes = tuple(
        (change.place.what.removesuffix(":"), _said(change, 0), _said(change, 1)) for change in told
    ) + tuple(
        (f"{change.place.what}, note", _note(change.old), _note(change.new))
        for change in lines
        if _note(change.old) != _note(change.new)
    )
    rows = tuple(row for change in lines if _moved(change) for row in _rows(change))
    return Part(heading, rows, notes)


def _through(within: str, changes: Sequence[Change]) -> Part:
    """What came by a recipe among the ingredients."""
    amounts = [one for one in changes if isinstance(one.old or one.new, Weighed)]
    rows = tuple(row for change in amounts for row in _rows(change))
    said = tuple(
        (change.place.what, _said(change, 0), _said(change, 1)) for change in changes if change not in amounts
    )
    return Part(f"through {within}", rows, said)


HERE: Final = "here"
"""How much of a material comes by a recipe among the ingredients."""


def _here(change: Change) -> str:
    """How much of a material comes by a recipe here, on the base of 100: "here 25.50 -> 23.80"."""
    sides = [
        rounded(one.parts[0]) if one and one.parts else "" for one in (change.old_written, change.new_written)
    ]
    return f"{HERE} {' -> '.join(side or NOTHING for side in sides)}" if any(sides) else ""


def _note(fact: object) -> str:
    return fact.note if isinstance(fact, Weighed) else ""


def _moved(change: Change) -> bool:
    sides = [one.on_100 if isinstance(one, Weighed) else None for one in (change.old, change.new)]
    return sides[0] != sides[1]


def _rows(change: Change) -> Iterator[Row]:
    """One row; of a series, one for each step that moved."""
    old, new = (one.on_100 if isinstance(one, Weighed) else () for one in (change.old, change.new))
    what = change.place.what
    if len(old) == len(new) > 1:
        was, now = (_steps(one, len(old)) for one in (change.old_written, change.new_written))
        for at, (before, after) in enumerate(zip(old, new, strict=True)):
            if before != after:
                written = _as_written(was[at], now[at], change.follows)
                yield _row(f"{what}, {at + 1}", (before,), (after,), written)
        return
    yield _row(what, old, new, written_text(change))


def _steps(written: Written | None, count: int) -> Sequence[str]:
    amounts = written.amounts if written else ()
    return amounts if len(amounts) == count else [NOTHING] * count


def _row(what: str, old: Sequence[Fraction], new: Sequence[Fraction], written: str) -> Row:
    moved = ""
    if len(old) == len(new):
        moved = ", ".join(rounded(b - a, 2, signed=True) for a, b in zip(old, new, strict=True))
    elif not old or not new:
        moved = "added" if not old else "taken out"
    return Row(what, _amounts(old), _amounts(new), moved, written)


def _amounts(amounts: Sequence[Fraction]) -> str:
    return ", ".join(map(rounded, amounts)) or NOTHING


def written_text(change: Change) -> str:
    """How the amounts of a change are written: "38 -> 40", or one side alone."""
    if change.place.section == THROUGH:
        return _here(change)
    old, new = (
        ", ".join(written.amounts) if written else "" for written in (change.old_written, change.new_written)
    )
    return _as_written(old, new, change.follows)


def _as_written(old: str, new: str, follows: bool) -> str:
    shown = " -> ".join(dict.fromkeys(filter(None, (old, new))))
    return f"{shown}, {FOLLOWS}" if follows else shown


def _said(change: Change, side: int) -> str:
    fact = (change.old, change.new)[side]
    written = (change.old_written, change.new_written)[side]
    if change.place.section == "field" and written is not None:
        return written.amounts[0]
    return "" if fact is None else fact_text(fact)


def fired_rows(change: FiredChange) -> Iterator[Row]:
    """What a test fires to, where it moved by more than the last decimal that is shown."""
    for term in change.terms or ():
        if round(abs(term.new - term.old), 3):
            yield _figures(f"{term.oxide}, mol", term.old, term.new, 3)
    if round(abs(change.loss[1] - change.loss[0]), 2):
        yield _figures("loss on ignition, %", *change.loss, 2)
    if change.expansion is not None and round(abs(change.expansion[1].value - change.expansion[0].value), 1):
        old, new = (Fraction(one.value) for one in change.expansion)
        yield Row(
            f"expansion, 1e-7/K, model {change.expansion[0].model}",
            rounded(old, 1),
            rounded(new, 1),
            rounded(new - old, 1, signed=True),
            "",
        )


def _figures(what: str, old: object, new: object, decimals: int) -> Row:
    was, now = Fraction(str(old)), Fraction(str(new))
    return Row(
        what, rounded(was, decimals), rounded(now, decimals), rounded(now - was, decimals, signed=True), ""
    )


PARTIAL: Final = "Part of the batch is unknown: these are figures of the known rest."
RANKS: Final = "Calculated, not fired: it ranks glazes and does not replace a firing test."


def summary(report: Report) -> str:
    """One line for all pairs."""
    count = len(report.recipes) + report.same
    differ = sum(one.differs and one.state != "unreadable" for one in report.recipes)
    words = f"{count} recipe{'' if count == 1 else 's'} compared: "
    words += f"{differ} differ{'s' if differ == 1 else ''} in meaning" if differ else "the same in meaning"
    for state, said in (("reworded", "only written otherwise"), ("rounded", "rounding only")):
        number = sum(one.state == state for one in report.recipes)
        words += f", {number} {said}" if number else ""
    words += f", {report.judged} judged otherwise" if report.judged else ""
    unread = sum(one.state == "unreadable" for one in report.recipes)
    if unread:
        words = f"{count} recipe{'' if count == 1 else 's'} compared: {unread} cannot be read"
        words += f", {differ} differ{'s' if differ == 1 else ''} in meaning" if differ else ""
    return words
