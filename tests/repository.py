"""A repository of the test's own, with commits of a set day."""

from __future__ import annotations

import os
import subprocess
from pathlib import Path


def committed(folder: Path, subject: str, day: str = "2026-03-01") -> None:
    """Commits all that lies in a folder, which becomes a repository where it is none yet."""
    environment = {
        **os.environ,
        "GIT_AUTHOR_DATE": f"{day}T12:00:00",
        "GIT_COMMITTER_DATE": f"{day}T12:00:00",
    }
    steps = ([] if (folder / ".git").exists() else [["init", "-q", "-b", "main"]]) + [
        ["add", "-A"],
        ["-c", "user.name=Tern Saltmarsh", "-c", "user.email=tern@example.org", "-c", "commit.gpgsign=false",
         "commit", "-q", "-m", subject],
    ]  # fmt: skip
    for step in steps:
        subprocess.run(["git", *step], cwd=folder, check=True, env=environment)
