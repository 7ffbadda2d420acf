"""Every command as a process of its own, as people and other programs call it: it says, writes and ends as it does when
it is called inside the tests, which do that where they call one a hundred times."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

import pytest

from glost.cli.app import COMMANDS
from tests.conftest import STUDIO, TOP, Run

EBB = "studio/stoneware/clear-ebb.glost"
SATIN = "studio/stoneware/beeswax-satin.glost"

CALLS: dict[str, tuple[str, ...]] = {
    "lint": ("lint", "studio/needs-work", "--fix", "--output", "sarif=found.sarif", "--output", "text"),
    "lint without an option": ("lint", "studio"),
    "format": ("format", "studio/needs-work"),
    "convert": ("convert", "studio/washes", "--to", "markdown", "--out", "out"),
    "catalog": ("catalog", "studio", "--to", "csv"),
    "import": ("import", "old.csv", "--to", "new"),
    "formula": ("formula", EBB, "--steps"),
    "materials": ("materials", "cobalt carbonate"),
    "record": ("record", "record.json", "--log", "studio/log"),
    "count": ("count", "silica=5 kg", "kaolin=0 g", "--on", "2026-05-01", "--log", "studio/log"),
    "delivery": ("delivery", "flint=25 kg", "--price", "30 EUR", "--on", "2026-05-01", "--log", "studio/log"),
    "stock": ("stock", "studio", "--months", "3"),
    "cost": ("cost", EBB, "--batch", "500 g", "--output", "json"),
    "where a lot went": ("usage", "studio", "--lot", "NS-89a"),
    "usage": ("usage", "studio", "--output", "json"),
    "match": ("match", EBB, "--without", "kaolin"),
    "plot": ("plot", "studio/raku", "--out", "raku.svg"),
    "batch": ("batch", EBB, "--batch", "350 g", "--output", "json"),
    "rescue": ("rescue", EBB, "--batch", "100 g", "--weighed", "silica=30"),
    "session": ("session", "studio/washes", "--batch", "100 g"),
    "compare": ("compare", EBB, SATIN),
    "history": ("history", EBB),
    "blame": ("blame", EBB),
    "textconv": ("textconv", EBB),
    "merge": ("merge", "base.glost", "ours.glost", "theirs.glost"),
    "explain": ("explain", "base-total"),
    "wrong usage": ("lint", "--no-such-option"),
    "a command that is not there": ("lnit",),
    "a file that is not there": ("convert", "nowhere.glost", "--to", "sheet"),
    "no command": (),
}
"""A call or more of each command. One that has none here yet is asked for its help."""
CALLS |= {name: (name, "--help") for name in COMMANDS.keys() - {call[0] for call in CALLS.values() if call}}


@pytest.fixture
def places(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> tuple[Path, Path]:
    """Two folders that hold the same, under one name, so that whatever shows a path shows the same path."""
    for part in ("AUTHOR", "COMMITTER"):
        monkeypatch.setenv(f"GIT_{part}_NAME", "Tern Saltmarsh")
        monkeypatch.setenv(f"GIT_{part}_EMAIL", "tern@example.org")
        monkeypatch.setenv(f"GIT_{part}_DATE", "2026-03-14T10:00:00Z")
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", os.devnull)
    here, there = tmp_path / "here" / "shared", tmp_path / "there" / "shared"
    shutil.copytree(STUDIO, here / "studio")
    shutil.copy(TOP / "corpus" / "records" / "harbour-mist.json", here / "record.json")
    (here / "old.csv").write_text("recipe,material,amount\nGrey,silica,60\nGrey,kaolin,40\n")
    page = (STUDIO / "stoneware" / "clear-ebb.glost").read_text("utf-8")
    (here / "base.glost").write_text(page, "utf-8")
    (here / "ours.glost").write_text(
        page.replace("silica                 25", "silica                 26"), "utf-8"
    )
    (here / "theirs.glost").write_text(page.replace("oxidation", "reduction"), "utf-8")
    for command in (("init", "-q", "-b", "main"), ("add", "-A"), ("commit", "-q", "-m", "begin")):
        subprocess.run(["git", *command], cwd=here, check=True)
    shutil.copytree(here, there, symlinks=True)
    return here, there


def tree(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file() and ".git" not in path.parts
    }


def test_every_command_is_called() -> None:
    assert COMMANDS.keys() <= {call[0] for call in CALLS.values() if call}


def test_no_order_of_a_set_is_printed(run_process: Run, tmp_path: Path) -> None:
    """A set of words lies in another order in a process of another seed; relatives are found by adding one up."""
    for name in ("shale", "gypsum", "flint clay"):
        said = {
            run_process("materials", name, "--in", str(tmp_path), PYTHONHASHSEED=seed).stdout
            for seed in "0123"
        }
        assert len(said) == 1, name


@pytest.mark.parametrize("name", sorted(CALLS))
def test_a_process_does_the_same(
    name: str, places: tuple[Path, Path], run_process: Run, run_here: Run
) -> None:
    here, there = places
    alone = run_process(*CALLS[name], cwd=there)
    inside = run_here(*CALLS[name], cwd=here)
    for done in (alone, inside):
        assert "Traceback" not in done.stderr
        assert "a mistake in glost" not in done.stderr
    assert alone.returncode == inside.returncode
    assert alone.stdout.replace("python -m glost", "glost") == inside.stdout
    assert alone.stderr.replace("python -m glost", "glost") == inside.stderr
    assert tree(there) == tree(here)
