"""Names and notes in Arabic: letters that are joined stay joined, and notes run their own way."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.conftest import Run
from tests.output.page.conftest import DESK, Screen

PAGE = """\
glaze "الأزرق لأنه بحر"
cone: 6

base:
    potash feldspar  60  (ملاحظة)
    silica           40

notes:
    لا تُخلَط مع الماء قبل الغربلة. ملاحظة أولى.
"""


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


@pytest.mark.parametrize("command", [("convert", "--to", "html"), ("session", "--output", "html")])
def test_joined_letters_stay_joined(
    screen: Screen, run: Run, tmp_path: Path, command: tuple[str, ...]
) -> None:
    """Lam and alef with hamza are one sign. Space between letters, be it less than none, takes it apart, and the hamza
    then stands over nothing."""
    (tmp_path / "sea.glost").write_text(PAGE, encoding="utf-8")
    name, *options = command
    done = run(name, "sea.glost", *options)
    assert done.returncode == 0, done.stderr
    (tmp_path / "sea.html").write_text(done.stdout, encoding="utf-8")
    screen.show(tmp_path / "sea.html", DESK)
    spaced = screen.js(
        """return [...document.querySelectorAll('body *')]
            .filter((one) => [...one.childNodes].some((part) => /\\p{Script=Arabic}/u.test(part.data || '')))
            .map((one) => getComputedStyle(one).letterSpacing)"""
    )
    assert isinstance(spaced, list)
    assert len(spaced) > 1
    assert set(spaced) == {"normal"}


def test_notes_run_their_own_way(screen: Screen, run: Run, tmp_path: Path) -> None:
    (tmp_path / "sea.glost").write_text(PAGE, encoding="utf-8")
    (tmp_path / "lee.glost").write_text(
        'glaze "Lee"\nbase:\n    silica  100\n\nnotes:\n    Sieve twice.\n', encoding="utf-8"
    )
    done = run("convert", "sea.glost", "lee.glost", "--to", "html")
    (tmp_path / "both.html").write_text(done.stdout, encoding="utf-8")
    screen.show(tmp_path / "both.html", DESK)
    found = screen.js(
        """return [...document.querySelectorAll('p')]
            .filter((one) => /الغربلة|Sieve twice/.test(one.textContent))
            .map((one) => getComputedStyle(one).direction)"""
    )
    assert found == ["ltr", "rtl"]  # Lee, then the other
