"""What several commands share: the paths they take, and how they report what cannot be read."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from glost.cli import CLEAN, FINDINGS, UNUSABLE
from glost.cli.colours import note_findings
from glost.cli.streams import note, take
from glost.language.source import LARGEST_FILE
from glost.linter.finding import UNREADABLE, Finding
from glost.linter.reporters import plain
from glost.workspace.collection import Collections, PathNotFoundError, find
from glost.workspace.paths import ENDING, MATERIALS, RECORD, SETTINGS, STANDARD_INPUT, STOCK

if TYPE_CHECKING:
    from click import UsageError


def files(
    paths: Sequence[str],
    collections: Collections,
    ending: str | tuple[str, ...] = ENDING,
    told: bool = True,
) -> list[Path]:
    """The recipe files meant by the paths of a command, or those of another ending. What is named though a walk would
    leave it out is taken, and told. Raises UsageError where a path is not there, ConfigError where a collection's
    settings cannot be taken."""
    from click import UsageError

    if STANDARD_INPUT in paths:
        raise UsageError("standard input (-) is read by itself; a file of that name is given as ./-")
    try:
        found = find(paths or ["."], collections, ending)
        if told:
            show_left_out(paths, collections)
        return found
    except PathNotFoundError as error:
        why = f" ({error.why})" if error.why else ""
        raise UsageError(f"there is no file or folder '{plain.visible(error.path)}'{why}.") from None


def recipe_files(
    paths: Sequence[str], collections: Collections, ending: str | tuple[str, ...] = ENDING
) -> list[Path]:
    """The files of the recipes that a command is about, as files() finds them; that there are none is told."""
    found = files(paths, collections, ending)
    if not found:
        show_none_found(paths)
    return found


def show_none_found(paths: Sequence[str]) -> None:
    """Prints that there is no recipe, so that nobody takes a run in the wrong folder for a clean one."""
    there = ", ".join(map(plain.visible, paths)) if [*paths] not in ([], ["."]) else "this folder"
    note(
        f"glost: no recipe found in {there}: a recipe is a file that ends in {ENDING}; 'glost new' begins one\n"
    )


def show_left_out(paths: Sequence[str], collections: Collections) -> None:
    """Prints what is taken since it is named, though a walk from above would leave it out. Raises ConfigError."""
    for path in paths or ["."]:
        why = collections.left_out(Path(path))
        if why:
            note(f"glost: {plain.visible(path)} is left out by {plain.visible(why)}; named, it is taken\n")


_KEPT = (SETTINGS, MATERIALS, "glost-baseline.json")
"""Files of a collection that no report and no sheet is ever meant to take the place of."""


def known_by(path: Path) -> str:
    """A path as git knows it: through links to the folder that it lies in, but not through itself."""
    return f"{os.path.realpath(path.parent)}{os.sep}{path.name}"


def no_collection(otherwise: str) -> UsageError:
    """What is told where there is no collection whose log could be meant; ``otherwise``: what else may be done."""
    from click import UsageError

    return UsageError(
        f"this folder belongs to no collection (there is no glost.yaml here or above); go to one, {otherwise}."
    )


def keep_recipes(
    targets: Iterable[Path | str], recipes: Iterable[Path], collections: Collections | None
) -> None:
    """Raises UsageError where an output would be written over a recipe, a record or what a collection consists of;
    ConfigError where the settings of that collection cannot be taken. ``collections`` None: they could not, so that
    only the usual names are known."""
    from click import UsageError

    known: set[tuple[int, int] | None] | None = None
    for target in map(str, targets):
        name = os.path.basename(target)  # noqa: PTH119 (as texts: there are thousands)
        lies = os.path.lexists(target)
        if lies and known is None:  # where nothing lies, no recipe does, and none of them need be looked at
            known = {_identity(path) for path in recipes} - {None}
        if name.endswith(ENDING) or (lies and known and _identity(target) in known):
            raise UsageError(f"'{plain.visible(target)}' is a recipe, and would be lost.")
        if name.endswith((RECORD, STOCK)):
            raise UsageError(f"'{plain.visible(target)}' is a record of the log, and would be lost.")
        if lies and (
            name in _KEPT or (collections is not None and _holds_materials(Path(target), collections))
        ):
            raise UsageError(f"'{plain.visible(target)}' belongs to the collection, and would be lost.")


def _holds_materials(target: Path, collections: Collections) -> bool:
    """Whether a file is the one that its collection's settings name for the materials."""
    root, settings, _, _ = collections.of(target)
    if root is None or settings.materials is None:
        return False
    return _identity(target) == _identity(root / settings.materials)


def _identity(path: Path | str) -> tuple[int, int] | None:
    """What a file is known by, however its name is written."""
    try:
        found = os.stat(path)  # noqa: PTH116
    except OSError:
        return None
    return found.st_dev, found.st_ino


def show_worker_lost() -> None:
    """Prints that a process which worked for this one was ended from outside."""
    note("glost: one of the processes that looked at the files was ended from outside; try --workers 1\n")


def note_partly_read(count: int, consequence: str) -> None:
    """Prints that so many files were not read whole, and what that may mean for the answer."""
    note(
        f"glost: {number_of(count, 'file')} {'is' if count == 1 else 'are'} not wholly readable, and {consequence}\n"
    )


def show_not_known(reasons: Mapping[str, int]) -> None:
    """Prints why git does not say which revision a recipe is, for each reason of how many."""
    for why, count in reasons.items():
        note(f"glost: the revision of {number_of(count, 'recipe')} is not known: {plain.visible(why)}\n")


def status_of(findings: Iterable[Finding]) -> int:
    """The exit status of a command that was kept from its work by these. Whatever a command makes of pages, it has the
    same for the same page: what was read and is to be fixed there is a finding, what was not read at all is none."""
    status = CLEAN
    for finding in findings:
        status = max(status, UNUSABLE if finding.rule == UNREADABLE else FINDINGS)
    return status


def show_undone(file: str, findings: Sequence[Finding], undone: str) -> int:
    """Prints why a recipe cannot be taken, and what is left ``undone`` with it ("not converted"). The exit status that
    asks for."""
    note_findings(findings)
    status = status_of(findings)
    if status != UNUSABLE:
        note(f"{plain.visible(file)}: {undone}; fix it first\n")
    return status


def standard_input() -> bytes:
    """Standard input, as bytes; a little more than a recipe may hold is enough to refuse it. Raises UsageError
    where there is nothing that could be read."""
    from click import UsageError

    try:
        return take(LARGEST_FILE + 1)
    except OSError as error:
        raise UsageError(f"standard input cannot be read: {error.strerror or error}.") from None


def number_of(number: int, word: str) -> str:
    """Such as "3 findings"."""
    return f"{number} {word}{'s' if number != 1 else ''}"
