"""What several processes work at is the same for any number of them: every file, every word, and the exit status."""

from __future__ import annotations

import multiprocessing
import os
import shutil
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from glost.output.format import Job, find_format, format_names
from glost.workspace.collection import Collections, find
from glost.workspace.load import load
from glost.workspace.reading import DISK, Files
from glost.workspace.runs import processes
from glost.workspace.runs.convert import Converter
from glost.workspace.runs.format import FormattedFile, format_file, lay_out_all
from tests.conftest import STUDIO, Run
from tests.output.convert.bench import text_in
from tests.stopping import calls_of, start_stopping
from tests.work import HANG_S

LOOSE = 'glaze  "A"\nbase:\n  silica .5\n  kaolin 99.5\n'


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    """The demo collection under version control, with pages that are loose, broken, not to be read and changed since
    among the others."""
    studio = tmp_path / "studio"
    shutil.copytree(STUDIO, studio)
    pages = sorted(studio.rglob("*.glost"))

    def git(*arguments: str) -> None:
        command = ["git", "-c", "user.name=a", "-c", "user.email=a@example.org", *arguments]
        subprocess.run(command, cwd=studio, check=True, capture_output=True)

    git("init", "--quiet")
    git("add", ".")
    git("commit", "--quiet", "-m", "a")
    for at, page in enumerate(pages):
        if at % 6 == 1:
            page.write_text(page.read_text("utf-8").replace("    ", "  ") + "\n\n\n", "utf-8")
        if at % 10 == 3:
            page.write_text(page.read_text("utf-8").replace("base:\n", "base:\n    whiting\n"), "utf-8")
        if at % 25 == 7:
            page.write_bytes(b"glaze \xff\n")
    return studio


def tree(folder: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file() and ".git" not in path.parts
    }


COMMANDS = [
    ["format"],
    ["format", "--check"],
    ["format", "--diff"],
    *(["convert", "--to", form] for form in ("sheet", "csv", "json")),
    *(["convert", "--to", form, "--out", "all.out"] for form in ("markdown", "jsonl", "html")),
    *(["catalog", "--to", form] for form in ("csv", "jsonl")),
    *(["formula", "--output", form] for form in ("text", "json", "csv")),
    *(["convert", "--to", form, "--out", "out"] for form in ("sheet", "html", "json")),
]


@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
def test_same_for_any_number_of_processes(run: Run, studio: Path, tmp_path: Path, command: list[str]) -> None:
    seen = []
    for workers in ("1", "5", None):
        here = tmp_path / "here"
        shutil.copytree(studio, here / "studio", symlinks=True)
        more = ["--workers", workers] if workers else []
        done = run(*command, "studio", *more, cwd=here)
        seen.append((done.returncode, done.stdout, done.stderr, tree(here)))
        shutil.rmtree(here)
    status, out, said, files = seen[0]
    assert status == 2
    # The table has a row for what cannot be read whole, and tells only what could not be read at all.
    assert said.count("hint: ") >= (3 if command[0] == "catalog" else 8)
    left_alone = "not written, since not every recipe can be converted" in said
    assert left_alone or len(out) > 300 or files.keys() > {"studio/" + name for name in tree(studio)}
    for other in seen[1:]:
        assert other == seen[0]


READERS = [
    *(["catalog", "--to", form] for form in ("html", "jsonl")),
    ["lint", "--output", "json"],
    ["find", "--with", "silica", "--hazard", "chronic"],
]


@pytest.mark.parametrize("command", READERS, ids=" ".join)
def test_what_is_read_says_the_same_for_any_number_of_processes(
    run: Run, studio: Path, monkeypatch: pytest.MonkeyPatch, command: list[str]
) -> None:
    """What two processes hand over are two objects, also where they say the same: nothing may be known by its place in
    memory."""
    monkeypatch.setenv("GLOST_CACHE", "off")
    told = [run(*command, "--workers", workers, str(studio)) for workers in ("1", "4")]
    one, more = ((done.returncode, done.stdout, done.stderr) for done in told)
    assert len(told[0].stdout) > 300
    assert more == one


@pytest.mark.parametrize("name", sorted(format_names()))
def test_what_stands_between_recipes_makes_one_text_of_their_texts(name: str) -> None:
    form = find_format(name)
    collections = Collections()
    entries = [load(path, collections) for path in find([str(STUDIO)], collections)[::4]]
    jobs = [
        Job(one.file, one.resolved.recipe, one.collection.settings, one.collection.catalogue)
        for one in entries
    ]
    if form.between is not None:
        for some in (jobs, jobs[:1], []):
            assert form.between.join(text_in(name, [job]) for job in some) == text_in(name, some)


def test_only_what_differs_is_written(run: Run, tmp_path: Path) -> None:
    arguments = ("convert", str(STUDIO), "--to", "sheet", "--out", "out")
    count = sum("needs-work" not in page.parts for page in STUDIO.rglob("*.glost"))
    assert run(*arguments).stderr == f"out: {count} recipes written\n"
    sheets = sorted((tmp_path / "out").rglob("*.txt"))
    for sheet in sheets:
        os.utime(sheet, (1, 1))
    sheets[5].write_text(sheets[5].read_text("utf-8") + "x", "utf-8")
    sheets[7].write_text(sheets[7].read_text("utf-8")[:-2] + "y\n", "utf-8")
    sheets[9].unlink()
    before = {sheet: sheet.stat().st_mtime for sheet in sheets if sheet.exists()}
    assert run(*arguments).stderr == f"out: 3 recipes written, {count - 3} unchanged\n"
    for at, sheet in enumerate(sheets):
        assert (sheet.stat().st_mtime == before.get(sheet)) == (at not in (5, 7, 9)), sheet
    assert run(*arguments).stderr == f"out: 0 recipes written, {count} unchanged\n"


def test_one_file_for_all_is_left_where_it_is_the_same(run: Run, tmp_path: Path) -> None:
    arguments = ("convert", str(STUDIO / "washes"), "--to", "csv", "--out", "washes.csv")
    first = run(*arguments).stderr
    assert first.endswith(" recipes written\n")
    os.utime(tmp_path / "washes.csv", (1, 1))
    assert run(*arguments).stderr == first.replace("written", "unchanged")
    assert (tmp_path / "washes.csv").stat().st_mtime == 1


def test_nothing_is_written_where_two_recipes_would_meet(run: Run, tmp_path: Path) -> None:
    for name in ("a.glost", "b.glost", "b.old"):
        (tmp_path / name).write_text(LOOSE)
    done = run("convert", "a.glost", "b.glost", "b.old", "--to", "sheet", "--out", "out")
    assert done.returncode == 2
    assert done.stderr == "glost: b.old and b.glost would both be written to out/b.txt; rename one\n"
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("workers", ["1", "2"])
def test_a_file_that_cannot_be_written_ends_the_run_in_order(run: Run, tmp_path: Path, workers: str) -> None:
    for number in range(300):
        (tmp_path / f"{number:03}.glost").write_text(LOOSE)
    (tmp_path / "out" / "100.txt").mkdir(parents=True)
    done = run("convert", "--to", "sheet", "--out", "out", "--workers", workers)
    assert (done.returncode, done.stderr) == (2, "glost: out could not be written: it is no plain file\n")
    assert len(list((tmp_path / "out").iterdir())) == 101


def test_sheets_of_a_run_that_was_stopped_are_whole(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(
        "GLOST_CACHE", "off"
    )  # or the second run would have less to do than the one that was counted
    for number in range(240):
        (tmp_path / f"{number}.glost").write_text(LOOSE)
    command = ("convert", "--to", "sheet", "--out", "out", "--workers")
    out = tmp_path / "out"
    calls = calls_of(tmp_path, *command, "2")
    shutil.rmtree(out)
    process = start_stopping(tmp_path, calls * 3 // 4, signal.SIGINT, (*command, "2"), whole_group=True)
    assert process.communicate(timeout=HANG_S)[1].strip() == "glost: stopped"
    assert process.returncode == 130
    there = len(list(out.glob("*.txt")))
    assert 0 < there < 240
    said = run(*command, "1", GLOST_CACHE="off").stderr
    assert said == f"out: {240 - there} recipes written, {there} unchanged\n"


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that takes nothing")
@pytest.mark.parametrize("workers", ["1", "2"])
def test_format_stops_where_nobody_can_be_told(run: Run, tmp_path: Path, workers: str) -> None:
    for number in range(300):
        (tmp_path / f"{number:03}.glost").write_text(LOOSE)
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(
            [sys.executable, "-m", "glost", "format", "--workers", workers],
            cwd=tmp_path, stdout=full, stderr=subprocess.PIPE, text=True, timeout=HANG_S, check=False,
        )  # fmt: skip
    assert (done.returncode, "cannot be written" in done.stderr) == (2, True)
    changed = [path for path in tmp_path.glob("*.glost") if path.read_text() != LOOSE]
    assert len(changed) == 1  # the one that could not be told of, and no other


def test_process_that_is_killed_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for number in range(300):
        (tmp_path / f"{number:03}.glost").write_text(LOOSE)
    paths = find([str(tmp_path)], Collections())
    parent = os.getpid()

    def killed(path: Path) -> None:
        if path.stem == "150" and os.getpid() != parent:
            os.kill(os.getpid(), signal.SIGKILL)

    convert = Converter.convert

    def converted(self: Converter, path: Path) -> object:
        killed(path)
        return convert(self, path)

    def laid_out(path: Path, files: Files = DISK) -> FormattedFile:
        killed(path)
        return format_file(path, files)

    monkeypatch.setattr(Converter, "convert", converted)
    with pytest.raises(processes.WorkerLostError):
        list(Converter(find_format("sheet"), None, paths, Collections()).texts(paths, 2))
    monkeypatch.setattr("glost.workspace.runs.format.format_file", laid_out)
    with pytest.raises(processes.WorkerLostError):
        list(lay_out_all(paths, 2))
    assert {path.read_text() for path in paths} == {LOOSE}


def test_a_run_that_nobody_wants_the_rest_of_leaves_no_process() -> None:
    for _ in range(10):
        results = processes.each(abs, range(2000), 2)
        assert next(results) == 0
        results.close()  # type: ignore[attr-defined]
        for child in multiprocessing.active_children():
            child.join(5)
        assert multiprocessing.active_children() == []


def test_what_work_raises_is_raised_here() -> None:
    with pytest.raises(ZeroDivisionError):
        list(processes.each(lambda number: 1 // (number - 500), range(1000), 2))
    assert list(processes.each(lambda number: number * number, range(1000), 3)) == [
        n * n for n in range(1000)
    ]
    assert list(processes.each(abs, [], 3)) == []
