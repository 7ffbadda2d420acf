"""The last commit that touched a recipe, of one or of many at once."""

from __future__ import annotations

import os
from collections.abc import Collection, Iterator, Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

from glost.git.asking import GitFailed, asked, commit_of, top_of

_LOG = ("--literal-pathspecs", "-c", "log.showSignature=false", "log", "--no-color", "--format=%H %h %cs")
_FEW = 2
"""Files up to which it is quicker to ask git for each."""
_FIRST_LOOK, _LONGEST_LOOK = 250, 16_000
"""Commits that are compared with their parents in one call: few at first, since most files are found among them."""


class LastCommit(NamedTuple):
    """The last commit that touched a file: its short name, its day (year-month-day), and whether the file has changed
    since."""

    short: str
    day: str
    changed: bool


def last_commit(path: Path) -> LastCommit | None:
    """The last commit that touched a file. None where git is not there, the file lies in no repository, or no commit
    holds it."""
    folder, mine = path.absolute().parent, ("--", path.name)
    try:
        said = asked(folder, *_LOG, "-1", *mine)
        changed = asked(folder, "--literal-pathspecs", "status", "--porcelain", *mine)
    except GitFailed:
        return None
    return next((LastCommit(short, day, bool(changed)) for _, (short, day) in _named(said)), None)


def last_commits(paths: Sequence[Path]) -> dict[Path, LastCommit]:
    """What last_commit says of each of many files, those left out of which it says nothing. git is called a few times
    a repository, however many files there are."""
    if len(paths) <= _FEW:
        return {path: found for path in paths if (found := last_commit(path))}
    commits: dict[Path, LastCommit] = {}
    for top, files in _by_repository(paths).items():
        try:
            touched, changed = _last_touched(top, files), _changed(top, files)
        except GitFailed:  # not to be answered for all at once; each may be
            inside = [path for those in files.values() for path in those]
            commits |= {path: found for path in inside if (found := last_commit(path))}
            continue
        for name, (short, day) in touched.items():
            commits |= dict.fromkeys(files[name], LastCommit(short, day, name in changed))
    return commits


def _named(said: bytes) -> Iterator[tuple[str, tuple[str, str]]]:
    """Of every commit that git has listed: its full name, its short name and its day."""
    for line in said.decode("ascii").splitlines():
        name, short, day = line.split()
        yield name, (short, day)


def _by_repository(paths: Sequence[Path]) -> dict[Path, dict[str, list[Path]]]:
    """For the top folder of each repository: the files in it, by their path from there. A file that is reached through
    a linked folder stands there under each of its names."""
    tops: dict[str, Path | None] = {}
    found: dict[Path, dict[str, list[Path]]] = {}
    for path in paths:
        folder = os.path.realpath(path.absolute().parent)
        top = _top_known(folder, tops)
        if top is not None:
            inner = os.path.relpath(os.path.join(folder, path.name), top).replace(os.sep, "/")  # noqa: PTH118
            found.setdefault(top, {}).setdefault(inner, []).append(path)
    return found


def _top_known(folder: str, tops: dict[str, Path | None]) -> Path | None:
    """As top_of, without asking again for a folder with nothing of a repository between it and one in ``tops``."""
    met, at = [folder], folder
    while at not in tops and not os.path.lexists(f"{at}/.git") and os.path.dirname(at) != at:  # noqa: PTH120
        at = os.path.dirname(at)  # noqa: PTH120
        met.append(at)
    top = tops[at] if at in tops else top_of(Path(folder))
    tops.update(dict.fromkeys(met, top))
    return top


def _last_touched(top: Path, names: Collection[str]) -> dict[str, tuple[str, str]]:
    """The short name and the day of the last commit that touched each file, as git log has it for each by itself: from
    a merge it goes on to the first parent that holds the same file. Raises GitFailed."""
    if commit_of(top, "HEAD") is None:  # nothing is committed yet
        return {}
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
    """For each commit and parent ("" for none): the files below a folder that differ. Raises GitFailed."""
    given = "".join(f"{commit} {parent}".rstrip() + "\n" for commit, parent in steps).encode("ascii")
    answer = asked(
        top,
        *("--literal-pathspecs", "diff-tree", "--stdin", "--always", "--root", "--no-renames", "--raw"),
        *("-r", "-z", "--", below),
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
        raise GitFailed("git compared other commits than it was asked to")
    yield from found


def _names_of(top: Path, commits: Collection[str]) -> Mapping[str, tuple[str, str]]:
    """The short name and the day of each commit. Raises GitFailed."""
    if not commits:
        return {}
    given = "".join(f"{commit}\n" for commit in commits).encode("ascii")
    return dict(_named(asked(top, *_LOG, "--no-walk=unsorted", "--stdin", given=given)))


def _changed(top: Path, names: Collection[str]) -> set[str]:
    """Files that are not as the last commit has them, and others below the same folder. Raises GitFailed."""
    said = asked(
        top,
        *("--literal-pathspecs", "status", "--porcelain", "-z", "--no-renames", "--untracked-files=all"),
        *("--", _above(names)),
    )
    return {os.fsdecode(entry[3:]) for entry in said.split(b"\0")[:-1]}
