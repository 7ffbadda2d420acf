"""Lays many recipes out, on every core where that pays; it writes no file."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

from glost.language.layout import FormatError, format_text
from glost.language.parse import parse
from glost.language.source import DecodeError, Source
from glost.linter.finding import Finding, mistakes, unreadable
from glost.workspace import cache
from glost.workspace.files import read_text
from glost.workspace.page_cache import PageCache, content_of
from glost.workspace.paths import display
from glost.workspace.runs.processes import each_missing


class FormattedFile(NamedTuple):
    """A recipe laid out: its path as it is shown, its text before and after. ``after`` None: it could not be read at
    all, or it is ``refused`` for the reason that stands there; ``findings`` say what cannot be read."""

    file: str
    before: str = ""
    after: str | None = None
    findings: tuple[Finding, ...] = ()
    refused: str = ""

    @property
    def changed(self) -> bool:
        """Whether laying it out changes anything."""
        return self.after is not None and self.after != self.before


def lay_out_all(paths: Sequence[Path], workers: int | None = None) -> Iterator[FormattedFile]:
    """Lays every file out, in the order given; ``workers`` as for ``cores.each``. A page that is known to be laid out
    already is read and no more; both its texts are then left empty. Raises WorkerLostError."""
    known = PageCache(cache.digest("laid out", cache.build()), "")
    found = [_known(path, known) for path in paths]
    for path, (laid, fresh) in zip(paths, each_missing(format_file, paths, found, workers), strict=True):
        if fresh and laid.after == laid.before:
            known.keep(path, content_of(laid.before), "")
        yield laid
    known.save()


def _known(path: Path, known: PageCache) -> FormattedFile | None:
    return None if known.find(path) is None else FormattedFile(display(path), "", "")


def format_file(path: Path) -> FormattedFile:
    """Lays one file out."""
    shown = display(path)
    try:
        return lay_out_text(Source(shown, read_text(path)))
    except DecodeError as error:
        return FormattedFile(shown, findings=(unreadable(shown, error),))


def lay_out_text(source: Source) -> FormattedFile:
    """Lays one text out."""
    page = parse(source)
    if not page.is_recipe and not page.diagnostics:
        why = "it is no recipe: no line says a kind and a name, and no base stands there"
        return FormattedFile(source.path, source.text, None, (), why)
    try:
        return FormattedFile(source.path, source.text, format_text(page))
    except FormatError as error:
        findings = tuple(mistakes(page.diagnostics, source))
        return FormattedFile(source.path, source.text, None, findings, str(error))
