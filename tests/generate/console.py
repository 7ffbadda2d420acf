"""README.md and docs/*.md: what the commands of their console blocks print."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.conftest import TOP
from tests.work import HANG_S

PAGES = sorted([TOP / "README.md", *(TOP / "docs").glob("*.md")])
FENCE = re.compile(r"^```(?P<kind>[^\n]*)\n(?P<text>.*?)^```$", re.MULTILINE | re.DOTALL)


def commands_of(text: str) -> list[list[str]]:
    """A line that begins with "$ " is a command, with "> " below it the rest of one; all else is output."""
    commands: list[list[str]] = []
    for line in text.splitlines():
        if line.startswith("$ "):
            commands.append([line])
        elif line.startswith("> ") and commands:
            commands[-1].append(line)
    return commands


def console_blocks(page: str) -> list[tuple[str, str, str]]:
    """The console blocks of a page: kind, text, and the texts that it goes on from. A block "console continued" goes on
    in the folder in which the block above it ended."""
    found: list[tuple[str, str, str]] = []
    for block in FENCE.finditer(page):
        kind = block["kind"].strip()
        if kind == "console":
            found.append((kind, block["text"], ""))
        elif kind == "console continued":
            _, above, before = found[-1]
            found.append((kind, block["text"], before + above))
    return found


def run_console(text: str, before: str = "") -> str:
    """The block with what its commands print now (see commands_of). They run in a folder that holds a copy of corpus/,
    after the commands of ``before``, whose output is left out. As at a terminal, each begins in the folder in which the
    one above it ended."""
    earlier, commands = commands_of(before), commands_of(text)
    out: list[str] = []
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        # The thousand pages of the conformance suite are copied for those who look at them alone.
        left_out = () if "conformance" in text else ("conformance",)
        shutil.copytree(
            TOP / "corpus", folder / "corpus", ignore=shutil.ignore_patterns("__pycache__", *left_out)
        )
        programs = folder / ".programs"
        programs.mkdir()
        (programs / "glost").write_text(f'#!/bin/sh\nexec "{sys.executable}" -m glost "$@"\n')
        (programs / "glost").chmod(0o755)
        environment = {
            "PATH": f"{programs}:{os.environ['PATH']}",
            "HOME": name,
            "LC_ALL": "C.UTF-8",
            "PYTHONIOENCODING": "utf-8",
            "COLUMNS": "100",
        }
        at = programs / "at"
        at.write_text(name)
        for number, command in enumerate([*earlier, *commands]):
            done = subprocess.run(
                ["bash", "-c", "\n".join((*(line[2:] for line in command), f"pwd > '{at}'"))],
                cwd=at.read_text().strip(), env=environment, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                stderr=subprocess.STDOUT, timeout=HANG_S, check=False,
            )  # fmt: skip
            if number < len(earlier):
                continue
            printed = done.stdout.decode("utf-8")
            out += [*command, *printed.removesuffix("\n").split("\n")] if printed else command
    return "\n".join(out) + "\n"


def files() -> dict[Path, str]:
    return {page: _anew(page.read_text("utf-8")) for page in PAGES}


def _anew(page: str) -> str:
    runs = iter(console_blocks(page))

    def block(found: re.Match[str]) -> str:
        if found["kind"].strip() not in ("console", "console continued"):
            return found[0]
        kind, text, before = next(runs)
        return f"```{kind}\n{run_console(text, before)}```"

    return FENCE.sub(block, page)
