"""git, asked for one thing at a time."""

from __future__ import annotations

import os
import subprocess
from pathlib import Path

SECONDS = 10
"""Longer than git ever takes for one file; a sheet is not held up by a repository that does not answer."""


class GitFailed(Exception):
    """git could not do what it was asked, or is not there; the text is what it said."""


def asked(folder: Path, *arguments: str, given: bytes | None = None, seconds: int = SECONDS) -> bytes:
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
        raise GitFailed(complaint(done.stderr))
    return done.stdout


def _environment() -> dict[str, str] | None:
    """What git is started with. A hook of a second working folder is handed the repository by name, and git then takes
    every folder for the top of it; without the name git finds it by itself. None: what we have ourselves."""
    if "GIT_DIR" not in os.environ or "GIT_WORK_TREE" in os.environ:
        return None
    return {name: value for name, value in os.environ.items() if name not in _HANDED_TO_HOOKS}


_HANDED_TO_HOOKS = frozenset({"GIT_DIR", "GIT_INDEX_FILE", "GIT_PREFIX"})


def complaint(stderr: bytes) -> str:
    """What git complains of, in one line; behind it git may say what to do."""
    lines = [line.strip() for line in stderr.decode("utf-8", "replace").splitlines() if line.strip()]
    begins = [at for at, line in enumerate(lines) if line.startswith("fatal: ")]
    return " ".join(lines[begins[0] if begins else -1 :]) or "git failed and said nothing"


def top_of(folder: Path) -> Path | None:
    """The top folder of the repository that ``folder`` lies in, None where there is none."""
    try:
        return Path(os.fsdecode(asked(folder, "rev-parse", "--show-toplevel").removesuffix(b"\n")))
    except GitFailed:
        return None


def commit_of(folder: Path, revision: str) -> str | None:
    """The full name of the commit that a person calls ``revision``, None where there is none."""
    try:
        wanted = f"{revision}^{{commit}}"
        found = asked(folder, "rev-parse", "--verify", "--quiet", "--end-of-options", wanted)
    except GitFailed:
        return None
    return found.decode("ascii", "replace").strip()
