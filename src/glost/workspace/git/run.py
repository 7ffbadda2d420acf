"""git, asked for one thing at a time. Nothing else in glost starts it."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Final

from glost.errors import GlostError
from glost.workspace.git.folders import handed_over, in_folder, store_named_by, top_of
from glost.workspace.git.program import environment, for_trial, program, words
from glost.workspace.git.revision_words import peeled

HEAD: Final = "HEAD"
"""The commit that is checked out, as git calls it."""

SECONDS = 10
"""Longer than git ever takes for one file; a sheet is not held up by a repository that does not answer."""


class GitError(GlostError):
    """git could not do what it was asked, or is not there; the text is what it said. ``status``: its exit status, None
    where it has not ended by itself."""

    def __init__(self, why: str, status: int | None = None) -> None:
        super().__init__(why)
        self.status = status


def asked(top: Path, *arguments: str, given: bytes | None = None, seconds: int = SECONDS) -> bytes:
    """What git prints about the repository with that top folder, as top_of finds it, where the answer is not found by
    looking into the working folder. Raises GitError."""
    return _asked(top, arguments, {}, given, seconds)


def asked_of_files(top: Path, *arguments: str, seconds: int = SECONDS) -> bytes:
    """As asked, for what needs a look at the files of the working folder as well: git would first pass each through
    the filter that an attribute names, which is a program. It runs none. Raises GitError."""
    return _asked(top, arguments, _without_filters(top), None, seconds)


def asked_anywhere(folder: Path, *arguments: str, most: int = 0) -> tuple[bytes, int]:
    """What git prints where it needs no repository, in a folder that lies in none, and its exit status, which is no
    failure up to ``most``. Raises GitError."""
    done = _run(None, folder, arguments, {}, None, SECONDS)
    if not 0 <= done.returncode <= most:
        raise GitError(complaint(done.stderr), done.returncode)
    return done.stdout, done.returncode


def asked_to_try(folder: Path, *arguments: str) -> bytes:
    """What git prints in a repository that we have made, whose settings may name programs: it is tried whether git
    can call them, as from a window, where nobody has set a path. Raises GitError."""
    git = program(folder)
    if git is None:
        raise GitError("git could not be started: there is none on the path, outside of this folder")
    done = _started([git, "-C", str(folder), "--no-pager", *arguments], for_trial(folder), None, _FOR_A_TRIAL)
    if done.returncode != 0:
        raise GitError(complaint(done.stderr), done.returncode)
    return done.stdout


_FOR_A_TRIAL = 60
"""Seconds, since git starts glost, which may be for the first time."""


def _asked(
    top: Path, arguments: tuple[str, ...], settings: Mapping[str, str], given: bytes | None, seconds: int
) -> bytes:
    done = _run(top, top, arguments, settings, given, seconds)
    if done.returncode != 0:
        raise GitError(complaint(done.stderr), done.returncode)
    return done.stdout


def _run(
    top: Path | None,
    folder: Path,
    arguments: tuple[str, ...],
    settings: Mapping[str, str],
    given: bytes | None,
    seconds: int,
) -> subprocess.CompletedProcess[bytes]:
    git = program(top or top_of(Path.cwd()))
    if git is None:
        raise GitError("git could not be started: there is none on the path, outside of this folder")
    command = [git, "-C", str(folder), *words(settings), *arguments]
    return _started(command, environment(_repository(top, folder)), given, seconds)


def _started(
    command: Sequence[str], env: Mapping[str, str], given: bytes | None, seconds: int
) -> subprocess.CompletedProcess[bytes]:
    try:
        return subprocess.run(
            command, capture_output=True, timeout=seconds, check=False, input=given or b"", env=env
        )
    except subprocess.TimeoutExpired:
        raise GitError("git does not answer") from None
    except (OSError, ValueError) as error:
        raise GitError(f"git could not be started: {error}") from None


def _repository(top: Path | None, folder: Path) -> dict[str, str]:
    """What makes git ask the repository with that top and no other; with none, none."""
    if top is None:
        return {"GIT_CEILING_DIRECTORIES": str(folder.parent)}
    given = _named_for_us(top)
    if given is not None:
        store = given
        named = {"GIT_DIR": str(store)}
    else:
        store = store_named_by(top) or Path(os.path.realpath(top / ".git"))
        # git looks for itself, since one that is named is asked whoever owns it, but no further up.
        named = {"GIT_CEILING_DIRECTORIES": str(top.parent)}
    index = os.environ.get("GIT_INDEX_FILE")
    if index is not None and in_folder(
        os.path.realpath(index), store
    ):  # that of the commit in whose hook we are
        named["GIT_INDEX_FILE"] = os.path.realpath(index)
    # A setting of the repository's can name any other folder as its working folder.
    return {**named, "GIT_WORK_TREE": str(top)}


def _named_for_us(top: Path) -> Path | None:
    """The repository that the environment names for that working folder."""
    given = handed_over()
    return given[0] if given is not None and given[1] == top else None


def _without_filters(top: Path) -> dict[str, str]:
    """Settings that take every filter its programs away. Raises GitError."""
    settings = settings_of(top)
    taken = {}
    for name in settings:
        section, _, rest = name.partition(".")
        driver, _, last = rest.rpartition(".")
        if section == "filter" and driver and last in ("clean", "smudge", "process", "required"):
            taken[name] = "" if last != "required" else "false"
    # A second working folder may belong to a bare one, and so may one that the environment names.
    if is_yes(settings.get("core.bare", "")) and not (top / ".git").is_file() and not _named_for_us(top):
        raise GitError("this is a bare repository, where there are no files to look at")
    return taken


def settings_of(top: Path) -> dict[str, str]:
    """The settings of git in a repository, by their whole names; a later one goes before. Raises GitError."""
    listed = os.fsdecode(asked(top, "config", "--list", "--null")).split("\0")[:-1]
    # One without a value is switched on.
    return {name: value if eq else "true" for name, eq, value in (one.partition("\n") for one in listed)}


def is_yes(value: str) -> bool:
    """Whether a setting is switched on: git-config(1), "boolean"."""
    return value.lower() in ("true", "yes", "on", "1")


def complaint(stderr: bytes) -> str:
    """What git complains of, in one line; behind it git may say what to do."""
    lines = [line.strip() for line in stderr.decode("utf-8", "replace").splitlines() if line.strip()]
    begins = [at for at, line in enumerate(lines) if line.startswith("fatal: ")]
    return " ".join(lines[begins[0] if begins else -1 :]) or "git failed and said nothing"


def commit_of(top: Path, revision: str) -> str | None:
    """The full name of the commit that a person calls ``revision``, None where there is none. Raises GitError where
    git would not answer whatever the word."""
    found = _named(top, peeled(revision))
    if found is not None and found.startswith("^"):
        return None  # all that a commit does not come from
    if found is None:
        named = _named(top, revision)
        if named is not None and asked(
            top, "cat-file", "--batch-check", given=f"{named}\n".encode()
        ).endswith(_GONE):
            raise GitError(f"what '{revision}' names is missing in the repository")
    return found


_GONE = b" missing\n"


def _named(top: Path, word: str) -> str | None:
    """The full name of what a word means, which need not be there. Raises GitError."""
    try:
        return (
            asked(top, "rev-parse", "--verify", "--quiet", "--end-of-options", word).decode("ascii").strip()
        )
    except GitError as error:
        if error.status != 1:
            asked(top, "rev-parse", "--git-dir")  # which fails where git would not answer whatever the word
        return None
