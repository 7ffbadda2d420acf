"""Reading and writing files so that nothing is lost: an original survives a crash at any moment."""

from __future__ import annotations

import errno
import functools
import os
import stat
import sys
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path, PurePath
from typing import Final, TypeAlias

from glost.errors import GlostError
from glost.language.source import LARGEST_FILE, ONE_RECIPE, DecodeError, decode

_PART = ".part"
"""The ending of what is being written; it is hidden too, and no command takes it for a recipe. Only a run that was
killed leaves one behind, and a later one that writes in the same folder takes it away."""
_PART_NAME = r"\..{1,40}\.[0-9a-f]{16}\.part"
_LEFT_BEHIND = 60 * 60
"""Seconds after which nobody is still writing a file: that takes less than one."""


def read_text(path: Path, most: int = LARGEST_FILE, check: str = "") -> str:
    """The text of a file of at most so many bytes. ``check`` as in decode. Raises DecodeError, in a potter's words,
    whatever stands in the way."""
    return decode(read_bytes(path, most, check), most, check)


def read_bytes(path: Path, most: int = LARGEST_FILE, check: str = "") -> bytes:
    """What a file of at most so many bytes holds. ``check`` as in decode. Raises DecodeError."""
    try:
        mode = os.stat(path).st_mode  # noqa: PTH116 (pathlib takes three times as long)
        if not stat.S_ISREG(mode) and not stat.S_ISDIR(mode):
            # Opening a pipe would wait for somebody to write into it.
            raise DecodeError("this is no plain file", "name a file; standard input is read as  -")
        with open(path, "rb") as file:  # noqa: PTH123
            data = file.read(most + 1)
            if len(data) > most:
                size = os.fstat(file.fileno()).st_size
                raise DecodeError(
                    f"this file holds {max(size, len(data)):,} bytes; {most:,} are read at most",
                    check or ONE_RECIPE,
                )
    except OSError as error:
        raise DecodeError(*_reason(error)) from None
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
    ``expected`` the file must still hold that text, or the new one already. Raises OSError, or FileChangedError.
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
            raise FileChangedError
        part.replace(target)
    flush_folder(target.parent)


def _holds(path: Path, data: bytes) -> bool:
    with suppress(OSError):
        about = path.stat()
        # Reading a pipe would wait for somebody to write into it.
        return stat.S_ISREG(about.st_mode) and about.st_size == len(data) and path.read_bytes() == data
    return False


def write_new(path: Path, text: str | bytes) -> None:
    """Puts ``text``, or bytes, into a file that is not there yet, whole or not at all, with the folders it lies in.

    Of two processes that write one name at once, one gets FileExistsError. On a disk without hard links the name
    is looked at just before instead. Raises OSError.
    """
    _make_folder(path.parent)
    with _beside(path, text.encode("utf-8") if isinstance(text, str) else text) as part:
        _like(None, part)
        try:
            path.hardlink_to(part)
        except OSError:
            if os.path.lexists(path):
                raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(path)) from None
            part.replace(path)
    flush_folder(path.parent)


def _make_folder(folder: Path) -> None:
    """Makes a folder and those above it, so that a crash takes none of them away again."""
    if folder.is_dir():
        return
    # What mkdir would raise says that the file is there; another process may have made the folder just now.
    if os.path.lexists(folder) and not folder.is_dir():
        raise NotADirectoryError(errno.ENOTDIR, os.strerror(errno.ENOTDIR), str(folder))
    _make_folder(folder.parent)
    folder.mkdir(exist_ok=True)
    flush_folder(folder.parent)


@contextmanager
def _beside(target: Path, data: bytes) -> Iterator[Path]:
    """A file that holds that beside ``target``, flushed to the disk; it is taken away where it is not moved."""
    # It is known before the file is there, so that a run which is stopped between the two takes it away.
    part = target.with_name(_part_of(target.name))
    _sweep(str(target.parent))
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


@functools.cache
def _sweep(folder: str) -> None:
    """Takes away what runs that were killed have left in a folder; done once a run."""
    import re
    import time

    oldest = time.time() - _LEFT_BEHIND
    with suppress(OSError), os.scandir(folder) as entries:
        for entry in entries:
            if not entry.name.endswith(_PART) or not re.fullmatch(_PART_NAME, entry.name, re.DOTALL):
                continue
            with suppress(OSError):
                about = entry.stat(follow_symlinks=False)
                if stat.S_ISREG(about.st_mode) and about.st_mtime < oldest:
                    os.unlink(entry.path)  # noqa: PTH108


def _part_of(name: str) -> str:
    # It is cut, since a name that is as long as the disk allows leaves no room for an ending.
    return f".{name[:40]}.{os.urandom(8).hex()}{_PART}"


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


def flush_folder(folder: Path) -> None:
    """Sees to it that a crash takes no name away that was given in a folder."""
    with suppress(OSError):  # some file systems cannot flush a folder; the file itself is flushed already
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


class FileChangedError(GlostError):
    """The file no longer holds what was read from it; it is left as it is."""

    def __init__(self) -> None:
        super().__init__(
            "this file was changed while it was looked at; it is left as it is", "run the command again"
        )


HEAD = 1 << 16
"""Bytes by which an earlier output is known."""
_REPARSE_POINT = 0x400
"""FILE_ATTRIBUTE_REPARSE_POINT, of links and junctions (Windows documentation, "File Attribute Constants")."""


class ForeignFileError(GlostError):
    """What lies in the place of an output is not to be written over; ``path`` is where, below the folder."""

    def __init__(self, path: PurePath) -> None:
        super().__init__(f"'{path}' is not to be written over")
        self.path = path


class LinkError(GlostError):
    """A link lies on the way to an output, or in its place; ``path`` is where, below the folder."""

    def __init__(self, path: PurePath) -> None:
        super().__init__(f"'{path}' is a link")
        self.path = path


_HANDLES = {os.open, os.mkdir, os.stat, os.rename, os.unlink} <= os.supports_dir_fd
"""Whether the system opens folders, so that a file can be named from there and nothing else be meant meanwhile."""


Content: TypeAlias = str | bytes | Iterator[str]
"""What a file is to hold; a long text comes in pieces."""


Way: TypeAlias = str | PurePath
"""A file by its way from a folder; as a text it has / between folders."""


def write_below(folder: Path, inner: Way, text: Content, may_replace: Callable[[bytes], bool]) -> bool:
    """Puts ``text`` into a file below a folder, whole or not at all, with the folders that it lies in; says whether it
    was written, since a file that holds exactly that text is not touched. A text that comes in pieces is never held
    whole.

    No link is followed below the folder. What lies in the place of the file is shown to ``may_replace`` first. The
    folder that it lies in is left to be flushed by whoever asks. Raises OSError, LinkError, ForeignFileError.
    """
    with Group(folder) as group:
        written = group.write(inner, text, may_replace)
        group.place()
    return written


class _Part:
    """A file that has not got its name yet. ``folder`` is the handle of the one that it lies in, ``handle`` its own as
    long as it is open; ``whole``: all of it is written, and no flush of it failed. No dataclass: without them a lint of
    known pages starts in 42 ms for 50."""

    def __init__(self, folder: int, name: str, target: str) -> None:
        self.folder = folder
        self.name = name
        self.target = target
        self.handle: int | None = None
        self.whole = False


_AT_ONCE: Final = 64
"""Files that wait for their names together: so many that the disk has them at hand, and so few that they may all be
open."""


class Group:
    """Files that are put below one folder as write_below does, but that wait for their names: they are flushed to the
    disk some dozens at a time, which spares half of what it takes to flush each as it is written. Used in a ``with``:
    where that is left by an interrupt or an error, what is whole gets its name, and the rest is taken away."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._waiting: deque[_Part] = deque()
        self._folders: dict[str, int] = {}

    def __enter__(self) -> Group:
        return self

    def __exit__(self, *_: object) -> None:
        try:
            for part in [one for one in self._waiting if not one.whole]:
                self._take_away(part)
                self._waiting.remove(part)
            with suppress(OSError):  # the run ends already, and says why
                self.place()
        finally:
            for part in self._waiting:
                self._take_away(part)
            self._let_go()

    def write(self, inner: Way, text: Content, may_replace: Callable[[bytes], bool]) -> bool:
        """As write_below; the file has its name after place() at the latest."""
        pieces = _encoded(text)
        data = None if isinstance(text, Iterator) else b"".join(pieces)
        # Paths as texts: to take each apart was half the time of writing a sheet.
        above, name = os.path.split(inner)
        folder = self._folders.get(above)
        before = self._before(inner) if folder is None else look_at(name, folder)
        if before is not None:
            target = self._folder / inner
            if leads_elsewhere(before):
                raise LinkError(PurePath(inner))
            if not stat.S_ISREG(before.st_mode):
                raise OSError(errno.EINVAL, "it is no plain file")
            if data is not None and _holds(target, data):
                return False
            if not may_replace(head_of(target)):
                raise ForeignFileError(PurePath(inner))
        if folder is None:
            _make_folder(self._folder / above)
            _sweep(str(self._folder / above))
            if not _HANDLES:
                write_bytes(self._folder / inner, b"".join(pieces) if data is None else data)
                return True
            folder = self._folders[above] = _opened_below(self._folder, PurePath(inner))
        written = self._write_in(folder, name, pieces if data is None else data, before)
        if len(self._waiting) >= _AT_ONCE:
            self.place()
        return written

    def _before(self, inner: Way) -> os.stat_result | None:
        """What lies in the place of a file whose folder was not looked at yet. Raises LinkError."""
        parts = PurePath(inner).parts
        before: os.stat_result | None = None
        for at in range(1, len(parts) + 1):
            before = look_at(self._folder.joinpath(*parts[:at]))
            if leads_elsewhere(before):
                raise LinkError(PurePath(*parts[:at]))
        return before

    def _write_in(
        self, folder: int, name: str, data: bytes | Iterable[bytes], before: os.stat_result | None
    ) -> bool:
        """Writes what is to have that name in an opened folder: a link there would be replaced, never followed. Says
        whether anything else lies there."""
        # It is known before the file is there, so that a run which is stopped between the two takes it away.
        part = _Part(folder, _part_of(name), name)
        self._waiting.append(part)
        flags = os.O_CREAT | os.O_EXCL | os.O_WRONLY | os.O_NOFOLLOW
        # What takes the place of a file that few may read is at no moment read by more.
        mode = 0o666 if before is None else 0o600
        part.handle = os.open(part.name, flags, mode, dir_fd=folder)
        if isinstance(data, bytes):
            _write_all(part.handle, data)
        else:
            with os.fdopen(part.handle, "wb", closefd=False) as file:
                file.writelines(data)
        if before is None:
            part.whole = True
            return True
        if _alike(folder, part.name, name):
            self._take_away(self._waiting.pop())
            return False
        if (before.st_uid, before.st_gid) != (os.geteuid(), os.getegid()):
            with suppress(OSError):
                os.fchown(part.handle, before.st_uid, before.st_gid)
        os.fchmod(part.handle, before.st_mode & 0o7777)
        part.whole = True
        return True

    def place(self) -> None:
        """Flushes to the disk what waits, then gives each its name. Raises OSError."""
        unflushed = [(part, part.handle) for part in self._waiting if part.handle is not None]
        for _, handle in unflushed:
            _begin_to_flush(handle)
        for part, handle in unflushed:
            part.whole = False  # a disk that has lost something says so once
            os.fsync(handle)
            part.handle = None
            os.close(handle)
            part.whole = True
        while self._waiting:
            part = self._waiting[0]
            os.replace(part.name, part.target, src_dir_fd=part.folder, dst_dir_fd=part.folder)
            self._waiting.popleft()
        self._let_go()

    @staticmethod
    def _take_away(part: _Part) -> None:
        with suppress(OSError):
            if part.handle is not None:
                os.close(part.handle)
        with suppress(OSError):  # one that has its name already is not there any more
            os.unlink(part.name, dir_fd=part.folder)

    def _let_go(self) -> None:
        """Folders are held open no longer than files in them wait."""
        for handle in self._folders.values():
            os.close(handle)
        self._folders.clear()


def _write_all(handle: int, data: bytes) -> None:
    """Writes it as it is: a file object, which asks the system three things before, takes twice as long."""
    left = memoryview(data)
    while left:
        left = left[os.write(handle, left) :]


def _begin_to_flush(handle: int) -> None:
    """Lets the disk begin with a file, so that it has all of a group at hand when the first is waited for: half the
    time. Nothing depends on it."""
    if hasattr(os, "posix_fadvise"):
        with suppress(OSError):
            os.posix_fadvise(handle, 0, 0, os.POSIX_FADV_DONTNEED)


def _encoded(text: Content) -> Iterator[bytes]:
    return map(as_bytes, [text] if isinstance(text, str | bytes) else text)


def as_bytes(text: str | bytes) -> bytes:
    """What a file holds that text, or bytes, are written to. The bytes of a file name that are not UTF-8 come as halves
    of a character, which no file can hold."""
    return text.encode("utf-8", "backslashreplace") if isinstance(text, str) else text


def head_of(path: Path) -> bytes:
    """How a plain file begins; b"" for anything else. Raises OSError."""
    if not stat.S_ISREG(path.lstat().st_mode):
        return b""
    with path.open("rb") as file:
        return file.read(HEAD)


def is_link(path: Path | str) -> bool:
    """Whether a path itself leads elsewhere: a link, or what serves as one on Windows."""
    return leads_elsewhere(look_at(path))


def look_at(path: Path | str, folder: int | None = None) -> os.stat_result | None:
    """What lies at a path, or at one from an opened folder, links not followed; None where nothing is to be found."""
    try:
        return os.lstat(path, dir_fd=folder)
    except (OSError, ValueError):
        return None


def leads_elsewhere(about: os.stat_result | None) -> bool:
    return about is not None and (
        stat.S_ISLNK(about.st_mode) or bool(getattr(about, "st_file_attributes", 0) & _REPARSE_POINT)
    )


def _opened_below(folder: Path, inner: PurePath) -> int:
    """The folder that a file below another lies in, opened without following a link on the way."""
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    for at, part in enumerate(inner.parent.parts, 1):
        above = handle
        try:
            handle = os.open(part, os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW, dir_fd=above)
        except OSError as error:
            if error.errno in (errno.ELOOP, errno.ENOTDIR):  # it was a folder just now
                raise LinkError(PurePath(*inner.parts[:at])) from None
            raise
        finally:
            os.close(above)
    return handle


def _alike(folder: int, one: str, other: str) -> bool:
    """Whether two files of an opened folder hold the same."""
    flags = os.O_RDONLY | os.O_NOFOLLOW
    try:
        with (
            os.fdopen(os.open(one, flags, dir_fd=folder), "rb") as left,
            os.fdopen(os.open(other, flags, dir_fd=folder), "rb") as right,
        ):
            while (some := left.read(HEAD)) == right.read(HEAD):
                if not some:
                    return True
    except OSError:  # a link lies there now, or nothing
        return False
    return False
