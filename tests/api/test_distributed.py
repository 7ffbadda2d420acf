"""The script of docs/scale.md on two workers of dask.distributed: the same bytes as on one machine."""

from __future__ import annotations

import json
import os
import re
import shutil
import sys
from pathlib import Path

import pytest

import glost
from tests.conftest import STUDIO, TOP, Run

if os.environ.get("CI"):
    import distributed
else:
    distributed = pytest.importorskip("distributed")

pytestmark = [pytest.mark.slow, pytest.mark.process]
SCRIPT = re.search(
    r"^```python\n(import glost\n.*?)^```$", (TOP / "docs" / "scale.md").read_text("utf-8"), re.M | re.S
)


@pytest.fixture
def studio(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The demo collection, and in it two recipes of one name and of one composition, far from each other."""
    shutil.copytree(STUDIO, tmp_path / "studio")
    first = min((tmp_path / "studio/raku").glob("*.glost")).read_text("utf-8")
    title = re.search(r'^glaze "([^"]*)"', first, re.MULTILINE)
    assert title is not None
    (tmp_path / "studio/washes/zz.glost").write_text(first, "utf-8")
    (tmp_path / "studio/blends/a.glost").write_text(first.replace(title[1], "Own Name"), "utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def script(folder: Path) -> str:
    """The module of the page, where workers can import it."""
    assert SCRIPT is not None
    (folder / "parts_of_glost.py").write_text(SCRIPT[1], "utf-8")
    return "parts_of_glost"


def test_two_workers_answer_as_one_machine(studio: Path, run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.syspath_prepend(str(studio))
    monkeypatch.setenv("PYTHONPATH", str(studio))
    module = __import__(script(studio))
    pages = [str(path) for path in sorted(Path("studio").rglob("*.glost")) if "needs-work" not in path.parts]
    with (
        distributed.LocalCluster(
            n_workers=2,
            threads_per_worker=1,
            processes=True,
            dashboard_address=None,
            local_directory=str(studio / "d"),
        ) as cluster,
        distributed.Client(cluster) as client,
    ):
        found, table, formulas = module.run(client, pages, 3)
    one = [(each.file, each.line, each.rule, each.message) for each in glost.lint(pages)]
    assert found == one
    assert {rule for _, _, rule, _ in found} >= {"same-name", "same-composition"}
    assert table.encode() == glost.catalog(pages).encode()
    assert table == run("catalog", *pages, "--to", "jsonl", cwd=studio).stdout
    assert formulas == [glost.formula(glost.read(page)).text for page in pages]
    # And as the command line has them.
    lines = run("lint", *pages, "--output", "jsonl", cwd=studio).stdout.splitlines()
    data = [json.loads(line) for line in lines]
    assert found == [(each["file"], each["line"], each["rule"], each["message"]) for each in data]
    assert "distributed" in sys.modules


def test_parts_of_a_pipeline_are_the_whole(studio: Path, run: Run) -> None:
    """The split of the page, without git: every fourth page of each part."""
    pages = [str(path) for path in sorted(Path("studio").rglob("*.glost"))]
    parts = [
        run("lint", "--in-collection", *pages[at::4], "--output", "jsonl", cwd=studio).stdout
        for at in range(4)
    ]
    whole = run("lint", "studio", "--output", "jsonl", cwd=studio).stdout
    ours = [line for line in whole.splitlines() if json.loads(line)["file"].endswith(".glost")]  # no firings
    assert sorted("".join(parts).splitlines()) == sorted(ours)
    assert {json.loads(line)["rule"] for line in ours} >= {"same-name", "same-composition"}
