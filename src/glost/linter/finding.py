"""A finding: one thing that is wrong, where, and how to fix it."""

from __future__ import annotations

from collections.abc import Iterable
from operator import attrgetter
from typing import Final, NamedTuple

from glost.errors import FIRST, GlostError
from glost.language.diagnostics import Choice, Diagnostic
from glost.language.source import Edit, Source
from glost.language.yaml_tree import ConfigError, every

ERROR, WARNING, HINT, OFF = "error", "warning", "hint", "off"
LEVELS = (ERROR, WARNING, HINT)

SYNTAX = "syntax"
"""The rule of a finding about how the page is written, which no setting can turn off."""

UNREADABLE = "unreadable"
"""The rule of a finding about a file that could not be read at all; the exit status is then 2."""


class Finding(NamedTuple):
    """Lines and columns count from 1; a column is one character; the end is exclusive. ``text`` is the line. ``edits``
    and ``choices``: as in a Diagnostic."""

    file: str
    line: int
    column: int
    end_line: int
    end_column: int
    rule: str
    level: str
    message: str
    hint: str
    text: str = ""
    edits: tuple[Edit, ...] = ()
    choices: tuple[Choice, ...] = ()


ORDER: Final = attrgetter("file", "line", "column", "rule", "message")
"""The key by which findings are sorted."""


def placed(diagnostic: Diagnostic, source: Source, rule: str, level: str) -> Finding:
    """``diagnostic`` as a finding of a rule, with line and column."""
    start = source.position(diagnostic.span.start)
    end = source.position(max(diagnostic.span.end, diagnostic.span.start))
    return Finding(
        source.path,
        start.line,
        start.column,
        end.line,
        end.column,
        rule,
        level,
        diagnostic.message,
        diagnostic.hint,
        source.line(start.line),
        diagnostic.edits,
        diagnostic.choices,
    )


def mistakes(diagnostics: Iterable[Diagnostic], source: Source) -> list[Finding]:
    """The findings of what cannot be read or taken on a page."""
    return [placed(diagnostic, source, SYNTAX, ERROR) for diagnostic in diagnostics]


def unreadable(path: str, error: GlostError) -> Finding:
    """The finding of a file that could not be read."""
    place = error.position or FIRST
    return Finding(path, *place, *place, UNREADABLE, ERROR, error.message, error.hint)


def findings_of(error: ConfigError) -> list[Finding]:
    """The findings of settings or materials files that cannot be taken as they stand: all that is wrong there."""
    return [_finding_of(one) for one in every(error)]


def _finding_of(error: ConfigError) -> Finding:
    line = error.source.line(error.position.line)
    return Finding(
        error.source.path,
        *error.position,
        error.position.line,
        error.position.column + 1,
        UNREADABLE,
        ERROR,
        error.message,
        error.hint,
        line,
    )
