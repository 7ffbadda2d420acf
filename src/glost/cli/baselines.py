"""The baselines of collections: findings held back, and written down to be held back."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

from glost.cli import CLEAN, UNUSABLE
from glost.cli.common import number_of
from glost.cli.errors import show_error
from glost.cli.streams import note
from glost.errors import FIRST
from glost.language.source import DecodeError, Source
from glost.language.yaml_tree import ConfigError
from glost.linter import baseline
from glost.linter.finding import SYNTAX, UNREADABLE, Finding
from glost.linter.reporters import plain
from glost.linter.rule import find_rule, rule_names
from glost.workspace.collection import Collections
from glost.workspace.files import read_text
from glost.workspace.paths import display, whole
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
    findings: Sequence[Finding], paths: Sequence[Path], wish: LintOptions, collections: Collections
) -> baseline.Held:
    """The findings that no baseline of their collections knows. Raises ConfigError."""
    new: list[Finding] = []
    known = 0
    gone: list[tuple[baseline.Known, int]] = []
    for root, (mine, looked_at) in _by_collection(findings, paths, collections).items():
        if not os.path.lexists(root / baseline.FILE):
            new += (finding for finding, _ in mine)
            continue
        entries = _read_baseline(root)
        held = baseline.hold_back(mine, entries, _looked_for(entries, root, looked_at, wish))
        new += held.new
        known += held.known
        gone += held.gone
    new.sort(key=lambda finding: finding.order)
    return baseline.Held(new, known, gone)


def write_baselines(
    findings: Sequence[Finding], paths: Sequence[Path], wish: LintOptions, collections: Collections
) -> int:
    """Holds all findings back from now on; the exit status. Raises ConfigError."""
    from glost.workspace.outputs import ANY, OneOutput, OutputError

    broken = [finding for finding in findings if finding.rule == UNREADABLE]
    if broken:
        note(plain.text(broken))
        note("no baseline written: a file that cannot be read cannot be held back\n")
        return UNUSABLE
    for root, (mine, looked_at) in _by_collection(findings, paths, collections).items():
        file = root / baseline.FILE
        old = _read_baseline(root) if os.path.lexists(file) else Counter()
        known = (baseline.known_as(finding, name) for finding, name in mine)
        entries = baseline.renewed(known, old, _looked_for(old, root, looked_at, wish))
        try:
            OneOutput(file, ANY, force=True).write(baseline.write(entries))  # it was read as a baseline
        except OutputError as refused:
            show_error(refused)
            return UNUSABLE
        except OSError as error:
            note(f"{plain.visible(display(file))} could not be written: {error.strerror}\n")
            return UNUSABLE
        note(
            f"{plain.visible(display(file))}: {number_of(entries.total(), 'finding')} held back from now on\n"
        )
    return CLEAN


def _read_baseline(root: Path) -> Counter[baseline.Known]:
    file = root / baseline.FILE
    try:
        return baseline.read(read_text(file, baseline.LARGEST))
    except (baseline.BaselineError, DecodeError) as error:
        raise ConfigError(
            Source(display(file), ""),
            FIRST,
            f"this baseline cannot be read: {error.message}",
            "take it from the last commit; or delete it, and write it anew with glost lint --write-baseline",
        ) from None


def _looked_for(
    entries: Iterable[baseline.Known], root: Path, looked_at: set[str], wish: LintOptions
) -> Callable[[baseline.Known], bool]:
    """Tells whether this run would have found what an entry of the baseline names. A rule that holds files against
    each other looks for nothing while one of the files is left out."""
    there = looked_at | {
        file
        for file in {file for file, _, _ in entries} - looked_at
        if not os.path.lexists(root / file.replace("\0", ""))
    }
    whole = all(file in there for file, _, _ in entries)

    def looked_for(key: baseline.Known) -> bool:
        file, rule, _ = key
        if file not in there or rule in wish.ignore:
            return False
        if wish.select and rule not in wish.select and rule != SYNTAX:
            return False
        return whole or rule not in rule_names() or find_rule(rule).shared is None

    return looked_for
