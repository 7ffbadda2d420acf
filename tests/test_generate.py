"""The one command for all that is generated."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from tests.conftest import TOP
from tests.generate import conformance
from tests.generate.__main__ import GENERATORS, differing, main, write
from tests.work import HANG_S

QUICK = [name for name in GENERATORS if name not in ("console", "git-tour")]
"""What runs no command. The pages of the others are held block by block in test_docs.py and test_git_tour.py."""


@pytest.mark.parametrize("name", QUICK)
def test_what_lies_in_the_checkout_is_what_is_generated(name: str) -> None:
    assert list(differing(GENERATORS[name]())) == [], f"run: python -m tests.generate {name}"


def test_as_a_process() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "tests.generate", "--check", "tables", "rules"],
        cwd=TOP, capture_output=True, text=True, timeout=HANG_S, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


def test_what_differs_is_written_and_what_is_gone_goes(tmp_path: Path) -> None:
    same, other, new, gone = (tmp_path / name for name in ("same", "other", "below/new", "gone"))
    for file in (same, other, gone):
        file.write_text("a")
    files = {same: "a", other: "b", new: "c", gone: None}
    changed = differing(files)
    assert list(changed) == [other, new, gone]
    write(changed)
    assert (same.read_text(), other.read_text(), new.read_text(), gone.exists()) == ("a", "b", "c", False)
    assert differing(files) == {}


def test_check_names_what_is_stale(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    page = TOP / "README.md"
    before = page.read_bytes()
    monkeypatch.setitem(GENERATORS, "tables", lambda: {page: "another"})
    assert main(["--check", "tables"]) == 1
    assert capsys.readouterr().out == "README.md: differs (tables)\n"
    assert page.read_bytes() == before


def test_a_name_that_is_not_there_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["tabels"])
    assert ended.value.code == 2
    assert "nothing called tabels; there are tables, schema, " in capsys.readouterr().err


def test_a_case_without_a_description_gets_a_draft(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(conformance, "CORPUS", tmp_path)
    for folder, name, page in (
        ("accept", "plain", b'glaze "A"\ncone: 6\nbase:\n    silica  100\n'),
        ("reject", "comma", b'glaze "A"\ncone: 6\nbase:\n    silica  99,5\n'),
        ("reject", "latin", b"glaze \xff\n"),
    ):
        (tmp_path / folder).mkdir(exist_ok=True)
        (tmp_path / folder / f"{name}.glost").write_bytes(page)
    write(conformance.files())
    drafts = {path.stem: path.read_text() for path in tmp_path.rglob("*.json")}
    assert drafts["plain"].startswith('{\n "says": "",\n "bytes": 40,\n "decodes": true,\n "recipe": {')
    assert "decimal comma" in drafts["comma"]
    assert '"decodes": false' in drafts["latin"]
    # A sentence that was written stays, and so does what somebody has put right; only the bytes are counted anew.
    file = tmp_path / "accept" / "plain.json"
    file.write_text(
        file.read_text().replace('"says": ""', '"says": "one \u00bd"').replace('"100"', '"99"'), "utf-8"
    )
    (tmp_path / "accept" / "plain.glost").write_bytes(b'glaze "A"\nbase:\n    silica  100\n')
    write(conformance.files())
    assert file.read_text("utf-8").startswith('{\n "says": "one \u00bd",\n "bytes": 32,')
    assert '"99"' in file.read_text("utf-8")
