"""What is installed: the wheel holds all that glost reads while it runs, its types, and the licences of its data."""

from __future__ import annotations

import doctest
import json
import re
import subprocess
import sys
import zipfile
from collections.abc import Iterator
from email import message_from_string
from email.message import Message
from pathlib import Path

import pytest

from glost import __version__
from tests.conftest import TOP
from tests.work import HANG_S

DATA_LICENCES = (TOP / "LICENSE-DATA.md").read_text("utf-8")


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Iterator[zipfile.ZipFile]:
    folder = tmp_path_factory.mktemp("wheel")
    done = subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)],
        cwd=TOP, capture_output=True, text=True, timeout=HANG_S, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    [file] = folder.glob("*.whl")
    with zipfile.ZipFile(file) as opened:
        yield opened


@pytest.fixture(scope="module")
def metadata(wheel: zipfile.ZipFile) -> Message:
    return message_from_string(wheel.read(f"glost-{__version__}.dist-info/METADATA").decode("utf-8"))


def test_types_grammar_and_schemas_are_in_the_wheel(wheel: zipfile.ZipFile) -> None:
    held = set(wheel.namelist())
    assert "glost/py.typed" in held
    for folder in ("grammar", "schema"):
        files = {f"glost/{folder}/{path.name}" for path in (TOP / folder).iterdir() if path.is_file()}
        assert files
        assert files <= held


def test_every_file_of_the_package_is_in_the_wheel_and_no_other(wheel: zipfile.ZipFile) -> None:
    sources = {
        f"glost/{path.relative_to(TOP / 'src' / 'glost').as_posix()}"
        for path in (TOP / "src" / "glost").rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }
    held = {name for name in wheel.namelist() if not name.startswith(("glost/grammar/", "glost/schema/"))}
    assert {name for name in held if ".dist-info/" not in name} == sources


def test_licences_are_those_of_the_program_and_of_its_data(wheel: zipfile.ZipFile, metadata: Message) -> None:
    """The expression is one of SPDX; the core metadata have had its place for it since their version 2.4 (PEP 639)."""
    assert metadata["License-Expression"] == "MIT AND ODbL-1.0 AND CC-BY-4.0"
    files = metadata.get_all("License-File")
    assert files == ["LICENSE", "LICENSE-DATA.md"]
    for file in files:
        held = wheel.read(f"glost-{__version__}.dist-info/licenses/{file}").decode("utf-8")
        assert held == (TOP / file).read_text("utf-8")


def test_every_data_file_with_a_licence_of_its_own_is_listed() -> None:
    found = set()
    for path in (TOP / "src" / "glost").rglob("*.json"):
        data = json.loads(path.read_text("utf-8"))
        if isinstance(data, dict) and {"licence", "license", "notice"} & data.keys():
            found.add(path.relative_to(TOP).as_posix())
    assert len(found) >= 3
    for file in found:
        assert f"- `{file}`\n" in DATA_LICENCES
    listed = {line[3:-1] for line in DATA_LICENCES.splitlines() if line.startswith("- `")}
    assert listed == found


def test_the_change_log_knows_this_version() -> None:
    text = (TOP / "docs" / "changes.md").read_text("utf-8")
    assert text.index("## Unreleased") < text.index(f"## {__version__}")


def test_versions_of_python_are_those_that_are_allowed(metadata: Message) -> None:
    prefix = "Programming Language :: Python :: 3."
    minors = [
        int(line.removeprefix(prefix))
        for line in metadata.get_all("Classifier", [])
        if line.startswith(prefix)
    ]
    assert metadata["Requires-Python"] == f">=3.{minors[0]}"
    assert minors == list(range(minors[0], minors[-1] + 1))
    assert sys.version_info[1] >= minors[0]


def test_who_imports_glost_has_its_types_and_writes_as_the_page_on_python_shows(tmp_path: Path) -> None:
    program = tmp_path / "program.py"
    page = (TOP / "docs" / "python.md").read_text("utf-8")
    shown = "".join(one.source for one in doctest.DocTestParser().get_examples(page))
    assert shown.startswith("import glost\n")
    program.write_text(f"{shown}\nreveal_type(glost.__version__)\n")
    done = subprocess.run(
        [sys.executable, "-m", "mypy", "--strict", "--config-file=", "--cache-dir=kept", "program.py"],
        cwd=tmp_path, capture_output=True, text=True, timeout=HANG_S, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout
    assert re.search(r'Revealed type is "(?:builtins\.)?str"', done.stdout)
