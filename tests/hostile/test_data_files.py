"""glost.yaml, materials.yaml and JSON that are bombs, wells or heaps."""

from __future__ import annotations

from pathlib import Path

import pytest

from glost.output.formats.json import read_json
from glost.output.formats.jsonl import read_jsonl
from tests.hostile.conftest import Tame
from tests.hostile.pages import GOOD

BOMB = "a: &a [x, x]\n" + "".join(
    f"{chr(98 + n)}: &{chr(98 + n)} [{', '.join([f'*{chr(97 + n)}'] * 9)}]\n" for n in range(12)
)
SETTINGS = {
    "alias bomb": BOMB,
    "merge bomb": "rules: &a\n  <<: [*a, *a]\n",
    "deep flow": "skip: " + "[" * 100_000,
    "deep mapping": "rules: " + "{a: " * 60_000,
    "deep block": "".join(" " * n + "a:\n" for n in range(700)),
    "deep list": "skip:\n" + "- " * 100_000 + "x\n",
    "many keys": "".join(f"key{n}: x\n" for n in range(9_990)),
    "many skips": "skip: [" + "old, " * 50_000 + "x]\n",
    "many balances": "balances:\n"
    + "".join(f"  - {{name: b{n}, capacity: 1 kg, readability: 0.1 g}}\n" for n in range(4_000)),
    "long key": "a" * 250_000 + ": x\n",
    "long value": "name: " + "a " * 100_000 + "\n",
    "long quote": 'name: "' + "a" * 250_000 + "\n",
    "question marks": "? " * 100_000 + "\n",
    "colons": ": " * 100_000 + "\n",
    "dashes": "---\n" * 9_000,
    "tag": "name: !!python/object/apply:os.system [echo]\n",
    "escapes": 'name: "\\ud800\\0\\x1b[2J"\n',
    "surrogate key": '"\\ud800": x\n',
    "huge": "name: x\n" * 100_000,
    "10,000 figures": "batch: " + "9" * 10_000 + " g\n",
    "control": "name: \x1b[2J\n",
    "only a comment": "# nothing\n",
}
CLEAN = {"only a comment", "many balances", "long value", "many skips"}


@pytest.mark.parametrize("name", SETTINGS)
def test_settings(tame: Tame, tmp_path: Path, name: str) -> None:
    (tmp_path / "glost.yaml").write_text(SETTINGS[name], "utf-8")
    (tmp_path / "a.glost").write_text(GOOD)
    done = tame(0 if name in CLEAN else 2, "lint")
    assert name in CLEAN or done.stderr.startswith("glost.yaml:")
    assert len(done.stderr) < 1_000_000
    assert "\x1b" not in done.stderr


@pytest.mark.parametrize("name", SETTINGS)
def test_materials(tame: Tame, tmp_path: Path, name: str) -> None:
    (tmp_path / "glost.yaml").write_text("materials: materials.yaml\n")
    (tmp_path / "materials.yaml").write_text(SETTINGS[name], "utf-8")
    (tmp_path / "a.glost").write_text(GOOD)
    done = tame(0 if name == "only a comment" else 2, "lint")
    assert name == "only a comment" or done.stderr.startswith("materials.yaml:")


@pytest.mark.parametrize(
    "text",
    [
        "[" * 1_000_000,
        '{"a":' * 500_000,
        '{"version": 1, "recipes": ' + "[" * 60 + "]" * 60 + "}",
        '{"version": ' + "1" * 1_000_000 + "}",
        '{"version": 1e999999999, "recipes": []}',
        '"' * 1_000_001,
        '"' + "\\" * 1_000_001,
        "x" * (8 * 1024 * 1024 + 1),
        '{"version": 1, "version": 1, "recipes": []}',
        '{"version": NaN, "recipes": []}',
        '{"version": 1, "recipes": ["\\ud800"]}',
        "",
        "\x00",
        "[" + "1," * 1_000_000 + "1]",
    ],
    ids=lambda text: text[:12],
)
def test_json(text: str) -> None:
    for read in (read_json, read_jsonl):
        if read is read_jsonl and not text:
            continue
        with pytest.raises(ValueError, match=r"[a-z]"):
            read(text)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[" * 100_000,
        "{}",
        '{"version": 1}',
        '{"version": 1, "findings": [1]}',
        "\x00",
        '{"version": 9, "findings": []}',
    ],
    ids=lambda text: text[:12],
)
def test_baseline(tame: Tame, tmp_path: Path, text: str) -> None:
    (tmp_path / "glost.yaml").write_text("name: x\n")
    (tmp_path / "glost-baseline.json").write_text(text)
    (tmp_path / "a.glost").write_text(GOOD)
    assert "this baseline cannot be read" in tame(2, "lint").stderr
