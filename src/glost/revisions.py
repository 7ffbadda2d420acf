"""Which revision of a recipe lies before us, where there is a repository, and what others hold."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Collection, Iterator, Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

_SECONDS = 10
"""Longer than git ever takes for one file; a sheet is not held up by a repository that does not answer."""
_SECONDS_FOR_ALL = 120
"""For a walk through a whole working folder, which may lie on a slow disk and hold more than recipes."""
_FEW = 2
"""Files up to which it is quicker to ask git for each."""
_FIRST_LOOK, _LONGEST_LOOK = 250, 16_000
"""Commits that are compared with their parents in one call: few at first, since most files are found among them."""


def revision_of(path: Path) -> tuple[str, bool] | None:
    """The short name of the last commit that touched a file, and whether the file has changed since. None where
    git is not there, the file lies in no repository, or no commit holds it."""
    commit = _git(path, "log", "-1", "--format=%h", "--", path.name)
    if not commit:
        return None
    return commit, bool(_git(path, "status", "--porcelain", "--", path.name))


def revisions_of(paths: Sequence[Path]) -> dict[Path, tuple[str, bool]]:
    """What revision_of says of each of many files, those left out of which it says nothing. git is called a few times
    a repository, however many files there are."""
    if len(paths) <= _FEW:
        return {path: found for path in paths if (found := revision_of(path))}
    revisions: dict[Path, tuple[str, bool]] = {}
    for top, files in _by_repository(paths).items():
        try:
            touched, changed = _last_touched(top, files), _changed(top, files)
        except GitFailed:  # not to be answered for all at once; each may be
            inside = [path for those in files.values() for path in those]
            revisions |= {path: found for path in inside if (found := revision_of(path))}
            continue
        for name, commit in touched.items():
            revisions |= dict.fromkeys(files[name], (commit, name in changed))
    return revisions


def _git(path: Path, *arguments: str) -> str:
    try:
        done = subprocess.run(
            ["git", "--literal-pathspecs", "-C", str(path.absolute().parent), *arguments],
            capture_output=True,
            timeout=_SECONDS,
            check=False,
            stdin=subprocess.DEVNULL,
            env=_environment(),
        )
    except (OSError, subprocess.TimeoutExpired):
        return ""
    return done.stdout.decode("utf-8", "replace").strip() if done.returncode == 0 else ""


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


def _last_touched(top: Path, names: Collection[str]) -> dict[str, str]:
    """The short name of the last commit that touched each file, as git log has it for each by itself: from a merge it
    goes on to the first parent that holds the same file. Raises GitFailed."""
    if commit_of(top, "HEAD") is None:  # nothing is committed yet
        return {}
    listed = _asked(top, "rev-list", "--topo-order", "--parents", "HEAD").decode("ascii").splitlines()
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
    short = _short(top, set(found.values()))
    return {name: short[commit] for name, commit in found.items()}


def _above(names: Collection[str]) -> str:
    """The lowest folder that all of these lie in, "." for the top."""
    return os.path.commonpath([os.path.dirname(name) or "." for name in names]) or "."  # noqa: PTH120


def _differing(top: Path, steps: Sequence[tuple[str, str]], below: str) -> Iterator[set[str]]:
    """For each commit and parent ("" for none): the files below a folder that differ. Raises GitFailed."""
    given = "".join(f"{commit} {parent}".rstrip() + "\n" for commit, parent in steps).encode("ascii")
    answer = _asked(
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


def _short(top: Path, commits: Collection[str]) -> Mapping[str, str]:
    """The short name of each commit. Raises GitFailed."""
    if not commits:
        return {}
    given = "".join(f"{commit}\n" for commit in commits).encode("ascii")
    said = _asked(
        top,
        *("-c", "log.showSignature=false", "log", "--no-walk=unsorted", "--no-color", "--format=%H %h"),
        "--stdin",
        given=given,
    )
    pairs = (line.partition(" ") for line in said.decode("ascii").splitlines())
    return {commit: short for commit, _, short in pairs}


def _changed(top: Path, names: Collection[str]) -> set[str]:
    """Files that are not as the last commit has them, and others below the same folder. Raises GitFailed."""
    said = _asked(
        top,
        *("--literal-pathspecs", "status", "--porcelain", "-z", "--no-renames", "--untracked-files=all"),
        *("--", _above(names)),
    )
    return {os.fsdecode(entry[3:]) for entry in said.split(b"\0")[:-1]}


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


class Changes(NamedTuple):
    """What differs between a commit and the working folder, by path from the top of the repository: what is there
    (changed, new, or under a new name), what is ``gone``, and the repositories ``within`` that are not as recorded."""

    there: frozenset[str]
    gone: frozenset[str]
    within: frozenset[str]


def changes_since(top: Path, commit: str | None) -> Changes:
    """What is staged, what is not, and what git does not know yet and does not ignore, against a commit; without one
    everything that git knows counts. Raises GitFailed."""
    there: set[str] = set()
    gone: set[str] = set()
    within: set[str] = set()
    if commit is None:
        there.update(_paths(top, "ls-files", "-z", "--cached"))
    else:
        # What a person has set for their own diffs must not change which files differ.
        asked = ["diff", "--raw", "-z", "--no-renames", "--no-ext-diff", "--no-textconv"]
        told = _paths(top, *asked, "--ignore-submodules=none", commit, "--")
        for about, path in zip(told[::2], told[1::2], strict=True):
            before, after, *_, state = about.removeprefix(":").split(" ")
            if _REPOSITORY in (before, after):
                within.add(path)
            else:
                (gone if state == "D" else there).add(path)
    for path in _paths(top, "ls-files", "-z", "--others", "--exclude-standard"):
        (within if path.endswith("/") else there).add(path.rstrip("/"))
    return Changes(frozenset(there), frozenset(gone), frozenset(within))


_REPOSITORY = "160000"
"""The mode that git gives to a repository within another."""


def _paths(top: Path, *arguments: str) -> list[str]:
    # Without the lock that git would like for what it learns on the way: a commit may be holding it.
    listed = _asked(top, "--no-optional-locks", *arguments, seconds=_SECONDS_FOR_ALL)
    return [os.fsdecode(part) for part in listed.split(b"\0")[:-1]]


def without_working_folder(folder: Path) -> bool:
    """Whether a folder lies in a repository that has no working folder, or within its store. Raises GitFailed where
    it lies in none, or git is not there."""
    return _asked(folder, "rev-parse", "--is-inside-work-tree").strip() == b"false"


def is_shallow(top: Path) -> bool:
    """Whether a clone was made without all that came before."""
    try:
        return _asked(top, "rev-parse", "--is-shallow-repository").strip() == b"true"
    except GitFailed:
        return False


def names_of_commits(top: Path) -> list[str]:
    """The branches, those of other repositories, and the tags, as a person types them."""
    try:
        listed = _asked(
            top, "for-each-ref", "--format=%(refname:short)", "refs/heads", "refs/remotes", "refs/tags"
        )
    except GitFailed:
        return []
    return listed.decode("utf-8", "replace").split("\n")[:-1]


def last_in_common(top: Path, commit: str) -> str | None:
    """The last commit that a commit and the one checked out both come from, None where there is none."""
    try:
        found = _asked(top, "merge-base", "HEAD", commit)
    except GitFailed:
        return None
    return found.decode("ascii", "replace").strip()


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
            env=_environment(),
        )
    except subprocess.TimeoutExpired:
        raise GitFailed("git does not answer") from None
    except (OSError, ValueError) as error:
        raise GitFailed(f"git could not be started: {error}") from None
    if done.returncode != 0:
        raise GitFailed(_said(done.stderr))
    return done.stdout


def _environment() -> dict[str, str] | None:
    """What git is started with. A hook of a second working folder is handed the repository by name, and git then takes
    every folder for the top of it; without the name git finds it by itself. None: what we have ourselves."""
    if "GIT_DIR" not in os.environ or "GIT_WORK_TREE" in os.environ:
        return None
    return {name: value for name, value in os.environ.items() if name not in _HANDED_TO_HOOKS}


_HANDED_TO_HOOKS = frozenset({"GIT_DIR", "GIT_INDEX_FILE", "GIT_PREFIX"})


def _said(stderr: bytes) -> str:
    """What git complains of, in one line; behind it git may say what to do."""
    lines = [line.strip() for line in stderr.decode("utf-8", "replace").splitlines() if line.strip()]
    begins = [at for at, line in enumerate(lines) if line.startswith("fatal: ")]
    return " ".join(lines[begins[0] if begins else -1 :]) or "git failed and said nothing"
