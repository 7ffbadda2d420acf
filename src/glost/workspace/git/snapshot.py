"""The files of a revision, or as they are staged, read by their paths in the working folder without checking anything
out."""

from __future__ import annotations

import os
import posixpath
from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path
from typing import Final, NamedTuple

from glost.language.source import LARGEST_FILE, ONE_RECIPE, DecodeError
from glost.workspace.git.run import HEAD, GitError, asked
from glost.workspace.paths import PAGES, display, lies_within
from glost.workspace.reading import DISK, Kind

_SECONDS_FOR_ALL: Final = 120
_LINK: Final = "120000"
_MODES: Final = ("100644", "100755", _LINK)
"""Of what is read: files and links. A repository within this one is not looked into."""
_MOST_LINKS: Final = 10
_AT_ONCE: Final = 2_000
"""Contents that git hands over in one answer."""


class Held(NamedTuple):
    """A file of a revision: how git has it (a mode of its own), and the name of its content."""

    mode: str
    blob: str


class Snapshot:
    """Files as git holds them. ``name`` is the revision as a person called it, and stands before each path that is
    shown; without one a path is shown as that of the working folder. What lies outside of the repository is the
    same for every revision, and read from the disk. ``contents``: where those that were read are kept, for several
    revisions of one repository. ``unmerged``: files of the index of which a merge has left both sides, so that there
    is nothing to read; to pass over them would be to go by other settings than anybody's."""

    def __init__(
        self,
        top: Path,
        held: Mapping[str, Held],
        name: str | None,
        contents: dict[str, bytes | int] | None = None,
        unmerged: frozenset[str] = frozenset(),
    ) -> None:
        self.top = top
        self.held = held
        self.name = name
        self._unmerged = unmerged
        self._contents = {} if contents is None else contents
        self._folders: dict[str, tuple[list[str], list[str]]] = {}
        self._inner_folders: dict[str, str | None] = {}

    # ---- paths ----

    def inner(self, path: Path) -> str | None:
        """A path as git names it, "" for the top; None for one outside of the repository."""
        above, _, name = str(path).rpartition(os.sep)
        if not above or name == "..":  # a path that is put in order may lie elsewhere
            above, name = os.path.split(os.path.normpath(path.absolute()))
        if above not in self._inner_folders:
            folder = os.path.realpath(os.path.normpath(Path(above).absolute()))
            real = os.path.relpath(folder, self.top).replace(os.sep, "/")
            outside = real == ".." or real.startswith("../") or os.path.isabs(real)  # noqa: PTH117
            self._inner_folders[above] = None if outside else real.removeprefix(".").removeprefix("/")
        inner = self._inner_folders[above]
        if inner is None:
            return "" if os.path.realpath(os.path.normpath(path.absolute())) == str(self.top) else None
        return f"{inner}/{name}" if inner else name

    def blob_of(self, path: Path) -> str | None:
        """The name of the content of a file, None where there is none."""
        inner = self.inner(path)
        return None if inner is None else self._blob(inner)

    def _blob(self, inner: str) -> str | None:
        found = self.followed(inner)
        return None if found is None or found in self._unmerged else self.held[found].blob

    def followed(self, inner: str) -> str | None:
        """The file that a path leads to through links, None where it leads to none in here."""
        for _ in range(_MOST_LINKS):
            held = self.held.get(inner)
            if held is None or held.mode != _LINK:
                return None if held is None else inner
            target = os.fsdecode(self._content(held.blob) or b"")
            inner = posixpath.normpath(posixpath.join(posixpath.dirname(inner), target))
        return None

    def _content(self, blob: str, most: int = LARGEST_FILE) -> bytes | None:
        """A content; None for one of more bytes than that. Raises GitError."""
        if blob not in self._contents:
            self._take([blob])
        content = self._contents[blob]
        if (
            isinstance(content, int) and content <= most
        ):  # no page, but what may be larger, such as a baseline
            content = self._contents[blob] = contents(self.top, [blob])[0]
        return content if isinstance(content, bytes) else None

    def _take(self, blobs: list[str]) -> None:
        """Raises GitError."""
        sizes = sizes_of(self.top, blobs)
        self._contents.update(sizes)
        wanted = [blob for blob in blobs if sizes[blob] <= LARGEST_FILE]
        for at in range(0, len(wanted), _AT_ONCE):
            these = wanted[at : at + _AT_ONCE]
            self._contents.update(zip(these, contents(self.top, these), strict=True))

    # ---- as Files ----

    def kind(self, path: Path) -> Kind:
        inner = self.inner(path)
        if inner is None:
            return ""
        return "file" if inner in self.held else "folder" if not inner or inner in self._all_folders() else ""

    def has(self, path: Path) -> bool:
        return DISK.has(path) if self.inner(path) is None else self.inner(path) in self.held

    def is_file(self, path: Path) -> bool:
        inner = self.inner(path)
        return DISK.is_file(path) if inner is None else self.followed(inner) is not None

    def read(self, path: Path, most: int = LARGEST_FILE, check: str = "") -> bytes:
        inner = self.inner(path)
        if inner is None:
            return DISK.read(path, most, check)
        try:
            blob = self._blob(inner)
            if blob is None and inner in self._unmerged:
                raise _unfinished(inner)
            if blob is None:
                raise DecodeError(
                    "there is no such file" if self.name is None else f"there is no such file in {self.name}",
                    "check the path; a link may lead to what is not there",
                )
            content = self._content(blob, most)
            kept = self._contents[blob]
            size = kept if isinstance(kept, int) else len(kept)
        except GitError as error:
            raise DecodeError(f"git cannot read it: {error}", "check the repository with  git fsck") from None
        if content is None or len(content) > most:
            raise DecodeError(
                f"this file holds {size:,} bytes; {most:,} are read at most", check or ONE_RECIPE
            )
        return content

    def fetch(self, paths: Iterable[Path]) -> None:
        """Takes the contents of many files in few answers. Raises GitError."""
        blobs = dict.fromkeys(filter(None, map(self.blob_of, paths)))
        self._take([blob for blob in blobs if blob not in self._contents])

    def where(self, blobs: list[str], holds: Callable[[str], bool]) -> Iterator[str]:
        """Those of many contents that hold such a text. It is looked for in some thousand at once, as git hands them
        over, and only where it is found in each; nothing of them is kept. Raises GitError."""
        sizes = sizes_of(self.top, blobs)
        wanted = [blob for blob in blobs if sizes[blob] <= LARGEST_FILE]
        for at in range(0, len(wanted), _AT_ONCE):
            some = wanted[at : at + _AT_ONCE]
            answer = _answer(self.top, some)
            if holds(answer.decode("utf-8", "replace")):
                for blob, content in zip(some, _apart(answer, some), strict=True):
                    if holds(content.decode("utf-8", "replace")):
                        yield blob

    def walk(self, folder: Path) -> Iterator[tuple[Path, list[str], list[str]]]:
        inner = self.inner(folder)
        if inner is None:
            return
        folders, files = self._all_folders().get(inner, ([], []))
        below = list(folders)
        yield folder, below, list(files)
        for name in below:
            yield from self.walk(folder / name)

    def _all_folders(self) -> Mapping[str, tuple[list[str], list[str]]]:
        """Of each folder: the folders and the files in it."""
        if not self._folders and self.held:
            for path in self.held:
                folder, _, name = path.rpartition("/")
                if folder not in self._folders:
                    self._make_folder(folder)
                self._folders[folder][1].append(name)
        return self._folders

    def _make_folder(self, folder: str) -> None:
        self._folders[folder] = ([], [])
        if folder:
            above, _, name = folder.rpartition("/")
            if above not in self._folders:
                self._make_folder(above)
            self._folders[above][0].append(name)

    def shown(self, path: Path) -> str:
        inner = self.inner(path)
        return display(path) if self.name is None or inner is None else f"{self.name}:{inner}"

    def leads_out(self, folder: Path, name: str) -> bool:
        inner = self.inner(folder / name)
        if inner is None:
            return DISK.leads_out(folder, name)
        held = self.held.get(inner)
        return held is not None and held.mode == _LINK and self.followed(inner) is None

    def lies_within(self, folder: Path, named: str) -> bool:
        here, inner = self.inner(folder), self.inner(folder / named)
        if here is None or inner is None:
            return lies_within(folder, named)
        found = self.followed(inner) or inner
        held = self.held.get(found)
        if held is not None and held.mode == _LINK:  # it leads out, or nowhere
            return False
        return not here or found.startswith(f"{here}/")


def _unfinished(inner: str) -> DecodeError:
    from shlex import quote

    sides = " ".join(quote(f":{stage}:{inner}") for stage in (2, 3))
    return DecodeError(
        "the merge of this file is not finished: the index holds both sides",
        f"see them with  {'glost compare' if inner.endswith(PAGES) else 'git diff'} {sides}  , put them into one, then"
        "  git add",
    )


def snapshot_of(top: Path, commit: str, name: str, read: dict[str, bytes | int] | None = None) -> Snapshot:
    """The files of a commit. ``read``: contents that are known already. Raises GitError."""
    listed = asked(top, "ls-tree", "-r", "-z", "--full-tree", commit, seconds=_SECONDS_FOR_ALL)
    held = {}
    for entry in os.fsdecode(listed).split("\0")[:-1]:
        about, _, path = entry.partition("\t")
        mode, _, blob = about.split()
        if mode in _MODES:
            held[path] = Held(mode, blob)
    return Snapshot(top, held, name, read)


class Staged(NamedTuple):
    """What is staged: the files of the index, those among them that the last commit has not or has otherwise, those
    that are staged to be ``gone``, and those of a merge that is not finished, by their stages (1 the common base, 2
    ours, 3 theirs)."""

    files: Snapshot
    there: frozenset[str]
    gone: frozenset[str]
    unmerged: Mapping[str, Mapping[int, Held]]


def staged(top: Path, name: str | None = None) -> Staged:
    """The index of a repository: that of the commit in whose hook we are, where git says so. Raises GitError."""
    listed = asked(top, "ls-files", "--stage", "-z", "--full-name", seconds=_SECONDS_FOR_ALL)
    held: dict[str, Held] = {}
    unmerged: dict[str, dict[int, Held]] = {}
    for entry in listed.split(b"\0")[:-1]:
        about, _, path = entry.partition(b"\t")
        mode, blob, stage = about.decode("ascii").split()
        if mode not in _MODES:
            continue
        if stage == "0":
            held[os.fsdecode(path)] = Held(mode, blob)
        else:
            unmerged.setdefault(os.fsdecode(path), {})[int(stage)] = Held(mode, blob)
    there, gone = _since_last_commit(top)
    _leave_out_intended(top, held, there)
    for inner, sides in unmerged.items():
        held[inner] = next(iter(sides.values()))
    there &= held.keys()
    files = Snapshot(top, held, name, unmerged=frozenset(unmerged))
    return Staged(files, frozenset(there), frozenset(gone), unmerged)


def _since_last_commit(top: Path) -> tuple[set[str], set[str]]:
    said = asked(
        top,
        *("diff", "--cached", "--raw", "-z", "--no-renames", "--no-ext-diff", "--no-textconv"),
        *("--ita-invisible-in-index", "--ignore-submodules=all", "--"),
        seconds=_SECONDS_FOR_ALL,
    )
    there: set[str] = set()
    gone: set[str] = set()
    parts = [os.fsdecode(part) for part in said.split(b"\0")[:-1]]
    for about, path in zip(parts[::2], parts[1::2], strict=True):
        (gone if about.endswith(" D") else there).add(path)
    return there, gone


def _leave_out_intended(top: Path, held: dict[str, Held], there: set[str]) -> None:
    """Takes away what is only intended to be added (``git add -N``): the index lists it as an empty file, and no commit
    would hold it."""
    empty = [path for path, one in held.items() if one.blob in _EMPTY and path not in there]
    if not empty:
        return
    from glost.workspace.git.run import commit_of

    last = commit_of(top, HEAD)
    committed = snapshot_of(top, last, HEAD).held if last else {}
    for path in empty:
        if path not in committed:
            del held[path]


_EMPTY: Final = (
    "e69de29bb2d1d6434b8b29ae775ad8c2e48c5391",
    "473a0f4c3be8a93681a267e3b1e9a7dcda1185436fe141f7749120a303721813",
)
"""What git calls an empty content, by SHA-1 and by SHA-256: any git prints them for  git hash-object /dev/null ."""


def stage_of(top: Path, found: Staged, stage: int) -> Snapshot:
    """One side of a merge that is not finished. What is not in question stands in each."""
    if stage == 0:
        return Snapshot(top, found.files.held, ":0", unmerged=frozenset(found.unmerged))
    held = dict(found.files.held)
    for path, sides in found.unmerged.items():
        del held[path]
        if stage in sides:
            held[path] = sides[stage]
    return Snapshot(top, held, f":{stage}")


def contents(top: Path, blobs: list[str]) -> list[bytes]:
    """The contents of those names, in their order. Raises GitError."""
    if not blobs:
        return []
    return _apart(_answer(top, blobs), blobs)


def _answer(top: Path, blobs: list[str]) -> bytes:
    """The contents as git gives them, each below a line that says which it is. Raises GitError."""
    given = "".join(f"{blob}\n" for blob in blobs).encode("ascii")
    return asked(top, "cat-file", "--batch", given=given, seconds=_SECONDS_FOR_ALL)


def _apart(answer: bytes, blobs: list[str]) -> list[bytes]:
    out, at = [], 0
    for blob in blobs:
        end = answer.find(b"\n", at)
        about = answer[at:end].split()
        if end < 0 or len(about) != 3:
            raise GitError(f"git has no content called {blob}")
        size = int(about[2])
        out.append(answer[end + 1 : end + 1 + size])
        at = end + 2 + size
    return out


def sizes_of(top: Path, blobs: list[str]) -> dict[str, int]:
    """How large contents are, so that none is taken in that no page can be. Raises GitError."""
    if not blobs:
        return {}
    given = "".join(f"{blob}\n" for blob in blobs).encode("ascii")
    said = asked(top, "cat-file", "--batch-check", given=given, seconds=_SECONDS_FOR_ALL).decode("ascii")
    sizes = {}
    for blob, line in zip(blobs, said.splitlines(), strict=True):
        words = line.split()
        if len(words) != 3 or words[0] != blob:
            raise GitError(f"git has no content called {blob}")
        sizes[blob] = int(words[2])
    return sizes
