"""The report of a comparison before it has a form: pairs of recipes, and per pair what a person should see."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final, Literal, NamedTuple

from glost.changes.comparison import Change, Comparison, How
from glost.changes.fired_change import FiredChange
from glost.changes.meaning import WEIGHED, Section, Weighed, Written, fact_text, rounded

State = Literal["same", "reworded", "renamed", "changed", "added", "removed", "unreadable"]

HEADINGS: Final[dict[Section, str]] = {
    "base": "base, parts of 100",
    "additions": "additions, for 100 of the base",
    "variation": "variation",
    "series": "series",
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
    files differ, be it only in layout or comments. ``fired``: the tests that fire to something else."""

    old: str | None
    new: str | None
    name: str
    state: State
    text_differs: bool
    comparison: Comparison | None = None
    fired: tuple[FiredChange, ...] = ()

    @property
    def differs(self) -> bool:
        """Whether the two sides mean something else."""
        return self.state not in ("same", "reworded")


def state_of(comparison: Comparison) -> State:
    """What a comparison comes to."""
    if comparison.renamed:
        return "renamed"
    return "changed" if comparison.changes else "reworded" if comparison.rewordings else "same"


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
    for change in comparison.changes:
        section, within, _ = change.place
        groups.setdefault((section, within), []).append(change)
    for (section, within), changes in groups.items():
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
    notes = tuple(
        (f"{change.place.what}, note", _note(change.old), _note(change.new))
        for change in lines
        if _note(change.old) != _note(change.new)
    )
    rows = tuple(row for change in lines if _moved(change) for row in _rows(change))
    return Part(heading, rows, notes)


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
    """What a test fires to, where it is something else."""
    for term in change.terms or ():
        if round(term.new - term.old, 6):
            yield _figures(f"{term.oxide}, mol", term.old, term.new, 3)
    if round(change.loss[1] - change.loss[0], 6):
        yield _figures("loss on ignition, %", *change.loss, 2)
    if change.expansion is not None:
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


def summary(reported: Sequence[Reported]) -> str:
    """One line for all pairs."""
    count = len(reported)
    differ = sum(one.differs for one in reported)
    reworded = sum(one.state == "reworded" for one in reported)
    words = f"{count} recipe{'' if count == 1 else 's'} compared: "
    if not differ:
        words += "the same in meaning"
    else:
        words += f"{differ} differ{'s' if differ == 1 else ''} in meaning"
    return words + (f", {reworded} only written otherwise" if reworded else "")
