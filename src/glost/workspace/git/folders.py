"""Where a repository begins, found without asking git: git asked in a folder may take that folder for a repository,
and obey what it says."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TypeAlias

_SIGN = b"gitdir: "


def top_of(folder: Path) -> Path | None:
    """The top folder of the repository that ``folder`` lies in, None where there is none. A repository that was handed
    over by name together with its working folder, as git does in some hooks, is one too."""
    at = os.path.realpath(folder)
    given = handed_over()
    if given is not None and in_folder(at, given[1]):
        return given[1]
    return next((Path(above) for above in _and_above(at) if _begins_repository(above)), None)


def handed_over() -> tuple[Path, Path] | None:
    """The repository and the working folder that the environment names together. The first without the second is what
    hooks of a second working folder get, and would make git take every folder for the top of it."""
    if "GIT_DIR" not in os.environ or "GIT_WORK_TREE" not in os.environ:
        return None
    store, top = (os.path.realpath(os.environ[name]) for name in ("GIT_DIR", "GIT_WORK_TREE"))
    return Path(store), Path(top)


def within(folder: Path, top: Path) -> Path | None:
    """The repository of its own, somewhere below ``top``, that ``folder`` lies in; None where it lies in that of
    ``top``. The one nearest to ``top`` counts."""
    at = os.path.realpath(folder)
    between = [above for above in _and_above(at) if in_folder(above, top) and above != str(top)]
    return next((Path(one) for one in reversed(between) if _begins_repository(one)), None)


Beginning: TypeAlias = Callable[[Path], Path | None]
"""The folder that the collection of a file begins in, None where no settings say so."""


class Places:
    """Which repository is asked about the files of a folder, looked for once a folder."""

    def __init__(self, begins: Beginning) -> None:
        self._begins = begins
        self._here = os.path.realpath(os.curdir)
        self._here_lies_in = top_of(Path(self._here))
        self._met: dict[tuple[str, Path | None], tuple[Path | None, Path | None]] = {}
        self._real: dict[str, str] = {}

    def of(self, path: Path) -> tuple[Path | None, Path | None]:
        """The top of the repository that is asked about a file; and the top of another one, within that, which the file
        lies in, and which is not asked."""
        folder = self.real_folder(path)
        begin = self._begins(path)
        key = folder, begin
        if key not in self._met:
            top = self._top(folder, begin)
            self._met[key] = top, None if top is None else within(Path(folder), top)
        return self._met[key]

    def real_folder(self, path: Path) -> str:
        """The folder that a file lies in, links followed; looked at once for all files that lie there."""
        folder = os.path.dirname(os.path.join(os.getcwd(), path))  # noqa: PTH109, PTH118, PTH120
        if folder not in self._real:
            self._real[folder] = os.path.realpath(folder)
        return self._real[folder]

    def _top(self, folder: str, begin: Path | None) -> Path | None:
        top = top_of(begin) if begin is not None else None
        if begin is None and in_folder(folder, Path(self._here)):  # then the collection is what lies here
            top = self._here_lies_in
        if top is not None and in_folder(folder, top):
            return top
        return top_of(Path(folder))


def in_store(folder: Path) -> bool:
    """Whether a folder lies in what git keeps for itself: a repository without a working folder, or the .git of one."""
    return any(_is_store(above) for above in _and_above(os.path.realpath(folder)))


def in_folder(place: str, folder: Path) -> bool:
    """Whether a real path lies in a real folder, or is it."""
    return os.path.join(place, "").startswith(os.path.join(folder, ""))  # noqa: PTH118


def _and_above(folder: str) -> Iterator[str]:
    yield folder
    while (above := os.path.dirname(folder)) != folder:  # noqa: PTH120
        folder = above
        yield folder


def _begins_repository(folder: str) -> bool:
    store = os.path.join(folder, ".git")  # noqa: PTH118
    return os.path.lexists(store) and (_is_store(store) or _leads_to_store(store))


def _is_store(folder: str) -> bool:
    """As git knows one by."""
    return (
        os.path.lexists(f"{folder}/HEAD")
        and (os.path.isdir(f"{folder}/objects") or os.path.isfile(f"{folder}/commondir"))  # noqa: PTH112, PTH113
        and (os.path.isdir(f"{folder}/refs") or os.path.isfile(f"{folder}/commondir"))  # noqa: PTH112, PTH113
    )


def _leads_to_store(file: str) -> bool:
    """Whether a .git is the file by which a second working folder, or a repository within another, is known."""
    try:
        if not os.path.isfile(file):  # noqa: PTH113
            return False
        with open(file, "rb") as opened:  # noqa: PTH123
            return opened.read(len(_SIGN)) == _SIGN
    except OSError:
        return False


def store_named_by(top: Path) -> Path | None:
    """The folder that a second working folder, or a repository within another, has its index in: its .git is a file
    that names it. None where it is none."""
    try:
        text = (top / ".git").read_bytes()[:_LONGEST] if (top / ".git").is_file() else b""
    except OSError:
        return None
    if not text.startswith(_SIGN):
        return None
    return Path(os.path.realpath(top / os.fsdecode(text.removeprefix(_SIGN).rstrip(b"\r\n"))))


_LONGEST = 1 << 13
"""Bytes of a path that a .git file may name."""
