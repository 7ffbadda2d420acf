"""The last commit that touched a recipe, of one or of many at once."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

from glost.workspace.git.folders import Beginning, Places
from glost.workspace.git.run import GitError, asked, asked_of_files, commit_of

_LOG = ("log", "--no-color", "--no-notes", "--no-ext-diff", "--no-textconv", "--format=%H %h %cs")
_FEW = 2
"""Files of a repository up to which it is quicker to ask git for each."""
_FIRST_LOOK, _LONGEST_LOOK = 250, 16_000
"""Commits that are compared with their parents in one call: few at first, since most files are found among them."""


class LastCommit(NamedTuple):
    """The last commit that touched a file: its short name, its day (year-month-day), and whether the file has changed
    since."""

    short: str
    day: str
    changed: bool


class NotKnown(NamedTuple):
    """git holds the file, or may, and does not say which commit touched it last; the text says why."""

    why: str


def last_commits(paths: Sequence[Path], begins: Beginning) -> dict[Path, LastCommit | NotKnown]:
    """The last commit of each of many files; those that lie in no repository, or in no commit, are left out. Only the
    repository is asked that holds the beginning of a file's collection. git is called a few times a repository, however
    many files there are."""
    commits: dict[Path, LastCommit | NotKnown] = {}
    for top, files in _by_repository(paths, begins, commits).items():
        try:
            touched = _one_by_one(top, files) if len(files) <= _FEW else _last_touched(top, files)
            changed = _changed(top, files) if touched else set()
        except GitError as error:
            if not _nothing_committed(top):
                commits.update((path, NotKnown(str(error))) for those in files.values() for path in those)
            continue
        for name, (short, day) in touched.items():
            commits |= dict.fromkeys(files[name], LastCommit(short, day, name in changed))
    return commits


def why_not_known(found: Iterable[LastCommit | NotKnown]) -> dict[str, int]:
    """Each reason why a commit is not known, and how many files it holds for."""
    return dict(Counter(one.why for one in found if isinstance(one, NotKnown)))


def _named(said: bytes) -> Iterator[tuple[str, tuple[str, str]]]:
    """Of every commit that git has listed: its full name, its short name and its day."""
    for line in said.decode("ascii").splitlines():
        name, short, day = line.split()
        yield name, (short, day)


def _by_repository(
    paths: Sequence[Path], begins: Beginning, commits: dict[Path, LastCommit | NotKnown]
) -> dict[Path, dict[str, list[Path]]]:
    """For the top folder of each repository: the files in it, by their path from there. A file that is reached through
    a linked folder stands there under each of its names. Those in a repository of their own go to ``commits``."""
    places = Places(begins)
    found: dict[Path, dict[str, list[Path]]] = {}
    for path in paths:
        folder = os.path.realpath(path.absolute().parent)
        top, own = places.of(path)
        if own is not None:
            commits[path] = NotKnown(f"{own} is a repository of its own, and is not asked from outside")
        elif top is not None:
            inner = os.path.relpath(os.path.join(folder, path.name), top).replace(os.sep, "/")  # noqa: PTH118
            found.setdefault(top, {}).setdefault(inner, []).append(path)
    return found


def _nothing_committed(top: Path) -> bool:
    """Whether a repository has no commit yet, where git fails as it does for something wrong."""
    try:
        return commit_of(top, "HEAD") is None
    except GitError:
        return False


def _one_by_one(top: Path, names: Iterable[str]) -> dict[str, tuple[str, str]]:
    """The short name and the day of the last commit that touched each file. Raises GitError."""
    found: dict[str, tuple[str, str]] = {}
    for name in names:
        found.update((name, named) for _, named in _named(asked(top, *_LOG, "-1", "--", name)))
    return found


def _last_touched(top: Path, names: Collection[str]) -> dict[str, tuple[str, str]]:
    """The short name and the day of the last commit that touched each file, as git log has it for each by itself: from
    a merge it goes on to the first parent that holds the same file. Raises GitError."""
    listed = asked(top, "rev-list", "--topo-order", "--parents", "HEAD").decode("ascii").splitlines()
    commits = [line.split() for line in listed]
    wanted = {commits[0][0]: set(names)}
    found: dict[str, str] = {}
    at, many = 0, _FIRST_LOOK
    while wanted and at < len(commits):
        steps = [
            (commit, parent) for commit, *parents in commits[at : at + many] for parent in parents or [""]
        ]
        for (commit, parent), differing in zip(steps, _differing(top, steps, _above(names)), strict=True):
            left = wanted.get(commit, set())
            if parent:
                wanted.setdefault(parent, set()).update(left - differing)
            wanted[commit] = left & differing
        for commit, *_ in commits[at : at + many]:
            found |= dict.fromkeys(wanted.pop(commit, ()), commit)
        wanted = {commit: left for commit, left in wanted.items() if left}
        at, many = at + many, min(many * 4, _LONGEST_LOOK)
    named = _names_of(top, set(found.values()))
    return {name: named[commit] for name, commit in found.items()}


def _above(names: Collection[str]) -> str:
    """The lowest folder that all of these lie in, "." for the top."""
    return os.path.commonpath([os.path.dirname(name) or "." for name in names]) or "."  # noqa: PTH120


def _differing(top: Path, steps: Sequence[tuple[str, str]], below: str) -> Iterator[set[str]]:
    """For each commit and parent ("" for none): the files below a folder that differ. Raises GitError."""
    given = "".join(f"{commit} {parent}".rstrip() + "\n" for commit, parent in steps).encode("ascii")
    answer = asked(
        top,
        *("diff-tree", "--stdin", "--always", "--root", "--no-renames", "--raw", "--no-ext-diff"),
        *("--no-textconv", "--ignore-submodules=all", "-r", "-z", "--", below),
        given=given,
    )
    found: list[set[str]] = []
    parts = iter(answer.split(b"\0")[:-1])
    for part in parts:
        if part.startswith(b":"):
            found[-1].add(os.fsdecode(next(parts)))
        else:
            found.append(set())
    if len(found) != len(steps):
        raise GitError("git compared other commits than it was asked to")
    yield from found


def _names_of(top: Path, commits: Collection[str]) -> Mapping[str, tuple[str, str]]:
    """The short name and the day of each commit. Raises GitError."""
    if not commits:
        return {}
    given = "".join(f"{commit}\n" for commit in commits).encode("ascii")
    return dict(_named(asked(top, *_LOG, "--no-walk=unsorted", "--stdin", given=given)))


def _changed(top: Path, names: Collection[str]) -> set[str]:
    """Files that are not as the last commit has them, and others below the same folder. Raises GitError."""
    where = list(names) if len(names) <= _FEW else [_above(names)]
    said = asked_of_files(
        top,
        *("status", "--porcelain", "-z", "--no-renames", "--untracked-files=all", "--ignore-submodules=all"),
        *("--", *where),
    )
    return {os.fsdecode(entry[3:]) for entry in said.split(b"\0")[:-1]}
