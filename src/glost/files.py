"""Reading and writing files so that nothing is lost: an original survives a crash at any moment."""

from __future__ import annotations

import errno
import os
import stat
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from glost.language.source import LARGEST_FILE, Unreadable, decode

_PART = ".part"
"""The ending of what is being written; it is hidden too, and no command takes it for a recipe. Only a run that was
killed leaves one behind."""


def read_text(path: Path, most: int = LARGEST_FILE) -> str:
    """The text of a file of at most so many bytes. Raises Unreadable, in a potter's words, whatever stands in
    the way."""
    return decode(read_bytes(path, most), most)


def read_bytes(path: Path, most: int = LARGEST_FILE) -> bytes:
    """What a file of at most so many bytes holds. Raises Unreadable."""
    try:
        if not stat.S_ISREG(path.stat().st_mode) and not path.is_dir():
            # Opening a pipe would wait for somebody to write into it.
            raise Unreadable("this is no plain file", "name a file; standard input is read as  -")
        with path.open("rb") as file:
            data = file.read(most + 1)
            if len(data) > most:
                size = os.fstat(file.fileno()).st_size
                raise Unreadable(
                    f"this file holds {max(size, len(data)):,} bytes; {most:,} are read at most",
                    "check that it is a recipe; keep one recipe in a file",
                )
    except OSError as error:
        raise Unreadable(*_reason(error)) from None
    return data


def _reason(error: OSError) -> tuple[str, str]:
    if isinstance(error, FileNotFoundError):
        return "there is no such file", "check the path; a file may have been moved or taken away meanwhile"
    if isinstance(error, PermissionError):
        return "this file may not be read by you", "ask its owner, or change its permissions"
    if isinstance(error, IsADirectoryError):
        return "this is a folder", "name a file in it"
    return f"this file cannot be read: {error.strerror or error}", "check the disk and the path"


def write_text(path: Path, text: str, expected: str | None = None) -> None:
    """Puts ``text`` in the place of a file, whole or not at all, and keeps its mode.

    It is written beside the file, flushed to the disk, then moved over it; a link is written through. With
    ``expected`` the file must still hold that text, or the new one already. Raises OSError, or ChangedMeanwhile.
    """
    write_bytes(path, text.encode("utf-8"), None if expected is None else expected.encode("utf-8"))


def write_bytes(path: Path, data: bytes, expected: bytes | None = None) -> None:
    """As write_text, for what need not be text."""
    target = Path(os.path.realpath(path))  # pathlib would raise another error on a loop of links
    before = target.stat() if os.path.lexists(target) else None
    if before is not None and not stat.S_ISREG(before.st_mode):
        # A device or a pipe must not give way to a file; a folder cannot.
        raise OSError(errno.EINVAL, "it is no plain file")
    with _beside(target, data) as part:
        _like(before, part)
        if expected is not None and (now := target.read_bytes()) != expected:
            if now == data:  # another run has written the same
                return
            raise ChangedMeanwhile(str(path))
        part.replace(target)
    _flush_folder(target.parent)


def write_changed(path: Path, text: str) -> bool:
    """As write_text, but a file that holds exactly that text already is not touched; says whether it was written.
    Raises OSError."""
    if _holds(path, text.encode("utf-8")):
        return False
    write_text(path, text)
    return True


def _holds(path: Path, data: bytes) -> bool:
    with suppress(OSError):
        about = path.stat()
        # Reading a pipe would wait for somebody to write into it.
        return stat.S_ISREG(about.st_mode) and about.st_size == len(data) and path.read_bytes() == data
    return False


def write_new(path: Path, text: str) -> None:
    """Puts ``text`` into a file that is not there yet, whole or not at all, with the folders it lies in.

    Of two processes that write one name at once, one gets FileExistsError. On a disk without hard links the name
    is looked at just before instead. Raises OSError.
    """
    _make_folder(path.parent)
    with _beside(path, text.encode("utf-8")) as part:
        _like(None, part)
        try:
            path.hardlink_to(part)
        except OSError:
            if os.path.lexists(path):
                raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(path)) from None
            part.replace(path)
    _flush_folder(path.parent)


def _make_folder(folder: Path) -> None:
    """Makes a folder and those above it, so that a crash takes none of them away again."""
    if folder.is_dir():
        return
    # What mkdir would raise says that the file is there; another process may have made the folder just now.
    if os.path.lexists(folder) and not folder.is_dir():
        raise NotADirectoryError(errno.ENOTDIR, os.strerror(errno.ENOTDIR), str(folder))
    _make_folder(folder.parent)
    folder.mkdir(exist_ok=True)
    _flush_folder(folder.parent)


@contextmanager
def _beside(target: Path, data: bytes) -> Iterator[Path]:
    """A file that holds that beside ``target``, flushed to the disk; it is taken away where it is not moved."""
    # The name is cut, since one that is as long as the disk allows leaves no room for an ending. It is known before
    # the file is there, so that a run which is stopped between the two takes it away.
    part = target.with_name(f".{target.name[:40]}.{os.urandom(8).hex()}{_PART}")
    flags = os.O_CREAT | os.O_EXCL | os.O_WRONLY | getattr(os, "O_BINARY", 0)
    try:
        with os.fdopen(os.open(part, flags, 0o600), "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        yield part
    finally:
        with suppress(OSError):
            part.unlink()


def _like(before: os.stat_result | None, part: Path) -> None:
    """Gives the new file the mode and, where that is allowed, the owner of the one that it takes the place of."""
    if before is None:
        part.chmod(0o666 & ~_umask())
        return
    if sys.platform != "win32" and (before.st_uid, before.st_gid) != (os.geteuid(), os.getegid()):
        with suppress(OSError):
            os.chown(part, before.st_uid, before.st_gid)
    part.chmod(before.st_mode & 0o7777)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _flush_folder(folder: Path) -> None:
    with suppress(OSError):  # some file systems cannot flush a folder; the file itself is flushed already
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


class ChangedMeanwhile(Exception):
    """The file no longer holds what was read from it; it is left as it is."""
