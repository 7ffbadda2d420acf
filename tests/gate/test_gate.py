"""No command makes use of a page that is not all in its recipe, whichever command and whatever the slip."""

from __future__ import annotations

import ast
import json
import os
import subprocess
from pathlib import Path
from typing import Any

import pytest

from glost.language.parse import parse
from glost.language.source import Source
from glost.linter.finding import ERROR
from glost.recipe.heads import heads_meant
from glost.recipe.materials.catalogue import shipped_catalogue
from glost.recipe.resolve import resolve
from glost.recipe.taken import untaken
from glost.workspace.collection import Collections
from glost.workspace.load import Usable, Withheld, usable_text
from tests.conftest import TOP, Run

WHOLE = """\
glaze "Quay Blue"
cone: 6
atmosphere: oxidation
origin: invented

base:
    nepheline syenite  60
    silica  40

additions:
    cobalt carbonate  1

variation "deep":
    cobalt carbonate  2

series "tin":
    tin oxide  1, 2, 4

handling:
    all: P100 respirator and gloves; wet-clean.

notes:
    Poured.
"""

SPOILT = {
    "a near word for a head": ("additions:", "plus:"),
    "a head with a slip": ("additions:", "additons:"),
    "a head of two words": ("additions:", "colouring oxides:"),
    "a head that is none": ("additions:", "shelf:"),
    "a head in capitals": ("additions:", "ADDITIONS:"),
    "a head without its colon": ("additions:", "additions"),
    "a field in the place of a head": ("additions:", "colour:"),
    "a field of one word in the place of a head": ("additions:", "tags:"),
    "a head on one line with its material": ("additions:\n    ", "additions: "),
    "an unknown head on one line with its material": ("additions:\n    ", "adding: "),
    "an unknown head that is quoted": ('variation "deep"', 'variant "deep"'),
    "an unknown head that holds nothing": ("additions:", "extras:\nadditions:"),
    "a head twice": ("notes:", "base:\n    talc  2\n\nnotes:"),
    "notes twice": ("notes:", "notes:\n    Dipped.\n\nnotes:"),
    "a title twice": ("notes:", 'glaze "Quay Green"\n\nnotes:'),
    "a title below": ('glaze "Quay Blue"\ncone: 6', 'cone: 6\nglaze "Quay Blue"'),
    "no title": ('glaze "Quay Blue"\n', ""),
    "no base": ("base:", "notes:"),
    "a material in column one": ("    cobalt carbonate  1", "cobalt carbonate  1"),
    "a material in column one, with a colon": ("    cobalt carbonate  1", "cobalt carbonate: 1"),
    "a material below a field": ("cone: 6", "cone: 6\n    talc  3"),
    "a material below the title": ("cone: 6", "    talc  3\ncone: 6"),
    "text among materials": ("    cobalt carbonate  1", "    cobalt carbonate  1\n    sift it in last"),
    "an unknown field": ("cone: 6", "cone: 6\nsurfase: satin"),
    "an unknown field that changes the sheet": ("cone: 6", "cone: 6\nbach: 500 g"),
    "a field in capitals": ("cone: 6", "Cone: 6"),
    "a field twice": ("cone: 6", "cone: 6\ncone: 06"),
    "a field without a value": ("cone: 6", "cone:"),
    "a value that cannot be": ("cone: 6", "cone: six"),
    "handling that is none": ("    all: P100", "    P100"),
    "safety for handling": ("handling:", "safety:"),
    "remarks for notes": ("notes:", "remarks:"),
    "lengths that differ": ("1, 2, 4", "1, 2, 4\n    rutile  1, 2"),
    "comments between": ("additions:", "additons:  # colour\n    # sift in last\n"),
    "a decimal comma": ("carbonate  1", "carbonate  1,5"),
    "both sides of a merge": ("additions:", "<<<<<<< ours\nadditions:\n=======\n>>>>>>> theirs"),
}
each_slip = pytest.mark.parametrize("slip", SPOILT)


def spoil(slip: str) -> str:
    old, new = SPOILT[slip]
    assert WHOLE.count(old) == 1
    return WHOLE.replace(old, new)


def gated(text: str) -> Usable | Withheld:
    return usable_text("quay.glost", text, Path("/nowhere/quay.glost"), Collections())


def test_a_whole_page_passes() -> None:
    found = gated(WHOLE)
    assert isinstance(found, Usable)
    assert found.recipe.additions[0].name == "cobalt carbonate"


@each_slip
def test_a_page_with_something_left_out_does_not(slip: str) -> None:
    found = gated(spoil(slip))
    assert isinstance(found, Withheld)
    assert found.findings
    assert all(one.level == ERROR and one.message and one.hint for one in found.findings)


def test_no_level_and_no_comment_lets_a_page_pass(tmp_path: Path) -> None:
    (tmp_path / "glost.yaml").write_text("rules:\n  unknown-field: off\n", "utf-8")
    page = spoil("an unknown head that holds nothing").replace(
        "extras:", "extras:  # allow unknown-field: our own head"
    )
    found = usable_text("quay.glost", page, tmp_path / "quay.glost", Collections())
    assert isinstance(found, Withheld)
    assert [one.rule for one in found.findings] == ["unknown-field"]


@pytest.mark.parametrize("section", ["base", "additions", "handling", "variations", "series", "fields"])
def test_a_line_that_was_lost_on_the_way_is_found(section: str) -> None:
    """Whatever the cause: here the line is taken out of what the page was found to mean."""
    resolved = resolve(parse(Source("quay.glost", WHOLE)), shipped_catalogue())
    assert not list(untaken(resolved))
    held: Any = getattr(resolved, section)
    less: Any = {key: held[key] for key in list(held)[1:]} if isinstance(held, dict) else held[:-1]
    changed: dict[str, Any] = {section: less}
    assert list(untaken(resolved._replace(**changed)))


# ---- commands --------------------------------------------------------------------------------------------


@pytest.fixture
def spoilt(tmp_path: Path) -> Path:
    page = tmp_path / "quay.glost"
    page.write_text(spoil("a head with a slip"), "utf-8")
    (tmp_path / "whole.glost").write_text(WHOLE, "utf-8")
    return page


@pytest.mark.parametrize(
    "arguments",
    [
        ("convert", "quay.glost", "--to", "sheet"),
        ("convert", "quay.glost", "--to", "csv"),
        ("convert", "quay.glost", "--to", "labels"),
        ("convert", "quay.glost", "whole.glost", "--to", "json"),
        ("convert", "quay.glost", "whole.glost", "--to", "html", "--out", "out"),
        ("batch", "quay.glost"),
        ("session", "quay.glost", "whole.glost"),
        ("rescue", "quay.glost", "--weighed", "silica=50"),
        ("formula", "quay.glost"),
        ("match", "quay.glost"),
        ("plot", "quay.glost", "--out", "map.svg"),
        ("compare", "quay.glost", "whole.glost"),
    ],
    ids=lambda arguments: f"{arguments[0]} {arguments[-1]}",
)
def test_command_refuses_and_says_why(run: Run, spoilt: Path, arguments: tuple[str, ...]) -> None:
    done = run(*arguments)
    assert done.returncode in (1, 2)
    assert "quay.glost:10:1: error: 'additons' is neither a field nor a head" in done.stderr
    assert "additions:" in done.stderr
    assert "Quay Blue" not in done.stdout.replace("whole.glost", "") or "whole.glost" in arguments
    assert not (spoilt.parent / "out" / "quay.html").exists()
    if arguments[0] in ("convert", "batch", "formula"):
        assert done.returncode == 1


def test_the_others_of_a_run_come_out(run: Run, spoilt: Path) -> None:
    done = run("convert", ".", "--to", "json")
    assert done.returncode == 1
    assert len(json.loads(done.stdout)["recipes"]) == 1


def test_catalog_says_in_part(run: Run, spoilt: Path) -> None:
    rows = [json.loads(line) for line in run("catalog", ".", "--to", "jsonl").stdout.splitlines()]
    read = {row["file"]: (row["read"], row["hazards_known"]) for row in rows}
    assert read == {"quay.glost": ("in part", False), "whole.glost": ("whole", True)}


def test_textconv_shows_the_block(run: Run, spoilt: Path) -> None:
    done = run("textconv", "quay.glost")
    assert done.returncode == 0
    assert done.stdout == spoilt.read_text("utf-8")


def test_merge_keeps_the_block(run: Run, tmp_path: Path) -> None:
    base = spoil("a head with a slip")
    ours, theirs = base.replace("silica  40", "silica  41"), base.replace("syenite  60", "syenite  59")
    for name, text in (("base", base), ("ours", ours), ("theirs", theirs)):
        (tmp_path / f"{name}.glost").write_text(text, "utf-8")
    run("merge", "base.glost", "ours.glost", "theirs.glost", "quay.glost")
    merged = (tmp_path / "ours.glost").read_text("utf-8")
    assert "additons:\n    cobalt carbonate  1\n" in merged
    assert "41" in merged
    assert "59" in merged


def test_history_shows_question_marks(run: Run, tmp_path: Path) -> None:
    page = tmp_path / "quay.glost"
    git = {**os.environ, "GIT_CONFIG_GLOBAL": os.devnull, "GIT_CONFIG_SYSTEM": os.devnull}
    who = ["-c", "user.name=quay", "-c", "user.email=quay@example.org"]
    subprocess.run(["git", "init", "-q", str(tmp_path)], check=True, env=git)
    for text in (WHOLE, spoil("a head with a slip")):
        page.write_text(text, "utf-8")
        subprocess.run(["git", *who, "add", "."], cwd=tmp_path, check=True, env=git)
        subprocess.run(["git", *who, "commit", "-qm", "Quay"], cwd=tmp_path, check=True, env=git)
    done = run("history", "quay.glost", "--output", "csv")
    row = next(line for line in done.stdout.splitlines() if "cobalt carbonate" in line)
    assert row.split(",")[-2:] == ["1", "?"]
    assert "not read whole" in done.stderr


# ---- one gate --------------------------------------------------------------------------------------------

WHAT_IS_SHOWN = {
    "src/glost/cli/materials_command.py": "names pages that hold a material, and counts those read in part",
    "src/glost/cli/blame_command.py": "finds the lines of a page that is read whole",
    "src/glost/cli/blend_command.py": "reads the page that it is about to write, to see that it can be read",
    "src/glost/cli/merge_command.py": "looks at what git has merged, and warns",
    "src/glost/cli/shown_to_git.py": "takes the allowances of a page that is read whole along",
    "src/glost/workspace/runs/catalog.py": "the table has a row for every page, and says how far it was read",
}


def test_no_command_gets_a_recipe_by_another_way() -> None:
    """Neither commands nor runs look into what a page was resolved to, or resolve one, but for those that show pages
    read in part as such."""
    found = set()
    for folder in ("cli", "workspace/runs"):
        for path in (TOP / "src" / "glost" / folder).glob("*.py"):
            for node in ast.walk(ast.parse(path.read_text("utf-8"))):
                if (isinstance(node, ast.Attribute) and node.attr == "resolved") or (
                    isinstance(node, ast.Name) and node.id in ("resolve", "resolve_own")
                ):
                    found.add(str(path.relative_to(TOP)))
    assert found == set(WHAT_IS_SHOWN)


# ---- heads in other words ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("word", "head"),
    [
        *(
            (word, "additions")
            for word in ("add", "adds", "adding", "addition", "aditions", "additons", "plus")
        ),
        *(
            (word, "additions")
            for word in ("additives", "colorants", "Colourant", "colors", "coloring oxides")
        ),
        *(
            (word, "base")
            for word in ("ingredients", "recipe", "materials", "glaze base", "base glaze", "Batch recipe")
        ),
        *((word, "notes") for word in ("note", "remarks", "comments", "coments", "directions")),
        *((word, "handling") for word in ("safety", "hazards", "PPE", "handlng", "cautions")),
        ("variations", "variation"),
        ("tests", "series"),
    ],
)
def test_a_near_word_is_offered_its_head(word: str, head: str) -> None:
    assert heads_meant(word)[0] == head


@pytest.mark.parametrize("word", ["atmosfere", "surfase", "firring", "shelf", "kiln", "temperature"])
def test_a_field_is_offered_no_head(word: str) -> None:
    assert heads_meant(word) == ()
