"""The baselines of collections: findings held back, and written down to be held back."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Sequence
from pathlib import Path, PurePosixPath

from glost.cli import CLEAN, UNUSABLE
from glost.cli.colours import note_findings
from glost.cli.common import number_of
from glost.cli.streams import note
from glost.errors import FIRST
from glost.language.source import DecodeError, Source
from glost.language.yaml_tree import ConfigError
from glost.linter import baseline
from glost.linter.finding import ORDER, SYNTAX, UNREADABLE, Finding
from glost.linter.line_text import page_marks, same_page
from glost.linter.reporters import plain
from glost.workspace.collection import Collections, find
from glost.workspace.paths import SETTINGS, display, lies_within, whole
from glost.workspace.reading import DISK, Files, text_in
from glost.workspace.runs.lint_options import LintOptions


def _below(file: str, root: Path) -> str:
    """A file as the baseline of its collection names it."""
    path = whole(Path(file))
    return path.relative_to(root.absolute()).as_posix() if path.is_relative_to(root.absolute()) else file


def _by_collection(
    findings: Sequence[Finding], paths: Sequence[Path], collections: Collections
) -> dict[Path, tuple[list[tuple[Finding, str]], set[str]]]:
    """For every collection: its findings and the files looked at, each as its baseline names it."""
    sorted_out: dict[Path, tuple[list[tuple[Finding, str]], set[str]]] = {}
    for path in paths:
        root = collections.root_of(path) or Path.cwd()
        sorted_out.setdefault(root, ([], set()))[1].add(_below(display(path), root))
    known: dict[str, tuple[Path, str]] = {}  # a file may hold thousands of findings
    for finding in findings:
        if finding.file not in known:
            root = collections.root_of(Path(finding.file)) or Path.cwd()
            known[finding.file] = root, _below(finding.file, root)
        root, file = known[finding.file]
        sorted_out.setdefault(root, ([], set()))[0].append((finding, file))
    return sorted_out


def hold_back(
    findings: Sequence[Finding],
    paths: Sequence[Path],
    wish: LintOptions,
    collections: Collections,
    pruning: bool = False,
) -> baseline.Held:
    """The findings that no baseline of their collections knows; with ``pruning`` what no longer occurs is taken out of
    the baselines. Raises ConfigError, OutputError."""
    roots = {collections.root_of(path) or Path.cwd() for path in paths}
    if not pruning and not any(collections.files.has(root / baseline.FILE) for root in roots):
        return baseline.Held(list(findings), 0, [])
    new: list[Finding] = []
    known = 0
    gone: list[tuple[baseline.Known, int]] = []
    pruned = []
    for root, (mine, looked_at) in _by_collection(findings, paths, collections).items():
        if not collections.files.has(root / baseline.FILE):
            new += (finding for finding, _ in mine)
            continue
        entries = _read_baseline(root, collections.files)
        run = _Run(entries, root, mine, looked_at, wish, collections)
        held = baseline.hold_back(mine, entries, run.looked_for, run.moved)
        if pruning:
            pruned.append(
                (root, entries, baseline.pruned(entries, held.gone, run.moved), held.gone, run.moved)
            )
        new += held.new
        known += held.known
        gone += held.gone
    new.sort(key=ORDER)
    if not pruning:
        return baseline.Held(new, known, gone)
    for root, old, entries, taken, moved in pruned:
        _write(root, old, entries)
        number = sum(count for _, count in taken)
        note(f"{_named(root)}: {number_of(number, 'finding')} taken out, which no longer occur{_s(number)}\n")
        note(_listed([key for key, _ in taken]))
        note(
            "".join(
                f"  {plain.visible(new)}: was {plain.visible(was)}\n" for new, was in sorted(moved.items())
            )
        )
    if not pruned:
        note(f"there is no {baseline.FILE} to prune; glost lint --write-baseline begins one\n")
    return baseline.Held(new, known, [])


def write_baselines(
    findings: Sequence[Finding], paths: Sequence[Path], wish: LintOptions, collections: Collections
) -> int:
    """Holds all findings back from now on, and names those that were not held back before; the exit status. A file that
    cannot be read is told instead, and keeps what is held back of it. Raises ConfigError, OutputError."""
    for root, (found, looked_at) in _by_collection(findings, paths, collections).items():
        there = os.path.lexists(root / baseline.FILE)
        old = _read_baseline(root) if there else baseline.Baseline(Counter())
        run = _Run(old, root, found, looked_at, wish, collections)
        mine = [(finding, name) for finding, name in found if finding.rule != UNREADABLE]
        known = (baseline.known_as(finding, name) for finding, name in mine)
        entries = baseline.renewed(known, old.counts, run.looked_for)
        _write(root, old, baseline.Baseline(entries, old.pages))
        note(f"{_named(root)}: {number_of(entries.total(), 'finding')} held back from now on\n")
        new = baseline.hold_back(mine, old, run.looked_for, run.moved).new if there else []
        if new:
            were = "was" if len(new) == 1 else "were"
            note(f"{number_of(len(new), 'finding')} of these {were} not held back before:\n")
            note("".join(f"  {line}" for line in plain.lines(new[:_NAMED])))
            note(_more(len(new)))
    broken = [finding for finding in findings if finding.rule == UNREADABLE]
    if not broken:
        return CLEAN
    note_findings(broken)
    note(
        "a file that cannot be read cannot be held back: put right what is named above, or name the file under skip in "
        f"{SETTINGS}; then write the baseline again\n"
    )
    return UNUSABLE


_NAMED = 200
"""Entries that are named one by one; of the rest it is said how many there are."""


def _listed(keys: Sequence[baseline.Known]) -> str:
    rows = (f"  {plain.visible(file)}: {rule}: {plain.visible(text)}\n" for file, rule, text in keys[:_NAMED])
    return "".join(rows) + _more(len(keys))


def _more(count: int) -> str:
    return f"  and {count - _NAMED} more; git diff {baseline.FILE} shows all\n" if count > _NAMED else ""


def _s(number: int) -> str:
    return "s" if number == 1 else ""


def _named(root: Path) -> str:
    return plain.visible(display(root / baseline.FILE))


def _write(root: Path, old: baseline.Baseline, entries: baseline.Baseline) -> None:
    """Writes a baseline, with what each page that it names is known by. Raises OutputError."""
    from glost.workspace.outputs import ANY, OneOutput, OutputError

    pages = dict(entries.pages)
    for file in {file for file, _, _ in entries.counts}:
        marks = _marks(root, file)
        # A page that is still much the same keeps its marks, so that two branches seldom change one line.
        if marks is not None and not (file in old.pages and same_page(marks, old.pages[file])):
            pages[file] = marks
    text = baseline.write(baseline.Baseline(entries.counts, pages))
    try:
        OneOutput(root / baseline.FILE, ANY, force=True).write(text)  # it was read as a baseline
    except OSError as error:
        raise OutputError(
            f"{display(root / baseline.FILE)} could not be written: {error.strerror}",
            "check the disk and the permissions",
        ) from None


def _marks(root: Path, file: str, files: Files = DISK) -> tuple[str, ...] | None:
    """What a page is known by, None where it cannot be read. A baseline may name any file: none outside of its
    collection is opened."""
    if not lies_within(root, file.replace("\0", "")):
        return None
    try:
        return page_marks(text_in(files, root / file.replace("\0", "")))
    except (DecodeError, OSError, ValueError):
        return None


def _read_baseline(root: Path, files: Files = DISK) -> baseline.Baseline:
    file = root / baseline.FILE
    text = ""
    try:
        text = text_in(files, file, baseline.LARGEST)
        return baseline.read(text)
    except (baseline.BaselineError, DecodeError) as error:
        from glost.language.errors.conflict import unfinished_merges

        source = Source(display(file), text)
        for merge in unfinished_merges(source):
            raise ConfigError(
                source,
                source.position(merge.span.start),
                merge.message,
                "keep the entries of both sides, a comma behind each but the last of its list, and delete the marks;"
                " then glost lint --prune takes out what no longer occurs; glost git-setup lets such files merge by"
                " themselves",
            ) from None
        raise ConfigError(
            Source(files.shown(file), ""),
            FIRST,
            f"this baseline cannot be read: {error.message}",
            "take it from the last commit; or delete it, and write it anew with glost lint --write-baseline",
        ) from None


class _Run:
    """What this run says of the entries of one baseline: which of them it has looked for, and which pages lie under
    another name now."""

    def __init__(
        self,
        entries: baseline.Baseline,
        root: Path,
        mine: Sequence[tuple[Finding, str]],
        looked_at: set[str],
        wish: LintOptions,
        collections: Collections,
    ) -> None:
        self._wish = wish
        self._looked_at = looked_at
        files = {file for file, _, _ in entries.counts}
        missing = {
            file for file in files - looked_at if not collections.files.has(root / file.replace("\0", ""))
        }
        # Where a page cannot be read whole, many rules say nothing; that does not mean that they found nothing. Where
        # it cannot be read at all, no rule says anything.
        self._unread = {file for finding, file in mine if finding.rule == UNREADABLE}
        self._in_doubt = {file for finding, file in mine if finding.rule == SYNTAX}
        others, were = _others(entries, root, mine, collections.files)
        fresh = {file for _, file in mine} - files | others
        gone = missing | others | were
        found = [(finding, file) for finding, file in mine if file in fresh] if gone else []
        self.moved = _moved(entries, root, gone, found, collections.files)
        self._now = {was: new for new, was in self.moved.items()}
        # A page that is there no longer may lie where a run over a part has not looked.
        self._missing = (
            missing
            if missing and collections.files is DISK and _is_whole(root, looked_at, collections)
            else set(self.moved.values())
        )
        in_doubt = self._unread or self._in_doubt
        self._whole = not in_doubt and files <= looked_at | self._missing

    def looked_for(self, key: baseline.Known) -> bool:
        """Tells whether this run would have found what an entry of the baseline names. A rule that holds files against
        each other looks for nothing while one of the files is left out, or cannot be read whole."""
        file, rule, _ = key
        if (file not in self._looked_at and file not in self._missing) or rule in self._wish.ignore:
            return False
        if self._wish.select and rule not in self._wish.select and rule != SYNTAX:
            return False
        now = self._now.get(file, file)
        if now in self._unread or (now in self._in_doubt and rule != SYNTAX):
            return False
        if self._whole:
            return True
        from glost.linter.rule import find_rule, rule_names  # 2 ms of a known page's 50

        return rule not in rule_names() or find_rule(rule).shared is None


def _others(
    entries: baseline.Baseline, root: Path, mine: Sequence[tuple[Finding, str]], files: Files
) -> tuple[set[str], set[str]]:
    """The files that hold another page now than the baseline names under them, and where these pages were: two may have
    changed names, or one was put in the place of another. Only a page with something new is looked at."""
    left = Counter(entries.counts)
    left.subtract(baseline.known_as(finding, file) for finding, file in mine)
    new = {file for (file, _, _), count in left.items() if count < 0 and file in entries.pages}
    others = {file: marks for file in new if (marks := _as_another(entries, root, file, files)) is not None}
    were = {
        file
        for file, recorded in entries.pages.items()
        if any(same_page(marks, recorded) for marks in others.values())
        and (file in others or _as_another(entries, root, file, files) is not None)
    }
    return set(others), were


def _as_another(entries: baseline.Baseline, root: Path, file: str, files: Files) -> tuple[str, ...] | None:
    """What the page in a file is known by, None where that is still the page that the baseline names, or none."""
    marks = _marks(root, file, files)
    return None if not marks or same_page(marks, entries.pages[file]) else marks


def _is_whole(root: Path, looked_at: set[str], collections: Collections) -> bool:
    there = (file for file in find([str(root)], collections) if (collections.root_of(file) or root) == root)
    return all(_below(display(file), root) in looked_at for file in there)


def _moved(
    entries: baseline.Baseline,
    root: Path,
    missing: set[str],
    fresh: Sequence[tuple[Finding, str]],
    files: Files,
) -> dict[str, str]:
    """The old names of pages that were renamed or moved, by their new ones. ``fresh``: what was found on pages that the
    baseline does not name."""
    names = sorted({file for _, file in fresh})
    found = {file: marks for file in names if (marks := _marks(root, file, files)) is not None}
    moved = baseline.moved_pages(
        {file: entries.pages[file] for file in missing if file in entries.pages}, found
    )
    # A baseline of before says nothing of its pages: one in another folder is known by the name of its file.
    unmarked = [file for file in sorted(missing) if file not in entries.pages]
    for new in found:
        alike = [file for file in unmarked if PurePosixPath(file).name == PurePosixPath(new).name]
        if new not in moved and len(alike) == 1 and alike[0] not in moved.values():
            moved[new] = alike[0]
    # An empty page has no lines to be known by: one of which the same is wrong will do.
    empty = [file for file, marks in found.items() if not marks and file not in moved] if unmarked else []
    for new in empty:
        said = Counter(baseline.known_as(one, "") for one, file in fresh if file == new)
        left = (file for file in unmarked if file not in moved.values())
        was = next((file for file in left if _held_of(entries, file) == said), None)
        if was is not None:
            moved[new] = was
    return moved


def _held_of(entries: baseline.Baseline, file: str) -> Counter[baseline.Known]:
    """What is held back of a file, as known_as would know it without its name."""
    return Counter(
        {("", rule, text): count for (of, rule, text), count in entries.counts.items() if of == file}
    )
