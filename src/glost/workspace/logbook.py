"""The log on the disk: one file a record, which is never written over."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Literal, NamedTuple

from glost.errors import ValueRefusedError
from glost.language.source import LARGEST_FILE, DecodeError, decode
from glost.recipe.materials.catalogue import Catalogue
from glost.records.names import slug
from glost.records.record import Record
from glost.records.text import record_of, text_of
from glost.workspace.collection import Collections
from glost.workspace.files import read_text
from glost.workspace.outputs import write_new
from glost.workspace.paths import RECORD, display

FOLDER = "log"
"""Of a collection, beside its recipes."""
ENDING = RECORD
_DIGITS = 8
"""Of the digest in a file's name. It tells apart what was recorded in one second of one recipe, no more."""

Outcome = Literal["recorded", "known", "taken"]


class Kept(NamedTuple):
    """What became of a record: ``recorded``, ``known`` where the log holds the very same, ``taken`` where the file of
    its name holds something else by now (somebody corrected it). ``twins`` are records that differ from it only in
    when they were saved."""

    path: Path
    outcome: Outcome
    twins: tuple[Path, ...] = ()


class Logged(NamedTuple):
    """A record of the log: its file, and the catalogue of the collection that it lies in."""

    path: Path
    record: Record
    catalogue: Catalogue


def folder_of(here: Path, collections: Collections) -> Path | None:
    """The log of the collection that a folder belongs to; None where it belongs to none. Raises ConfigError."""
    root = collections.of(here.absolute() / FOLDER).root
    return None if root is None else root / FOLDER


def keep(record: Record, folder: Path) -> Kept:
    """Puts a record into the log in that folder. Raises ValueError for one that the log could not give back, and
    OSError."""
    text = text_of(record)
    try:
        again = record_of(decode(text.encode("utf-8"), LARGEST_FILE))
    except DecodeError as error:
        raise ValueRefusedError(
            f"this is too long for one file of the log: {error.message}", "shorten its texts"
        ) from None
    assert again == record, "a record is not read back as it was"
    path = folder / place_of(record, text)
    for other in _under_other_names(path, record):
        return Kept(other, "known" if _holds(other, record) else "taken")
    try:
        write_new(path, text)
    except FileExistsError:
        return Kept(path, "known" if _holds(path, record) else "taken")
    return Kept(path, "recorded", tuple(_twins(path, record)))


def place_of(record: Record, text: str) -> str:
    """Where a record lies in the log: by year, then date and time of weighing, recipe, and a digest of its text. The
    same record has the same name on every machine, and two that differ do not meet, so that git has nothing to
    merge."""
    from hashlib import sha256

    digest = sha256(text.encode("utf-8")).hexdigest()[:_DIGITS]
    moment = _moment_in_a_name(record)
    return f"{moment[:4]}/{moment}-{slug(record.recipe, 'batch')}-{digest}{ENDING}"


def _moment_in_a_name(record: Record) -> str:
    return record.moment.replace(":", "-")


def _under_other_names(path: Path, record: Record) -> list[Path]:
    """Files of the log that may hold the record of that file: what a recipe's name becomes in that of a file has been
    something else before."""
    pattern = f"{_moment_in_a_name(record)}-*-{path.name[-_DIGITS - len(ENDING) :]}"
    return sorted(other for other in path.parent.glob(pattern) if other.name != path.name)


def _holds(path: Path, record: Record) -> bool:
    try:
        return record_of(read_text(path)) == record
    except DecodeError:
        return False


def _twins(path: Path, record: Record) -> Iterator[Path]:
    """Files of the same day and recipe that hold the same but for the time: a page that was saved twice."""
    pattern = f"{record.moment[:10]}T*-{slug(record.recipe, 'batch')}-{'?' * _DIGITS}{ENDING}"
    for other in sorted(path.parent.glob(pattern)):
        if other.name == path.name:
            continue
        try:
            found = record_of(read_text(other))
        except DecodeError:
            continue
        if replace(found, recorded_at=record.recorded_at) == record:
            yield other


def read(
    paths: Iterable[Path], collections: Collections
) -> tuple[list[Logged], list[tuple[str, DecodeError]]]:
    """The records in the files of a log, and those files that cannot be read, as they are shown. Raises ConfigError."""
    logged: list[Logged] = []
    unreadable: list[tuple[str, DecodeError]] = []
    for path in paths:
        try:
            record = record_of(read_text(path, check="check that it is a record of the log"))
        except DecodeError as error:
            unreadable.append((display(path), error))
        else:
            logged.append(Logged(path, record, collections.of(path).catalogue))
    return logged, unreadable
