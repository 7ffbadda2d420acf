"""What git keeps of the pages that it has shown (cachetextconv), worked out before it asks: a tree of texts by the
names of the contents that they show, in a commit whose subject is the command that showed them. git takes it for as
long as its own setting is that command."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final

from glost.language.source import LARGEST_FILE
from glost.workspace.git.drivers import CACHE
from glost.workspace.git.run import GitError, asked, commit_of
from glost.workspace.git.snapshot import contents, sizes_of

_SECONDS: Final = 600
_AT_ONCE: Final = 2_000
"""Pages that are read, and kept, in one go."""
_ATTRIBUTES: Final = ("diff", "filter", "ident", "working-tree-encoding")
_UNSET: Final = ("unspecified", "unset")


def pages_to_show(top: Path, endings: tuple[str, ...], command: str) -> list[str]:
    """The contents of all commits that git would show by our command, and has not kept yet. Raises GitError."""
    listed = asked(top, "rev-list", "--objects", "--all", seconds=_SECONDS).split(b"\n")
    found: dict[str, str] = {}
    for line in listed:
        name, _, path = line.partition(b" ")
        if path.endswith(tuple(map(os.fsencode, endings))):
            found.setdefault(name.decode("ascii"), os.fsdecode(path))
    ours = _shown_by_us(top, sorted(set(found.values())))
    kept = _kept(top) if _is_of(top, command) else frozenset()
    names = [name for name, path in found.items() if path in ours and name not in kept]
    sizes = sizes_of(top, names)
    return [name for name in names if sizes[name] <= LARGEST_FILE]


def _shown_by_us(top: Path, paths: Sequence[str]) -> frozenset[str]:
    """Those of the paths whose pages git hands to our command as the repository holds them: as it reads attributes now,
    for the commits of all times."""
    if not paths:
        return frozenset()
    given = b"".join(os.fsencode(path) + b"\0" for path in paths)
    said = asked(top, "check-attr", "-z", "--stdin", *_ATTRIBUTES, given=given, seconds=_SECONDS)
    words = [os.fsdecode(word) for word in said.split(b"\0")[:-1]]
    held: dict[str, dict[str, str]] = {}
    for path, attribute, value in zip(words[::3], words[1::3], words[2::3], strict=True):
        held.setdefault(path, {})[attribute] = value
    return frozenset(
        path
        for path, one in held.items()
        if one["diff"] == "glost" and all(one[name] in _UNSET for name in _ATTRIBUTES[1:])
    )


def _is_of(top: Path, command: str) -> bool:
    """Whether what is kept was shown by that command."""
    if commit_of(top, CACHE) is None:
        return False
    subject = asked(top, "log", "-1", "--no-color", "--no-notes", "--encoding=UTF-8", "--format=%s", CACHE)
    return os.fsdecode(subject).strip() == command


def _kept(top: Path) -> frozenset[str]:
    listed = asked(top, "ls-tree", "-r", "--name-only", "--full-tree", CACHE, seconds=_SECONDS)
    return frozenset(line.replace("/", "") for line in listed.decode("ascii", "replace").splitlines())


def read_all(top: Path, names: Sequence[str]) -> Iterator[tuple[str, bytes]]:
    """The contents of those names, a bundle at a time. Raises GitError."""
    for at in range(0, len(names), _AT_ONCE):
        some = list(names[at : at + _AT_ONCE])
        yield from zip(some, contents(top, some), strict=True)


class Keeper:
    """Keeps what is shown of contents, as git itself would, so many at a time."""

    def __init__(self, top: Path, command: str) -> None:
        self._top = top
        self._command = command
        self._texts: list[tuple[str, bytes]] = []

    def keep(self, name: str, text: bytes) -> None:
        """Raises GitError."""
        self._texts.append((name, text))
        if len(self._texts) >= _AT_ONCE:
            self.finish()

    def finish(self) -> None:
        """Raises GitError."""
        if not self._texts:
            return
        said = os.fsencode(self._command)
        parts = [
            f"commit {CACHE}\ncommitter glost <glost@localhost> 0 +0000\ndata {len(said)}\n".encode("ascii"),
            said,
            b"\n",
        ]
        before = _tree(self._top) if _is_of(self._top, self._command) else None
        if before is not None:
            parts.append(f'M 040000 {before} ""\n'.encode("ascii"))
        for name, text in self._texts:
            parts.append(f"M 100644 inline {name[:2]}/{name[2:]}\ndata {len(text)}\n".encode("ascii"))
            parts += (text, b"\n")
        asked(self._top, "fast-import", "--quiet", "--force", given=b"".join(parts), seconds=_SECONDS)
        self._texts.clear()


def _tree(top: Path) -> str | None:
    try:
        named = asked(top, "rev-parse", "--verify", "--quiet", "--end-of-options", f"{CACHE}^{{tree}}")
    except GitError:
        return None
    return named.decode("ascii").strip()
