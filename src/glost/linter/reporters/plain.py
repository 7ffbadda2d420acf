"""What a finding looks like to a person: the place, the line, a caret, and how to fix it, or what --fix does."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from glost.language.width import width
from glost.linter.finding import Finding

_WIDEST = 160
"""Columns of a source line that are shown; of a longer line, the part around the caret."""


def text(findings: Iterable[Finding], paint: Callable[[str], str] = str) -> str:
    """Findings as blocks of text, one empty line between. ``paint`` gives a level its colour."""
    return "".join(blocks(findings, paint))


def blocks(findings: Iterable[Finding], paint: Callable[[str], str] = str) -> Iterator[str]:
    """The same, block by block."""
    between = ""
    for finding in findings:
        yield between + _block(finding, paint)
        between = "\n"


def lines(findings: Iterable[Finding]) -> Iterator[str]:
    """Findings, one a line: file:line:column: level: message (rule)."""
    return (f"{_head(finding)}\n" for finding in findings)


def _head(finding: Finding, paint: Callable[[str], str] = str) -> str:
    return (
        f"{visible(finding.file)}:{finding.line}:{finding.column}: {paint(finding.level)}: "
        f"{visible(finding.message)} ({finding.rule})"
    )


def _block(finding: Finding, paint: Callable[[str], str]) -> str:
    number = f"{finding.line:>5}"
    shown, before, marked = _excerpt(finding)
    blank = " " * len(number)
    lines = [_head(finding, paint)]
    if shown.strip():
        lines += [f"{number} | {shown}", f"{blank} | {' ' * before}{'^' * marked}"]
    # What --fix would change now is told by another word than what is left to the reader.
    lines.append(f"{blank} {'fix' if finding.edits else 'hint'}: {visible(finding.hint)}")
    return "\n".join([*lines, ""])


def _excerpt(finding: Finding) -> tuple[str, int, int]:
    """The source line as it is shown, the columns before the caret, and the caret's width."""
    source = finding.text
    start = finding.column - 1
    end = finding.end_column - 1 if finding.end_line == finding.line else len(source)
    cut = 0
    if len(source) > _WIDEST:
        cut = max(0, min(start - _WIDEST // 4, len(source) - _WIDEST))
        source = source[cut : cut + _WIDEST]
        start, end = start - cut, min(end - cut, len(source))
    before = visible(source[:start])
    marked = visible(source[start:end])
    left = "... " if cut else ""
    return left + visible(source), len(left) + width(before), max(width(marked), 1)


def visible(text: str) -> str:
    """``text`` with everything a terminal would obey, hide or turn around written out, so that a name can
    neither clear the screen nor look like another."""
    if text.isprintable():
        return text
    return "".join(character if _harmless(character) else _escaped(character) for character in text)


def _harmless(character: str) -> bool:
    return character.isprintable()


def _escaped(character: str) -> str:
    return "\\t" if character == "\t" else f"\\u{{{ord(character):04x}}}"
