"""The states of the bench page against axe-core, an open checker of accessibility (npm, in a folder of its own)."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

from tests.conftest import Run
from tests.output.page.conftest import DESK, PHONE, Screen
from tests.output.page.test_bench import CARE
from tests.output.page.test_weighing import enter, page
from tests.work import HANG_S

pytestmark = [pytest.mark.network, pytest.mark.browser]


@pytest.fixture(scope="module")
def axe(tmp_path_factory: pytest.TempPathFactory) -> str:
    npm = shutil.which("npm")
    if npm is None:
        pytest.skip("no npm here")
    folder = tmp_path_factory.mktemp("axe")
    done = subprocess.run(
        [npm, "install", "--prefix", str(folder), "--no-save", "--ignore-scripts", "--no-audit", "axe-core@4"],
        capture_output=True, encoding="utf-8", timeout=HANG_S, check=False,
    )  # fmt: skip
    if done.returncode:
        pytest.skip(f"the registry gives no axe-core: {done.stderr[-200:]}")
    return (folder / "node_modules" / "axe-core" / "axe.min.js").read_text("utf-8")


@pytest.mark.parametrize("size", [PHONE, DESK, (844, 390), (195, 422)])
@pytest.mark.parametrize("colours", ["light", "dark"])
def test_no_state_has_a_finding(
    screen: Screen, tmp_path: Path, axe: str, size: tuple[int, int], colours: str
) -> None:
    sheet = page(tmp_path, CARE + '\nvariation "storm":\n    cobalt carbonate   8\n')

    def findings() -> object:
        screen.drawn()
        screen.js(axe)
        return screen.js(
            "return axe.run(document).then((found) => found.violations.map((one) =>"
            " `${one.id}: ${one.nodes.map((node) => node.html.slice(0, 120)).join(' | ')}`))"
        )

    screen.driver.execute_cdp_cmd(
        "Emulation.setEmulatedMedia", {"features": [{"name": "prefers-color-scheme", "value": colours}]}
    )
    try:
        screen.show(sheet, size)
        assert findings() == []
        screen.show(sheet, size, "#ebb-test/storm")
        assert findings() == []
        enter(screen, "2000")
        assert findings() == []  # a likely slip
        screen.press("Correct the figure")
        screen.js("document.querySelector('.reading input').value = ''")
        enter(screen, "220")
        assert findings() == []  # too much
        screen.press("Leave it")
        for _ in range(3):
            screen.press("On target")
        assert findings() == []  # all in
        screen.js("document.querySelector('article.open .record details').open = true")
        screen.press("Save record")
        assert findings() == []  # the name is asked for
        screen.press("Without a name")
        screen.show(sheet, size)
        assert findings() == []  # the shelf
    finally:
        screen.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": []})


@pytest.mark.parametrize("size", [PHONE, DESK, (844, 390), (195, 422)])
def test_no_state_of_many_cups_has_a_finding(
    screen: Screen, tmp_path: Path, axe: str, size: tuple[int, int], run: Run
) -> None:
    (tmp_path / "care.glost").write_text(CARE + '\nvariation "storm":\n    cobalt carbonate   8\n', "utf-8")
    told = run("session", "care.glost", "--output", "html")
    assert told.returncode == 0, told.stderr
    (tmp_path / "session.html").write_text(told.stdout, encoding="utf-8")
    screen.show(tmp_path / "session.html", size)

    def findings() -> object:
        screen.drawn()
        screen.js(axe)
        return screen.js(
            "return axe.run(document).then((found) => found.violations.map((one) =>"
            " `${one.id}: ${one.nodes.map((node) => node.html.slice(0, 120)).join(' | ')}`))"
        )

    assert findings() == []
    screen.js("document.querySelector('.fold').click()")
    assert findings() == []
    screen.press("Begin")
    assert findings() == []
    enter(screen, "260")
    assert findings() == []  # too much in one cup
    screen.press("Leave it")
    assert findings() == []
    screen.js("location.hash = ''")
    screen.press("Start all cups over")
    assert findings() == []
