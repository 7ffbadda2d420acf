"""How many findings each rule has, the most first: what to begin with in a collection that has hundreds."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator

from glost.linter.finding import LEVELS, Finding


def counts(findings: Iterable[Finding]) -> Iterator[str]:
    """A line a rule and level: number, level, rule, and in how many files."""
    number: Counter[tuple[str, str]] = Counter()
    files: dict[tuple[str, str], set[str]] = {}
    for finding in findings:
        key = finding.level, finding.rule
        number[key] += 1
        files.setdefault(key, set()).add(finding.file)
    rows = sorted(number, key=lambda key: (LEVELS.index(key[0]), -number[key], key[1]))
    for level, rule in rows:
        yield f"{number[level, rule]:>6} {level:<7} {rule} ({_in_files(len(files[level, rule]))})\n"


def _in_files(count: int) -> str:
    return f"in {count} file{'' if count == 1 else 's'}"
