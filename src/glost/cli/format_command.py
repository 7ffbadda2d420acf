"""glost format."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

import click

from glost.cli import CLEAN, FINDINGS, UNUSABLE
from glost.cli.changed import ChangedCommand, changed_option, staged_option
from glost.cli.colours import note_findings, say_difference
from glost.cli.common import number_of, show_worker_lost, standard_input, status_of
from glost.cli.difference import difference
from glost.cli.errors import show_error
from glost.cli.progress import counted
from glost.cli.selection import chosen_alone, in_collection_option, not_skipped
from glost.cli.stdin_filename import check_stdin_filename, stdin_filename_option
from glost.cli.streams import note, pass_on, put, say
from glost.cli.workers import workers_option
from glost.language.errors import CR_LF
from glost.language.source import DecodeError, Source, decode
from glost.language.yaml_tree import ConfigError
from glost.linter.baseline import FILE
from glost.linter.finding import SYNTAX, Finding, unreadable
from glost.linter.reporters import plain
from glost.workspace.collection import Collections
from glost.workspace.files import FileChangedError, write_text
from glost.workspace.paths import STANDARD_INPUT, display
from glost.workspace.rewrite import hindrance
from glost.workspace.runs.format import FormattedFile, lay_out_all, lay_out_text
from glost.workspace.runs.lint_options import LintOptions
from glost.workspace.runs.processes import WorkerLostError

EXAMPLES = (
    "glost format --check corpus/studio",
    "glost format - < corpus/studio/stoneware/harbour-mist.glost",
)
"""The end of its help; both run as they stand in a clone, on the demo collection."""


@click.command(cls=ChangedCommand)
@click.argument("paths", nargs=-1, type=click.Path())
@changed_option
@staged_option
@in_collection_option
@click.option(
    "--check", is_flag=True, help="Write nothing; say which files would change, with exit status 1."
)
@click.option("--diff", is_flag=True, help="Write nothing; show what would change, with exit status 1.")
@stdin_filename_option
@workers_option
def command(
    paths: Sequence[str],
    since: str | None,
    from_index: bool,
    in_collection: bool,
    check: bool,
    diff: bool,
    stdin_filename: Path | None,
    workers: int | None,
) -> int:
    """Lay recipes out: files, folders, or - for standard input (default: this folder).

    Only white space and the spelling of numbers change. A file that cannot be read whole is left as it is, and so is
    one that is no recipe, is read-only, has a second name (a hard link) or lies behind a link that leads out.
    """
    if from_index and not (check or diff):
        raise click.UsageError("--staged writes nothing; add --check or --diff to it.")
    standard = list(paths) == [STANDARD_INPUT] and not from_index
    check_stdin_filename(stdin_filename, standard)
    if standard:
        shown = STANDARD_INPUT if stdin_filename is None else display(stdin_filename)
        return _format_standard_input(check, diff, shown)
    collections = Collections()
    try:
        if from_index:
            from glost.cli.staged import Index

            index = Index()
            collections = index.collections
            chosen, _ = index.pages(paths, settings_count=False)
            chosen = not_skipped(chosen, collections) if in_collection else chosen
        else:
            chosen = chosen_alone(paths, collections, since, in_collection)
    except ConfigError as error:
        show_error(error)
        return UNUSABLE
    how = _How(collections, from_index, in_collection, check, diff)
    try:
        laid_out = lay_out_all(chosen, workers, collections.files)
        all_laid_out = counted(laid_out, "looked at", len(chosen))
        outcomes = [_outcome(path, one, how) for path, one in zip(chosen, all_laid_out, strict=True)]
    except ConfigError as error:
        show_error(error)
        return UNUSABLE
    except WorkerLostError:
        show_worker_lost()
        return UNUSABLE
    changed = sum(outcome.changed for outcome in outcomes)
    note(_summary(len(chosen), changed, check or diff) + "\n")
    return max(
        CLEAN,
        FINDINGS if changed and (check or diff) else CLEAN,
        *(outcome.status for outcome in outcomes),
    )


class _How(NamedTuple):
    """What is done with a page that would be laid out otherwise."""

    collections: Collections
    from_index: bool
    in_collection: bool
    check: bool
    diff: bool


class _Outcome(NamedTuple):
    status: int
    changed: bool = False


def _outcome(path: Path, one: FormattedFile, how: _How) -> _Outcome:
    """Says or writes what there is of one page."""
    if one.after is None and how.in_collection and _is_held_back(path, one, how.collections):
        note(f"{plain.visible(one.file)}: {_AS_HELD_BACK}\n")
        return _Outcome(CLEAN)
    _note_faults(one)
    if not one.changed:
        return _Outcome(_undone(one))
    left = "" if how.from_index else hindrance(path, how.collections.root_of(path))
    if left:
        note(f"{plain.visible(one.file)}: left as it is: {plain.visible(left)}\n")
        return _Outcome(FINDINGS)
    if how.diff:
        say_difference(_difference(one))
    elif how.check:
        say(f"{plain.visible(one.file)}: would be laid out anew\n")
    elif not _write(path, one):
        return _Outcome(UNUSABLE)
    return _Outcome(CLEAN, changed=True)


def _undone(one: FormattedFile) -> int:
    """The exit status that a page asks for which is not laid out, or stays as it is."""
    return max(status_of(one.findings), FINDINGS if one.after is None else CLEAN)


_AS_HELD_BACK = f"not laid out: what cannot be read of it is all held back by {FILE}"


def _is_held_back(path: Path, one: FormattedFile, collections: Collections) -> bool:
    """Whether a page cannot be laid out for nothing but what the baseline of its collection knows: a hook lets
    pass what that lets pass. Raises ConfigError."""
    from glost.cli.baselines import hold_back

    findings = one.findings or _why_no_recipe(path, collections)
    return bool(findings) and not hold_back(findings, [path], LintOptions(), collections).new


def _why_no_recipe(path: Path, collections: Collections) -> Sequence[Finding]:
    """What a page lacks of which every line can be read: glost lint knows. Raises ConfigError."""
    from glost.workspace.runs.lint_file import FileLinter

    found = FileLinter(LintOptions(), collections).look(path).report.findings
    return [finding for finding in found if finding.rule == SYNTAX]


def _note_faults(one: FormattedFile) -> None:
    for finding in one.findings:
        note_findings([finding])
    if one.refused:
        # Whose doing Windows line breaks are, and what puts them right, is told once for all pages.
        why = "its lines end in CR LF; fix that first" if CR_LF in one.refused else one.refused
        note(f"{plain.visible(one.file)}: not laid out: {why}\n")


def _write(path: Path, one: FormattedFile) -> bool:
    shown = plain.visible(one.file)
    try:
        write_text(path, one.after or "", expected=one.before)
    except FileChangedError:
        note(f"{shown}: changed while it was looked at; left as it is\n")
        return False
    except OSError as error:
        note(f"{shown}: could not be written: {error.strerror}; left as it was\n")
        return False
    say(f"{shown}: laid out\n")
    return True


def _format_standard_input(check: bool, diff: bool, shown: str) -> int:
    data = standard_input()
    try:
        one = lay_out_text(Source(shown, decode(data)))
    except DecodeError as error:
        one = FormattedFile(shown, findings=(unreadable(shown, error),))
    _note_faults(one)
    if one.after is None:
        if not (check or diff):
            pass_on(data)
        return _undone(one)
    if diff:
        say_difference(_difference(one))
    elif not check:
        put(one.after.encode("utf-8"))
    return FINDINGS if one.changed and (check or diff) else CLEAN


def _difference(one: FormattedFile) -> str:
    return difference(plain.visible(one.file), one.before, one.after or "", "laid out")


def _summary(count: int, changed: int, looking: bool) -> str:
    return f"{number_of(count, 'recipe')} looked at, {changed} {'would change' if looking else 'changed'}"
