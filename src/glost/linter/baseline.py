"""The baseline: the findings that a collection had when it adopted glost, held back so that only new ones count.

A finding is known by its file, its rule and what its line says, not by the line's number nor by how it is laid out, so
that it is still known when lines are put in above it, and when the page is formatted. A line that says something else
is new. Where a line has two findings of one rule, or a page two equal lines, they are counted. A page that was renamed
or moved is known again by its lines. A file that cannot be read cannot be held back.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import Final, NamedTuple, TypeAlias

from glost.errors import GlostError
from glost.linter.finding import SYNTAX, UNREADABLE, Finding
from glost.linter.json_text import json_text
from glost.linter.line_text import BYTE_ORDER_MARK, likeness, same_page, tidy

FILE = "glost-baseline.json"
VERSION = 2
LARGEST = 64 * 1024 * 1024
"""Bytes; some 300,000 findings."""

_MOST = 1_000_000
"""Findings of one line and rule; a page cannot have more."""

_NOTHING: Final[Mapping[str, str]] = MappingProxyType({})

Known: TypeAlias = tuple[str, str, str]
"""File, rule, and what the line says."""

Pages: TypeAlias = Mapping[str, tuple[str, ...]]
"""By file, the marks that its page is known by; see page_marks()."""


class BaselineError(GlostError, ValueError):
    """The file is not what write() writes; the text says why."""


class Baseline(NamedTuple):
    """The entries with their counts, and what the pages that they name are known by."""

    counts: Counter[Known]
    pages: Pages = MappingProxyType({})


class Held(NamedTuple):
    """``new`` findings count; so many are ``known``; ``gone`` entries no longer occur, with their counts."""

    new: list[Finding]
    known: int
    gone: list[tuple[Known, int]]


def known_as(finding: Finding, file: str) -> Known:
    """What a finding is known by; ``file`` is its path below the collection's folder. A byte order mark and Windows
    line breaks are those of the file, whatever its first line says."""
    return (file, finding.rule, _of_the_file(finding) or tidy(finding.text))


def _of_the_file(finding: Finding) -> str:
    """What is wrong with the whole file, "" for what is wrong with a line."""
    if finding.rule != SYNTAX or finding.end_column != finding.column + 1:
        return ""
    if finding.text[finding.column - 1 : finding.column] == BYTE_ORDER_MARK and finding.column == 1:
        return "byte order mark"
    # The sign behind the end of a line is the one that is no part of its text.
    return "Windows line breaks" if finding.column == len(finding.text) + 1 else ""


# ---- written and read ----------------------------------------------------------------------------------------


def write(baseline: Baseline) -> str:
    """The text of a baseline, one entry a line, in a fixed order, so that two branches that touch different pages
    touch different lines."""
    rows = [
        json_text({"file": file, "rule": rule, "text": text, "count": count})
        for (file, rule, text), count in sorted(baseline.counts.items())
        if count > 0
    ]
    files = {file for (file, _, _), count in baseline.counts.items() if count > 0}
    pages = [
        json_text({"file": file, "lines": " ".join(marks)})
        for file, marks in sorted(baseline.pages.items())
        if file in files and marks
    ]
    inner, known_by = (",\n".join(f"  {row}" for row in some) for some in (rows, pages))
    return f'{{"version": {VERSION}, "findings": [\n{inner}\n], "pages": [\n{known_by}\n]}}\n'


def read(text: str) -> Baseline:
    """What a baseline of this version or the one before holds. Raises BaselineError."""
    try:
        data = json.loads(text, object_pairs_hook=_once)
    except BaselineError:
        raise
    except (ValueError, RecursionError):
        raise BaselineError("it is not JSON") from None
    if (
        not isinstance(data, dict)
        or type(data.get("version")) is not int
        or data["version"] not in (1, VERSION)
        or not isinstance(data.get("findings"), list)
        or not isinstance(data.get("pages", []), list)
    ):
        raise BaselineError(f"it is not a baseline of version {VERSION}")
    counts: Counter[Known] = Counter()
    for row in data["findings"]:
        fields = [row.get(key) for key in ("file", "rule", "text")] if isinstance(row, dict) else [None]
        count = row.get("count") if isinstance(row, dict) else None
        if not all(isinstance(field, str) for field in fields) or type(count) is not int or count < 1:
            raise BaselineError("an entry lacks its file, rule, text or count")
        if count > _MOST:
            raise BaselineError(f"an entry counts more than {_MOST:,} findings")
        file, rule, line = map(str, fields)
        key = file, rule, tidy(line)
        if data["version"] == 1:  # two lines that were laid out differently had an entry each
            counts[key] += count
        else:  # the same entry twice is left by a merge that kept the lines of both sides
            counts[key] = max(counts[key], count)
    return Baseline(counts, _read_pages(data.get("pages", [])))


def _read_pages(rows: Iterable[object]) -> Pages:
    pages: dict[str, tuple[str, ...]] = {}
    for row in rows:
        file, lines = (row.get("file"), row.get("lines")) if isinstance(row, dict) else (None, None)
        if not isinstance(file, str) or not isinstance(lines, str):
            raise BaselineError("a page lacks its file or its lines")
        pages[file] = tuple(lines.split())
    return pages


def _once(pairs: list[tuple[str, object]]) -> dict[str, object]:
    """An object of JSON. Raises BaselineError where it says one thing twice, so that none of the two is passed over."""
    found = dict(pairs)
    if len(found) < len(pairs):
        raise BaselineError("an entry, or the whole, says one thing twice")
    return found


# ---- held against what is found ------------------------------------------------------------------------------


def hold_back(
    findings: Sequence[tuple[Finding, str]],
    baseline: Baseline,
    looked_for: Callable[[Known], bool],
    moved: Mapping[str, str] = _NOTHING,
) -> Held:
    """Holds back the findings that the baseline knows. ``findings`` come with their file below the collection's
    folder; an entry that this run has not ``looked_for`` is not called gone. ``moved``: what a file was called
    before."""
    left = Counter(baseline.counts)
    new: list[Finding] = []
    known = 0
    for finding, file in findings:
        was = moved.get(file, file)
        key = known_as(finding, was)
        if left[key] < 1:  # as an earlier glost wrote it down
            key = (was, finding.rule, tidy(finding.text))
        if finding.rule != UNREADABLE and left[key] > 0:
            left[key] -= 1
            known += 1
        else:
            new.append(finding)
    gone = [(key, count) for key, count in sorted(left.items()) if count > 0 and looked_for(key)]
    return Held(new, known, gone)


def moved_pages(missing: Pages, fresh: Pages) -> dict[str, str]:
    """Which of the ``fresh`` pages, which the baseline does not name, is one of the ``missing`` ones, which it names
    and which are there no longer: by its new file, the old one. The most alike are matched first, each once."""
    pairs = [
        (-likeness(marks, was), new, old)
        for new, marks in fresh.items()
        for old, was in missing.items()
        if same_page(marks, was)
    ]
    moved: dict[str, str] = {}
    for _, new, old in sorted(pairs):
        if new not in moved and old not in moved.values():
            moved[new] = old
    return moved


# ---- changed ---------------------------------------------------------------------------------------------------


def renewed(
    findings: Iterable[Known], old: Counter[Known], looked_for: Callable[[Known], bool]
) -> Counter[Known]:
    """The entries of a baseline that is written anew: the present findings, and of the ``old`` entries those that
    this run did not look for, so that a run over one folder forgets nothing of the others."""
    kept = Counter({key: count for key, count in old.items() if not looked_for(key)})
    return Counter(findings) | kept


def pruned(
    baseline: Baseline, gone: Iterable[tuple[Known, int]], moved: Mapping[str, str] = _NOTHING
) -> Baseline:
    """The baseline without what no longer occurs, and with the pages that were moved under their new names. It holds
    back nothing that it did not hold back before."""
    left = Counter(baseline.counts)
    left.subtract(dict(gone))
    now = {old: new for new, old in moved.items()}
    counts: Counter[Known] = Counter()
    for (file, rule, text), count in left.items():
        if count > 0:
            counts[now.get(file, file), rule, text] += count
    return Baseline(counts, {now.get(file, file): marks for file, marks in baseline.pages.items()})


def merged(base: Baseline, ours: Baseline, theirs: Baseline) -> Baseline:
    """What two branches made of one baseline, together. What one of them took out or put in is out or in; where both
    changed the count of one entry, both changes hold, but nothing is held back that neither of them would."""
    counts: Counter[Known] = Counter()
    for key in {**ours.counts, **theirs.counts}:
        was, here, there = (side.counts[key] for side in (base, ours, theirs))
        if was in (here, there):
            count = there if here == was else here
        elif here > was and there > was:
            count = max(here, there)  # the same lines, found by both
        else:
            count = max(here + there - was, 0)
        if count:
            counts[key] = count
    pages = {**theirs.pages, **ours.pages}
    for file, marks in theirs.pages.items():
        if ours.pages.get(file) == base.pages.get(file):
            pages[file] = marks
    return Baseline(counts, pages)
