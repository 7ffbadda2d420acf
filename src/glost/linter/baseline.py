"""The baseline: the findings that a collection had when it adopted glost, held back so that only new ones count.

A finding is known by its file, its rule and the text of its line, not by the line's number, so that it is still
known when lines are put in above it. A line that is changed is new. Where a line has two findings of one rule, or a
page two equal lines, they are counted. A file that cannot be read cannot be held back.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from typing import NamedTuple, TypeAlias

from glost.errors import GlostError
from glost.linter.finding import UNREADABLE, Finding
from glost.linter.json_text import json_text

FILE = "glost-baseline.json"
VERSION = 1
LARGEST = 64 * 1024 * 1024
"""Bytes; some 300,000 findings."""

_MOST = 1_000_000
"""Findings of one line and rule; a page cannot have more."""

Known: TypeAlias = tuple[str, str, str]
"""File, rule, and the line's text without outer blanks."""


class BaselineError(GlostError, ValueError):
    """The file is not what write() writes; the text says why."""


class Held(NamedTuple):
    """``new`` findings count; so many are ``known``; ``gone`` entries no longer occur, with their counts."""

    new: list[Finding]
    known: int
    gone: list[tuple[Known, int]]


def known_as(finding: Finding, file: str) -> Known:
    """What a finding is known by; ``file`` is its path below the collection's folder."""
    return (file, finding.rule, finding.text.strip())


def renewed(
    findings: Iterable[Known], old: Counter[Known], looked_for: Callable[[Known], bool]
) -> Counter[Known]:
    """The entries of a baseline that is written anew: the present findings, and of the ``old`` entries those that
    this run did not look for, so that a run over one folder forgets nothing of the others."""
    kept = Counter({key: count for key, count in old.items() if not looked_for(key)})
    return Counter(findings) | kept


def write(counts: Counter[Known]) -> str:
    """The text of a baseline, one entry a line, in a fixed order."""
    rows = [
        json_text({"file": file, "rule": rule, "text": text, "count": count})
        for (file, rule, text), count in sorted(counts.items())
    ]
    inner = ",\n".join(f"  {row}" for row in rows)
    return f'{{"version": {VERSION}, "findings": [\n{inner}\n]}}\n'


def read(text: str) -> Counter[Known]:
    """The entries of a baseline with their counts. Raises BaselineError."""
    try:
        data = json.loads(text, object_pairs_hook=_once)
    except BaselineError:
        raise
    except (ValueError, RecursionError):
        raise BaselineError("it is not JSON") from None
    if (
        not isinstance(data, dict)
        or data.get("version") != VERSION
        or not isinstance(data.get("findings"), list)
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
        file, rule, line = fields
        counts[str(file), str(rule), str(line)] += count
    return counts


def _once(pairs: list[tuple[str, object]]) -> dict[str, object]:
    """An object of JSON. Raises BaselineError where it says one thing twice, so that none of the two is passed over."""
    found = dict(pairs)
    if len(found) < len(pairs):
        raise BaselineError("an entry, or the whole, says one thing twice")
    return found


def hold_back(
    findings: Sequence[tuple[Finding, str]], baseline: Counter[Known], looked_for: Callable[[Known], bool]
) -> Held:
    """Holds back the findings that the baseline knows. ``findings`` come with their file below the collection's
    folder; an entry that this run has not ``looked_for`` is not called gone."""
    left = Counter(baseline)
    new: list[Finding] = []
    known = 0
    for finding, file in findings:
        key = known_as(finding, file)
        if finding.rule != UNREADABLE and left[key] > 0:
            left[key] -= 1
            known += 1
        else:
            new.append(finding)
    gone = [(key, count) for key, count in sorted(left.items()) if count > 0 and looked_for(key)]
    return Held(new, known, gone)
