"""The pages of an opened folder: those that are being written, and those that lie on the disk beside them.

Read is only what lies below the opened folders, within the limits of any page, and the glost.yaml that holds there. A
file behind a link that leads out is passed over. Where no folder is opened, the collection of a page is what is read.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from functools import partial
from pathlib import Path
from typing import Final, NamedTuple

from glost.editor.page import Page, read_page
from glost.language.source import DecodeError
from glost.language.yaml_tree import ConfigError, every
from glost.linter.finding import Finding
from glost.linter.report import Fact, Report, cross_check
from glost.linter.rule import Rule, all_rules
from glost.recipe.library import Kept, Library
from glost.workspace.collection import Collection, Collections, skips
from glost.workspace.config import without_own
from glost.workspace.files import is_link, read_text
from glost.workspace.library import read_own
from glost.workspace.paths import ENDING, FIRING, PAGES, SETTINGS, lies_within, whole
from glost.workspace.surroundings import FiringSurroundings

MOST_PAGES: Final = 2_000
"""Pages of one collection that are read beside the one that is written."""
MOST_FOLDERS: Final = 5_000
"""Folders that are looked into for them: somebody may open the folder above all others."""

_Signature = tuple[int, int] | None


class _OnDisk(NamedTuple):
    signature: _Signature
    page: Page


class _Held(NamedTuple):
    """What a glost.yaml says, why it cannot be taken, and the files that this was read from, as they were."""

    collection: Collection
    refused: ConfigError | None
    files: tuple[tuple[Path, _Signature], ...]


class _Facts:
    """What pages of a collection may not have in common, by what it is, so that a change of one page is held against
    the few that it concerns."""

    def __init__(self) -> None:
        self._by_key: dict[tuple[str, str], dict[Path, list[Fact]]] = {}
        self._of: dict[Path, set[tuple[str, str]]] = {}

    def put(self, path: Path, facts: Iterable[Fact]) -> None:
        for known in self._of.pop(path, ()):
            self._by_key[known].pop(path, None)
        for fact in facts:
            at = fact.finding.rule, fact.key
            self._by_key.setdefault(at, {}).setdefault(path, []).append(fact)
            self._of.setdefault(path, set()).add(at)

    def beside(self, page: Page) -> list[tuple[Path, Report]]:
        """What the page itself says, and what others have in common with it, in the order of the files."""
        found: dict[Path, list[Fact]] = {page.path: page.report.facts}
        for fact in page.report.facts:
            for path, facts in self._by_key.get((fact.finding.rule, fact.key), {}).items():
                if path != page.path:
                    found.setdefault(path, []).extend(facts)
        return [
            (path, Report(page.report.findings if path == page.path else [], facts))
            for path, facts in sorted(found.items())
        ]


class Studio:
    """The opened folders, and the pages in them. It is told what is opened, changed and closed, and asked the rest."""

    def __init__(self, folders: Iterable[Path] = ()) -> None:
        self.folders = tuple(whole(folder) for folder in folders)
        self._open: dict[Path, Page] = {}
        self._kept: dict[Path, _OnDisk] = {}
        self._facts: dict[Path, _Facts] = {}
        self._collections = Collections()
        self._held: dict[Path, _Held] = {}
        self._libraries: dict[Path | None, tuple[Path, Library]] = {}

    # ---- what the editor tells -----------------------------------------------------------------------------

    def write(self, path: Path, text: str, lies_in: str = "") -> Page:
        """A page that is opened, or has changed: it is read, once. ``lies_in``: "-" where no file has it yet, and the
        path is ours."""
        path = whole(path)
        page = self._read(path, text, lies_in=lies_in)
        self._open[path] = page
        self._libraries = {area: kept for area, kept in self._libraries.items() if kept[0] == path}
        area = self._area(path)
        if area is not None and area in self._facts:
            self._facts[area].put(path, page.report.facts)
        return page

    def close(self, path: Path) -> None:
        """A page is closed: what lies on the disk counts again."""
        path = whole(path)
        self._open.pop(path, None)
        self._facts.clear()
        self._libraries.clear()

    def look_again(self) -> None:
        """Files may have changed on the disk: what has is read again when it is needed."""
        self._collections = Collections()
        self._facts.clear()
        self._libraries.clear()
        for path, page in list(self._open.items()):
            self.write(path, page.text, page.context.file)

    # ---- what is asked -------------------------------------------------------------------------------------

    @property
    def opened(self) -> tuple[Page, ...]:
        """The pages that are open in the editor."""
        return tuple(self._open.values())

    def opened_page(self, path: Path) -> Page | None:
        """The page of that file, where it is open."""
        return self._open.get(whole(path))

    def page(self, path: Path) -> Page | None:
        """The page of that file, as it is in the editor, else on the disk."""
        path = whole(path)
        return self._open.get(path) or (self._from_disk(path) if path.suffix in PAGES else None)

    def leaves(self, old: Path, new: Path) -> bool:
        """Whether a file that goes from one place to another leaves its collection."""
        return self._collections.root_of(whole(old)) != self._collections.root_of(whole(new))

    def collection(self, path: Path) -> Collection:
        """What holds for a file. Where the settings cannot be taken, none of them hold: see refusal()."""
        root = self._collections.root_of(path)
        if root is None:
            return self._collections.of(path)
        held = self._held.get(root)
        if held is None or any(_signature(file) != was for file, was in held.files):
            held = self._held[root] = _read_settings(root)
        return held.collection

    def refusal(self, path: Path) -> ConfigError | None:
        """Why the settings that hold for a file cannot be taken; None where they can."""
        root = self._collections.root_of(path)
        self.collection(path)
        return None if root is None else self._held[root].refused

    def findings(self, page: Page) -> list[Finding]:
        """All that is found on a page, held against the others of its collection."""
        area = self._area(page.path)
        if area is None:
            return page.report.findings
        if area not in self._facts:
            facts = self._facts[area] = _Facts()
            for one in self.pages(page.path):
                facts.put(one.path, one.report.facts)
        reports = self._facts[area].beside(page)
        return [one for one in cross_check(report for _, report in reports) if one.file == page.file]

    def pages(self, path: Path) -> Iterator[Page]:
        """The pages of the collection that a file belongs to, in the order of their files; those that are open as they
        are in the editor."""
        path = whole(path)
        for file in self._files(path):
            page = self._open.get(file) or self._from_disk(file)
            if page is not None and not page.tree.is_firing:
                yield page

    def firings(self, path: Path) -> Iterator[Page]:
        """The pages of firings of the collection that a file belongs to, in the order of their files."""
        path = whole(path)
        for file in self._files(path, PAGES):
            if file.suffix == FIRING or file in self._open:
                page = self._open.get(file) or self._from_disk(file)
                if page is not None and page.tree.is_firing:
                    yield page

    def _files(self, path: Path, endings: tuple[str, ...] = (ENDING,)) -> list[Path]:
        area = self._area(path)
        if area is None:
            return [path] if path in self._open else []
        root = self._collections.root_of(path)
        found = {file for file in self._walk(area, endings) if self._collections.root_of(file) == root}
        return sorted(found | {one for one in self._open if self._area(one) == area})

    def _library(self, path: Path) -> Library:
        """The recipes that a page may use, as they are in the editor, else on the disk. It is kept while one page is
        written."""
        area = self._area(path)
        if area not in self._libraries:
            catalogue = self.collection(path).catalogue
            self._libraries[area] = path, Library(partial(self._texts, path), partial(read_own, catalogue))
        return self._libraries[area][1]

    def _texts(self, path: Path) -> Iterator[Kept]:
        for file in self._files(path):
            yield Kept(self.shown(file), partial(self._text, file))

    def _text(self, path: Path) -> str | None:
        if path in self._open:
            return self._open[path].text
        try:
            return read_text(path)
        except DecodeError:
            return None

    def _read(self, path: Path, text: str, rules: tuple[Rule, ...] | None = None, lies_in: str = "") -> Page:
        collection, around = self.collection(path), FiringSurroundings(path, self._collections)
        return read_page(
            path, self.shown(path), text, collection, self._library(path), around, rules, lies_in
        )

    def everything(self) -> Iterator[Page]:
        """The pages of all collections that are open; some may come twice."""
        areas = {self._area(page.path): page.path for page in self.opened}
        for folder in self.folders:
            areas.setdefault(self._area(folder / SETTINGS), folder / SETTINGS)
        for path in areas.values():
            yield from self.pages(path)

    def shown(self, path: Path) -> str:
        """A file as it is shown: from the folder of its collection on."""
        area = self._area(path)
        if area is None:
            return path.name
        return path.relative_to(area).as_posix()

    # ---- files ---------------------------------------------------------------------------------------------

    def _area(self, path: Path) -> Path | None:
        """The folder below which the pages lie that belong together with this one; None for a page by itself."""
        root = self._collections.root_of(path)
        opened = next((folder for folder in self.folders if path.is_relative_to(folder)), None)
        if root is not None and (
            not self.folders or any(root.is_relative_to(folder) for folder in self.folders)
        ):
            return root
        return opened

    def _walk(self, area: Path, endings: tuple[str, ...]) -> Iterator[Path]:
        folders = pages = 0
        for here, below, files in os.walk(area):
            at = Path(here)
            below[:] = sorted(
                name for name in below if not name.startswith(".") and not self._skips(at / name)
            )
            for name in sorted(files):
                if name.endswith(endings) and not name.startswith(".") and not self._skips(at / name):
                    if is_link(at / name) and not lies_within(area, str(at / name)):
                        continue
                    yield at / name
                    pages += 1
                    if pages == MOST_PAGES:
                        return
            folders += 1
            if folders == MOST_FOLDERS:
                return

    def _skips(self, path: Path) -> bool:
        collection = self.collection(path)
        return collection.root is not None and skips(collection.settings.skip, collection.root, path)

    def _from_disk(self, path: Path) -> Page | None:
        signature = _signature(path)
        collection = self.collection(path)
        kept = self._kept.get(path)
        if kept is not None and kept.signature == signature and kept.page.collection is collection:
            return kept.page
        try:
            text = read_text(path)
        except DecodeError:
            return None  # it is told of where it is opened
        page = self._read(path, text, _comparing())
        self._kept[path] = _OnDisk(signature, page)
        return page


def _read_settings(root: Path) -> _Held:
    """What the glost.yaml of a folder says now."""
    collections = Collections()
    files = [root / SETTINGS]
    refused = None
    try:
        collection = collections.of(root / SETTINGS)
        if collection.settings.materials is not None:
            files.append(root / collection.settings.materials)
    except ConfigError as error:
        refused = error
        collection = Collection(root, *without_own())
        named = dict.fromkeys(Path(one.source.path).name for one in every(error))
        files += [root / name for name in named if name != SETTINGS]
    return _Held(collection, refused, tuple((file, _signature(file)) for file in files))


def _comparing() -> tuple[Rule, ...]:
    """The rules that hold pages against each other."""
    return tuple(rule for rule in all_rules() if rule.shared is not None)


def _signature(path: Path) -> _Signature:
    try:
        about = path.stat()
    except OSError:
        return None
    return about.st_mtime_ns, about.st_size
