"""From the files of a collection to the rows of its table: what each page says, what the rules find, which revision
it is."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import NamedTuple

from glost.language.source import DecodeError
from glost.linter.finding import Finding
from glost.linter.report import CrossCheck
from glost.output.catalog.rows import NOT_KNOWN, Revision, Row, RowBuilder, unread
from glost.output.parts_bar import tone_of
from glost.workspace.collection import Collections
from glost.workspace.git.last_commit import NotKnown, last_commits, why_not_known
from glost.workspace.load import load
from glost.workspace.outcomes import Outcomes
from glost.workspace.paths import display
from glost.workspace.runs.lint import lint_files
from glost.workspace.runs.lint_options import LintOptions
from glost.workspace.runs.processes import each


class Seen(NamedTuple):
    """One file: its rows, as far as they can be told of the file alone."""

    path: Path
    rows: tuple[Row, ...]


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
        except DecodeError:
            return Seen(path, (unread(shown, self.collections.of(path).called),))
        root, _, catalogue, _ = entry.collection
        if root not in self._tellers:
            self._tellers[root] = RowBuilder(catalogue, entry.collection.called)
        return Seen(path, self._tellers[root].rows(entry.resolved))


class Beside:
    """What the rows of some files are told besides: what the rules find, which revision git says they are, and what
    came of their newest tiles. All of it is known before the first row is made, so that rows can be handed on one by
    one."""

    def __init__(
        self,
        paths: Sequence[Path],
        collections: Collections,
        revisions: bool = True,
        workers: int | None = None,
    ) -> None:
        """git is asked for their ``revisions`` or not; ``workers`` as for ``cores.each``. Raises ConfigError,
        WorkerLostError."""
        self._collections = collections
        self.findings = _findings(paths, collections, workers)
        commits = last_commits(paths, collections.root_of) if revisions else {}
        self._revisions = {
            path: NOT_KNOWN if isinstance(commit, NotKnown) else Revision(*commit)
            for path, commit in commits.items()
        }
        self.not_known = why_not_known(commits.values())
        roots = (collections.root_of(path) for path in paths)
        self._outcomes = Outcomes((root for root in roots if root is not None), collections)
        self.firings = tuple(self._outcomes.findings)

    def rows(self, seen: Iterable[Seen]) -> Iterator[Row]:
        """The whole rows of files, in their order."""
        for one in seen:
            root = self._collections.root_of(one.path)
            for row in one.rows:
                yield replace(
                    row,
                    findings=self.findings.get(row.about.file, ()),
                    revision=self._revisions.get(one.path),
                    fired=self._outcomes.of(root, row.about.kind, row.test_name),
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


def gather(seen: Sequence[Seen], collections: Collections, beside: Beside | None = None) -> Gathered:
    """Everything that a page shows of the recipes in these files. Raises ConfigError, WorkerLostError."""
    paths = [one.path for one in seen]
    beside = beside or Beside(paths, collections)
    return Gathered(
        rows=tuple(beside.rows(seen)),
        names=tuple(dict.fromkeys(filter(None, (collections.of(path).settings.name for path in paths)))),
        aliases=_aliases(seen, collections),
        tones=_tones(seen, collections),
        broken=any(row.about.read == "not at all" for one in seen for row in one.rows),
        not_known=beside.not_known,
        firings=beside.firings,
    )


def _findings(
    paths: Sequence[Path], collections: Collections, workers: int | None
) -> dict[str, tuple[Finding, ...]]:
    """The findings of each file, as a run of the linter tells them."""
    met = CrossCheck()
    for looked in lint_files(paths, LintOptions(), collections, workers):
        met.add(looked.report, collections.root_of(looked.path))
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
