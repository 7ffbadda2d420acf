"""Two sides, read and held against each other. What git says is equal, and belongs to a collection that says the same,
is not read."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final, NamedTuple

from glost.changes.around import but_for_rules, is_of_rules, said_at_all, seen_with
from glost.changes.comparison import Change, Comparison, compare
from glost.changes.fired_change import FiredChange, fired_changes
from glost.changes.judgement import Judged, come, judged_of, new_hazards, told_of
from glost.changes.meaning import THROUGH, WEIGHED, Place
from glost.changes.pairs import Page, Pair, paired
from glost.changes.pictures import Picture
from glost.changes.report import CollectionChange, Report, Reported, State, state_of
from glost.chemistry.firing import Calculator
from glost.cli.colours import note_findings
from glost.cli.compare_inputs import Side, Version, algorithm_of
from glost.cli.errors import usage_error
from glost.cli.progress import counted
from glost.language.source import DecodeError, decode
from glost.language.yaml_tree import ConfigError
from glost.linter.finding import Finding, findings_of, unreadable
from glost.recipe.library import uses_others
from glost.recipe.materials.catalogue import Catalogue, key
from glost.workspace.collection import Collection
from glost.workspace.git.run import GitError
from glost.workspace.load import Usable, Withheld, usable_text
from glost.workspace.paths import SETTINGS

_UNREADABLE: Final = "unreadable: "


class Compared(NamedTuple):
    """All that is between two sides, and what kept pages from being compared."""

    report: Report
    findings: frozenset[Finding]


def compared(old: Side, new: Side, pictured: bool = False) -> Compared:
    """``pictured``: with what tests look like on both sides. What cannot be read is noted. Raises ConfigError,
    UsageError."""
    comparing = _Comparing(old, new, pictured)
    return Compared(comparing.report(), comparing.kept_apart())


@dataclass(frozen=True, slots=True)
class _Read:
    """A page of one side: the recipe on it, None where it cannot be read whole, and its collection."""

    page: Page
    version: Version
    entry: Usable | None
    judged: Judged | None
    findings: tuple[Finding, ...] = ()
    """What keeps it from being read whole."""


class _Comparing:
    def __init__(self, old: Side, new: Side, pictured: bool) -> None:
        self._pictured = pictured
        self._sides = (old, new)
        self._algorithm = algorithm_of(old, new)
        self._kilns: dict[int, tuple[Catalogue, Calculator]] = {}
        self._noted: set[Finding] = set()
        self._kept_apart: set[Finding] = set()
        self._says: list[dict[Path | None, str]] = [{}, {}]
        self._are_alike: dict[tuple[Path | None, Path | None], bool] = {}
        """Of pairs of collections, whether the files of both are the same, or they are not one collection."""
        self._means_the_same: dict[tuple[Path | None, Path | None], bool] = {}
        """Of pairs of collections whose files differ, whether that is no more than their layout and comments."""
        self._left_out: dict[Path | None, int] = {}
        """By where a collection begins, the recipes that it skips and that the other side has."""
        self._two: dict[tuple[Path | None, Path | None], int] = {}
        """Pairs of collections that say something else, and how many recipes are in both."""

    def report(self) -> Report:
        old, new = self._sides
        both_have = ((path, self._equal_content(path)) for path in old.versions if path in new.versions)
        equal = {path: content for path, content in both_have if content is not None}
        for path in self._using_others(equal):
            del equal[path]
        left = [
            [version for path, version in side.versions.items() if path not in equal] for side in self._sides
        ]
        for side, versions in zip(self._sides, left, strict=True):
            _fetch(side, versions)
        total = sum(map(len, left))
        both = ((at, version) for at in (0, 1) for version in left[at])
        read: list[dict[str, _Read]] = [{}, {}]
        for at, version in counted(both, "read", total):
            read[at][version.path] = self._read(at, version)
        pages = [[one.page for one in side.values()] for side in read]
        pairs = paired(pages[0], pages[1], old.one and new.one)
        reported = []
        judged = []
        same = len(equal)
        for pair in counted(pairs, "compared", len(pairs)):
            if self._is_skipped(pair, read):
                continue
            one = self._reported(pair, read)
            if one.state == "same" and not one.text_differs and not one.moved:
                same += 1
                if one.come or one.gone:
                    judged.append(one)
            else:
                reported.append(one)
        collections = self._collections([*reported, *judged])
        touched = {id(recipe) for one in collections for _, recipes in one.changes for recipe in recipes}
        return Report(reported, same, collections, sum(id(one) in touched for one in judged))

    def kept_apart(self) -> frozenset[Finding]:
        """Why pages were not compared."""
        return frozenset(self._kept_apart)

    def _is_skipped(self, pair: Pair, read: Sequence[dict[str, _Read]]) -> bool:
        """Whether a recipe stands on one side alone since the collection of the other skips it: that is told as what
        the collection says, and not as so many recipes taken out."""
        if pair.old is not None and pair.new is not None:
            return False
        at, page = (0, pair.old) if pair.old is not None else (1, pair.new)
        assert page is not None
        version = read[at][page.path].version
        try:
            skips = self._sides[1 - at].passes_over(version)
        except ConfigError:
            return False
        if skips:
            root = self._root(at, version)
            self._left_out[root] = self._left_out.get(root, 0) + 1
        return skips

    # ---- what is equal ----

    def _equal_content(self, path: str) -> str | None:
        """What the content of a file is known by that is the same on both sides and seen in the same way; else None."""
        before, after = self._sides
        old, new = before.versions[path], after.versions[path]
        content = before.content(old, self._algorithm)
        if content is None or content != after.content(new, self._algorithm):
            return None
        return content if self._says_otherwise(old, new) is None else None

    def _using_others(self, equal: Mapping[str, str]) -> set[str]:
        """Those of the equal files that have recipes among their ingredients, which may have changed. Each comes with
        what its content is known by."""
        old = self._sides[0]
        if old.snapshot is not None:
            try:
                using = set(old.snapshot.where(list(dict.fromkeys(equal.values())), uses_others))
            except GitError as error:
                raise usage_error(error, "git could not read what is compared") from None
            return {path for path, content in equal.items() if content in using} if using else set()
        found = set()
        for path in equal:
            try:
                data = old.collections.files.read(old.versions[path].place)
            except DecodeError:
                continue
            if uses_others(data.decode("utf-8", "replace")):
                found.add(path)
        return found

    def _says_otherwise(self, old: Version, new: Version) -> tuple[Path | None, Path | None] | None:
        """Where the two collections of a pair begin, if they are one that says something else now; else None."""
        roots = self._root(0, old), self._root(1, new)
        if roots not in self._are_alike:  # asked for each file, and a collection holds many
            alike = self._what_it_says(0, old) == self._what_it_says(1, new)
            self._are_alike[roots] = alike or not self._are_one(*roots)
        if self._are_alike[roots]:
            return None
        if roots not in self._means_the_same:
            first, second = (self._collection(at, root) for at, root in enumerate(roots))
            self._means_the_same[roots] = (
                first is not None
                and second is not None
                and first.settings == second.settings
                and list(first.catalogue) == list(second.catalogue)
            )
        return None if self._means_the_same[roots] else roots

    def _root(self, at: int, version: Version) -> Path | None:
        return self._sides[at].collections.root_of(version.place)

    def _what_it_says(self, at: int, version: Version) -> str:
        says, root = self._says[at], self._root(at, version)
        if root not in says:
            try:
                says[root] = self._sides[at].collections.outline(version.place).says
            except ConfigError as error:
                self._note(*findings_of(error))
                says[root] = f"{_UNREADABLE}{error.source.text}"
        return says[root]

    def _are_one(self, old: Path | None, new: Path | None) -> bool:
        """Whether two collections are one at two times. Of two files or folders of the disk only those are whose
        settings lie in the same place of both."""
        if any(side.snapshot is not None for side in self._sides) or all(
            side.folder is None and not side.one for side in self._sides
        ):
            return True
        places = [self._within(side, root) for side, root in zip(self._sides, (old, new), strict=True)]
        return None not in places and (places[0] == places[1] or "none" in places)

    def _within(self, side: Side, root: Path | None) -> str | None:
        """Where a collection begins in a folder that is compared; None where it begins outside of it."""
        if side.folder is None:
            return None
        if root is None:
            return "none"
        return str(root.relative_to(side.folder)) if root.is_relative_to(side.folder) else None

    # ---- one page ----

    def _read(self, at: int, version: Version) -> _Read:
        """The recipe of a file; what keeps it from being read whole is noted."""
        side = self._sides[at]
        shown = side.shown(version)
        try:
            entry = usable_text(
                shown, decode(side.collections.files.read(version.place)), version.place, side.collections
            )
        except DecodeError as error:
            entry = Withheld(shown, (unreadable(shown, error),))
        except ConfigError as error:
            entry = Withheld(shown, tuple(findings_of(error)))
        if isinstance(entry, Withheld):
            return _Read(Page(version.path, shown, None), version, None, None, entry.findings)
        one = told_of(entry)
        return _Read(Page(version.path, shown, one), version, entry, judged_of(entry, one))

    def _note(self, *findings: Finding) -> None:
        fresh = [finding for finding in findings if finding not in self._noted]
        if fresh:
            self._noted.update(fresh)
            note_findings(fresh)

    # ---- one pair ----

    def _reported(self, pair: Pair, read: Sequence[dict[str, _Read]]) -> Reported:
        old = read[0][pair.old.path] if pair.old else None
        new = read[1][pair.new.path] if pair.new else None
        files = pair.old.shown if pair.old else None, pair.new.shown if pair.new else None
        there = pair.new or pair.old
        assert there is not None
        name = there.told.name if there.told else there.path
        before, after = (one.judged if one else None for one in (old, new))
        differs = old is None or new is None or self._content(0, old) != self._content(1, new)
        if any(page is not None and page.told is None for page in pair):
            one_reads = (old is not None and old.entry) or (new is not None and new.entry)
            state: State = "unreadable" if differs or one_reads else "same"
            if state == "unreadable":
                for one in filter(None, (old, new)):
                    self._note(*one.findings)
                    self._kept_apart.update(one.findings)
            return Reported(*files, name, state, differs, path=there.path)
        if old is None or new is None:
            return Reported(
                *files,
                name,
                "removed" if new is None else "added",
                True,
                come=come(None, after),
                hazards=new_hazards(None, after),
                allowances=tuple((after.allowed if after else {}).items()),
                path=there.path,
                pictures=self._pictures(old, new),
            )
        comparison, fired = self._compared(old, new)
        moved = old.version.path != new.version.path and not self._sides[1].one
        return Reported(
            *files,
            name,
            state_of(comparison),
            differs,
            comparison,
            fired,
            come(before, after),
            come(after, before),
            new_hazards(before, after),
            tuple(
                (change.place, change.new)
                for change in comparison.changes
                if change.place.section == "allowances" and change.new is not None
            ),
            moved,
            there.path,
            self._pictures(old, new),
        )

    def _pictures(self, old: _Read | None, new: _Read | None) -> tuple[Picture, ...]:
        if not self._pictured:
            return ()
        from glost.changes.pictures import Kiln, pictures

        sides = [
            (one.entry.recipe, Kiln(*self._kiln_of(one.entry.collection.catalogue)))
            if one is not None and one.entry is not None
            else None
            for one in (old, new)
        ]
        return tuple(pictures(*sides))

    def _content(self, at: int, one: _Read) -> str | None:
        return self._sides[at].content(one.version, self._algorithm)

    def _compared(self, old: _Read, new: _Read) -> tuple[Comparison, tuple[FiredChange, ...]]:
        assert old.entry is not None
        assert new.entry is not None
        before, after = old.page.told, new.page.told
        assert before is not None
        assert after is not None
        roots = self._says_otherwise(old.version, new.version)
        if roots is not None:
            self._two[roots] = self._two.get(roots, 0) + 1
            recipes = old.entry.recipe, new.entry.recipe
            then, now = old.entry.collection, new.entry.collection
            before = but_for_rules(seen_with(before, recipes, then.settings, then.catalogue))
            after = but_for_rules(seen_with(after, recipes, now.settings, now.catalogue))
        comparison = compare(before, after)
        weighed = any(change.place.section in (*WEIGHED, THROUGH, "materials") for change in comparison.real)
        return comparison, self._fired(old.entry, new.entry) if weighed else ()

    def _fired(self, old: Usable, new: Usable) -> tuple[FiredChange, ...]:
        return fired_changes(
            old.recipe,
            new.recipe,
            self._kiln(old.collection.catalogue),
            self._kiln(new.collection.catalogue),
        )

    def _kiln(self, catalogue: Catalogue) -> Calculator:
        return self._kiln_of(catalogue)[1]

    def _kiln_of(self, catalogue: Catalogue) -> tuple[Catalogue, Calculator]:
        return self._kilns.setdefault(id(catalogue), (catalogue, Calculator(catalogue)))

    # ---- collections ----

    def _collections(self, reported: Sequence[Reported]) -> list[CollectionChange]:
        """What each collection that says something else says now, and the recipes that each change of it touches."""
        changes = []
        for (old, new), count in sorted(self._two.items(), key=lambda item: str(item[0])):
            sides = [self._collection(at, root) for at, root in enumerate((old, new))]
            if sides[0] is None or sides[1] is None:
                continue
            before, after = (said_at_all(one.settings, one.catalogue) for one in sides if one is not None)
            places = sorted({*before, *after}, key=lambda place: place.order)
            changed = [
                Change(place, before.get(place), after.get(place))
                for place in places
                if before.get(place) != after.get(place)
            ]
            shown = [
                None if root is None else side.collections.files.shown(root / SETTINGS)
                for side, root in zip(self._sides, (old, new), strict=True)
            ]
            touched = tuple((change, _touched_by(change, reported)) for change in changed)
            if changed:
                left_out = sum(self._left_out.get(root, 0) for root in {old, new})
                changes.append(CollectionChange(shown[0], shown[1], touched, count, left_out))
        return changes

    def _collection(self, at: int, root: Path | None) -> Collection | None:
        """None for one that cannot be read, which has been told."""
        collections = self._sides[at].collections
        snapshot = self._sides[at].snapshot
        begin = root or (snapshot.top if snapshot is not None else Path.cwd())
        try:
            found = collections.of(begin / SETTINGS)
        except ConfigError:
            return None
        return found if found.root == root else None


def _fetch(side: Side, versions: Sequence[Version]) -> None:
    """Raises UsageError."""
    try:
        side.collections.files.fetch([version.place for version in versions])
    except GitError as error:
        raise usage_error(error, "git could not read what is compared") from None


def _touched_by(change: Change, reported: Sequence[Reported]) -> tuple[Reported, ...]:
    """The recipes for which a change of their collection holds."""
    if is_of_rules(change.place):
        rule = change.place.what
        return tuple(one for one in reported if any(noted.rule == rule for noted in (*one.come, *one.gone)))
    wanted = {change.place}
    if change.place.what == "aliases":
        sides = [set(str(fact or "").split(", ")) for fact in (change.old, change.new)]
        wanted = {Place("materials", key(alias), "means") for alias in sides[0] ^ sides[1]}
    return tuple(
        one
        for one in reported
        if one.comparison is not None and any(found.place in wanted for found in one.comparison.changes)
    )
