"""Adopting glost in an old collection: one command, and from then on only new findings count."""

from __future__ import annotations

import json
import os
import shutil
from pathlib import Path

import pytest

from tests.conftest import Run
from tests.linter.old_collection import write_old_collection

FILE = "glost-baseline.json"
GOOD = """\
glaze "A"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      60
    whiting                40
"""
BAD = GOOD.replace("40", "39")


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    """A collection whose one recipe has one finding, which is held back."""
    (tmp_path / "glost.yaml").write_text("name: a studio (invented)\n")
    (tmp_path / "a.glost").write_text(BAD)
    return tmp_path


def entries(folder: Path) -> list[tuple[str, str, str, int]]:
    rows = json.loads((folder / FILE).read_text("utf-8"))["findings"]
    return [(row["file"], row["rule"], row["text"], row["count"]) for row in rows]


def test_old_collection_of_500_recipes_adopts_glost_with_one_command(run: Run, tmp_path: Path) -> None:
    (tmp_path / "glost.yaml").write_text("name: an old collection (invented)\n")
    files = write_old_collection(tmp_path, recipes=500, findings=3000)
    assert len(files) == 500
    before = run("lint", "--output", "json")
    assert before.returncode == 1
    assert len(json.loads(before.stdout)["findings"]) == 3000
    texts = {path: path.read_bytes() for path in files}

    adopted = run("lint", "--write-baseline")
    assert (adopted.returncode, adopted.stdout) == (0, "")
    assert adopted.stderr == f"{FILE}: 3000 findings held back from now on\n"
    assert {path: path.read_bytes() for path in files} == texts

    quiet = run("lint", "--strict")
    assert (quiet.returncode, quiet.stdout) == (0, "")
    assert quiet.stderr == (
        f"500 recipes checked, nothing new found\n3000 known findings held back by {FILE}\n"
    )

    # Lines that move are still known.
    for path in files[:50]:
        path.write_text("# from the old box of cards\n\n" + path.read_text("utf-8"), "utf-8")
    assert run("lint", "--strict").returncode == 0

    # What is new fails, and nothing else is shown.
    (tmp_path / "box-0" / "new-test.glost").write_text(BAD.replace('"A"', '"New Test"'))
    failing = run("lint", "--output", "line")
    assert failing.returncode == 1
    assert failing.stdout == (
        "box-0/new-test.glost:6:1: error: the base totals 99, not 100 (1 too little) (base-total)\n"
    )
    shutil.rmtree(tmp_path / "box-0")
    assert run("lint").returncode == 0


def test_generated_collection_is_the_same_for_a_seed(tmp_path: Path) -> None:
    for name in ("one", "two"):
        write_old_collection(tmp_path / name, 40, 200, seed=7)
    one, two = ({p.name: p.read_text() for p in (tmp_path / n).rglob("*.glost")} for n in ("one", "two"))
    assert one == two
    assert len(one) == 40


def test_line_that_is_changed_is_new(run: Run, studio: Path) -> None:
    assert run("lint", "--write-baseline").returncode == 0
    assert entries(studio) == [("a.glost", "base-total", "base:", 1)]
    (studio / "a.glost").write_text("# a card\n" + BAD.replace("base:", "  \nbase:"))
    assert run("lint").returncode == 0
    (studio / "a.glost").write_text(BAD.replace("base:", "base:  # 2024"))
    done = run("lint")
    assert done.returncode == 1
    assert "1 finding of glost-baseline.json no longer occurs" in done.stderr
    assert "\n  a.glost: base-total: base:\n" in done.stderr


def test_so_many_equal_lines_are_known_and_no_more(run: Run, studio: Path) -> None:
    jar = "    grandfather's clay  10\n"
    page = GOOD.replace("60", "40").replace("    whiting", f"{jar}{jar}    whiting")
    quiet = ("--ignore", "duplicate-material")
    (studio / "a.glost").write_text(page)
    assert run("lint", "--write-baseline", *quiet).returncode == 0
    assert entries(studio) == [("a.glost", "unknown-material", "grandfather's clay 10", 2)]
    assert run("lint", *quiet).returncode == 0
    (studio / "a.glost").write_text(page.replace("40\n", "30\n", 1).replace(jar, jar + jar, 1))
    done = run("lint", "--output", "line", *quiet)
    assert done.returncode == 1
    assert done.stdout.count("unknown-material") == 1


def test_entries_that_no_longer_occur_are_named_and_do_not_fail(run: Run, studio: Path) -> None:
    run("lint", "--write-baseline")
    (studio / "a.glost").write_text(GOOD)
    done = run("lint", "--strict")
    assert (done.returncode, done.stdout) == (0, "")
    assert done.stderr == (
        "1 recipe checked, nothing found\n"
        f"1 finding of {FILE} no longer occurs; glost lint --prune takes that out:\n"
        "  a.glost: base-total: base:\n"
    )
    assert run("lint", "--write-baseline").stderr == f"{FILE}: 0 findings held back from now on\n"
    assert run("lint").stderr == "1 recipe checked, nothing found\n"


def test_file_that_is_gone_takes_its_entries_along(run: Run, studio: Path) -> None:
    (studio / "b.glost").write_text(GOOD.replace('"A"', '"B"').replace("60", "61"))
    run("lint", "--write-baseline")
    assert len(entries(studio)) == 2
    (studio / "b.glost").unlink()
    assert "  b.glost: base-total: base:\n" in run("lint").stderr
    (studio / "c.glost").write_text(GOOD.replace('"A"', '"C"').replace("60", "45").replace("40", "55"))
    run("lint", "--write-baseline", "a.glost")  # which does not know whether the page lies elsewhere now
    assert len(entries(studio)) == 2
    run("lint", "--write-baseline", "a.glost", "c.glost")
    assert entries(studio) == [("a.glost", "base-total", "base:", 1)]


def test_run_over_a_part_forgets_nothing_of_the_rest(run: Run, studio: Path) -> None:
    (studio / "b.glost").write_text(BAD.replace("origin: own test\n", ""))
    run("lint", "--write-baseline")
    everything = entries(studio)
    assert {(file, rule) for file, rule, _, _ in everything} == {
        ("a.glost", "base-total"),
        ("a.glost", "same-name"),
        ("b.glost", "base-total"),
        ("b.glost", "same-name"),
        ("b.glost", "missing-origin"),
        ("b.glost", "file-name"),
    }
    for arguments in (("a.glost",), ("--select", "base-total"), ("--ignore", "missing-origin")):
        assert "no longer" not in run("lint", *arguments).stderr
        assert run("lint", "--write-baseline", *arguments).returncode == 0
        assert entries(studio) == everything


def test_baseline_is_found_from_a_folder_inside(run: Run, studio: Path) -> None:
    inner = studio / "kiln" / "two"
    inner.mkdir(parents=True)
    (inner / "b.glost").write_text(BAD.replace('"A"', '"B"').replace("60", "58"))
    assert run("lint", "--write-baseline").returncode == 0
    assert [file for file, _, _, _ in entries(studio)] == ["a.glost", "kiln/two/b.glost"]
    assert run("lint", cwd=inner).returncode == 0
    assert run("lint", "../..", cwd=inner).returncode == 0
    assert run("lint", str(studio), cwd=Path("/")).returncode == 0


def test_each_collection_has_its_own(run: Run, tmp_path: Path) -> None:
    for name in ("east", "west"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "glost.yaml").write_text("name: invented\n")
        (tmp_path / name / "a.glost").write_text(BAD)
    done = run("lint", "--write-baseline")
    assert done.stderr == (
        f"east/{FILE}: 1 finding held back from now on\nwest/{FILE}: 1 finding held back from now on\n"
    )
    (tmp_path / "west" / FILE).unlink()
    assert run("lint", "--output", "line").stdout.startswith("west/a.glost:6:1")


def test_without_a_collection_it_stands_in_the_working_folder(run: Run, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(BAD)
    assert run("lint", "--write-baseline").returncode == 0
    assert entries(tmp_path) == [("a.glost", "base-total", "base:", 1)]
    assert run("lint").returncode == 0


@pytest.mark.parametrize(
    ("data", "reason"),
    [
        (b"{", "it is not JSON"),
        (b"<<<<<<< ours\n", "it is not JSON"),
        (b'{"version": 9, "findings": []}', "it is not a baseline of version 2"),
        (b'{"version": 1, "findings": [{}]}', "an entry lacks its file, rule, text or count"),
        (b"\xff\xfe{\x00}\x00", "this file is written in UTF-16"),
    ],
)
def test_corrupt_baseline_exits_2_and_is_not_written_over(
    run: Run, studio: Path, data: bytes, reason: str
) -> None:
    (studio / FILE).write_bytes(data)
    for arguments in ((), ("--write-baseline",)):
        done = run("lint", *arguments)
        assert (done.returncode, done.stdout) == (2, "")
        assert done.stderr.startswith(f"{FILE}:1:1: error: this baseline cannot be read: {reason}")
        assert "hint: take it from the last commit" in done.stderr
        assert (studio / FILE).read_bytes() == data


def test_folder_or_broken_link_in_its_place_is_not_passed_over(run: Run, studio: Path) -> None:
    (studio / FILE).mkdir()
    assert "this is a folder" in run("lint").stderr
    (studio / FILE).rmdir()
    (studio / FILE).symlink_to("nowhere.json")
    done = run("lint")
    assert done.returncode == 2
    assert "there is no such file" in done.stderr


def test_lines_that_cannot_be_read_can_be_held_back(run: Run, studio: Path) -> None:
    (studio / "a.glost").write_text(GOOD + "    kaolin\n")
    assert run("lint").returncode == 1
    assert run("lint", "--write-baseline").returncode == 0
    assert entries(studio) == [("a.glost", "syntax", "kaolin", 1)]
    assert run("lint").returncode == 0
    (studio / "a.glost").write_text(GOOD + "    kaolin\n    silica\n")
    assert "silica" in run("lint").stdout


def test_file_that_cannot_be_read_is_told_and_the_others_are_held_back(run: Run, studio: Path) -> None:
    (studio / "b.glost").write_bytes(b"\xff\xfe")
    done = run("lint", "--write-baseline")
    assert done.returncode == 2
    assert "b.glost:1:1: error: " in done.stderr
    assert "a file that cannot be read cannot be held back" in done.stderr
    assert {file for file, _, _, _ in entries(studio)} == {"a.glost"}
    left = run("lint")
    assert left.returncode == 2
    assert "a.glost" not in left.stdout
    (studio / "b.glost").unlink()
    assert run("lint").returncode == 0


@pytest.mark.parametrize("option", ["--write-baseline", "--prune"])
def test_page_in_conflict_takes_nothing_from_the_pages_beside_it(run: Run, studio: Path, option: str) -> None:
    """What they share with it is still there once the merge is done."""
    (studio / "b.glost").write_text(BAD)
    run("lint", "--write-baseline")
    before = set(entries(studio))
    assert ("a.glost", "same-name", 'glaze "A"', 1) in before
    line = "    whiting                39\n"
    sides = f"<<<<<<< ours\n{line}=======\n{line.replace('39', '38')}>>>>>>> theirs\n"
    (studio / "b.glost").write_text(BAD.replace(line, sides))
    run("lint", option)
    assert before <= set(entries(studio))


@pytest.mark.parametrize("option", ["--write-baseline", "--prune"])
def test_file_that_cannot_be_read_loses_no_entry(run: Run, studio: Path, option: str) -> None:
    """Neither its own, nor what it shares with another page."""
    page = BAD + "    kaolin\n"
    for name in ("a", "b"):
        (studio / f"{name}.glost").write_text(page)
    run("lint", "--write-baseline")
    before = entries(studio)
    assert {rule for _, rule, _, _ in before} >= {"syntax", "same-name"}
    (studio / "b.glost").write_bytes(page.encode() + b"\xff\n")
    assert run("lint", option).returncode == 2
    assert entries(studio) == before
    (studio / "b.glost").write_text(page)
    assert run("lint").returncode == 0


def test_file_name_that_is_not_utf_8_is_held_back_too(run: Run, studio: Path) -> None:
    (studio / "a.glost").unlink()
    Path(os.fsdecode(os.fsencode(studio) + b"/h\xe4he.glost")).write_text(BAD)
    assert run("lint", "--ignore", "file-name").returncode == 1
    assert run("lint", "--ignore", "file-name", "--write-baseline").returncode == 0
    assert entries(studio)[0][0] == "h\udce4he.glost"
    done = run("lint", "--ignore", "file-name")
    assert (done.returncode, done.stdout) == (0, "")


def test_baseline_is_not_written_for_standard_input(run: Run) -> None:
    done = run("lint", "-", "--write-baseline", stdin=BAD)
    assert done.returncode == 2
    assert "a baseline is written for files" in done.stderr


def test_fixes_come_before_the_baseline(run: Run, studio: Path) -> None:
    assert run("lint", "--fix", "--rescale", "--write-baseline").returncode == 0
    assert entries(studio) == []
    assert "60.61" in (studio / "a.glost").read_text()
