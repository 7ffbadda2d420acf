"""Checks many recipes: on every core where that pays, with the same answer in the same order for any number.

A page that was looked at before, and has not changed since, is not looked at again: what was found then is kept. Until
a page is met that is not known, nothing is imported that reads recipes.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from glost import cache
from glost.collection import Collections, Outline
from glost.files import read_bytes
from glost.kept import KeptByPage
from glost.language.source import Unreadable
from glost.lint.report_text import as_text, from_text
from glost.places import display
from glost.runs.cores import each
from glost.runs.wish import Looked, Wish


def look_at(
    paths: Sequence[Path], wish: Wish, collections: Collections, workers: int | None = None
) -> Iterator[Looked]:
    """Looks at every file, in the order given; ``workers`` as for ``cores.each``. Raises Misread, WorkerLost."""
    known = _Known(wish, collections)
    found = [known.find(path) for path in paths]
    unknown = [path for path, looked in zip(paths, found, strict=True) if looked is None]
    if not unknown:
        yield from (looked for looked in found if looked is not None)
        return
    from glost.runs.examining import Examiner

    collections.of(unknown[0])  # read once here; a forked process has it already
    fresh = each(Examiner(wish, collections).look, unknown, workers)
    for looked in found:
        yield known.keep(next(fresh)) if looked is None else looked
    next(fresh, None)  # so that the processes end in order
    known.save()


class _Known:
    """What was found before, by other runs."""

    def __init__(self, wish: Wish, collections: Collections) -> None:
        self._wish = wish
        self._collections = collections
        self._by_root: dict[Path | None, KeptByPage] = {}

    def find(self, path: Path) -> Looked | None:
        """What was found in that file, None where that is not known. Raises Misread."""
        reports = self._reports(self._collections.outline(path))
        if not reports.knows(path):
            return None
        try:
            content = cache.digest(read_bytes(path))
        except Unreadable:
            return None
        kept = reports.find(path, content)
        report = None if kept is None else from_text(kept, display(path))
        if report is None or (self._wish.fix and any(finding.edits for finding in report.findings)):
            return None
        return Looked(path, report)

    def keep(self, looked: Looked) -> Looked:
        """Keeps what was found in a file, unless that cannot be known again."""
        outline = self._collections.outline(looked.path)
        if looked.content and looked.says == outline.says:
            self._reports(outline).keep(looked.path, looked.content, as_text(looked.report))
        return looked

    def save(self) -> None:
        for reports in self._by_root.values():
            reports.save()

    def _reports(self, outline: Outline) -> KeptByPage:
        if outline.root not in self._by_root:
            wish = self._wish
            asked = f"{wish.batch_g} {sorted(wish.select)} {sorted(wish.ignore)}"
            place = cache.digest("reports", cache.build(), str(outline.root), asked)
            self._by_root[outline.root] = KeptByPage(place, outline.says)
        return self._by_root[outline.root]
