"""axe-core, which looks for what keeps people with disabilities from a page, from npm. It goes into a folder of the
test's own; where npm or its registry is not to be had, the tests are skipped with that reason.

Source: axe-core 4, Deque Systems, MPL-2.0, https://www.npmjs.com/package/axe-core
"""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path

import pytest

from tests.output.page.conftest import Screen
from tests.work import HANG_S


@pytest.fixture(scope="session")
def axe(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The text of its script."""
    npm = shutil.which("npm")
    if npm is None:
        pytest.skip("no npm here, so that axe-core cannot be had: apt-get install npm")
    folder = tmp_path_factory.mktemp("axe")
    quiet = ("--no-audit", "--no-fund", "--ignore-scripts", "--loglevel=error", "--fetch-retries=1")
    done = subprocess.run(
        [npm, "install", *quiet, "--cache", str(folder / "cache"), "--prefix", str(folder), "axe-core@4"],
        capture_output=True, text=True, timeout=HANG_S,
    )  # fmt: skip
    script = folder / "node_modules" / "axe-core" / "axe.min.js"
    if done.returncode != 0:
        reached = subprocess.run(
            [npm, "ping", "--fetch-retries=0"], capture_output=True, text=True, timeout=HANG_S
        )
        if reached.returncode != 0:
            pytest.skip("npm cannot reach its registry, so that axe-core cannot be had")
        pytest.fail(f"npm could not install axe-core:\n{done.stderr}")
    return script.read_text("utf-8")


SCHEMES = ("light", "dark")


def findings(
    screen: Screen, axe: str, page: Path, size: tuple[int, int], scheme: str, before: str = ""
) -> list[str]:
    """What axe-core finds on a page at that size: rule and element. ``before`` is run first, to bring the page into the
    state that is meant."""
    preference = {"features": [{"name": "prefers-color-scheme", "value": scheme}]}
    screen.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", preference)
    try:
        screen.show(page, size)
        screen.drawn()
        if before:
            screen.js(before)
        assert screen.js("return matchMedia('(prefers-color-scheme: dark)').matches") == (scheme == "dark")
        # The policy of the page lets no script in; the protocol of the browser's own tools does.
        screen.driver.execute_cdp_cmd("Runtime.evaluate", {"expression": axe})
        answer = screen.driver.execute_cdp_cmd(
            "Runtime.evaluate",
            {
                "expression": "axe.run({runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', "
                "'best-practice']}).then(told => JSON.stringify(told.violations.flatMap(one => one.nodes.map("
                "node => one.id + ': ' + node.html.slice(0, 160)))))",
                "awaitPromise": True,
                "returnByValue": True,
            },
        )
    finally:
        screen.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": []})
    told = json.loads(answer["result"]["value"])
    assert isinstance(told, list)
    return told
