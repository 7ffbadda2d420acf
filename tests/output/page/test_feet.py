"""Every page of paper says whose it is and how many there are: of a history, results, a firing, a comparison, charts, a
table, a poured blend and a kiln door. Those of sheets, sessions and formulas are looked at where they are tested."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from glost.output.web import document, in_short, some_of
from tests.conftest import STUDIO, Run
from tests.output.page.conftest import A4, DESK, LETTER, Screen, printed
from tests.repository import committed

MIST = STUDIO / "stoneware" / "harbour-mist.glost"
FIRING = STUDIO / "firings" / "small-kiln-41.firing"
WET = ("--wet", "60 ml", "--gravity", "1.45, 1.50", "--output", "html")
AT_MOST = 40
"""Pages of each."""


def history(run: Run, tmp_path: Path) -> str:
    """Of so many revisions that it takes several pages."""
    (tmp_path / "glost.yaml").write_text("name: a shelf\n", "utf-8")
    text = MIST.read_text("utf-8")
    for at in range(16):
        (tmp_path / "mist.glost").write_text(text.replace("tin oxide", f"tin oxide {'x' * at}"), "utf-8")
        committed(tmp_path, f"Step {at}", f"2026-03-{at + 1:02}")
    return run("history", "mist.glost", "--output", "html").stdout


def comparison(run: Run, tmp_path: Path) -> str:
    for side in ("old", "new"):
        (tmp_path / side).mkdir()
        for path in sorted((STUDIO / "stoneware").glob("*.glost"))[:4]:
            text = path.read_text("utf-8")
            text = text.replace("silica ", "flint ") if side == "new" else text
            (tmp_path / side / path.name).write_text(text, "utf-8")
    return run("compare", "old", "new", "--output", "html").stdout


def chart(*words: object) -> Callable[[Run, Path], str]:
    def made(run: Run, tmp_path: Path) -> str:
        run("plot", *map(str, words), "--out", "made.html")
        return (tmp_path / "made.html").read_text("utf-8")

    return made


def table(run: Run, tmp_path: Path) -> str:
    run("catalog", str(STUDIO / "stoneware"), "--out", "made.html")
    return (tmp_path / "made.html").read_text("utf-8")


def of(*words: str) -> Callable[[Run, Path], str]:
    return lambda run, _: run(*words).stdout


PAGES: dict[str, tuple[Callable[[Run, Path], str], str]] = {
    "history": (history, "History of Harbour Mist"),
    "results": (of("results", str(STUDIO), "--output", "html"), "Results: "),
    "firing": (of("firing", str(FIRING), "--output", "html"), "Small kiln 41"),
    "comparison": (comparison, "Comparison: "),
    "chart": (chart(STUDIO), "Halfebb Orchard Studio (invented): glazes by SiO"),
    "path": (chart(MIST), "Harbour Mist: its path"),
    "table": (table, "Halfebb Orchard Studio (invented): recipes and tests"),
    "pour": (
        of("blend", str(STUDIO / "blends" / "mist-to-ebb.glost"), *WET),
        "Mist To Ebb, line: 5 cups of 60 ml",
    ),
}


@pytest.mark.parametrize("paper", [A4, LETTER], ids=["A4", "Letter"])
@pytest.mark.parametrize("kind", PAGES)
def test_every_page_of_paper_says_whose_it_is(
    screen: Screen, run_here: Run, tmp_path: Path, kind: str, paper: tuple[float, float]
) -> None:
    made, whose = PAGES[kind]
    target = tmp_path / f"{kind}.html"
    target.write_text(made(run_here, tmp_path), encoding="utf-8")
    screen.show(target, DESK)
    screen.js("window.dispatchEvent(new Event('beforeprint'))")
    texts = printed(screen.print(tmp_path / f"{kind}.pdf", paper))
    assert 1 <= len(texts) <= AT_MOST
    for number, text in enumerate(texts, 1):
        foot = " ".join(text.strip().splitlines()[-1].split())
        assert whose in foot
        assert foot.endswith(f"page {number} of {len(texts)}")


def test_a_long_history_begins_on_its_first_page(screen: Screen, run_here: Run, tmp_path: Path) -> None:
    """As many rows as take a page of their own: they stand below the head of the page, and go on behind it."""
    steps = ", ".join(str(at) for at in range(1, 41))
    text = f'{MIST.read_text("utf-8")}\nseries "many":\n    tin oxide {steps}\n'
    (tmp_path / "glost.yaml").write_text("name: a shelf\n", "utf-8")
    for day in (1, 2):
        (tmp_path / "mist.glost").write_text(text.replace("39, 40", f"39, 4{day}"), "utf-8")
        committed(tmp_path, f"Step {day}", f"2026-03-0{day}")
    target = tmp_path / "history.html"
    target.write_text(run_here("history", "mist.glost", "--output", "html").stdout, encoding="utf-8")
    screen.show(target, DESK)
    first, *others = printed(screen.print(tmp_path / "history.pdf", A4))
    assert "through time" in first
    assert "nepheline syenite" in first
    assert "tin oxide, 40" not in first
    assert any("through time" in text and "tin oxide, 40" in text for text in others)


def test_a_page_has_its_title_at_its_foot_unless_it_says_otherwise() -> None:
    assert '@bottom-left { content: "Ebb\\3a \\20 1"; }' in document("Ebb: 1", [], ["common.css"])
    named = document("Ebb", [], ["common.css"], feet={"one": "Low", "two": "Tide"})
    assert (
        '@page one { @bottom-left { content: "Low"; } }\n@page two { @bottom-left { content: "Tide"; } }'
        in named
    )
    assert "counter(page)" in named
    assert "@page" not in document("Ebb", [], ["common.css"], feet={})


def test_a_foot_has_room_for_a_line() -> None:
    assert some_of(["Ebb"]) == "Ebb"
    assert some_of(["Ebb", "Low", "Ebb", "Tide"]) == "Ebb, Low, Tide"
    assert some_of(["Ebb", "Low", "Tide", "Spring", "Neap"]) == "Ebb, Low, Tide, 2 more"
    assert some_of([]) == ""
    assert in_short("a" * 60) == "a" * 60
    assert in_short("b" * 61) == "b" * 59 + "\u2026"
    assert [len(some_of(["c" * 99, "d" * 99, "e" * 99][:n])) for n in (1, 2, 3)] == [90, 92, 94]
