"""The one layout, as edits: of the whole page, or of some lines of it."""

from __future__ import annotations

from difflib import SequenceMatcher
from typing import Final

from glost.editor.page import Page
from glost.language.layout import content, format_text
from glost.language.parse import parse
from glost.language.source import Edit, Source, Span, apply

_MOST_COMPARED: Final = 1_000
"""Lines up to which the least change is looked for, since that takes as long as their square at worst."""


def layout_edits(page: Page, within: Span | None = None) -> list[Edit]:
    """The edits that lay a page out; ``within``: only those that touch this stretch. Raises FormatError."""
    after = format_text(page.tree)
    edits = _between(page.text, after)
    if within is None:
        return edits
    chosen = [edit for edit in edits if edit.span.start <= within.end and edit.span.end > within.start]
    if chosen == edits:
        return edits
    again = parse(Source(page.file, apply(page.text, chosen)))
    # A part of the changes may say something else, as where two lines have changed places with an empty one.
    same = not again.diagnostics and content(again) == content(page.tree)
    return chosen if same else []


def _between(before: str, after: str) -> list[Edit]:
    """Edits by whole lines from one text to another."""
    if before == after:
        return []
    old, new = before.splitlines(keepends=True), after.splitlines(keepends=True)
    starts = [0]
    for line in old:
        starts.append(starts[-1] + len(line))
    if len(old) == len(new):
        pairs = enumerate(zip(old, new, strict=True))
        return [Edit(Span(starts[at], starts[at + 1]), now) for at, (was, now) in pairs if was != now]
    if len(old) > _MOST_COMPARED:
        return [Edit(Span(0, len(before)), after)]
    matcher = SequenceMatcher(None, old, new, autojunk=False)
    return [
        Edit(Span(starts[a], starts[b]), "".join(new[c:d]))
        for tag, a, b, c, d in matcher.get_opcodes()
        if tag != "equal"
    ]
