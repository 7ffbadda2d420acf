"""One palette for all pages: no colour is written anywhere but in the style sheet that all share."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import glost
from glost.output.plot.draw import alone
from tests.conftest import TOP

SOURCES = Path(glost.__file__).parent
COMMON = SOURCES / "output" / "web" / "common.css"
ALONE = {"output/plot/draw.py", "output/plot/svg.py"}
"""A drawing that stands alone, as a file without a style sheet, has to hold its colours itself."""

# Source: CSS Color Module Level 4, "4.2 Color Syntax": hexadecimal notation, the functions, and the named colours that
# somebody writes by hand; what a system or the text around gives (currentColor, Highlight) is no colour of a page.
LITERAL = re.compile(
    r"#(?:[0-9a-f]{8}|[0-9a-f]{6}|[0-9a-f]{3,4})\b(?!\w)|\b(?:rgb|hsl|hwb|lab|lch|oklab|oklch|color)a?\("
    r"|(?<=[\s:])(?:white|black|gr[ae]y|silver|red|green|blue|yellow|orange|brown|purple|navy|teal)(?=\s*[;!])",
    re.IGNORECASE,
)
DECLARED = re.compile(r"[-\w]+\s*:[^;{}]*;")


def literals_of_style(text: str) -> list[str]:
    """The declarations of a style sheet that write a colour; a selector such as #add is none."""
    plain = re.sub(r"/\*.*?\*/", "", text, flags=re.DOTALL)
    return [one for one in DECLARED.findall(plain) if LITERAL.search(one)]


def files(ending: str) -> list[Path]:
    return sorted((SOURCES).rglob(f"*{ending}"))


def test_it_finds_what_it_looks_for() -> None:
    wrong = ["color: #123456;", "border: 1px solid #fff;", "background: rgb(0 0 0 / 5%);", "fill: white;"]
    assert [literals_of_style(f"#add {{ {one} }}") for one in wrong] == [[one] for one in wrong]
    assert (
        literals_of_style("#add:hover { color: var(--ink, inherit); fill: currentcolor; } /* #fff; */") == []
    )
    assert literals_of_style(COMMON.read_text("utf-8"))


@pytest.mark.parametrize(
    "path", [path for path in files(".css") if path != COMMON], ids=lambda path: path.name
)
def test_no_style_sheet_has_a_colour_of_its_own(path: Path) -> None:
    assert literals_of_style(path.read_text("utf-8")) == []


def test_no_script_and_no_markup_has_a_colour_of_its_own() -> None:
    found = {}
    for path in files(".js") + list((SOURCES / "output").rglob("*.py")):
        name = path.relative_to(SOURCES).as_posix()
        texts = re.findall(r"""["'`=]#(?:[0-9a-fA-F]{6}|[0-9a-fA-F]{3})["'`;]""", path.read_text("utf-8"))
        if texts and name not in ALONE:
            found[name] = texts
    assert found == {}


@pytest.mark.parametrize("path", files(".css"), ids=lambda path: path.name)
def test_each_name_of_the_palette_that_is_used_is_there(path: Path) -> None:
    given = set(re.findall(r"(--[\w-]+)\s*:", COMMON.read_text("utf-8") + path.read_text("utf-8")))
    assert set(re.findall(r"var\((--[\w-]+)", path.read_text("utf-8"))) <= given


def test_each_name_of_the_palette_is_used() -> None:
    used = set(re.findall(r"var\((--[\w-]+)", "".join(path.read_text("utf-8") for path in files(".css"))))
    assert set(re.findall(r"(--[\w-]+)\s*:", COMMON.read_text("utf-8"))) <= used


def test_a_drawing_that_stands_alone_has_the_tones_of_the_palette() -> None:
    light = COMMON.read_text("utf-8").partition("@media")[0]
    drawn = alone('<path class="alkalis"/><path class="earths"/><path class="boron"/>')
    tones = [re.search(rf"--{name}: (#\w+);", light)[1] for name in ("alkalis", "earths", "boron")]  # type: ignore[index]
    assert re.findall(r'fill="(#\w+)"', drawn) == tones


@pytest.mark.parametrize("folder", ["src/glost/output", "src/glost/changes"])
def test_every_page_begins_with_what_all_share(folder: str) -> None:
    """A page names common.css before its own style sheet."""
    lists = re.compile(r"[\[(](\"[\w.]+\.css\"(?:, \"[\w.]+\.css\")*),?[\])]")
    found = [
        (path.name, listed)
        for path in (TOP / folder).rglob("*.py")
        for listed in lists.findall(path.read_text("utf-8"))
    ]
    assert found
    assert [one for one in found if not one[1].startswith('"common.css"')] == []
