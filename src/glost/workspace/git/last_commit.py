"""The last commit that touched a recipe, of one or of many at once."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Final, NamedTuple

from glost.output.format import NOT_KNOWN, Revision
from glost.workspace.git.folders import Beginning, Places
from glost.workspace.git.revisions import is_shallow
from glost.workspace.git.run import HEAD, GitError, asked, asked_of_files, commit_of

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


SHALLOW: Final = (
    "this clone is shallow, and what came before it was made elsewhere; run  git fetch --unshallow  (in a pipeline: "
    "ask for the whole history)"
)


class _Commit(NamedTuple):
    """A commit as git lists it: its full name, its short name and its day."""

    full: str
    short: str
    day: str


def last_commits(paths: Sequence[Path], begins: Beginning) -> dict[Path, LastCommit | NotKnown]:
    """The last commit of each of many files; those that lie in no repository, or in no commit, are left out. Only the
    repository is asked that holds the beginning of a file's collection. git is called a few times a repository, however
    many files there are."""
    commits: dict[Path, LastCommit | NotKnown] = {}
    for top, files in _by_repository(paths, begins, commits).items():
        try:
            touched = _one_by_one(top, files) if len(files) <= _FEW else _last_touched(top, files)
            seeming = cut_off(top, {commit.full for commit in touched.values()})
            changed = _changed(top, files) if touched else set()
        except GitError as error:
            if not _nothing_committed(top):
                commits.update((path, NotKnown(str(error))) for those in files.values() for path in those)
            continue
        for name, commit in touched.items():
            told = (
                NotKnown(SHALLOW)
                if commit.full in seeming
                else LastCommit(commit.short, commit.day, name in changed)
            )
            commits |= dict.fromkeys(files[name], told)
    return commits


def revision_of(found: LastCommit | NotKnown | None) -> Revision | None:
    """What is printed of it."""
    if isinstance(found, NotKnown):
        return NOT_KNOWN
    return None if found is None else Revision(found.short, found.changed, day=found.day)


def why_not_known(found: Iterable[LastCommit | NotKnown]) -> dict[str, int]:
    """Each reason why a commit is not known, and how many files it holds for."""
    return dict(Counter(one.why for one in found if isinstance(one, NotKnown)))


def _named(said: bytes) -> Iterator[_Commit]:
    """Every commit that git has listed."""
    for line in said.decode("ascii").splitlines():
        yield _Commit(*line.split())


def cut_off(top: Path, commits: Collection[str]) -> frozenset[str]:
    """Those of the commits that seem to begin everything since their parents were left behind by a shallow clone: git
    says of each file that they touched it. Raises GitError."""
    if not is_shallow(top):
        return frozenset()
    listed = top / os.fsdecode(asked(top, "rev-parse", "--git-path", "shallow").removesuffix(b"\n"))
    try:
        edge = set(listed.read_text("ascii").split()) & set(commits)
    except (OSError, ValueError) as error:
        raise GitError(f"what this shallow clone leaves out cannot be read: {error}") from None
    # The very first commit stands there too, where the clone reaches just so far.
    return frozenset(one for one in edge if b"\nparent " in asked(top, "cat-file", "commit", one))


def _by_repository(
    paths: Sequence[Path], begins: Beginning, commits: dict[Path, LastCommit | NotKnown]
) -> dict[Path, dict[str, list[Path]]]:
    """For the top folder of each repository: the files in it, by their path from there. A file that is reached through
    a linked folder stands there under each of its names. Those in a repository of their own go to ``commits``."""
    places = Places(begins)
    found: dict[Path, dict[str, list[Path]]] = {}
    for path in paths:
        folder = places.real_folder(path)
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
        return commit_of(top, HEAD) is None
    except GitError:
        return False


def _one_by_one(top: Path, names: Iterable[str]) -> dict[str, _Commit]:
    """The last commit that touched each file. Raises GitError."""
    found: dict[str, _Commit] = {}
    for name in names:
        found.update((name, named) for named in _named(asked(top, *_LOG, "-1", "--", name)))
    return found


def _last_touched(top: Path, names: Collection[str]) -> dict[str, _Commit]:
    """The last commit that touched each file, as git log has it for each by itself: from a merge it goes on to the
    first parent that holds the same file. Raises GitError."""
    listed = asked(top, "rev-list", "--topo-order", "--parents", HEAD).decode("ascii").splitlines()
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


def _names_of(top: Path, commits: Collection[str]) -> Mapping[str, _Commit]:
    """Each commit by its full name, with its short name and its day. Raises GitError."""
    if not commits:
        return {}
    given = "".join(f"{commit}\n" for commit in commits).encode("ascii")
    listed = asked(top, *_LOG, "--no-walk=unsorted", "--stdin", given=given)
    return {commit.full: commit for commit in _named(listed)}


def _changed(top: Path, names: Collection[str]) -> set[str]:
    """Files that are not as the last commit has them, and others below the same folder. Raises GitError."""
    where = list(names) if len(names) <= _FEW else [_above(names)]
    said = asked_of_files(
        top,
        *("status", "--porcelain", "-z", "--no-renames", "--untracked-files=all", "--ignore-submodules=all"),
        *("--", *where),
    )
    return {os.fsdecode(entry[3:]) for entry in said.split(b"\0")[:-1]}
