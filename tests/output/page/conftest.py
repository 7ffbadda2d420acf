"""A real browser for the pages, where there is one."""

from __future__ import annotations

import base64
import os
import shutil
import signal
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from selenium import webdriver
from selenium.webdriver.common.by import By
from selenium.webdriver.remote.webelement import WebElement
from selenium.webdriver.support.ui import WebDriverWait

from tests.work import HANG_S

PHONE = (360, 640)
DESK = (1280, 800)
A4 = (8.27, 11.69)
LETTER = (8.5, 11.0)
"""Width and height of paper in inches."""

_QUIET = (
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-dev-shm-usage",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


@dataclass(frozen=True)
class Screen:
    """A browser window on one page. ``downloads``: the folder that what it saves goes into."""

    driver: webdriver.Chrome
    downloads: Path

    def show(self, page: Path, size: tuple[int, int] = PHONE, part: str = "") -> None:
        self.driver.execute_cdp_cmd(
            "Emulation.setDeviceMetricsOverride",
            {"width": size[0], "height": size[1], "deviceScaleFactor": 1, "mobile": size[0] < 600},
        )
        self.driver.get("about:blank")  # so that a new part of the same page is loaded anew too
        self.driver.get(f"{page.as_uri()}{part}")

    def one(self, selector: str) -> WebElement:
        """The one visible element of that selector."""
        found = [it for it in self.driver.find_elements(By.CSS_SELECTOR, selector) if it.is_displayed()]
        assert len(found) == 1, (selector, len(found))
        return found[0]

    def button(self, text: str) -> WebElement:
        found = [
            it
            for it in self.driver.find_elements(By.TAG_NAME, "button")
            if it.is_displayed() and text in it.text
        ]
        assert len(found) == 1, (text, [it.text for it in found])
        return found[0]

    def press(self, text: str) -> None:
        """Presses a button as a person does, who waits until it no longer says what was taken last."""
        self.free()
        # The panel lies over what has scrolled under it, as it should; a thumb would scroll first.
        self.driver.execute_script("arguments[0].click()", self.button(text))

    def free(self) -> None:
        """Waits until a press is taken again: for a moment after a line was taken none is."""
        self.until(lambda: not self.js("return document.querySelector('article.open .guarded')"))

    def js(self, script: str, *values: object) -> object:
        return self.driver.execute_script(script, *values)

    def drawn(self) -> None:
        """Waits until the page has drawn what was last asked of it. What follows a scrolling is drawn with the next
        frame, so a second one has passed when all of it stands."""
        self.js("return new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")

    def until(self, holds: Callable[[], object]) -> None:
        """Waits for what the browser does in its own time, such as saving a file."""
        WebDriverWait(self.driver, HANG_S, poll_frequency=0.02).until(lambda _: holds())

    def print(self, target: Path, paper: tuple[float, float]) -> Path:
        made = self.driver.execute_cdp_cmd(
            "Page.printToPDF",
            {"paperWidth": paper[0], "paperHeight": paper[1], "printBackground": False},
        )
        target.write_bytes(base64.b64decode(made["data"]))
        return target

    def complaints(self) -> list[str]:
        """What the browser has logged since the last call: errors of a script, refusals of the policy."""
        return [str(entry["message"]) for entry in self.driver.get_log("browser")]  # type: ignore[no-untyped-call]


@pytest.fixture(scope="session")
def _screen() -> Iterator[Screen]:
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    driver = shutil.which("chromedriver")
    if not chromium or not driver:
        pytest.skip("no chromium with chromedriver here: apt-get install chromium chromium-driver")
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        downloads = Path(folder) / "downloads"
        downloads.mkdir()
        options = webdriver.ChromeOptions()
        options.binary_location = chromium
        for argument in (*_QUIET, f"--user-data-dir={folder}/profile"):
            options.add_argument(argument)
        options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
        browser = webdriver.Chrome(options=options, service=webdriver.ChromeService(driver))
        browser.set_page_load_timeout(HANG_S)
        browser.set_script_timeout(HANG_S)
        try:
            browser.execute_cdp_cmd(
                "Browser.setDownloadBehavior", {"behavior": "allow", "downloadPath": str(downloads)}
            )
            yield Screen(browser, downloads)
        finally:
            browser.quit()


def printed(pdf: Path) -> list[str]:
    """The text of each page of a print, its lines as they stand."""
    if shutil.which("gs") is None:
        pytest.skip("no ghostscript here")
    apart = pdf.parent / f"{pdf.stem}-%d.txt"
    read = ["gs", "-q", "-dBATCH", "-dNOPAUSE", "-sDEVICE=txtwrite", f"-sOutputFile={apart}", str(pdf)]
    subprocess.run(read, capture_output=True, check=True)
    count = len(list(pdf.parent.glob(f"{pdf.stem}-*.txt")))
    return [Path(str(apart) % number).read_text("utf-8") for number in range(1, count + 1)]


def started(profile: Path) -> Screen:
    """A browser of the test's own, which may be killed: what it keeps lies in that folder."""
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    driver = shutil.which("chromedriver")
    if not chromium or not driver:
        pytest.skip("no chromium with chromedriver here: apt-get install chromium chromium-driver")
    options = webdriver.ChromeOptions()
    options.binary_location = chromium
    for argument in (*_QUIET, f"--user-data-dir={profile}"):
        options.add_argument(argument)
    for lock in profile.glob("Singleton*"):
        lock.unlink(missing_ok=True)
    browser = webdriver.Chrome(options=options, service=webdriver.ChromeService(driver))
    browser.set_page_load_timeout(HANG_S)
    browser.set_script_timeout(HANG_S)
    downloads = profile.parent / "downloads"
    downloads.mkdir(exist_ok=True)
    browser.execute_cdp_cmd(
        "Browser.setDownloadBehavior", {"behavior": "allow", "downloadPath": str(downloads)}
    )
    return Screen(browser, downloads)


def kill(screen: Screen) -> None:
    """Ends a browser as a flat battery does, and what drives it."""
    os.kill(int(screen.driver.capabilities["goog:processID"]), signal.SIGKILL)
    screen.driver.service.stop()


def forget(screen: Screen) -> None:
    """Takes away all that the pages of the disk have kept in this browser."""
    screen.js(
        "localStorage.clear();"
        "return Promise.all(['glost bench', 'glost kiln'].map((name) => new Promise((done) => {"
        "  const asked = indexedDB.deleteDatabase(name);"
        "  asked.onsuccess = asked.onerror = () => done();"
        "})))"
    )


@pytest.fixture
def screen(_screen: Screen, tmp_path: Path) -> Iterator[Screen]:
    """A window without anything kept from another test."""
    blank = tmp_path / "blank.html"
    blank.write_text("<title>blank</title>", encoding="utf-8")
    _screen.show(blank)
    forget(_screen)
    _screen.complaints()
    for saved in _screen.downloads.iterdir():
        saved.unlink()
    yield _screen
    _screen.driver.get("about:blank")  # or the page goes on working while others are tested
