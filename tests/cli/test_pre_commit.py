"""The hooks, run by the pre-commit tool itself: it installs glost from this checkout and is called by git.

The configuration is the one on docs/git.md, with another address and revision. pre-commit installs from the package
index; where pip cannot reach it, these tests say so and skip.
"""

from __future__ import annotations

import re
import sys
from pathlib import Path
from typing import Any, NamedTuple

import pytest
import yaml

from tests.checkout import call, commit_checkout, git, give_up
from tests.cli.test_changed import bad, good, page
from tests.conftest import TOP

pytestmark = pytest.mark.network

MANIFEST = TOP / ".pre-commit-hooks.yaml"
SHOWN = re.search(r"^```yaml\n(repos:\n.*?)^```$", (TOP / "docs" / "git.md").read_text("utf-8"), re.M | re.S)


def pre_commit(folder: Path, *words: str, **environment: str) -> tuple[int, str]:
    return call(folder, sys.executable, "-m", "pre_commit", *words, **environment)


class Source(NamedTuple):
    """A repository that holds glost as it lies in this checkout, and the folder that pre-commit installs into."""

    folder: Path
    revision: str
    home: Path


@pytest.fixture(scope="module")
def source(tmp_path_factory: pytest.TempPathFactory) -> Source:
    folder, home = tmp_path_factory.mktemp("source"), tmp_path_factory.mktemp("pre-commit")
    made = Source(folder, commit_checkout(folder), home)
    trial = tmp_path_factory.mktemp("trial")
    git(trial, "init", "-q")
    configure(trial, made)
    status, said = pre_commit(trial, "install-hooks", PRE_COMMIT_HOME=str(home))
    if status != 0:
        give_up("pre-commit", said, trial)
    return made


def configure(folder: Path, source: Source, **options: dict[str, Any]) -> None:
    """Writes the configuration that the page shows. ``options`` are added to the hook of that name."""
    assert SHOWN is not None
    shown = yaml.safe_load(SHOWN[1])
    (repository,) = shown["repos"]
    repository |= {"repo": str(source.folder), "rev": source.revision}
    for hook in repository["hooks"]:
        hook |= options.get(hook["id"].removeprefix("glost-"), {})
    page(folder / ".pre-commit-config.yaml", yaml.safe_dump(shown, sort_keys=False))


@pytest.fixture
def studio(tmp_path: Path, source: Source, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A collection with the hooks set up as the page says, and two pages that were committed before there were any
    hooks: one that is wrong, one that cannot be read at all."""
    monkeypatch.setenv("PRE_COMMIT_HOME", str(source.home))
    git(tmp_path, "init", "-q", "-b", "main")
    page(tmp_path / "glost.yaml", "batch: 1 kg\nskip: [trial]\n")
    page(tmp_path / "old" / "straw.glost", bad("Straw").replace("60", "58"))
    (tmp_path / "old" / "blurred.glost").write_bytes(b"\xff\xfe")
    configure(tmp_path, source)
    git(tmp_path, "add", "-A")
    git(tmp_path, "commit", "-q", "-m", "begin")
    assert pre_commit(tmp_path, "install")[0] == 0
    return tmp_path


def commit(folder: Path, *files: str) -> tuple[int, str]:
    """Adds those files, or all, and commits, with the hooks: the exit status, and what was said."""
    git(folder, "add", "-A", "--", *(files or ["."]))
    return call(folder, "git", "commit", "-m", "change")


def commits(folder: Path) -> int:
    return int(git(folder, "rev-list", "--count", "HEAD"))


def test_the_manifest_is_valid() -> None:
    assert pre_commit(TOP, "validate-manifest", str(MANIFEST)) == (0, "")


def test_the_configuration_of_the_page_is_valid_and_names_every_hook(tmp_path: Path) -> None:
    assert SHOWN is not None
    page(tmp_path / "config.yaml", SHOWN[1])
    assert pre_commit(tmp_path, "validate-config", "config.yaml") == (0, "")
    shown = {hook["id"] for hook in yaml.safe_load(SHOWN[1])["repos"][0]["hooks"]}
    assert shown == {hook["id"] for hook in yaml.safe_load(MANIFEST.read_text("utf-8"))}


def test_a_good_recipe_is_committed(studio: Path) -> None:
    page(studio / "blue hills" / "mist.glost", good("Mist"))
    status, said = commit(studio)
    assert status == 0, said
    assert re.search(r"^glost lint\.+Passed$", said, re.M)
    assert re.search(r"^glost lint, the whole collection\.+Passed$", said, re.M)
    assert commits(studio) == 2


def test_a_bad_recipe_blocks_the_commit_and_is_the_only_one_shown(studio: Path) -> None:
    page(studio / "blue hills" / "mist.glost", good("Mist").replace("  40\n", "  27,5\n"))
    status, said = commit(studio)
    assert status == 1
    assert (
        "blue hills/mist.glost:8:28: error: '27,5' has a decimal comma (syntax)\n"
        "    8 |     whiting                27,5\n"
        "      |                            ^^^^\n"
        "      fix: write 27.5\n"
        "\n"
        "1 recipe checked: 1 error; 1 can be fixed with --fix\n"
    ) in said
    assert "old/" not in said
    assert commits(studio) == 1


def test_fix_stops_once_and_then_lets_through(studio: Path, source: Source) -> None:
    configure(studio, source, lint={"args": ["--fix"]})
    assert commit(studio)[0] == 0
    page(studio / "a.glost", good("A").replace("whiting          ", "calcium carbonate"))
    status, said = commit(studio)
    assert status == 1
    assert "- files were modified by this hook" in said
    assert "a.glost:8: fixed: '    calcium carbonate      40' -> '    whiting      40'\n" in said
    assert (studio / "a.glost").read_text("utf-8") == good("A")
    assert (
        git(studio, "status", "--porcelain") == "AM a.glost\n"
    )  # pages that were not touched are as they were
    assert commit(studio)[0] == 0
    assert commits(studio) == 3


def test_format_lays_out_stops_once_and_then_lets_through(studio: Path) -> None:
    page(studio / "a.glost", good("A").replace("    whiting   ", "  whiting "))
    status, said = commit(studio)
    assert status == 1
    assert re.search(
        r"^glost format\.+Failed\n- hook id: glost-format\n- files were modified by this hook$", said, re.M
    )
    assert "a.glost: laid out\n" in said
    assert commit(studio)[0] == 0
    assert git(studio, "show", "HEAD:a.glost") == good("A")


def test_what_is_not_staged_is_not_judged(studio: Path) -> None:
    page(studio / "a.glost", good("A"))
    git(studio, "add", "a.glost")
    page(studio / "a.glost", bad("A"))
    page(studio / "b.glost", good("B", 55))
    status, said = commit(studio, "b.glost")
    assert status == 0, said
    assert (studio / "a.glost").read_text("utf-8") == bad("A")


def test_a_copy_of_a_page_that_was_not_touched_is_found(studio: Path, source: Source) -> None:
    configure(studio, source, lint={"args": ["--strict"]})
    page(studio / "blue" / "mist.glost", good("Mist"))
    assert commit(studio)[0] == 0
    page(studio / "red" / "mist.glost", good("mist", 55))
    status, said = commit(studio)
    assert status == 1
    assert (
        "red/mist.glost:1:7: warning: another recipe is called 'mist' too: blue/mist.glost:1 (same-name)\n"
        in said
    )


def test_what_the_collection_skips_is_committed_as_it_is(studio: Path) -> None:
    page(studio / "trial" / "a.glost", "no recipe at all\n")
    status, said = commit(studio)
    assert status == 0, said


def test_a_deleted_and_a_renamed_page(studio: Path) -> None:
    (studio / "old" / "blurred.glost").unlink()
    assert commit(studio)[0] == 0
    (studio / "old" / "straw.glost").rename(studio / "old" / "hay.glost")
    status, said = commit(studio)
    assert status == 1
    assert "old/hay.glost:6:1: error: the base totals 97, not 100" in said


@pytest.mark.parametrize(
    ("file", "text", "said"),
    [
        ("glost.yaml", "batch: 1 kg\nweighing tolerence: 2 %\n", "'weighing tolerence' is not a key of glost.yaml"),
        ("glost.yaml", "rules:\n  missing-origin: error\n", "mist.glost:1:7: error: the recipe does not say where"),
        ("materials.yaml", "materials:\n  - name: ash\n", "materials.yaml:2:5: error: "),
    ],
)  # fmt: skip
def test_settings_alone_are_checked_with_every_recipe(studio: Path, file: str, text: str, said: str) -> None:
    git(studio, "rm", "-rq", "old")
    page(studio / "glost.yaml", "batch: 1 kg\nmaterials: materials.yaml\n")
    page(studio / "materials.yaml", "materials:\n  - name: kaolin\n    note: ours comes damp\n")
    page(studio / "mist.glost", good("Mist").replace("origin: invented for a test\n", ""))
    status, printed = commit(studio)
    assert status == 0, printed
    page(studio / file, text)
    status, printed = commit(studio)
    assert status == 1
    assert said in printed
    assert re.search(r"^glost lint\.+\(no files to check\)Skipped$", printed, re.M)
    assert commits(studio) == 2


def test_recipes_and_settings_in_one_commit_tell_each_finding_once(studio: Path) -> None:
    git(studio, "rm", "-q", "old/blurred.glost")
    page(studio / "mist.glost", bad("Mist"))
    page(studio / "glost.yaml", "batch: 1 kg\n")
    status, said = commit(studio)
    assert status == 1
    # The page of the commit by one hook, the page that was not touched by the other.
    assert len(re.findall(r"^mist\.glost:6:1: error: ", said, re.M)) == 1
    assert len(re.findall(r"^old/straw\.glost:6:1: error: ", said, re.M)) == 1
    status, said = pre_commit(studio, "run", "--all-files")
    assert status == 1
    assert len(re.findall(r"^mist\.glost:6:1: error: ", said, re.M)) == 1
    assert len(re.findall(r"^old/straw\.glost:6:1: error: ", said, re.M)) == 1


# ---- many files ----------------------------------------------------------------------------------------------

MANY = 3000


@pytest.mark.parametrize("serial", [True, False], ids=["as shipped", "in parallel"])
def test_many_files_are_each_checked_once(studio: Path, source: Source, serial: bool) -> None:
    """So many long names that pre-commit starts glost several times; the first and the last carry one name."""
    configure(studio, source, lint={} if serial else {"require_serial": False})
    git(studio, "rm", "-rq", "old")
    names = [f"{'a-long-way-to-the-shelf-' * 7}{number:04}.glost" for number in range(MANY)]
    for number, name in enumerate(names):
        shared = "Twin" if number in (0, MANY - 1) else f"Row {number}"
        page(studio / "shelf" / name, bad(shared).replace("60", f"60.{number + 1:04}"))
    status, said = commit(studio)
    assert status == 1
    found = re.findall(r"^shelf/(\S+):6:1: error: .* \(base-total\)$", said, re.M)
    assert sorted(found) == names
    counts = [int(count) for count in re.findall(r"^(\d+) recipes checked: ", said, re.M)]
    assert sum(counts) == MANY
    assert len(counts) > 1, "pre-commit was to split this into several calls"
    twins = re.findall(r"^shelf/(\S+):1:7: warning: .*: shelf/(\S+):1 \(same-name\)$", said, re.M)
    assert sorted(twins) == [(names[0], names[-1]), (names[-1], names[0])]
    assert "(same-composition)" not in said
    assert "old/" not in said
    assert commits(studio) == 1
