"""The import graph is part of the promise: a start stays light."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from tests.conftest import STUDIO

HEAVY = {
    "lark",
    "yaml",
    "jsonschema",
    "hypothesis",
    "multiprocessing",
    "subprocess",
    "tempfile",
    "difflib",
    "csv",
}


def imported(*arguments: str) -> set[str]:
    """The top-level modules that a command imports."""
    code = (
        "import sys\nfrom glost.cli import main\nsys.argv = ['glost', *sys.argv[1:]]\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        "sys.stderr.write('\\nMODULES ' + ' '.join(sys.modules))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, *arguments], capture_output=True, text=True, check=True
    )
    return set(done.stderr.rpartition("MODULES ")[2].split())


@pytest.mark.parametrize("option", ["--version", "--help"])
def test_version_and_help_import_nothing_heavy(option: str) -> None:
    modules = imported(option)
    assert not HEAVY & modules
    own = {name for name in modules if name.startswith("glost.")}
    assert own == {"glost.cli", "glost.cli.app", "glost.cli.streams", "glost.errors"}


def test_lint_of_one_file_reads_no_yaml_and_no_parser_once_the_settings_are_known() -> None:
    page = str(STUDIO / "stoneware" / "harbour-mist.glost")
    imported("lint", page)
    modules = imported("lint", page)
    assert not HEAVY & modules
    assert not {"glost.output", "glost.chemistry", "glost.weighing.batch", "glost.language.errors"} & modules


def test_a_new_page_of_a_recipe_needs_nothing_of_firings_and_records(tmp_path: Path) -> None:
    page = tmp_path / "quiet-cove.glost"
    page.write_text('glaze "Quiet Cove"\ncone: 6\n\nbase:\n    silica  60\n    whiting  40\n')
    imported("lint", str(page))
    page.write_text('glaze "Quiet Cove"\ncone: 6\n\nbase:\n    silica  55\n    whiting  45\n')
    modules = imported("lint", str(page))
    assert "glost.linter.engine" in modules
    late = (
        *("glost.records", "glost.recipe.firing", "glost.language.errors", "glost.workspace.firings"),
        *("hashlib", "glost.recipe.materials.meant", "glost.weighing.batch"),
    )
    assert [name for name in late if name in modules] == []


def test_a_start_is_not_searched_for_cycles_and_not_once_more_at_its_end(tmp_path: Path) -> None:
    page = tmp_path / "quiet-cove.glost"
    page.write_text('glaze "Quiet Cove"\ncone: 6\n\nbase:\n    silica  60\n    whiting  40\n')
    code = (
        "import atexit, gc, sys\nsearches = []\n"
        "from glost.__main__ import main\n"
        "gc.collect()\ngc.callbacks.append(lambda phase, about: searches.append(phase))\n"
        "atexit.register(lambda: print('FROZEN', gc.get_freeze_count() > 0, 'SEARCHES', len(searches)))\n"
        "main()\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, "lint", str(page)], capture_output=True, text=True, check=False
    )
    assert done.returncode in {0, 1}, done.stderr
    assert done.stdout.endswith("FROZEN True SEARCHES 0\n"), done.stdout


def test_what_git_is_shown_of_a_page_needs_no_command_line_and_no_rules() -> None:
    """git starts it for each page of each commit."""
    page = str(STUDIO / "stoneware" / "harbour-mist.glost")
    imported("textconv", page)
    for words in ([page], ["--", page]):
        modules = imported("textconv", *words)
        assert "glost.changes.canonical_text" in modules
        late = ("click", "glost.cli.app", "glost.linter.engine", "glost.linter.rules", "glost.recipe.firing",
                "glost.workspace.git.run", "glost.records", "glost.chemistry", "glost.language.errors")  # fmt: skip
        assert [name for name in (*late, *HEAVY) if name in modules] == []


def test_a_page_that_is_known_is_not_even_parsed() -> None:
    """What reads recipes, rules, settings and command lines stays out of a run over pages that did not change."""
    page = str(STUDIO / "stoneware" / "harbour-mist.glost")
    imported("lint", page)
    modules = imported("lint", page)
    assert "glost.workspace.runs.lint" in modules
    for late in (
        *("click", "dataclasses", "decimal", "hashlib", "glost.language.parse", "glost.linter.engine"),
        *("glost.linter.rule", "glost.linter.rules"),
    ):
        assert late not in modules
    for floor in (
        "glost.recipe",
        "glost.recipe.materials",
        "glost.recipe.settings",
        "glost.workspace.runs.lint_file",
        "glost.workspace.config",
    ):
        assert floor not in modules


def test_lint_imports_no_schema_library_even_where_settings_are_wrong(tmp_path: Path) -> None:
    (tmp_path / "glost.yaml").write_text("batch: 100\n")
    (tmp_path / "a.glost").write_text('glaze "A"\n')
    assert "jsonschema" not in imported("lint", str(tmp_path))


def test_format_needs_no_catalogue_and_no_rules() -> None:
    modules = imported("format", "--check", str(STUDIO / "washes"))
    assert not {"lark", "jsonschema", "glost.output", "glost.linter.rules"} & modules
