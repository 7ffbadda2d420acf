"""The tour on docs/git.md is run whole, with git itself: its blocks are one run, in one folder."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.generate.git_tour import FENCE, PAGE, run_tour


@pytest.mark.process
def test_the_tour_goes_as_the_page_says(tmp_path: Path) -> None:
    page = PAGE.read_text("utf-8")
    told = run_tour(page, tmp_path)
    assert page == told, "run: python -m tests.generate git-tour"
    # What the tour is there to show.
    assert "error: '27,5' has a decimal comma" in told
    assert "both changed base, kaolin" in told
    assert len(FENCE.findall(page)) == 8
