"""docs/git.md: what the commands of its tour print."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.conftest import TOP
from tests.work import HANG_S

PAGE = TOP / "docs" / "git.md"
PROGRAMS = "/home/bench/.local/bin"
"""Where glost lies on the page; here it lies elsewhere in each run."""
FENCE = re.compile(r"^```shell-session\n(?P<text>.*?)^```$", re.MULTILINE | re.DOTALL)


def commands_of(block: str) -> list[list[str]]:
    """The lines of each command: "$ " begins one, "> " or ">" goes on with it; all else is output."""
    commands: list[list[str]] = []
    for line in block.splitlines():
        if line.startswith("$ "):
            commands.append([line])
        elif line[:2] in ("> ", ">") and commands:
            commands[-1].append(line)
    return commands


def run_tour(page: str, folder: Path) -> str:
    """The page with what the commands of its tour print now. Each block is a day later, so that the names of commits
    are the same in every run."""
    home = folder / "home"
    programs = folder / "programs"
    for made in (home, programs):
        made.mkdir()
    (programs / "glost").write_text(f"#!{sys.executable}\nfrom glost.cli import main\nmain()\n")
    (programs / "glost").chmod(0o755)
    environment = {
        "PATH": f"{programs}:{os.environ['PATH']}",
        "HOME": str(home),
        "GIT_CONFIG_NOSYSTEM": "1",
        "LC_ALL": "C.UTF-8",
        "PYTHONIOENCODING": "utf-8",
        "COLUMNS": "100",
        "GLOST_CACHE": str(folder / "cache"),
    }
    here = home
    day = 9

    def anew(found: re.Match[str]) -> str:
        nonlocal here, day
        day += 1
        date = f"2026-03-{day}T10:00:00Z"
        dated = {**environment, "GIT_AUTHOR_DATE": date, "GIT_COMMITTER_DATE": date}
        out = []
        for command in commands_of(found["text"]):
            script = "\n".join(line[2:] for line in command)
            left = folder / "left-in"
            done = subprocess.run(
                ["bash", "-c", f"{script}\npwd > {shlex.quote(str(left))}"],
                cwd=here, env=dated, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                stderr=subprocess.STDOUT, timeout=HANG_S, check=False,
            )  # fmt: skip
            here = Path(left.read_text().removesuffix("\n"))
            said = done.stdout.decode("utf-8").replace(str(programs), PROGRAMS)
            out += [*command, *said.splitlines()]
        return "```shell-session\n" + "".join(f"{line}\n" for line in out) + "```"

    return FENCE.sub(anew, page)


def files() -> dict[Path, str]:
    with tempfile.TemporaryDirectory() as name:
        return {PAGE: run_tour(PAGE.read_text("utf-8"), Path(name))}
