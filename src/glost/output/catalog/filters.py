"""Which rows of a table are meant: the same questions that the page asks (page/filter.js), and those that need the
chemistry of a test.

A row is taken, not taken, or left out: the last where only what is not known of it keeps it from being taken, or where
what its materials may be lies on both sides of what is asked. What is unknown is counted, never taken for an answer.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal, NamedTuple

from glost.chemistry.ranges import Range
from glost.errors import ValueRefusedError
from glost.linter.finding import LEVELS
from glost.output.catalog.hazard_groups import ALL, groups_on_record
from glost.output.catalog.rows import Row

Answer = Literal["yes", "no", "not known", "either"]
"""``either``: all is known, but what its materials may be lies on both sides of what is asked."""
SERIOUS: Final = (*LEVELS, "none", "unread")
"""What may be asked of the findings on a page: those of a level or above, none at all, or a page not read whole."""

_BOUND: Final = re.compile(r"\s*(?P<sign><=|>=|<|>|=)\s*(?P<figure>\d{1,9}(?:\.\d{1,9})?|\.\d{1,9})\s*")
_SUBSCRIPTS: Final = str.maketrans("₀₁₂₃₄₅₆₇₈₉", "0123456789")
_OXIDE: Final = re.compile(r"\s*(?P<name>[A-Za-z][A-Za-z0-9]*)(?P<bound>.*)", re.DOTALL)


class Bound(NamedTuple):
    """A figure and on which side of it another is to lie: "<", "<=", "=", ">=" or ">"."""

    sign: str
    figure: Decimal

    def of(self, span: Range) -> Answer:
        """Whether a figure lies there that may be anything within a span."""
        low, high = span.low, span.high
        above = high is None or high > self.figure
        reaches = high is None or high >= self.figure
        whole, part = {
            "<": (not reaches, low < self.figure),
            "<=": (not above, low <= self.figure),
            "=": (low == high == self.figure, low <= self.figure and reaches),
            ">=": (low >= self.figure, reaches),
            ">": (low > self.figure, above),
        }[self.sign]
        return "yes" if whole else "either" if part else "no"


def read_bound(text: str) -> Bound:
    """ "> 0.2". Raises ValueRefusedError."""
    found = _BOUND.fullmatch(text.replace("≤", "<=").replace("≥", ">="))
    if found is None:
        raise ValueRefusedError(
            f"'{text}' is no bound", 'write a sign and a number, such as "> 0.2" or "<= 60"'
        )
    return Bound(found["sign"], Decimal(found["figure"]))


def read_oxide(text: str) -> tuple[str, Bound]:
    """ "B2O3 > 0.2". Raises ValueRefusedError."""
    found = _OXIDE.fullmatch(text.translate(_SUBSCRIPTS))
    if found is None:
        raise ValueRefusedError(f"'{text}' is no bound of an oxide", 'write such as "B2O3 > 0.2"')
    return found["name"], read_bound(found["bound"])


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is asked for; every part of it must hold. ``words``: each stands somewhere in names, files, fields, tags,
    notes or materials. ``having``: materials as the rows call them, one of each set. ``lacking``: none of these.
    ``cones``: both ends as Cone.numbers. ``free_of`` and ``hazards``: keys of hazard groups, none of which, or each of
    which, is on record. ``oxides``: in the unity formula. ``expansion``: of the estimate, in 1e-7/K."""

    words: tuple[str, ...] = ()
    having: tuple[frozenset[str], ...] = ()
    lacking: frozenset[str] = frozenset()
    kind: str = ""
    cones: tuple[Decimal, Decimal] | None = None
    atmosphere: str = ""
    use: str = ""
    surface: str = ""
    colour: str = ""
    tags: tuple[str, ...] = ()
    findings: str = ""
    free_of: tuple[str, ...] = ()
    hazards: tuple[str, ...] = ()
    oxides: tuple[tuple[str, Bound], ...] = ()
    expansion: tuple[Bound, ...] = ()

    @property
    def needs_chemistry(self) -> bool:
        return bool(self.oxides or self.expansion)


class Fired(NamedTuple):
    """What is known of the fired test: ``unity`` tells from and to of an oxide in the unity formula, ``expansion`` is
    from and to of the estimate; None where nothing is known."""

    unity: Callable[[str], Range | None]
    expansion: Range | None


def fold(text: str) -> str:
    """Letter case, the width of signs and the marks above letters do not matter to whoever looks for a word."""
    apart = unicodedata.normalize("NFKD", text)
    return "".join(sign for sign in apart if not unicodedata.category(sign).startswith("M")).lower()


def judge(row: Row, wanted: Wanted, fired: Callable[[], Fired] | None = None) -> Answer:
    """Whether a row is meant. ``fired`` is asked only where nothing else has kept the row out."""
    if not _fits(row, wanted):
        return "no"
    unknown = (bool(wanted.free_of) and not row.hazards_known) or (
        bool(wanted.lacking) and row.about.read != "whole"
    )
    if wanted.needs_chemistry:
        answers = set(_of_chemistry(wanted, fired())) if fired is not None else {"not known"}
        if "no" in answers:
            return "no"
        unknown = unknown or "not known" in answers
        if not unknown and "either" in answers:
            return "either"
    return "not known" if unknown else "yes"


def _fits(row: Row, wanted: Wanted) -> bool:
    about = row.about
    uses = {one.called for one in row.weighed}
    groups = groups_on_record(row.hazards)
    return (
        (not wanted.words or _holds_words(row, wanted.words))
        and all(names & uses for names in wanted.having)
        and not wanted.lacking & uses
        and (wanted.cones is None or _meets(row, wanted.cones))
        and wanted.kind in ("", about.kind)
        and wanted.atmosphere in ("", about.atmosphere)
        and wanted.use in ("", about.use)
        and fold(wanted.surface) in fold(about.surface)
        and fold(wanted.colour) in fold(about.colour)
        and {fold(tag) for tag in wanted.tags} <= {fold(tag) for tag in about.tags}
        and (not wanted.findings or _serious(row, wanted.findings))
        and not groups.intersection(wanted.free_of)
        and groups.issuperset(wanted.hazards)
    )


def _holds_words(row: Row, words: Iterable[str]) -> bool:
    about = row.about
    texts = [
        about.file,
        about.kind,
        about.name,
        about.cone,
        about.atmosphere,
        about.surface,
        about.colour,
        about.use,
    ]
    texts += [about.date, *about.tags, *(said for _, said in about.others), about.notes, row.test]
    for one in row.weighed:
        texts += [one.called, one.name, one.note]
    if row.fired is not None:
        *said, faults, remarks, _ = row.fired
        texts += [*said, *faults, remarks]
    held = "\n".join(fold(text) for text in texts)
    return all(fold(word) in held for word in words)


def _meets(row: Row, cones: tuple[Decimal, Decimal]) -> bool:
    low, high = row.about.cone_low, row.about.cone_high
    return low is not None and high is not None and high >= min(cones) and low <= max(cones)


def _serious(row: Row, least: str) -> bool:
    if least == "unread":
        return row.about.read != "whole"
    counts = row.counts
    if least == "none":
        return not any(counts.values())
    return any(counts[level] for level in LEVELS[: LEVELS.index(least) + 1])


def _of_chemistry(wanted: Wanted, fired: Fired) -> Iterable[Answer]:
    spans = [(bound, fired.unity(oxide)) for oxide, bound in wanted.oxides]
    spans += [(bound, fired.expansion) for bound in wanted.expansion]
    for bound, span in spans:
        yield "not known" if span is None else bound.of(span)


def group_keys() -> tuple[str, ...]:
    """The keys of all hazard groups that may be asked for."""
    return tuple(group.key for group in ALL)
