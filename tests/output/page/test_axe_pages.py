"""Every page that is looked at against axe-core, an open checker of accessibility, in each of its states, by day and by
night, on a desk and on a phone."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from tests.conftest import STUDIO
from tests.output.page.axe import SCHEMES, axe, findings
from tests.output.page.conftest import Screen
from tests.work import HANG_S

__all__ = ["axe"]

pytestmark = [pytest.mark.network, pytest.mark.browser]

SIZES = [(1366, 768), (390, 844), (195, 422)]
MIST = STUDIO / "stoneware" / "harbour-mist.glost"
OPEN_ROW = "document.querySelectorAll('tr[id]')[1].click()"
STATES = [
    ("catalog", ""),
    ("catalog", "document.getElementById('filters').open = true"),
    ("catalog", ("const q = document.getElementById('q'); q.value = 'nothing such';"
                "q.dispatchEvent(new Event('input', {bubbles: true}))")),
    ("catalog", ("const it = document.getElementById('with'); it.value = 'kaolin';"
                "it.dispatchEvent(new Event('change', {bubbles: true}))")),
    ("catalog", "document.querySelector('input[value=carcinogenic]').click()"),
    ("catalog", OPEN_ROW),
    ("catalog", (f"navigator.clipboard.writeText = () => Promise.reject(new Error('no')); {OPEN_ROW};"
                "document.getElementById('copy').click()")),
    ("labels", ""),
    ("plot", ""),
    ("plot", "document.getElementById('choose').open = true"),
    ("path", ""),
    ("history", ""),
    ("results", ""),
    ("firing", ""),
    ("compare", ""),
    ("formula", ""),
    ("formulas", ""),
]  # fmt: skip


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with each page of the demo collection."""
    folder = tmp_path_factory.mktemp("pages")
    (folder / "old.glost").write_bytes(MIST.read_bytes())
    (folder / "new.glost").write_text(MIST.read_text("utf-8").replace("tin oxide", "zircon"), "utf-8")

    def made(name: str, *words: object, out: bool = False) -> None:
        target = folder / f"{name}.html"
        done = subprocess.run(
            [sys.executable, "-m", "glost", *map(str, words), *(("--out", str(target)) if out else ())],
            cwd=folder, capture_output=True, encoding="utf-8", timeout=HANG_S, check=False,
        )  # fmt: skip
        assert done.returncode in (0, 1), done.stderr
        if not out:
            target.write_text(done.stdout, encoding="utf-8")

    made("sheets", "convert", STUDIO, "--to", "html", out=True)
    made("catalog", "catalog", STUDIO, "--sheets", folder / "sheets.html", out=True)
    made("labels", "convert", STUDIO / "stoneware", "--to", "labels")
    made("plot", "plot", STUDIO, out=True)
    made("path", "plot", MIST, out=True)
    made("history", "history", MIST, "--output", "html")
    made("results", "results", STUDIO, "--output", "html")
    made("firing", "firing", STUDIO / "firings" / "small-kiln-41.firing", "--output", "html")
    made("compare", "compare", folder / "old.glost", folder / "new.glost", "--output", "html")
    made("formula", "formula", MIST, "--output", "html")
    # with what is partial, and on alumina
    made(
        "formulas", "formula", STUDIO / "reduction", STUDIO / "bodies", "--on", "alumina", "--output", "html"
    )
    return folder


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("size", SIZES, ids=str)
def test_no_page_keeps_anybody_out_in_any_state(
    screen: Screen, axe: str, folder: Path, size: tuple[int, int], scheme: str
) -> None:
    found = {
        f"{page} {before}": told
        for page, before in STATES
        if (told := findings(screen, axe, folder / f"{page}.html", size, scheme, before))
    }
    assert found == {}
    assert [one for one in screen.complaints() if "axe" not in one] == []
