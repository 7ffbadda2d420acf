"""Reading and writing files so that nothing is lost: an original survives a crash at any moment."""

from __future__ import annotations

import os
import stat
from contextlib import suppress
from pathlib import Path

from glost.language.source import LARGEST_FILE, Unreadable, decode


def read_text(path: Path, most: int = LARGEST_FILE) -> str:
    """The text of a file of at most so many bytes. Raises Unreadable, in a potter's words, whatever stands in
    the way."""
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
    return decode(data, most)


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
    ``expected`` the file must still hold that text. Raises OSError, or ChangedMeanwhile.
    """
    target = path.resolve()
    if expected is not None and target.read_bytes() != expected.encode("utf-8"):
        raise ChangedMeanwhile(str(path))
    import tempfile

    handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.", suffix=".part")
    part = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(text.encode("utf-8"))
            file.flush()
            os.fsync(file.fileno())
        part.chmod(target.stat().st_mode & 0o7777 if target.exists() else 0o666 & ~_umask())
        part.replace(target)
    except BaseException:
        with suppress(OSError):
            part.unlink()
        raise
    _flush_folder(target.parent)


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
