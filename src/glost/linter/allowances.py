"""Allowances: comments that let one finding pass, with the reason why.

``# allow RULE: reason`` behind a line holds for that line; on a line of its own it holds for the next one that is
no comment; above the first line it holds for the whole page. A comment that only begins with the word ("allow to dry
overnight") is none: what makes an allowance is the colon, or a first word that is put together like a rule's name.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

from glost.language import tree
from glost.language.source import Source, Span

_ALLOW = re.compile(r"#+ *(?i:allow)(?: +(?P<rule>[^\s:]+))? *(?:(?P<colon>:)(?P<reason>.*)|(?P<rest>.*))")


class Allowance(NamedTuple):
    """``line`` is the line it holds for, 0 for the whole page, -1 for none; ``span`` is the comment's. Without its
    ``colon`` it has no reason either: what stands behind the rule's name may be anything."""

    rule: str
    reason: str
    span: Span
    line: int
    colon: bool = True

    def covers(self, rule: str, line: int) -> bool:
        """Whether it lets a finding of that rule on that line pass."""
        return self.rule == rule and bool(self.reason) and self.line in (0, line)


def allowances(page: tree.Page) -> tuple[Allowance, ...]:
    """All allowances of a page, well written or not."""
    if "allow" not in page.source.text.lower():
        return ()
    return tuple(_found(page))


def _found(page: tree.Page) -> Iterator[Allowance]:
    source = page.source
    for line in page.lead:
        if isinstance(line, tree.Remark):
            yield from _read(source, line.text, line.span, 0)
    waiting: list[tree.Remark] = []
    for node in _nodes(page):
        if isinstance(node, tree.Remark):
            waiting.append(node)
            continue
        if isinstance(node, tree.Blank):
            continue
        number = source.position(node.span.start).line
        for remark in waiting:
            yield from _read(source, remark.text, remark.span, number)
        waiting = []
        comment = getattr(node, "comment", None)
        if comment is not None:
            yield from _read(source, comment.text, comment.span, number)
    for remark in waiting:
        yield from _read(source, remark.text, remark.span, -1)


def _nodes(page: tree.Page) -> Iterator[tree.Title | tree.Field | tree.Head | tree.Line]:
    for block in page.blocks:
        yield block.head
        yield from block.lines


def _read(source: Source, text: str, span: Span, line: int) -> Iterator[Allowance]:
    match = _ALLOW.fullmatch(text)
    if match is None:
        return
    rule, colon = match["rule"] or "", match["colon"] is not None
    if colon or "-" in rule or not (rule or match["rest"]):
        start = source.text.index("#", span.start)
        reason = (match["reason"] or "").strip()
        yield Allowance(rule, reason, Span(start, start + len(text)), line, colon)
