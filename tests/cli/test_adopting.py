"""An old messy collection takes up the shipped hooks, with real git: nothing that was there before blocks a commit, and
what is new does."""

from __future__ import annotations

import json
import random
import subprocess
from collections import Counter
from pathlib import Path

import pytest

from glost.linter import baseline
from tests.checkout import git
from tests.conftest import Run
from tests.linter.messy_collection import messy_page, write_messy_collection

FILE = "glost-baseline.json"


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


def touched(folder: Path, chance: random.Random, path: Path) -> Path:
    """What a day's work does to a page without a new mistake: a comment, a move, a new name."""
    kind = chance.choice(["layout", "comment", "move", "rename", "both"])
    text = path.read_text("utf-8")
    if kind in ("comment", "both"):
        text = f"# looked at on the third shelf\n{text}"
    path.write_text(text.replace("\nbase:", "\n\n\nbase:", 1), "utf-8")
    if kind in ("move", "rename", "both"):
        name = path.name if kind == "move" else f"again-{path.name}"
        target = folder / ("shelf" if kind != "rename" else path.parent.name) / name
        if target == path:
            return path
        target.parent.mkdir(exist_ok=True)
        git(folder, "mv", str(path.relative_to(folder)), str(target.relative_to(folder)))
        return target
    return path


@pytest.mark.parametrize(
    ("pages", "commits"), [(30, 6), pytest.param(400, 60, marks=pytest.mark.slow)], ids=["few", "many"]
)
def test_hooks_block_nothing_that_was_there_before(
    run: Run, tmp_path: Path, pages: int, commits: int
) -> None:
    chance = random.Random(pages)
    quiet = ("--ignore", "file-name")  # a hint that a new name of a file may really be new for
    files = write_messy_collection(tmp_path, pages, seed=pages)
    git(tmp_path, "init", "-q", "-b", "main")
    assert run("lint").returncode == 1
    assert run("lint", "--write-baseline").returncode == 0
    git(tmp_path, "add", "-A")
    git(tmp_path, "commit", "-q", "-m", "Begin")
    for at in range(commits):
        some = chance.sample(range(len(files)), chance.randint(1, 6))
        for one in some:
            files[one] = touched(tmp_path, chance, files[one])
        named = [str(files[one].relative_to(tmp_path)) for one in some]
        # The two hooks, in the order of docs/git.md and in the other one.
        for command in (("lint", "--strict"), ("format",), ("lint", "--strict")):
            done = run(*command, "--in-collection", *named)
            assert done.returncode == 0, (at, done.stdout, done.stderr)
        if at % 5 == 4:
            pruned = run("lint", "--strict", "--prune", *quiet)
            assert (pruned.returncode, pruned.stdout) == (0, ""), pruned.stderr
        git(tmp_path, "add", "-A")
        git(tmp_path, "commit", "-q", "--allow-empty", "-m", f"Change {at}")
    assert run("format").returncode in (0, 1)  # a page that cannot be read stays as it is
    everything = run("lint", "--strict", *quiet)
    assert (everything.returncode, everything.stdout) == (0, ""), everything.stderr
    assert "no longer occur" not in run("lint", "--prune").stderr.replace("which no longer occur", "")

    # What is new blocks, in a page with held findings as in a new one.
    page = files[0]
    page.write_text(page.read_text("utf-8") + '\nvariation "New":\n    dust of doors  3\n', "utf-8")
    assert run("lint", "--in-collection", str(page)).returncode == 1
    (tmp_path / "new.glost").write_text(
        messy_page(chance, "New").replace("base:", "base:\n  dust of ages 30")
    )
    done = run("lint", "--in-collection", "new.glost")
    assert done.returncode == 1
    assert "dust of ages" in done.stdout


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
def studio(tmp_path: Path) -> Path:
    """A collection whose one recipe has one finding, which is held back, and another one."""
    (tmp_path / "glost.yaml").write_text("name: a studio (invented)\n")
    (tmp_path / "a.glost").write_text(BAD)
    (tmp_path / "b.glost").write_text(GOOD.replace('"A"', '"B"').replace("60", "30").replace("40", "70"))
    return tmp_path


def held(folder: Path) -> dict[tuple[str, str, str], int]:
    return dict(baseline.read((folder / FILE).read_text("utf-8")).counts)


def test_prune_takes_out_what_is_gone_and_nothing_new_in(run: Run, studio: Path) -> None:
    run("lint", "--write-baseline")
    (studio / "a.glost").write_text(GOOD.replace("origin: own test\n", ""))
    (studio / "b.glost").write_text(BAD.replace('"A"', '"B"').replace("60", "55"))
    done = run("lint", "--prune", "--output", "line")
    assert done.returncode == 1
    assert "b.glost:6:1: error: the base totals 94" in done.stdout
    assert done.stderr == (
        f"{FILE}: 1 finding taken out, which no longer occurs\n  a.glost: base-total: base:\n"
    )
    assert held(studio) == {}
    assert run("lint", "--prune").returncode == 1


@pytest.mark.parametrize("sign", ["byte order mark", "Windows line breaks", "both"])
@pytest.mark.parametrize("above", ["", "# looked at\n", "\n"])
def test_what_is_wrong_with_the_file_is_known_whatever_its_first_line_says(
    run: Run, studio: Path, sign: str, above: str
) -> None:
    page = studio / "old card.glost"
    text = BAD.replace('"A"', '"Old"').replace("60", "71").replace("40", "30")
    mark = "" if sign == "Windows line breaks" else "\ufeff"
    breaks = "\n" if sign == "byte order mark" else "\r\n"

    def write(text: str, mark: str, breaks: str) -> None:
        page.write_bytes(f"{mark}{text.replace(chr(10), breaks)}".encode())

    write(text, mark, breaks)
    assert run("lint", "--write-baseline").returncode == 0
    write(f"{above}{text}", mark, breaks)
    done = run("lint", "--strict")
    assert (done.returncode, done.stdout) == (0, "")
    assert "held back by" in done.stderr
    assert "no longer occur" not in done.stderr
    # Without them what is held of the first line is held still; with them again, nothing is held back any more.
    write(f"{above}{text}", "", "\n")
    done = run("lint", "--strict")
    assert (done.returncode, done.stdout) == (0, "")
    assert f"{2 if sign == 'both' else 1} finding" in done.stderr.split("held back by")[1]
    assert run("lint", "--prune").returncode == 0
    write(f"{above}{text}", mark, breaks)
    assert run("lint").returncode == 1


def test_entry_of_an_earlier_glost_for_the_whole_file_still_holds(run: Run, studio: Path) -> None:
    (studio / "a.glost").write_text(f"\ufeff{GOOD}", "utf-8")
    entry = {"file": "a.glost", "rule": "syntax", "text": '\ufeffglaze "A"', "count": 1}
    (studio / FILE).write_text(json.dumps({"version": 2, "findings": [entry], "pages": []}))
    assert run("lint", "--strict").returncode == 0


def test_prune_of_a_part_leaves_the_rest(run: Run, studio: Path) -> None:
    (studio / "b.glost").write_text(BAD.replace('"A"', '"B"').replace("60", "55"))
    run("lint", "--write-baseline")
    (studio / "a.glost").write_text(GOOD)
    (studio / "b.glost").rename(studio / "c.glost")
    assert run("lint", "--prune", "a.glost").returncode == 0
    assert set(held(studio)) >= {("b.glost", "base-total", "base:")}
    assert run("lint", "--prune").returncode == 0
    assert set(held(studio)) == {("c.glost", "base-total", "base:")}


def test_prune_keeps_what_cannot_be_looked_for(run: Run, studio: Path) -> None:
    run("lint", "--write-baseline")
    (studio / "a.glost").write_text(BAD + "    kaolin\n")
    assert run("lint", "--prune").returncode == 1
    (studio / "a.glost").write_bytes(b"\xff\xfe")
    assert run("lint", "--prune").returncode == 2
    (studio / "a.glost").write_text(BAD)
    assert run("lint").returncode == 0


def test_page_of_the_same_faults_is_not_taken_for_one_that_is_gone(run: Run, studio: Path) -> None:
    run("lint", "--write-baseline")
    (studio / "a.glost").unlink()
    (studio / "fen.glost").write_text(BAD.replace('"A"', '"Fen"').replace("60", "72").replace("39", "27"))
    assert run("lint").returncode == 1


def test_empty_page_under_another_name_is_known_again(run: Run, studio: Path) -> None:
    (studio / "torn off.glost").write_text("")
    (studio / "blank.glost").write_text("# nothing yet\n")
    run("lint", "--write-baseline")
    (studio / "shelf").mkdir()
    (studio / "torn off.glost").rename(studio / "shelf" / "lost.glost")
    (studio / "blank.glost").rename(studio / "later.glost")
    assert run("lint", "--strict").returncode == 0
    assert run("format", "--in-collection", "shelf/lost.glost", "later.glost").returncode == 0
    (studio / "third.glost").write_text("")
    done = run("lint", "--output", "line")
    assert (done.returncode, done.stdout.count("error")) == (1, 1)


def test_pages_that_change_names_and_one_put_in_the_place_of_another_are_known(
    run: Run, studio: Path
) -> None:
    b = studio / "b.glost"
    b.write_text(BAD.replace('"A"', '"B"').replace("60", "75").replace("39", "20") + "    dolomite  4.5\n")
    c = studio / "c.glost"
    c.write_text(BAD.replace('"A"', '"C"').replace("60", "13").replace("39", "17") + "    silica  7\n")
    run("lint", "--write-baseline")
    before = held(studio)
    (studio / "a.glost").rename(studio / "t")
    b.rename(studio / "a.glost")
    (studio / "t").rename(b)
    quiet = ("--ignore", "file-name", "--strict")
    assert run("lint", *quiet).returncode == 0
    for name in ("a.glost", "b.glost"):  # each by itself, as format looks at them
        assert run("lint", *quiet, name).returncode == 0
    c.rename(b)  # and A is gone
    done = run("lint", "--prune", *quiet)
    assert done.returncode == 0, done.stdout
    assert {("a.glost", "base-total", "base:"), ("b.glost", "base-total", "base:")} <= set(held(studio))
    assert "c.glost" not in {file for file, _, _ in held(studio)}
    assert sum(held(studio).values()) < sum(before.values())
    b.write_text(b.read_text().replace("silica  7", "silica"))
    assert run("lint", *quiet).returncode == 1


def test_copy_of_a_page_is_new(run: Run, studio: Path) -> None:
    run("lint", "--write-baseline")
    (studio / "copy").mkdir()
    (studio / "copy" / "a.glost").write_text(BAD)
    assert "copy/a.glost:6:1: error: the base totals 99" in run("lint", "--output", "line").stdout


def test_written_anew_it_names_what_was_not_held_back(run: Run, studio: Path) -> None:
    first = run("lint", "--write-baseline")
    assert first.stderr == f"{FILE}: 1 finding held back from now on\n"
    (studio / "b.glost").write_text(BAD.replace('"A"', '"B"').replace("60", "55"))
    done = run("lint", "--write-baseline")
    assert done.returncode == 0
    assert done.stderr.startswith(
        f"{FILE}: 2 findings held back from now on\n1 finding of these was not held back before:\n"
        "  b.glost:6:1: error: the base totals 94, not 100"
    )
    assert run("lint", "--write-baseline").stderr == f"{FILE}: 2 findings held back from now on\n"


def test_baseline_of_the_version_before(run: Run, studio: Path) -> None:
    entry = {"file": "a.glost", "rule": "base-total", "text": "base:", "count": 1}
    (studio / FILE).write_text(json.dumps({"version": 1, "findings": [entry]}))
    assert run("lint").returncode == 0
    (studio / "shelf").mkdir()
    (studio / "a.glost").rename(studio / "shelf" / "a.glost")
    assert run("lint").returncode == 0
    done = run("lint", "--prune")
    assert done.returncode == 0
    assert "0 findings taken out, which no longer occur\n  shelf/a.glost: was a.glost\n" in done.stderr
    assert set(held(studio)) == {("shelf/a.glost", "base-total", "base:")}


@pytest.mark.parametrize("more", [("--write-baseline",), ("--fix", "--diff"), ("-",)])
def test_prune_refuses_what_it_does_not_go_with(run: Run, studio: Path, more: tuple[str, ...]) -> None:
    done = run("lint", "--prune", *more, stdin=BAD)
    assert done.returncode == 2
    assert "Error: " in done.stderr


def test_prune_without_a_baseline_says_so(run: Run, studio: Path) -> None:
    done = run("lint", "--prune")
    assert done.returncode == 1
    assert f"there is no {FILE} to prune" in done.stderr
    assert not (studio / FILE).exists()


def test_baseline_that_names_a_file_outside_opens_none(run: Run, studio: Path) -> None:
    outside = studio.parent / "outside.glost"
    outside.write_text(BAD)
    entry = {"file": "../outside.glost", "rule": "base-total", "text": "base:", "count": 1}
    (studio / FILE).write_text(json.dumps({"version": 2, "findings": [entry], "pages": []}))
    assert run("lint", "--prune").returncode == 1
    assert "outside" not in json.dumps(json.loads((studio / FILE).read_text())["pages"])


def test_unfinished_merge_is_told_as_one(run: Run, studio: Path) -> None:
    (studio / "b.glost").write_text(BAD.replace('"A"', '"B"').replace("60", "55"))
    run("lint", "--write-baseline")
    git(studio, "init", "-q", "-b", "main")
    git(studio, "add", "-A")
    git(studio, "commit", "-q", "-m", "Begin")
    for branch, page in (("one", "a"), ("two", "b")):
        git(studio, "checkout", "-q", "-b", branch, "main")
        (studio / f"{page}.glost").write_text(
            GOOD if page == "a" else GOOD.replace('"A"', '"B"').replace("0\n", "1\n", 1).replace("40", "39")
        )
        assert run("lint", "--prune").returncode == 0
        git(studio, "commit", "-q", "-a", "-m", branch)
    merged = subprocess.run(["git", "merge", "one"], cwd=studio, capture_output=True, text=True, check=False)
    assert merged.returncode == 1
    done = run("lint")
    assert done.returncode == 2
    assert f"{FILE}:2:1: error: a merge is not finished: lines 2 to " in done.stderr
    assert "delete the marks; then glost lint --prune" in done.stderr


def test_two_branches_that_prune_different_pages_merge_under_the_driver(run: Run, studio: Path) -> None:
    (studio / "b.glost").write_text(BAD.replace('"A"', '"B"').replace("60", "55"))
    run("lint", "--write-baseline")
    git(studio, "init", "-q", "-b", "main")
    assert run("git-setup").returncode == 0
    git(studio, "add", "-A")
    git(studio, "commit", "-q", "-m", "Begin")
    for branch, page, better in (
        ("one", "a", GOOD),
        ("two", "b", GOOD.replace('"A"', '"B"').replace("60", "61")),
    ):
        git(studio, "checkout", "-q", "-b", branch, "main")
        (studio / f"{page}.glost").write_text(better.replace("40", "39") if page == "b" else better)
        assert run("lint", "--prune").returncode == 0
        git(studio, "commit", "-q", "-a", "-m", branch)
    git(studio, "merge", "-q", "-m", "Merge one", "one")
    assert held(studio) == {}
    assert run("lint", "--strict").returncode == 0


def many_entries(more: str = "") -> str:
    """A baseline of an old collection: larger than any recipe may be."""
    entries = {("a.glost", "base-total", f"base: {number}"): 1 for number in range(5_000)}
    if more:
        entries["a.glost", "base-total", more] = 1
    text = baseline.write(baseline.Baseline(Counter(entries)))
    assert len(text) > 300_000
    return text


def test_baseline_of_a_large_collection_holds_back_what_is_staged(run: Run, studio: Path) -> None:
    (studio / FILE).write_text(many_entries("base:"))
    git(studio, "init", "-q", "-b", "main")
    git(studio, "add", "-A")
    done = run("lint", "--staged", "--strict")
    assert done.returncode == 0, done.stdout + done.stderr
    assert "1 known finding held back" in done.stderr
    (studio / "a.glost").write_text(BAD.replace("39", "38"))
    git(studio, "add", "-A")
    (studio / FILE).unlink()  # only what is staged counts
    assert run("lint", "--staged").returncode == 0


def test_baselines_of_a_large_collection_are_merged_by_entry(run: Run, tmp_path: Path) -> None:
    for name, more in (("base", ""), ("ours", "aaa"), ("theirs", "aab")):
        (tmp_path / name).write_text(many_entries(more))
    done = run("merge", "base", "ours", "theirs", FILE)
    assert (done.returncode, done.stdout) == (0, "merged\n"), done.stderr
    found = {line for _, _, line in baseline.read((tmp_path / "ours").read_text()).counts}
    assert len(found) == 5_002
    assert {"aaa", "aab"} <= found


@pytest.mark.parametrize("side", ["", "<<<<<<< a\n", '{"version": 7}', "\xff"])
def test_baseline_of_which_a_side_cannot_be_read_is_merged_as_git_does(
    run: Run, tmp_path: Path, side: str
) -> None:
    texts = {
        "base": '{"version": 2, "findings": []}\n',
        "ours": side,
        "theirs": '{"version": 2, "findings": []}\n',
    }
    for name, text in texts.items():
        (tmp_path / name).write_bytes(text.encode("latin-1"))
    done = run("merge", "base", "ours", "theirs", FILE)
    assert done.returncode == 0, done.stderr
    if side:
        assert f"{FILE}: merged line by line, as git does: " in done.stderr
        assert (tmp_path / "ours").read_bytes() == side.encode("latin-1")
