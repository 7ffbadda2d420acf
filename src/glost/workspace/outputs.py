"""Where a command's output lands, and what it may take the place of.

Two things hold for every file that is written at somebody's wish. It is not written through a link that came with the
recipes: whoever clones a collection must not lose a file elsewhere. And it takes the place of nothing that glost did
not write: each form has a mark by which an earlier output is known.
"""

from __future__ import annotations

import errno
import os
import re
from collections.abc import Callable, Iterable
from contextlib import suppress
from pathlib import Path, PurePath

from glost.errors import GlostError
from glost.workspace import files
from glost.workspace.files import (
    HEAD,
    Content,
    ForeignFileError,
    Group,
    LinkError,
    Way,
    flush_folder,
    head_of,
    is_link,
    leads_elsewhere,
    look_at,
    write_below,
)
from glost.workspace.paths import SETTINGS, display

ANY = re.compile("")
"""The mark of a file that may be written over whatever it holds."""

_TOPS = (SETTINGS, ".git")
"""What lies in the top folder of a collection, or of a repository."""


class OutputError(GlostError, OSError):
    """An output that is not written. To whoever asks the system's way it is one that is not permitted."""

    def __init__(self, message: str, hint: str) -> None:
        super().__init__(message, hint)
        self.errno = errno.EPERM
        self.strerror = str(self)


class ForeignOutputError(OutputError):
    """Files that glost did not write, in the place of outputs."""

    def __init__(self, paths: Iterable[Path]) -> None:
        first, *others = paths
        many = f" and {len(others)} more files were" if others else " was"
        super().__init__(
            f"'{display(first)}'{many} not written by glost, and would be lost",
            "name another place, or write over what is there with --force",
        )


class Outputs:
    """The files that one run writes below a folder. ``mark`` is found in the head of whatever glost has written in that
    form; ``force``: anything is written over that is no link. ``many``: files wait for their names in groups, and
    the folders that they lie in are flushed to the disk by flush(), once each and not at every file; each file is there
    whole or not at all either way. Then it is used in a ``with``, so that nothing waits where the run ends before
    flush()."""

    def __init__(self, folder: Path, mark: re.Pattern[str], force: bool = False, many: bool = False) -> None:
        """Raises OutputError where a link leads out of where the folder seems to lie."""
        self._named = folder
        self._place = _place_of(folder)
        self._mark = mark
        self._force = force
        self._group = Group(self._place) if many else None
        self._unflushed: set[str] = set()

    def __enter__(self) -> Outputs:
        return self

    def __exit__(self, *left: object) -> None:
        if self._group is not None:
            self._group.__exit__(*left)

    def lying(self, inner: Iterable[Way]) -> set[str]:
        """Those of these files in whose place something lies. Raises OutputError where a link lies on the way to one of
        them, or in its place."""
        place = str(self._place)
        folders: dict[str, bool] = {"": os.path.lexists(place)}
        links: list[PurePath] = []

        def lies(way: str) -> bool:
            folder = os.path.dirname(way)  # noqa: PTH120 (as texts, here and below: see Group.write)
            if folder not in folders:
                folders[folder] = lies(folder)
            # What lies in a folder that is not there need not be asked: with a new one that is all of it.
            about = look_at(os.path.join(place, way)) if folders[folder] else None  # noqa: PTH118
            if leads_elsewhere(about):
                links.append(PurePath(way))
            return about is not None

        found = {way for way in map(str, inner) if lies(way)}
        if links:
            raise self._link(min(links))
        return found

    def check(self, inner: Iterable[Way]) -> None:
        """Raises OutputError where glost did not write what lies in the place of one of these files, OSError where that
        cannot be looked at."""
        foreign = [
            self._named / path
            for path in inner
            if os.path.lexists(there := self._place / path) and not self._may_replace(head_of(there))
        ]
        if foreign:
            raise ForeignOutputError(foreign)

    def write(self, inner: Way, text: Content) -> bool:
        """Puts a text, or bytes, into a file, whole or not at all; says whether it was written, since a file that holds
        it already is not touched. A text that comes in pieces is never held whole. Raises OutputError, OSError."""
        try:
            if self._group is not None:
                written = self._group.write(inner, text, self._may_replace)
            else:
                written = write_below(self._place, inner, text, self._may_replace)
            if written:
                self._unflushed.add(os.path.dirname(inner))  # noqa: PTH120
                if self._group is None:
                    self.flush()
            return written
        except LinkError as found:
            raise self._link(found.path) from None
        except ForeignFileError as found:
            raise ForeignOutputError([self._named / found.path]) from None

    def flush(self) -> None:
        """Gives those that wait their names, and sees to it that a crash takes no file away that was written. Raises
        OSError."""
        if self._group is not None:
            self._group.place()
        for folder in sorted(self._unflushed):
            flush_folder(self._place / folder)
        self._unflushed.clear()

    def place_of(self, inner: PurePath) -> Path:
        """Where one of these files lies."""
        return self._place / inner

    def take_away(self, inner: PurePath, is_still: Callable[[bytes], bool]) -> bool:
        """Takes a file away that glost wrote in that form and that ``is_still`` what it was, with the folders that are
        empty then; says whether it did. No link is followed, and nothing else is taken. Raises OSError."""
        there = self._place / inner
        ways = (self._place / PurePath(*inner.parts[:at]) for at in range(1, len(inner.parts) + 1))
        if any(map(is_link, ways)) or not there.is_file():
            return False
        data = there.read_bytes()
        if self._mark.search(data[:HEAD].decode("utf-8", "replace")) is None or not is_still(data):
            return False
        there.unlink()
        with suppress(OSError):  # a folder that holds anything else stays
            for above in inner.parents:
                if above.parts:
                    (self._place / above).rmdir()
        return True

    def _may_replace(self, head: bytes) -> bool:
        return self._force or not head or self._mark.search(head.decode("utf-8", "replace")) is not None

    def _link(self, inner: PurePath) -> OutputError:
        there = self._named / inner
        return OutputError(
            f"'{display(there)}' is a link, to '{_target(there)}', and nothing is written through it",
            "take the link away, or name another folder",
        )


class OneOutput:
    """One file that a run writes."""

    def __init__(
        self, file: Path, mark: re.Pattern[str], force: bool = False, with_folder: bool = False
    ) -> None:
        """``with_folder``: the folder is made where it is not there. Raises OutputError."""
        place = _place_of(file)
        self._with_folder = with_folder
        self._folder = place.parent
        self._file = file
        self._inner = PurePath(place.name)
        self._outputs = Outputs(place.parent, mark, force)

    def check(self) -> None:
        """Raises OutputError where the file cannot be written, OSError where it cannot be looked at."""
        try:
            self._outputs.check([self._inner])
        except ForeignOutputError:
            raise ForeignOutputError([self._file]) from None

    def write(self, text: Content) -> bool:
        """As Outputs.write."""
        if not self._with_folder:
            self._folder.stat()
        try:
            return self._outputs.write(self._inner, text)
        except ForeignOutputError:
            raise ForeignOutputError([self._file]) from None


def write_new(path: Path, text: str | bytes) -> None:
    """Puts a text, or bytes, into a file that is not there yet, with the folders that it lies in. Raises OutputError
    where a link on the way leads out, OSError."""
    files.write_new(_place_of(path.parent) / path.name, text)


def _place_of(named: Path) -> Path:
    """Where a file or folder lies. Raises OutputError where a link on the way to it, or in its place, lies in a
    collection, a repository or the working folder and leads out of there, or to what is hidden there. Any other link is
    the user's own."""
    at = Path(named.absolute().anchor)
    for part in named.absolute().parts[1:]:
        at = Path(os.path.realpath(at)).parent if part == os.pardir else at / part
        if is_link(at):
            if not at.exists():
                raise OutputError(
                    f"'{display(named)}' could not be written: '{display(at)}' is a link that leads nowhere",
                    "take the link away",
                )
            top, place = _top_of(Path(os.path.realpath(at.parent))), Path(os.path.realpath(at))
            if top is not None and not _lies_openly_in(place, top):
                raise OutputError(
                    f"'{display(at)}' is a link that leads out of '{display(top)}', to '{place}', and nothing is "
                    "written through it",
                    "name that place itself, or take the link away",
                )
    return Path(os.path.realpath(named))


def _top_of(folder: Path) -> Path | None:
    """The nearest folder, from here upwards, of a collection or a repository; else the working folder where this one
    lies in it; else None."""
    for above in (folder, *folder.parents):
        if any(os.path.lexists(above / name) for name in _TOPS):
            return above
    here = Path(os.path.realpath(Path.cwd()))
    return here if folder.is_relative_to(here) else None


def _lies_openly_in(place: Path, top: Path) -> bool:
    if not place.is_relative_to(top):
        return False
    return not any(part.startswith(".") for part in place.relative_to(top).parts)


def _target(link: Path) -> str:
    try:
        return str(link.readlink())
    except OSError:
        return os.path.realpath(link)
