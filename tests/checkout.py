"""glost as it lies in this checkout, committed to a repository of a test's own, from which it can be installed."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.conftest import TOP
from tests.work import HANG_S

WHO = {f"GIT_{part}_{what}": value for part in ("AUTHOR", "COMMITTER")
       for what, value in (("NAME", "Tern Saltmarsh"), ("EMAIL", "tern@example.org"))}  # fmt: skip


def call(folder: Path, *words: str, **environment: str) -> tuple[int, str]:
    """The exit status of a command, and all that it printed."""
    done = subprocess.run(
        words,
        cwd=folder,
        env={**os.environ, **WHO, "GIT_CONFIG_GLOBAL": os.devnull, "LC_ALL": "C.UTF-8", **environment},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        timeout=HANG_S,
        check=False,
    )
    return done.returncode, done.stdout.decode("utf-8")


def git(folder: Path, *words: str) -> str:
    status, said = call(folder, "git", *words)
    assert status == 0, said
    return said


def copy_checkout(folder: Path) -> None:
    """What git knows of this checkout, as it lies there now, in that folder."""
    listed = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=TOP, capture_output=True, check=True,
    )  # fmt: skip
    for name in filter(None, map(os.fsdecode, listed.stdout.split(b"\0"))):
        if (TOP / name).is_file():
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(TOP / name, folder / name)


def commit_checkout(folder: Path) -> str:
    """Commits what git knows of this checkout, as it lies there now, in that folder; the name of the commit."""
    copy_checkout(folder)
    git(folder, "init", "-q", "-b", "main")
    git(folder, "add", "-A")
    git(folder, "commit", "-q", "-m", "glost")
    return git(folder, "rev-parse", "HEAD").strip()


def give_up(what: str, said: str, folder: Path) -> None:
    """Ends a test for which something could not be installed: it is skipped only where pip reaches no index."""
    probe = ["-m", "pip", "download", "--quiet", "--no-deps", "--no-cache-dir", "--retries", "1"]
    status, told = call(folder, sys.executable, *probe, "--dest", str(folder / "probe"), "click")
    if status != 0 and "No module named pip" not in told:
        pytest.skip(f"pip cannot reach the package index, so {what} cannot install glost")
    pytest.fail(f"{what} could not install glost:\n{said}")
