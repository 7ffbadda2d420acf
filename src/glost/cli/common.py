"""What several commands share: the paths they take, and how they report what cannot be read."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal
from pathlib import Path

import click

from glost.cli import FINDINGS, UNUSABLE
from glost.cli.streams import note, take
from glost.collection import ENDING, STANDARD_INPUT, Collections, NoSuchPath, batch_from, find, misread
from glost.language.source import LARGEST_FILE
from glost.lint.finding import UNREADABLE, Finding
from glost.lint.reporters import plain
from glost.yamlfile import Misread

WORKERS = click.option(
    "--workers", type=click.IntRange(1, 64), metavar="N", help="Processes to use.  [default: one a core]"
)


class MassType(click.ParamType[Decimal]):
    """A mass with its unit, in grams."""

    name = "mass"

    def convert(self, value: object, param: click.Parameter | None, context: click.Context | None) -> Decimal:
        if isinstance(value, Decimal):
            return value
        try:
            mass = batch_from(str(value))
        except ValueError as error:
            self.fail(str(error), param, context)
        if mass is None:
            self.fail("write a mass such as 500 g", param, context)
        return mass


def files(paths: Sequence[str], collections: Collections, ending: str = ENDING) -> list[Path]:
    """The recipe files meant by the paths of a command, or those of another ending. Raises UsageError where a path
    is not there, Misread where a collection's settings cannot be taken."""
    if STANDARD_INPUT in paths:
        raise click.UsageError("standard input (-) is read by itself; a file of that name is given as ./-")
    try:
        return find(paths or ["."], collections, ending)
    except NoSuchPath as error:
        why = f" ({error.why})" if error.why else ""
        raise click.UsageError(f"there is no file or folder '{plain.visible(str(error))}'{why}.") from None


def keep_recipes(targets: Iterable[Path], recipes: Iterable[Path]) -> None:
    """Raises UsageError where something other than a recipe would be written over one."""
    known = {_identity(path) for path in recipes} - {None}
    for target in targets:
        if target.name.endswith(ENDING) or _identity(target) in known:
            raise click.UsageError(f"'{plain.visible(str(target))}' is a recipe, and would be lost.")


def _identity(path: Path) -> tuple[int, int] | None:
    """What a file is known by, however its name is written."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


def show_misread(error: Misread) -> None:
    """Prints what is wrong with a settings or materials file."""
    note(plain.text([misread(error)]))


def show_worker_lost() -> None:
    """Prints that a process which worked for this one was ended from outside."""
    note("glost: one of the processes that looked at the files was ended from outside; try --workers 1\n")


def show_undone(file: str, findings: Sequence[Finding], undone: str) -> int:
    """Prints why a recipe cannot be taken, and what is left ``undone`` with it ("not converted"). The exit status that
    asks for."""
    note(plain.text(findings))
    if any(finding.rule == UNREADABLE for finding in findings):
        return UNUSABLE
    note(f"{plain.visible(file)}: {undone}; mend it first\n")
    return FINDINGS


def standard_input() -> bytes:
    """Standard input, as bytes; a little more than a recipe may hold is enough to refuse it. Raises UsageError
    where there is nothing that could be read."""
    try:
        return take(LARGEST_FILE + 1)
    except OSError as error:
        raise click.UsageError(f"standard input cannot be read: {error.strerror or error}.") from None
