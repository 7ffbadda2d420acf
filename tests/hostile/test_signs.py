"""What a terminal would obey, a reader would not see, or another format would take for its own: in names of files and
in recipes, through every output."""

from __future__ import annotations

import csv
import io
import json
import os
import re
import subprocess
import unicodedata
from pathlib import Path

import pytest

from glost.output.format import Job, all_formats, find_format, format_names
from glost.recipe.recipe import Recipe
from glost.workspace.collection import Collections
from glost.workspace.load import load
from tests.conftest import Run
from tests.hostile.conftest import Tame
from tests.hostile.pages import BAD, GOOD

SIGNS = {
    "html": "<script>alert(1)</script><img src=x onerror=alert(1)>&amp;",
    "escape": "a\x1b[2J\x1b]0;x\x07b",
    "bidi": "a\u202eb\u2066c",
    "nul": "a\x00b",
    "surrogate": "a\udc80b",
    "c1": "a\x9bb\x85c",
    "separators": "a\u2028b\u2029c",
    "invisible": "a\u200bb\ufeffc\u00adc",
    "markdown": "a](javascript:alert(1)) `x` **b** |c| # d",
    "formula": "=cmd|' /C calc'!A0",
    "workflow": "a%0A::error::b",
    "newline": "a\nb: c\n::error::d",
    "percent": "%s %(a)s {0} {others} {finding}",
}
FORMS = ("text", "line", "json", "sarif", "github")
FILES = sorted(set(SIGNS) - {"nul", "html"})


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


def harmless(text: str, kept: str = "\n") -> None:
    """Nothing in it steers a terminal or hides; ``kept`` are the controls of the format itself."""
    odd = [c for c in text if unicodedata.category(c) in ("Cc", "Cf", "Cs", "Zl", "Zp") and c not in kept]
    assert not odd, [f"U+{ord(c):04X}" for c in odd]


def shown(done: subprocess.CompletedProcess[str], form: str) -> None:
    if form in ("json", "sarif"):
        json.loads(done.stdout)
        return
    harmless(done.stdout + done.stderr)
    if form == "github":
        assert all(line.startswith("::") for line in done.stdout.splitlines())
    if form == "line":
        assert all(re.match(r".+:[0-9]+:[0-9]+: [a-z]+: ", line) for line in done.stdout.split("\n")[:-1])


@pytest.mark.parametrize("form", FORMS)
def test_signs_in_recipes(tame: Tame, tmp_path: Path, form: str) -> None:
    for sign, text in SIGNS.items():
        pages = (BAD.replace('"A"', f'"{text}"'), BAD.replace("whiting", text), f"{text}\n{BAD}")
        for at, page in enumerate(pages):
            (tmp_path / f"{sign}-{at}.glost").write_bytes(page.encode("utf-8", "surrogatepass"))
    shown(tame(2, "lint", "--output", form), form)


def test_signs_in_the_names_of_files(tame: Tame, tmp_path: Path) -> None:
    names = {f"{SIGNS[sign]}.glost".replace("/", "_") for sign in FILES}
    for at, name in enumerate(sorted(names)):
        (tmp_path / name).write_text(BAD.replace('"A"', f'"A {at}"'))
    for form in FORMS:
        done = tame(1, "lint", "--output", form)
        shown(done, form)
        if form == "json":
            assert {finding["file"] for finding in json.loads(done.stdout)["findings"]} == names
        if form == "sarif":
            for result in json.loads(done.stdout)["runs"][0]["results"]:
                uri = result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]
                assert re.fullmatch(r"(?:[A-Za-z0-9._~/-]|%[0-9A-F]{2})+", uri)
        tame(1, "lint", "--output", f"{form}=report.{form}")
    tame(0, "lint", "--write-baseline")
    tame(0, "lint")
    for path in tmp_path.glob("*.glost"):
        path.write_text(path.read_text().replace("  39", " 39"))
    harmless(tame(1, "format", "--diff").stdout)
    harmless(tame(1, "format", "--check").stdout)
    harmless(tame(0, "format").stdout)
    for to in sorted(format_names()):
        if not find_format(to).binary:
            harmless(tame(0, "convert", "--to", to).stdout, "\n\f\r")
        harmless(tame(0, "convert", "--to", to, "--out", to).stderr)
        assert len(list((tmp_path / to).glob("[!.]*"))) == len(names)


@pytest.mark.parametrize("sign", SIGNS)
def test_signs_that_came_from_elsewhere_in_every_form(tmp_path: Path, sign: str) -> None:
    """A recipe read from CSV or JSON may hold what no page can."""
    (tmp_path / "a.glost").write_text(GOOD)
    entry = load(tmp_path / "a.glost", Collections())
    text = SIGNS[sign]
    clean = entry.resolved.recipe
    recipe = Recipe(
        clean.kind,
        text,
        {"surface": text, "origin": text},
        tuple(one._replace(name=text, material=None, note=text) for one in clean.base),
        notes=text,
    )
    job = Job(text, recipe, entry.collection.settings, entry.collection.catalogue)
    for form in all_formats():
        if sign == "surrogate" and form.name == "csv":
            continue  # read_csv takes a decoded text, which holds none
        written = form.write([job])
        if isinstance(written, bytes):
            continue
        written.encode("utf-8")
        if form.name in ("json", "jsonl"):
            json.loads(written)
        elif form.name == "csv":
            for row in csv.reader(io.StringIO(written)):
                assert not any(cell.startswith(("=", "+", "@")) for cell in row)
        elif form.name in ("sheet", "markdown"):
            harmless(written, "\n\f")
        if form.name in ("markdown", "html"):
            assert "<script>alert" not in written
            assert "<img" not in written


@pytest.mark.parametrize(
    "name",
    ["a\nb.glost", " .glost", "e\u0301.glost",
     "a b .glost", "-.glost", "--fix.glost", "-", "a\\b.glost", "\u00e9.glost",
     "'\".glost", "$(x).glost", "*.glost", "a:1:2.glost", "CON.glost", "x" * 240 + ".glost"],
)  # fmt: skip
def test_names_of_files(tame: Tame, tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_text(BAD.replace("  39", " 39"))
    assert tame(1, "lint", "--output", "line", f"./{name}").stdout.endswith("(base-total)\n")
    tame(0, "format", f"./{name}")
    tame(0, "convert", "--to", "sheet", f"./{name}")
    if name.startswith("-") and name != "-":
        tame(2, "lint", name)
        tame(1, "lint", "--", name)
    assert [path.name for path in tmp_path.iterdir()] == [name]


def test_name_that_is_not_utf_8(tame: Tame, tmp_path: Path) -> None:
    raw = os.fsencode(tmp_path) + b"/caf\xe9.glost"
    Path(os.fsdecode(raw)).write_text(BAD)
    name = os.fsdecode(b"caf\xe9.glost")
    assert json.loads(tame(1, "lint", "--output", "json").stdout)["findings"][0]["file"] == name
    assert "caf%E9.glost" in tame(1, "lint", "--output", "sarif").stdout
    assert tame(1, "lint", "--output", "line").stdout.count("caf\\u{dce9}.glost:") == 2
    for form in FORMS:
        tame(1, "lint", "--output", f"{form}=out.{form}")
    assert tame(1, "lint", "--output", "line", name).stdout
    tame(0, "convert", "--to", "sheet", "--out", "sheets")
    assert [os.fsencode(path.name) for path in (tmp_path / "sheets").glob("*.txt")] == [b"caf\xe9.txt"]
    tame(2, "lint", os.fsdecode(b"no\xe9.glost"))
