"""The commits that changed a file, merged branches among them, and what else was moved where one first appears."""

from __future__ import annotations

import os
import re
from collections.abc import Collection, Sequence
from pathlib import Path
from typing import Final, NamedTuple

from glost.workspace.git.run import asked

_SECONDS: Final = 120
_ALIKE: Final = 20
"""Per cent that a copy must have in common with its source as text: pages are short, and a copy is changed at once."""
_HEAD: Final = re.compile(r"([0-9a-f]{40,64}) ([0-9a-f]+) ([0-9]{4}-[0-9]{2}-[0-9]{2}) ?([0-9a-f ]*)")


class Touched(NamedTuple):
    """A commit that changed a file: its full and its short name, its day (year-month-day), author and subject, the path
    from the top of the repository, and the name of its content, None where it takes the file away. ``parents``: the
    commits before it that changed the file. ``new_to``: its parents, counted from 1, that have no file of that path.
    ``merges``: it has more than one parent."""

    name: str
    short: str
    day: str
    author: str
    subject: str
    path: str
    blob: str | None
    parents: tuple[str, ...]
    new_to: tuple[int, ...]
    merges: bool


def touched(top: Path, start: str, path: str) -> list[Touched]:
    """The commits up to ``start`` that changed the file at a path, the newest first: a merge where it has the file
    otherwise than each of its parents, and the commits that it brought in. Raises GitError."""
    said = asked(
        top,
        *("log", "-z", "--parents", "--date-order", "--no-renames", "--no-patch", "--no-color", "--no-notes"),
        *("--encoding=UTF-8", "--format=%H %h %cs %P%x00%aN%x00%s%x00", start, "--", path),
        seconds=_SECONDS,
    )
    # An author or a subject may hold any sign but NUL: what follows a head is taken by its place.
    words = [word.decode("utf-8", "replace") for word in said.split(b"\0")]
    heads = [head for word in words[::4] if (head := _HEAD.fullmatch(word)) is not None]
    names = [head[1] for head in heads]
    parents = _parents(top, names)
    contents = _contents(top, path, [*names, *(one for name in names for one in parents[name])])
    out = []
    for at, head in enumerate(heads):
        name = head[1]
        blob, before = contents[name], [contents[one] for one in parents[name]]
        new_to = tuple(number for number, one in enumerate(before, 1) if one is None and blob is not None)
        out.append(
            Touched(
                name, head[2], head[3], words[4 * at + 1], words[4 * at + 2], path, blob,
                tuple(head[4].split()), new_to, len(before) > 1,
            )
        )  # fmt: skip
    return out


def _parents(top: Path, commits: Sequence[str]) -> dict[str, list[str]]:
    """The parents of each commit, whatever they changed."""
    if not commits:
        return {}
    given = "".join(f"{name}\n" for name in commits).encode("ascii")
    listed = asked(
        top, "rev-list", "--no-walk=unsorted", "--parents", "--stdin", given=given, seconds=_SECONDS
    )
    lines = (line.split() for line in listed.decode("ascii").splitlines())
    return {name: parents for name, *parents in lines}


def _contents(top: Path, path: str, commits: Sequence[str]) -> dict[str, str | None]:
    """What each commit has at a path, None where there is no file."""
    if "\n" in path:
        return {name: content_of(top, path, name) for name in commits}
    asked_for = list(dict.fromkeys(commits))
    given = b"".join(name.encode("ascii") + b":" + os.fsencode(path) + b"\n" for name in asked_for)
    said = asked(top, "cat-file", "--batch-check", given=given, seconds=_SECONDS).split(b"\n")
    found: dict[str, str | None] = {}
    for name, line in zip(asked_for, said, strict=False):
        about = line.split()
        is_file = len(about) == 3 and about[1] == b"blob"
        found[name] = about[0].decode("ascii") if is_file else None
    return found


def content_of(top: Path, path: str, commit: str) -> str | None:
    """The name of what a commit has at a path, None where there is no file. Raises GitError."""
    about = asked(top, "ls-tree", "-z", "--full-tree", commit, "--", path).partition(b"\t")[0].split()
    return about[2].decode("ascii") if len(about) == 3 and about[1] == b"blob" else None


class Moved(NamedTuple):
    """The files that one commit has and another has not, by their paths, each with the name of its content."""

    gone: dict[str, str]
    new: dict[str, str]


def moved(top: Path, old: str, new: str) -> Moved:
    """What was taken away and what was put in between two commits. Raises GitError."""
    said = asked(
        top,
        *("diff-tree", "-r", "-z", "--raw", "--no-abbrev", "--no-renames", "--diff-filter=AD", old, new),
        seconds=_SECONDS,
    )
    found = Moved({}, {})
    parts = said.split(b"\0")[:-1]
    for about, path in zip(parts[::2], parts[1::2], strict=True):
        _, _, before, after, how = about.decode("ascii").split()
        if how == "A":
            found.new[os.fsdecode(path)] = after
        else:
            found.gone[os.fsdecode(path)] = before
    return found


def copied_from(top: Path, old: str, new: str, path: str) -> str | None:
    """The file of ``old`` that a new one of ``new`` is most alike as text, None where it is alike to none. Raises
    GitError."""
    said = asked(
        top,
        *(
            "diff-tree",
            "-r",
            "-z",
            "--name-status",
            f"-C{_ALIKE}%",
            "--find-copies-harder",
            "--diff-filter=CR",
            old,
            new,
        ),
        seconds=_SECONDS,
    )
    parts = said.split(b"\0")[:-1]
    for before, after in zip(parts[1::3], parts[2::3], strict=True):
        if os.fsdecode(after) == path:
            return os.fsdecode(before)
    return None


def newest_first(top: Path, start: str, commits: Collection[str]) -> list[str]:
    """Those commits, each before its parents. Raises GitError."""
    listed = asked(top, "rev-list", "--date-order", start, seconds=_SECONDS).decode("ascii").split()
    return [name for name in listed if name in commits]
