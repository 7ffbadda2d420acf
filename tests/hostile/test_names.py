"""File names that are not UTF-8, or would steer a terminal, through every command and every form that it writes."""

from __future__ import annotations

import importlib
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import click
import pytest

from glost.cli.app import COMMANDS
from tests.hostile.conftest import quiet
from tests.hostile.pages import GOOD
from tests.records.bench import json_of

BAD_NAME = os.fsdecode(b"bad\x1b[31m\xe2\x80\xae\xff.glost")
STEERS = re.compile("[\x00-\x08\x0b\x0e-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069]")
"""What a terminal obeys, but for line ends and the form feed between sheets."""

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="such a name cannot be made there")

WORDS: dict[str, tuple[str, ...]] = {
    "lint": (),
    "format": (),
    "convert": (),
    "catalog": (),
    "import": (os.fsdecode(b"n\xfe.txt"), "--to", os.fsdecode(b"new\xfd")),
    "formula": (),
    "materials": ("silica",),
    "record": (os.fsdecode(b"r\xfe.json"),),
    "usage": (),
    "count": ("silica=5 kg", "--on", "2026-05-01", "--by", "R. T."),
    "delivery": ("silica=5 kg", "--on", "2026-05-01", "--lot", "S-95b"),
    "stock": (),
    "cost": (),
    "match": (BAD_NAME,),
    "blend": (os.fsdecode(b"line\xfe.glost"), "--wet", "60 ml"),
    "firing": (os.fsdecode(b"k\xfe.firing"),),
    "results": (),
    "server": ("--help",),
    "plot": ("--out", os.fsdecode(b"p\xfe.svg")),
    "batch": (),
    "rescue": (BAD_NAME, "--weighed", "whiting=41"),
    "session": (),
    "compare": ("HEAD",),
    "history": (BAD_NAME,),
    "blame": (BAD_NAME,),
    "textconv": (BAD_NAME,),
    "merge": (BAD_NAME, BAD_NAME, BAD_NAME, BAD_NAME),
    "git-setup": ("--print",),
    "explain": ("base-total",),
    "new": ("Sand", "--base", "silica 100"),
    "find": (),
    "completion": ("bash",),
    "help": (),
    "version": (),
}
"""What each command is given; a new one is missed here at once."""


def forms(name: str) -> Iterator[tuple[str, ...]]:
    """Every form of what a command writes, as its options have them."""
    command = importlib.import_module(f"glost.cli.{name.replace('-', '_')}_command").command
    for option in command.params:
        if isinstance(option, click.Option) and option.name in ("output", "to", "outputs"):
            if isinstance(option.type, click.Choice):
                for form in option.type.choices:
                    yield option.opts[0], form
            elif name == "lint":
                from glost.cli.linting import OUTPUTS

                for form in OUTPUTS:
                    yield option.opts[0], form
                    yield option.opts[0], f"{form}={os.fsdecode(b'report')}.{form}"
    if not any(option.required for option in command.params if option.name == "to"):
        yield ()


@pytest.fixture(scope="module")
def collection(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("collection")
    (folder / "glost.yaml").write_text("{}\n")
    for file in (BAD_NAME, "a.glost"):
        (folder / file).write_text(GOOD)
    for name in "bc":
        (folder / f"{name}.glost").write_text(
            GOOD.replace('"A"', f'"{name}"').replace("cone: 6", "cone: 6\ngravity: 1.45")
        )
    made = subprocess.run(
        [sys.executable, "-m", "glost", "blend", "b.glost", "c.glost", "--by", "50 %", "--out", WORDS["blend"][0]],
        cwd=folder, capture_output=True, text=True, check=False, env={**os.environ, "GLOST_CACHE": "off"},
    )  # fmt: skip
    assert made.returncode == 0, made.stderr
    (folder / WORDS["import"][0]).write_text("Dune\nsilica 50\nkaolin 50\n")
    (folder / WORDS["record"][0]).write_text(json_of())
    (folder / WORDS["firing"][0]).write_text('firing "Kiln 1"\ndate: 2026-05-01\n\ntiles:\n    glaze "A"\n')
    for words in (("init", "-q"), ("add", "-A"), ("commit", "-q", "-m", "x")):
        subprocess.run(
            ["git", "-c", "user.name=x", "-c", "user.email=x@example.org", *words], cwd=folder, check=True
        )
    (folder / BAD_NAME).write_text(GOOD.replace("60", "61").replace("40", "39"))
    return folder


@pytest.mark.parametrize("name", COMMANDS)
def test_every_form_of_every_command(collection: Path, name: str, cache: Path) -> None:
    for form in forms(name):
        done = subprocess.run(
            [sys.executable, "-m", "glost", name, *WORDS[name], *form],
            cwd=collection, capture_output=True, timeout=60, check=False, stdin=subprocess.DEVNULL,
            env={**os.environ, "PYTHONIOENCODING": "utf-8"},
        )  # fmt: skip
        if "xlsx" in form:  # that is no text
            assert done.stdout.startswith(b"PK")
            done.stdout = b""
        done.stdout.decode("utf-8")  # what is written is whole text
        said = subprocess.CompletedProcess(
            done.args, done.returncode, done.stdout.decode("utf-8"), done.stderr.decode("utf-8")
        )
        quiet(said, done.returncode)
        assert not STEERS.search(said.stdout + said.stderr), form
        assert done.returncode in (0, 1), (form, said.stderr)


@pytest.mark.parametrize("form", ["sheet", "csv", "json", "html", "xlsx"])
def test_files_of_such_names_are_written(collection: Path, form: str) -> None:
    out = collection / os.fsdecode(b"out\xfc")
    done = subprocess.run(
        [sys.executable, "-m", "glost", "convert", "--to", form, "--out", str(out)],
        cwd=collection, capture_output=True, timeout=60, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert any(b"bad\x1b[31m" in os.fsencode(path) for path in out.iterdir())
