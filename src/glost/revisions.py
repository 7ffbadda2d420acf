"""Which revision of a recipe lies before us, where there is a repository, and what others hold."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

_SECONDS = 10
"""Longer than git ever takes for one file; a sheet is not held up by a repository that does not answer."""
_WHOLE_SECONDS = 60
"""For all that a repository holds, once."""


def revision_of(path: Path) -> tuple[str, bool] | None:
    """The short name of the last commit that touched a file, and whether the file has changed since. None where
    git is not there, the file lies in no repository, or no commit holds it."""
    commit = _git(path, "log", "-1", "--format=%h", "--", path.name)
    if not commit:
        return None
    return commit, bool(_git(path, "status", "--porcelain", "--", path.name))


def _git(path: Path, *arguments: str) -> str:
    try:
        done = subprocess.run(
            ["git", "--literal-pathspecs", "-C", str(path.absolute().parent), *arguments],
            capture_output=True,
            timeout=_SECONDS,
            check=False,
            stdin=subprocess.DEVNULL,
        )
    except (OSError, subprocess.TimeoutExpired):
        return ""
    return done.stdout.decode("utf-8", "replace").strip() if done.returncode == 0 else ""


# ---- the last revision of many files ---------------------------------------------------------------------


class LastCommit(NamedTuple):
    """The last commit that touched a file: its short name, its day (year-month-day), and whether the file has
    changed since."""

    short: str
    day: str
    changed: bool


class _Step(NamedTuple):
    """A commit on the way back: short name, day, the commits before it, the name of all it holds (its tree), and
    for each commit before it what differs: path to git's letter for the kind of change."""

    short: str
    day: str
    before: Sequence[str]
    tree: str
    differs: list[dict[str, str]]


def last_commits(paths: Sequence[Path]) -> tuple[dict[Path, LastCommit], list[str]]:
    """The last commit of every file, the same that ``revision_of`` finds for each; a file that no commit holds, or
    that lies in no repository, is left out. git is asked once a repository for its whole history, once for what has
    changed since, and never for a single file. Second: what git said where it failed."""
    tops: dict[Path, Path | None] = {}
    inside: dict[Path, dict[str, Path]] = {}
    for path in paths:
        folder = Path(os.path.realpath(path.absolute().parent))
        top = _repository_of(folder, tops)
        if top is not None:
            inside.setdefault(top, {})[(folder / path.name).relative_to(top).as_posix()] = path
    found: dict[Path, LastCommit] = {}
    failures = []
    for top, wanted in inside.items():
        try:
            found |= {wanted[name]: commit for name, commit in _last_in(top, wanted).items()}
        except GitFailed as error:
            failures.append(f"{top}: {error}")
    return found, failures


def _repository_of(folder: Path, tops: dict[Path, Path | None]) -> Path | None:
    """The nearest folder from here up that git would take for the top of a repository. Looked up here, since a
    process a folder would cost more than all else."""
    if folder not in tops:
        if os.path.lexists(folder / ".git"):
            tops[folder] = folder
        else:
            tops[folder] = None if folder.parent == folder else _repository_of(folder.parent, tops)
    return tops[folder]


def _last_in(top: Path, wanted: Iterable[str]) -> dict[str, LastCommit]:
    head = commit_of(top, "HEAD")
    if head is None:
        return {}
    last = _traced(head, _steps(top), wanted)
    # Untracked files are not asked for, since a folder may hold any number of them: one that a commit took away
    # and that lies here again is seen by that commit's letter.
    asked = (
        "status",
        "--porcelain",
        "-z",
        "--no-renames",
        "--untracked-files=no",
        "--ignore-submodules=none",
    )
    said = _asked(top, "--no-optional-locks", *asked, seconds=_WHOLE_SECONDS)
    changed = {os.fsdecode(entry[3:]) for entry in said.split(b"\0") if entry}
    return {
        path: LastCommit(step.short, step.day, path in changed or letter == "D")
        for path, (step, letter) in last.items()
    }


def _steps(top: Path) -> dict[str, _Step]:
    """All commits by their full names, each behind all that came after it."""
    said = _asked(
        top,
        *("-c", "log.showSignature=false", "-c", "log.showRoot=true", "-c", "log.diffMerges=separate"),
        *("log", "--topo-order", "-m", "--no-color", "--no-renames", "--ignore-submodules=none"),
        *("--name-status", "-z", "--format=%x01%H%x02%h%x02%cs%x02%P%x02%T%x02", "HEAD"),
        seconds=_WHOLE_SECONDS,
    )
    steps: dict[str, _Step] = {}
    for header, differs in _entries(said):
        name, short, day, before, tree = (part.decode("ascii") for part in header.split(b"\x02")[:5])
        step = steps.setdefault(name, _Step(short, day, before.split(), tree, []))
        step.differs.append(differs)
    return steps


def _entries(said: bytes) -> Iterator[tuple[bytes, dict[str, str]]]:
    """What git's log says of each commit and side, taken by its place alone: a path may hold any sign but NUL."""
    words = said.split(b"\0")
    at = 0
    while at < len(words) and words[at].startswith(b"\x01"):
        header, differs = words[at][1:], {}
        at += 1
        while at + 1 < len(words) and not words[at].startswith(b"\x01"):
            differs[os.fsdecode(words[at + 1])] = words[at].strip(b"\n").decode("ascii", "replace")
            at += 2
        yield header, differs


def _traced(head: str, steps: Mapping[str, _Step], wanted: Iterable[str]) -> dict[str, tuple[_Step, str]]:
    """For each path the commit that made it what it is, and how. Where a merge left it as one of the sides had it,
    the first such side is followed, as ``git log -- PATH`` does; else the merge is the one. Raises GitFailed."""
    found: dict[str, tuple[_Step, str]] = {}
    looked_for = {head: set(wanted)}
    for name, step in steps.items():
        mine = looked_for.pop(name, set())
        if not mine:
            continue
        # Of a side that holds all the same, git says nothing.
        said = iter(step.differs)
        sides: list[Mapping[str, str]] = [
            {} if side in steps and steps[side].tree == step.tree else next(said, {}) for side in step.before
        ] or [step.differs[0]]
        touched = mine.intersection(sides[0])
        mine -= touched
        _hand_on(looked_for, step.before[:1], mine)
        for side, differs in zip(step.before[1:], sides[1:], strict=True):
            _hand_on(looked_for, [side], touched - differs.keys())
            touched.intersection_update(differs)
        found |= {path: (step, sides[0][path]) for path in touched}
    return found


def _hand_on(looked_for: dict[str, set[str]], commits: Sequence[str], paths: set[str]) -> None:
    for commit in commits if paths else ():
        if commit in looked_for:
            looked_for[commit] |= paths
        else:
            looked_for[commit] = paths


# ---- other revisions of the recipes ----------------------------------------------------------------------


class GitFailed(Exception):
    """git could not do what it was asked, or is not there; the text is what it said."""


class Stored(NamedTuple):
    """A file of a revision: its path from the top of the repository, and the name of its content."""

    path: str
    blob: str


class Commit(NamedTuple):
    """A commit that touched a file: its full and its short name, its day (year-month-day), its subject, and the path
    of the file then, from the top of the repository."""

    name: str
    short: str
    day: str
    subject: str
    path: str


def top_of(folder: Path) -> Path | None:
    """The top folder of the repository that ``folder`` lies in, None where there is none."""
    try:
        return Path(os.fsdecode(_asked(folder, "rev-parse", "--show-toplevel").removesuffix(b"\n")))
    except GitFailed:
        return None


def commit_of(folder: Path, revision: str) -> str | None:
    """The full name of the commit that a person calls ``revision``, None where there is none."""
    try:
        asked = f"{revision}^{{commit}}"
        found = _asked(folder, "rev-parse", "--verify", "--quiet", "--end-of-options", asked)
    except GitFailed:
        return None
    return found.decode("ascii", "replace").strip()


def stored(top: Path, commit: str, below: str, ending: str) -> list[Stored]:
    """The file at that path of a commit, whatever its ending, or all below that folder ("" is the top) that have the
    ending. Raises GitFailed."""
    listed = _asked(top, "ls-tree", "-r", "-z", "--full-tree", commit, *(["--", below] if below else []))
    found = []
    for entry in listed.split(b"\0")[:-1]:
        about, _, path = entry.partition(b"\t")
        mode, kind, blob = about.decode("ascii").split()
        shown = os.fsdecode(path)
        if kind == "blob" and mode != "120000" and (shown.endswith(ending) or shown == below):
            found.append(Stored(shown, blob))
    return found


def contents(top: Path, blobs: Sequence[str]) -> list[bytes]:
    """The contents of those names, in their order. Raises GitFailed."""
    answer = _asked(top, "cat-file", "--batch", given="".join(f"{blob}\n" for blob in blobs).encode("ascii"))
    out, at = [], 0
    for blob in blobs:
        end = answer.find(b"\n", at)
        about = answer[at:end].split()
        if end < 0 or len(about) != 3:
            raise GitFailed(f"git has no content called {blob}")
        size = int(about[2])
        out.append(answer[end + 1 : end + 1 + size])
        at = end + 2 + size
    return out


def commits_of(path: Path) -> list[Commit]:
    """The commits that touched a file, the oldest first, through its renames. A merge is one of them, and what it
    merged is not, so that each follows from the one before. Raises GitFailed."""
    said = _asked(
        path.absolute().parent,
        *(
            "-c",
            "log.showSignature=false",
            "log",
            "--follow",
            "--first-parent",
            "-m",
            "--no-color",
            "--name-only",
            "-z",
        ),
        *("--format=%x01%H%x02%h%x02%cs%x02%s%x02", "--", path.name),
    )
    found = []
    for entry in said.split(b"\x01")[1:]:
        name, short, day, subject, named = entry.split(b"\x02", 4)
        then = named.strip(b"\0\n").split(b"\0")[0]
        if then:
            about = [part.decode("utf-8", "replace") for part in (name, short, day, subject)]
            found.append(Commit(about[0], about[1], about[2], about[3], os.fsdecode(then)))
    return found[::-1]


def content_at(top: Path, commit: Commit) -> bytes | None:
    """The file as that commit has it, None where it takes the file away. Raises GitFailed."""
    found = [one for one in stored(top, commit.name, commit.path, "/") if one.path == commit.path]
    return contents(top, [found[0].blob])[0] if found else None


def merged_by_lines(
    ours: bytes,
    base: bytes,
    theirs: bytes,
    marker_size: int = 7,
    labels: Sequence[str] = ("ours", "base", "theirs"),
) -> tuple[bytes, bool]:
    """git's own merge of three texts, line by line, and whether it is without a conflict. Raises GitFailed."""
    import tempfile

    with tempfile.TemporaryDirectory() as name:
        files = [Path(name) / side for side in ("ours", "base", "theirs")]
        for file, data in zip(files, (ours, base, theirs), strict=True):
            file.write_bytes(data)
        named = [word for label in labels for word in ("-L", label)]
        command = ["git", "merge-file", "-p", f"--marker-size={marker_size}", *named, *map(str, files)]
        try:
            done = subprocess.run(
                command, capture_output=True, timeout=_SECONDS, check=False, stdin=subprocess.DEVNULL
            )
        except (OSError, subprocess.TimeoutExpired) as error:
            raise GitFailed(str(error)) from None
    if not 0 <= done.returncode < 128:  # the number of conflicts, or what went wrong
        raise GitFailed(_said(done.stderr))
    return done.stdout, done.returncode == 0


def place_of(file: Path) -> Path:
    """Where a file that git hands over belongs: itself below this folder; for a copy in a temporary folder, the one
    file of the repository that is called so, else a file in this folder."""
    if file.absolute().is_relative_to(Path.cwd()):
        return file
    here = Path.cwd()
    try:
        listed = _asked(here, "--literal-pathspecs", "ls-files", "-z")
    except GitFailed:
        return here / file.name
    named = [
        path for path in map(os.fsdecode, listed.split(b"\0")[:-1]) if path.rpartition("/")[2] == file.name
    ]
    return here / named[0] if len(named) == 1 else here / file.name


def setting(top: Path, name: str) -> str | None:
    """A setting of this one repository, None where it is not set."""
    try:
        return os.fsdecode(_asked(top, "config", "--local", "-z", "--get", name)).removesuffix("\0")
    except GitFailed:
        return None


def set_setting(top: Path, name: str, value: str | None) -> None:
    """Sets a setting of this one repository, or takes it away. Raises GitFailed."""
    _asked(top, "config", "--local", *(["--unset", name] if value is None else [name, value]))


def _asked(folder: Path, *arguments: str, given: bytes | None = None, seconds: int = _SECONDS) -> bytes:
    """What git prints. Raises GitFailed."""
    try:
        done = subprocess.run(
            ["git", "-C", str(folder), *arguments],
            capture_output=True,
            timeout=seconds,
            check=False,
            input=given or b"",
        )
    except subprocess.TimeoutExpired:
        raise GitFailed("git does not answer") from None
    except (OSError, ValueError) as error:
        raise GitFailed(f"git could not be started: {error}") from None
    if done.returncode != 0:
        raise GitFailed(_said(done.stderr))
    return done.stdout


def _said(stderr: bytes) -> str:
    lines = stderr.decode("utf-8", "replace").strip().splitlines()
    return lines[-1] if lines else "git failed and said nothing"
