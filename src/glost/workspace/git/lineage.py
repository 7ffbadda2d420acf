"""The commits that changed a file, merged branches among them, and what else was moved where one first appears."""

from __future__ import annotations

import os
import re
from collections.abc import Collection, Iterable, Sequence
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


class Node(NamedTuple):
    """A commit among others: its parents are those of the others that it comes from. ``all_parents``: whatever they
    changed; one alone where only the main line is asked for."""

    name: str
    short: str
    day: str
    author: str
    subject: str
    parents: tuple[str, ...]
    all_parents: tuple[str, ...]
    merges: bool


def nodes(top: Path, start: str, paths: Sequence[str], mainline: bool = False) -> list[Node]:
    """The commits up to ``start`` that changed any of those files, each before its parents: a merge where it has them
    otherwise than each of its parents, and the commits that it brought in. ``mainline``: of a merge its first parent
    alone goes on, and it is one of them where it has the files otherwise than that. Raises GitError."""
    if not paths:
        return []
    said = asked(
        top,
        *("log", "-z", "--date-order", "--no-renames", "--no-patch", "--no-color", "--no-notes"),
        "--first-parent" if mainline else "--parents",
        *("--encoding=UTF-8", "--format=%H %h %cs %P%x00%aN%x00%s%x00", start, "--", *paths),
        seconds=_SECONDS,
    )
    # An author or a subject may hold any sign but NUL: what follows a head is taken by its place.
    words = [word.decode("utf-8", "replace") for word in said.split(b"\0")]
    heads = [(at, head) for at, word in enumerate(words[::4]) if (head := _HEAD.fullmatch(word)) is not None]
    names = [head[1] for _, head in heads]
    if mainline:  # each comes from the next
        near = {name: tuple(names[at : at + 1]) for at, name in enumerate(names, 1)}
        whole = {head[1]: head[4].split() for _, head in heads}
    else:
        near = {head[1]: tuple(head[4].split()) for _, head in heads}
        whole = _parents(top, names)
    return [
        Node(
            *(head[1], head[2], head[3], words[4 * at + 1], words[4 * at + 2], near[head[1]]),
            *(tuple(whole[head[1]][: 1 if mainline else None]), len(whole[head[1]]) > 1),
        )
        for at, head in heads
    ]


def touched(top: Path, start: str, path: str, mainline: bool = False) -> list[Touched]:
    """The commits up to ``start`` that changed the file at a path, as nodes() has them. Raises GitError."""
    commits = nodes(top, start, [path], mainline)
    asked_for = [one for node in commits for one in (node.name, *node.all_parents)]
    held = contents_at(top, [(name, path) for name in asked_for])
    found = []
    for one in commits:
        blob = held[one.name, path]
        before = [held[name, path] for name in one.all_parents]
        new_to = tuple(number for number, was in enumerate(before, 1) if was is None and blob is not None)
        found.append(Touched(*one[:5], path, blob, one.parents, new_to, one.merges))
    return found


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


def contents_at(top: Path, places: Iterable[tuple[str, str]]) -> dict[tuple[str, str], str | None]:
    """What commits have at paths, None where there is no file; all in one answer. Raises GitError."""
    asked_for = list(dict.fromkeys(places))
    found = {(name, path): content_of(top, path, name) for name, path in asked_for if "\n" in path}
    simple = [one for one in asked_for if one not in found]
    if not simple:
        return found
    given = b"".join(name.encode("ascii") + b":" + os.fsencode(path) + b"\n" for name, path in simple)
    said = asked(top, "cat-file", "--batch-check", given=given, seconds=_SECONDS).split(b"\n")
    for one, line in zip(simple, said, strict=False):
        about = line.split()
        is_file = len(about) == 3 and about[1] == b"blob"
        found[one] = about[0].decode("ascii") if is_file else None
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


def once_said(top: Path, start: str, words: Sequence[str], ending: str) -> list[tuple[str, str]]:
    """The commits of the main line that put in or took out a line with one of these texts, and the files of that ending
    in which they did; capitals and gaps do not count. It may name more of them. Raises GitError."""
    if not words:
        return []
    said = asked(
        top,
        *("log", "-z", "--first-parent", "-m", "--no-renames", "--name-only", "--no-color", "--no-notes"),
        *("--no-ext-diff", "--no-textconv", "--regexp-ignore-case", f"-G{'|'.join(map(_loosely, words))}"),
        *("--format=%x00%H", start, "--"),
        seconds=_SECONDS,
    )
    found, commit = [], ""
    for part in said.split(b"\0"):
        word = part.strip(b"\n")
        if _NAME.fullmatch(word):
            commit = word.decode("ascii")
        elif word.endswith(os.fsencode(ending)) and commit:
            found.append((commit, os.fsdecode(word)))
    return found


_NAME: Final = re.compile(rb"[0-9a-f]{40}|[0-9a-f]{64}")


def _loosely(words: str) -> str:
    """A pattern of git's for a text: what is no plain letter or figure stands for anything."""
    return "[[:space:]]+".join(re.sub(r"[^0-9A-Za-z]+", ".+", word) for word in words.split())
