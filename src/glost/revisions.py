"""Which revision of a recipe lies before us, where there is a repository."""

from __future__ import annotations

import subprocess
from pathlib import Path

_SECONDS = 10
"""Longer than git ever takes for one file; a sheet is not held up by a repository that does not answer."""


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
            ["git", "-C", str(path.absolute().parent), *arguments],
            capture_output=True,
            timeout=_SECONDS,
            check=False,
            stdin=subprocess.DEVNULL,
        )
    except (OSError, subprocess.TimeoutExpired):
        return ""
    return done.stdout.decode("utf-8", "replace").strip() if done.returncode == 0 else ""
