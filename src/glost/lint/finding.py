"""A finding: one thing that is wrong, where, and how to mend it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from glost.language.source import Edit, Fault, Source, Unreadable
from glost.language.yaml_tree import Misread

ERROR, WARNING, HINT, OFF = "error", "warning", "hint", "off"
LEVELS = (ERROR, WARNING, HINT)

SYNTAX = "syntax"
"""The rule of a finding about how the page is written, which no setting can turn off."""

UNREADABLE = "unreadable"
"""The rule of a finding about a file that could not be read at all; the exit status is then 2."""


class Finding(NamedTuple):
    """Lines and columns count from 1; a column is one character; the end is exclusive. ``text`` is the line."""

    file: str
    line: int
    column: int
    end_line: int
    end_column: int
    rule: str
    level: str
    message: str
    mend: str
    text: str = ""
    edits: tuple[Edit, ...] = ()

    @property
    def order(self) -> tuple[str, int, int, str, str]:
        return (self.file, self.line, self.column, self.rule, self.message)


def placed(fault: Fault, source: Source, rule: str, level: str) -> Finding:
    """``fault`` as a finding of a rule, with line and column."""
    start = source.position(fault.span.start)
    end = source.position(max(fault.span.end, fault.span.start))
    return Finding(
        source.path,
        start.line,
        start.column,
        end.line,
        end.column,
        rule,
        level,
        fault.message,
        fault.mend,
        source.line(start.line),
        fault.edits,
    )


def mistakes(faults: Iterable[Fault], source: Source) -> list[Finding]:
    """The findings of what cannot be read or taken on a page."""
    return [placed(fault, source, SYNTAX, ERROR) for fault in faults]


def unreadable(path: str, error: Unreadable) -> Finding:
    """The finding of a file that could not be read."""
    return Finding(path, *error.position, *error.position, UNREADABLE, ERROR, error.message, error.mend)


def misread(error: Misread) -> Finding:
    """The finding of a settings or materials file that cannot be taken as it stands."""
    line = error.source.line(error.position.line)
    return Finding(
        error.source.path,
        *error.position,
        error.position.line,
        error.position.column + 1,
        UNREADABLE,
        ERROR,
        error.message,
        error.mend,
        line,
    )
