"""From the files of a collection to the rows of its table: what each page says, what the rules find, which revision
it is."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import NamedTuple

from glost.language.source import DecodeError
from glost.linter.engine import LintContext, examine_resolved
from glost.linter.finding import Finding, unreadable
from glost.linter.report import CrossCheck, Report
from glost.output.catalog.rows import NOT_KNOWN, Revision, Row, RowBuilder, unread
from glost.output.parts_bar import tone_of
from glost.workspace.collection import Collections
from glost.workspace.git.last_commit import NotKnown, last_commits, why_not_known
from glost.workspace.load import load
from glost.workspace.outcomes import Outcomes
from glost.workspace.paths import display
from glost.workspace.runs.processes import each


class Seen(NamedTuple):
    """One file: its rows, without findings and revision, and what the rules say of it by itself."""

    path: Path
    rows: tuple[Row, ...]
    report: Report


class Reader:
    """Reads files one by one, with the collections it has met. What it makes of a file depends on that file and its
    collection alone."""

    def __init__(self, collections: Collections) -> None:
        self.collections = collections
        self._tellers: dict[Path | None, RowBuilder] = {}

    def see(self, path: Path) -> Seen:
        """Raises ConfigError, nothing else."""
        shown = display(path)
        try:
            entry = load(path, self.collections)
        except DecodeError as error:
            return Seen(
                path,
                (unread(shown, self.collections.of(path).called),),
                Report([unreadable(shown, error)], []),
            )
        root, settings, catalogue, _ = entry.collection
        teller = self._tellers.setdefault(root, RowBuilder(catalogue, entry.collection.called))
        return Seen(
            path,
            teller.rows(entry.resolved),
            examine_resolved(entry.resolved, LintContext(catalogue, settings)),
        )


@dataclass(frozen=True, slots=True)
class Gathered:
    """The rows of all files, in their order. ``names``: what the collections are called. ``aliases``: the other
    names of each material that is weighed somewhere;
    ``tones``: how each is drawn in the bar of a test. ``broken``: a file could not be read at all. ``not_known``: why
    git does not say which revision a file is, and of how many. ``firings``: what is wrong with firings
    that are left out."""

    rows: tuple[Row, ...]
    names: tuple[str, ...]
    aliases: dict[str, tuple[str, ...]]
    tones: dict[str, str]
    broken: bool
    not_known: dict[str, int]
    firings: tuple[Finding, ...] = ()


def see_all(paths: Sequence[Path], collections: Collections, workers: int | None = None) -> Iterator[Seen]:
    """Reads every file, in the order given; ``workers`` as for ``cores.each``. Raises ConfigError, WorkerLostError."""
    for path in paths:
        collections.of(path)  # read once here; a forked process has it already
    return each(Reader(collections).see, paths, workers)


def gather(seen: Sequence[Seen], collections: Collections, revisions: bool = True) -> Gathered:
    """Everything that the table shows of the recipes in these files; git is asked for their ``revisions`` or not."""
    findings = _findings(seen, collections)
    paths = [one.path for one in seen]
    commits = last_commits(paths, collections.root_of) if revisions else {}
    known = {
        path: NOT_KNOWN if isinstance(commit, NotKnown) else Revision(*commit)
        for path, commit in commits.items()
    }
    roots = {path: collections.root_of(path) for path in paths}
    outcomes = Outcomes((root for root in roots.values() if root is not None), collections)
    return Gathered(
        rows=tuple(
            replace(
                row,
                findings=findings.get(row.about.file, ()),
                revision=known.get(one.path),
                fired=outcomes.of(roots[one.path], row.about.kind, row.test_name),
            )
            for one in seen
            for row in one.rows
        ),
        names=tuple(dict.fromkeys(filter(None, (collections.of(path).settings.name for path in paths)))),
        aliases=_aliases(seen, collections),
        tones=_tones(seen, collections),
        broken=any(row.about.read == "not at all" for one in seen for row in one.rows),
        not_known=why_not_known(commits.values()),
        firings=tuple(outcomes.findings),
    )


def _findings(seen: Iterable[Seen], collections: Collections) -> dict[str, tuple[Finding, ...]]:
    """The findings of each file; recipes are compared with those of their own collection."""
    met = CrossCheck()
    for one in seen:
        met.add(one.report, collections.root_of(one.path))
    found: dict[str, list[Finding]] = {}
    for finding in met.findings():
        found.setdefault(finding.file, []).append(finding)
    return {file: tuple(findings) for file, findings in found.items()}


def _tones(seen: Iterable[Seen], collections: Collections) -> dict[str, str]:
    found: dict[str, str] = {}
    for one in seen:
        catalogue = collections.of(one.path).catalogue
        for name in {weighed.called for row in one.rows for weighed in row.weighed} - found.keys():
            found[name] = tone_of(name, catalogue)
    return found


def _aliases(seen: Iterable[Seen], collections: Collections) -> dict[str, tuple[str, ...]]:
    found: dict[str, dict[str, None]] = {}
    for one in seen:
        catalogue = collections.of(one.path).catalogue
        for name in {weighed.material for row in one.rows for weighed in row.weighed} - {None}:
            material = catalogue.find(name or "")
            if material is not None:
                found.setdefault(material.name, {}).update(dict.fromkeys(material.aliases))
    return {name: tuple(found[name]) for name in sorted(found)}
