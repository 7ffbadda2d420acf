"""glost record as a process: what it writes, what it never does, and what survives."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

import pytest

from glost.records.text import record_of
from tests.conftest import TOP, Run
from tests.records.bench import GROWN, MIST, at, json_of
from tests.work import HANG_S

SETTINGS = "name: invented\n"


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    """A collection with one saved record in it."""
    (tmp_path / "glost.yaml").write_text(SETTINGS)
    (tmp_path / "saved.json").write_text(json_of())
    return tmp_path


def pages(folder: Path) -> list[Path]:
    return sorted(folder.rglob("*.batch"))


def test_one_file_a_record_beside_the_recipes(studio: Path, run: Run) -> None:
    done = run("record", "saved.json")
    (page,) = pages(studio)
    name = page.relative_to(studio).as_posix()
    assert name.startswith("log/2026/2026-03-14T10-22-05-harbour-mist-")
    assert (done.returncode, done.stdout, done.stderr) == (0, f"{name}: recorded\n", "")
    assert record_of(page.read_text("utf-8")) == MIST
    assert page.stat().st_mode & 0o777 == (studio / "saved.json").stat().st_mode & 0o777
    assert [path.name for path in page.parent.iterdir()] == [page.name]


def test_the_log_is_that_of_the_collection_from_any_folder_in_it(studio: Path, run: Run) -> None:
    (studio / "stoneware").mkdir()
    assert run("record", "../saved.json", cwd=studio / "stoneware").returncode == 0
    assert len(pages(studio / "log")) == 1


def test_without_a_collection_the_log_is_named(tmp_path: Path, run: Run) -> None:
    (tmp_path / "saved.json").write_text(json_of())
    done = run("record", "saved.json")
    assert done.returncode == 2
    assert "belongs to no collection" in done.stderr
    assert run("record", "saved.json", "--log", "deep/down").returncode == 0
    assert len(pages(tmp_path / "deep" / "down")) == 1


def test_standard_input(studio: Path, run: Run) -> None:
    assert run("record", "-", stdin=json_of()).returncode == 0
    assert len(pages(studio)) == 1
    assert run("record", "-", "saved.json", stdin=json_of()).returncode == 2


def test_the_same_record_is_not_written_twice(studio: Path, run: Run) -> None:
    run("record", "saved.json")
    (page,) = pages(studio)
    before = page.stat()
    done = run("record", "saved.json")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.endswith(".batch: in the log already\n")
    assert pages(studio) == [page]
    assert page.stat().st_mtime_ns == before.st_mtime_ns


def test_a_record_is_known_under_the_name_that_its_recipe_once_had(studio: Path, run: Run) -> None:
    """In the names of files letters beyond a to z were left out before; what tells records apart stands behind."""
    handed = json_of(at(MIST.recorded_at, recipe="Größe Null"))
    run("record", "-", stdin=handed)
    (page,) = pages(studio)
    assert "-grosse-null-" in page.name
    page = page.rename(page.with_name(page.name.replace("-grosse-null-", "-gre-null-")))
    done = run("record", "-", stdin=handed)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout == f"{page.relative_to(studio)}: in the log already\n"
    page.write_text(page.read_text("utf-8").replace("S-94a", "S-95a"), "utf-8")
    done = run("record", "-", stdin=handed)
    assert done.returncode == 1
    assert f"{page.name}: in the log already, and changed there since" in done.stderr
    assert pages(studio) == [page]


def test_what_was_corrected_in_the_log_is_left_alone(studio: Path, run: Run) -> None:
    run("record", "saved.json")
    (page,) = pages(studio)
    corrected = page.read_text("utf-8").replace("S-94a", "S-95a")
    page.write_text(corrected, "utf-8")
    done = run("record", "saved.json")
    assert done.returncode == 1
    assert "changed there since; it is left as it is" in done.stderr
    assert page.read_text("utf-8") == corrected
    assert pages(studio) == [page]


def test_a_page_saved_twice_is_told(studio: Path, run: Run) -> None:
    run("record", "saved.json")
    (first,) = pages(studio)
    done = run("record", "-", stdin=json_of(at("2026-03-14T10:22:31+01:00")))
    assert done.returncode == 0
    assert f"but for the time this is {first.relative_to(studio)}" in done.stderr
    assert len(pages(studio)) == 2
    other = run("record", "-", stdin=json_of(at("2026-03-14T10:23:00+01:00", test="")))
    assert other.stderr == ""


def test_two_records_of_one_second_have_a_file_each(studio: Path, run: Run) -> None:
    for person in ("R. T.", "M. O."):
        assert run("record", "-", stdin=json_of(at(MIST.recorded_at, person=person))).returncode == 0
    assert len(pages(studio)) == 2


def test_names_that_no_disk_holds(studio: Path, run: Run) -> None:
    for number, recipe in enumerate(("../../etc/x", "con", "", "釉" * 300, "a" * 300, "Grüne Welle / 2")):
        moment = f"2026-03-14T10:22:{number:02}+01:00"
        assert run("record", "-", stdin=json_of(at(moment, recipe=recipe))).returncode == 0
    found = pages(studio)
    assert len(found) == 6
    assert {path.parent for path in found} == {studio / "log" / "2026"}
    assert all(path.name.isascii() and len(path.name) < 120 for path in found)
    assert any("-grune-welle-2-" in path.name for path in found)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "this is not JSON"),
        ("{}", "'version' is missing"),
        (json_of().replace("120.1", "NaN"), "NaN is not a number"),
        (json_of(person="\x1b[2J", price=1), "'price' is not a key here"),
        (json_of(recorded_at="\x1b[2J"), "is not written as it should be"),
        (f'"{"x" * 9_000_000}"', "8,388,608 bytes"),
        ("[" * 200_000, "more than 50 brackets"),
    ],
    ids=range(7),
)
def test_what_is_refused_leaves_nothing(studio: Path, run: Run, text: str, message: str) -> None:
    done = run("record", "-", stdin=text)
    assert done.returncode == 2
    assert message in done.stderr
    assert "not recorded" in done.stderr
    assert "\x1b" not in done.stderr
    assert "mistake in glost" not in done.stderr
    assert not (studio / "log").exists()


def test_many_records_in_one_file_and_a_broken_one_among_them(studio: Path, run: Run) -> None:
    good, other, bad = json_of(), json_of(GROWN), json_of(price=1)
    (studio / "all.json").write_text(
        f'{{"version": 1, "kind": "glost records", "records": [{good}, {bad}, {other}]}}'
    )
    done = run("record", "all.json")
    assert done.returncode == 2
    assert "all.json, record 2 of 3: not recorded" in done.stderr
    assert "'price' is not a key here" in done.stderr
    found = [record_of(page.read_text("utf-8")) for page in pages(studio)]
    assert sorted(record.version for record in found) == [1, 2]
    # Named by the day and time of weighing, not of recording.
    assert [page.name[:19] for page in pages(studio)] == ["2026-03-13T23-57-00", "2026-03-14T10-22-05"]


def test_a_pasted_text_with_words_around_it(studio: Path, run: Run) -> None:
    quoted = "".join(f"> {line}\n" for line in json_of().splitlines())
    done = run("record", "-", stdin=f'Hello, {{as asked}} "the record:\n{quoted}\nand {json_of(GROWN)}\nBye')
    assert (done.returncode, done.stderr) == (0, "")
    assert len(pages(studio)) == 2
    cut = run("record", "-", stdin=f"Here it is:\n{json_of()[:-40]}")
    assert cut.returncode == 2
    assert "a record begins on line 2 and is broken off" in cut.stderr


def test_a_folder_of_all_kinds_of_files(studio: Path, run: Run) -> None:
    downloads = studio / "downloads"
    (downloads / "below").mkdir(parents=True)
    (downloads / "record-a.json").write_text(json_of())
    (downloads / "record-b.json.txt").write_text(json_of(GROWN))
    (downloads / "bill.json").write_text('{"sum": 3}')
    (downloads / "picture.bin").write_bytes(b"\xff" * 10)
    (downloads / "below" / "record-c.json").write_text(json_of())
    os.mkfifo(downloads / "pipe.json")
    done = run("record", "downloads")
    assert done.returncode == 0
    assert len(pages(studio)) == 2
    assert "downloads: 1 other file left alone" in done.stderr
    assert run("record", "downloads/below/..").stdout.count("in the log already") == 2
    (studio / "empty").mkdir()
    assert run("record", "empty").returncode == 1


SHEET = """\
glaze "Ebb Test"
cone: 6
atmosphere: oxidation
batch: 200 g

base:
    silica     60
    kaolin     40

handling:
    all: P100 respirator.
"""


def test_a_batch_on_paper_line_by_line(studio: Path, run: Run) -> None:
    (studio / "ebb.glost").write_text(SHEET)
    answers = ["", "S-1", "8,0", "80.1", "", "2026-03-14", "R. T.", "", "1oo", "150", "", ""]
    done = run("record", "--from-sheet", "ebb.glost", stdin="\n".join([*answers, ""]))
    assert done.returncode == 0, done.stderr
    (page,) = pages(studio)
    record = record_of(page.read_text("utf-8"))
    assert (str(record.day), record.person, str(record.water_g)) == ("2026-03-14", "R. T.", "150")
    assert [(line.name, str(line.actual_g), line.taken, line.lot) for line in record.lines] == [
        ("silica", "120.0", "ticked", "S-1"),
        ("kaolin", "80.1", "read", ""),
    ]
    # Answers that end early record nothing.
    assert run("record", "--from-sheet", "ebb.glost", stdin="\n\n").returncode != 0
    assert len(pages(studio)) == 1


def test_a_batch_on_paper_as_a_table(studio: Path, run: Run) -> None:
    (studio / "ebb.glost").write_text(SHEET)
    (studio / "a.csv").write_text("material;weighed_g;lot\nKaolin;80,1;K 7\nsilica;ticked;'=S\n")
    done = run(
        "record", "--from-sheet", "ebb.glost", "--csv", "a.csv", "--person", "M. O.", "--day", "2026-03-14"
    )
    assert done.returncode == 0, done.stderr
    record = record_of(pages(studio)[0].read_text("utf-8"))
    assert [(line.name, line.taken, line.lot) for line in record.lines] == [
        ("silica", "ticked", "=S"),
        ("kaolin", "read", "K 7"),
    ]


@pytest.mark.parametrize(
    ("written", "words"),
    [
        (
            "1200",
            "1200 is about 10 times the 120.0 g asked for: is the point in the wrong place? 1080.0 g too much,",
        ),
        (
            "12",
            "12 is about a tenth of the 120.0 g asked for: is the point in the wrong place? 108.0 g too little,",
        ),
        ("180", "60.0 g too much, 50 % over: outside 2 %"),
        ("60", "60.0 g too little, 50 % short: outside 2 %"),
        ("122.5", "2.5 g too much, 2.1 % over: outside 2 %"),
    ],
)
def test_a_mass_far_from_its_target_is_told_and_recorded(
    studio: Path, run: Run, written: str, words: str
) -> None:
    (studio / "ebb.glost").write_text(SHEET)
    (studio / "a.csv").write_text(
        f'material,lot,weighed_g\nkaolin,"K, 7",80\nsilica,"S ""a""", {written} g\n'
    )
    done = run("record", "--from-sheet", "ebb.glost", "--csv", "a.csv")
    assert done.returncode == 1
    assert done.stderr.startswith("a.csv:3:19: warning: silica: ")
    assert words in done.stderr
    head, text, carets, hint = done.stderr.splitlines()[:4]
    assert text.removeprefix("    3 | ")[carets.index("^") - 8 :].startswith(f"{written} g")
    assert carets.count("^") == len(f"{written} g")
    assert f"if it is meant, write  {written} meant  here" in hint
    assert head.endswith("(off-target)")
    record = record_of(pages(studio)[0].read_text("utf-8"))
    assert str(record.lines[0].actual_g) == written
    # What is said to be meant is told no more.
    table = (studio / "a.csv").read_text().replace(f"{written} g", f"{written} g meant")
    done = run("record", "--from-sheet", "ebb.glost", "--csv", "-", stdin=table)
    assert (done.returncode, [line for line in done.stderr.splitlines() if "warning" in line]) == (0, [])
    assert {str(record_of(page.read_text("utf-8")).lines[0].actual_g) for page in pages(studio)} == {written}


@pytest.mark.parametrize("written", ["120", "120.05", "119.91", "122.4", "117.6"])
def test_a_mass_that_may_stand_is_taken(studio: Path, run: Run, written: str) -> None:
    (studio / "ebb.glost").write_text(SHEET)
    done = run(
        "record",
        "--from-sheet",
        "ebb.glost",
        "--csv",
        "-",
        stdin=f"material,weighed_g\nsilica,{written}\nkaolin,-\n",
    )
    assert (done.returncode, done.stderr) == (0, "")


def test_at_the_terminal_it_is_asked_for_once_more(studio: Path, run: Run) -> None:
    (studio / "ebb.glost").write_text(SHEET)
    answers = ["1200", "12", "120", "S", "200", "200", "K", *[""] * 6]
    done = run("record", "--from-sheet", "ebb.glost", stdin="\n".join([*answers, ""]))
    assert done.returncode == 0, done.stderr
    assert "1200 is about 10 times the 120.0 g asked for" in done.stderr
    assert "12 is about a tenth of the 120.0 g asked for" in done.stderr
    record = record_of(pages(studio)[0].read_text("utf-8"))
    assert [(str(line.actual_g), line.lot) for line in record.lines] == [("120", "S"), ("200", "K")]


@pytest.mark.parametrize(
    ("table", "message"),
    [
        ("material,weighed_g\nsilica,120\n", "no row for kaolin"),
        (
            "material,weighed_g\nsilica,120\nsilica,1\nkaolin,1\n",
            "line 3: the sheet has no further line of 'silica'",
        ),
        ("material,weighed_g\ntalc,1\n", "line 2: the sheet has no line of 'talc'"),
        ("material,weighed_g\nsilica,\n", "line 2: silica has no mass"),
        ("material,weighed_g\nsilica,1e5\n", "line 2: '1e5' is no mass"),
        ("material,weighed_g\nsilica,-3\n", "line 2: '-3' is no mass"),
        ("material,weighed_g\nsilica,1,2,3\n", "line 2: 4 cells stand on this line and 2 in the head"),
        ("material,price\n", "line 1: the head of this table is another one"),
        ("", "line 1: the head of this table is another one"),
    ],
)
def test_tables_that_are_refused(studio: Path, run: Run, table: str, message: str) -> None:
    (studio / "ebb.glost").write_text(SHEET)
    done = run("record", "--from-sheet", "ebb.glost", "--csv", "-", stdin=table)
    assert done.returncode == 2
    assert message in done.stderr
    assert not (studio / "log").exists()


def test_what_goes_together(run: Run) -> None:
    assert run("record").returncode == 2
    assert "go with --from-sheet" in run("record", "a.json", "--person", "R.").stderr
    assert run("record", "a.json", "--from-sheet", "b.glost").returncode == 2


def test_one_that_is_refused_does_not_keep_the_others_out(studio: Path, run: Run) -> None:
    (studio / "bad.json").write_text("{}")
    done = run("record", "bad.json", "gone.json", "saved.json")
    assert done.returncode == 2
    assert "bad.json: not recorded" in done.stderr
    assert "gone.json: not recorded: there is no such file" in done.stderr
    assert len(pages(studio)) == 1


def test_a_record_too_long_for_the_log_is_refused(studio: Path, run: Run) -> None:
    # Such a sign takes six in the page: what fits into JSON as it is might not be read back.
    text = json_of(at(MIST.recorded_at, remarks="\x01" * 3000, sieve="\u2028" * 4000))
    assert run("record", "-", stdin=text).returncode == 0
    lines = (replace(MIST.lines[0], lot="\u2028" * 300),) * 150
    text = json_of(at(MIST.recorded_at, lines=lines)).replace("\\u2028", "\u2028")
    done = run("record", "-", stdin=text)
    assert done.returncode == 2
    assert "too long for one file of the log" in done.stderr
    assert len(pages(studio)) == 1


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_that_may_not_be_written_to(studio: Path, run: Run) -> None:
    (studio / "log").mkdir(mode=0o500)
    done = run("record", "saved.json")
    assert done.returncode == 2
    assert "log cannot be written to" in done.stderr


def test_a_log_that_is_a_file(studio: Path, run: Run) -> None:
    (studio / "log").write_text("not a folder")
    done = run("record", "saved.json")
    assert (done.returncode, done.stdout) == (2, "")
    assert "log cannot be written to" in done.stderr
    assert (studio / "log").read_text() == "not a folder"


def test_two_processes_at_once(studio: Path, run: Run) -> None:
    """Four record the same batch and four each their own: five files, each whole, and one says that it wrote the
    first."""
    (studio / "others").mkdir()
    for number in range(4):
        text = json_of(at(MIST.recorded_at, person=f"P. {number}"))
        (studio / "others" / f"{number}.json").write_text(text)
    jobs = [("record", "saved.json"), *(("record", f"others/{number}.json") for number in range(4))] + [
        ("record", "saved.json")
    ] * 3
    with ThreadPoolExecutor(8) as pool:
        done = list(pool.map(lambda arguments: run(*arguments), jobs))
    assert [one.returncode for one in done] == [0] * 8
    assert sum(one.stdout.endswith(": recorded\n") for one in done) == 5
    found = [record_of(page.read_text("utf-8")) for page in pages(studio)]
    assert sorted(record.person for record in found) == ["P. 0", "P. 1", "P. 2", "P. 3", "R. T."]


_RECORDING = """\
import sys
from pathlib import Path
from dataclasses import replace
from glost.workspace.logbook import keep
from tests.records.bench import MIST
for number in range(100_000):
    keep(replace(MIST, project=f"{sys.argv[2]} {number}", remarks="x" * 3000), Path(sys.argv[1]))
    print(number, flush=True)
"""


@pytest.mark.skipif(os.name == "nt", reason="needs SIGKILL")
def test_a_kill_at_any_moment_leaves_whole_records_only(tmp_path: Path) -> None:
    dice = random.Random(211)
    finished: dict[str, int] = {}
    for round_ in range(8):
        with subprocess.Popen(
            [sys.executable, "-c", _RECORDING, str(tmp_path / "log"), str(round_)],
            cwd=TOP,
            stdout=subprocess.PIPE,
        ) as recording:
            assert recording.stdout is not None
            finished[str(round_)] = max(
                int(recording.stdout.readline()) for _ in range(dice.randrange(1, 12))
            )  # the next one is being written now
            recording.send_signal(signal.SIGKILL)
    found = [record_of(page.read_text("utf-8")) for page in pages(tmp_path)]
    by_round: dict[str, list[int]] = {}
    for record in found:
        name, number = record.project.split(" ")
        by_round.setdefault(name, []).append(int(number))
    # Nothing that was finished before the kill is missing.
    assert all(sorted(numbers) == list(range(len(numbers))) for numbers in by_round.values())
    assert all(max(by_round[round_]) >= last for round_, last in finished.items())


def git(folder: Path, *arguments: str) -> str:
    done = subprocess.run(
        ["git", "-c", "user.name=Test", "-c", "user.email=test@example.org", "-c", "commit.gpgsign=false",
         "-C", str(folder), *arguments],
        capture_output=True, encoding="utf-8", check=True, timeout=HANG_S,
    )  # fmt: skip
    return done.stdout


def test_two_branches_that_each_recorded_merge_without_a_conflict(studio: Path, run: Run) -> None:
    """Both recorded one batch of their own in the same second, and one that both had been sent."""
    git(studio, "init", "-q", "-b", "main")
    git(studio, "add", ".")
    git(studio, "commit", "-q", "-m", "begin")
    for branch, person in (("loft", "R. T."), ("kiln", "M. O.")):
        git(studio, "checkout", "-q", "-b", branch, "main")
        run("record", "saved.json")
        run("record", "-", stdin=json_of(at("2026-03-14T12:00:00+01:00", person=person)))
        assert len(pages(studio)) == 2
        git(studio, "add", "log")
        git(studio, "commit", "-q", "-m", branch)
    git(studio, "checkout", "-q", "main")
    git(studio, "merge", "-q", "--no-edit", "loft")
    git(studio, "merge", "-q", "--no-edit", "kiln")
    assert git(studio, "status", "--porcelain") == ""
    people = sorted(record_of(page.read_text("utf-8")).person for page in pages(studio))
    assert people == ["M. O.", "R. T.", "R. T."]
    done = run("usage", "--by", "person")
    assert done.returncode == 0
    assert "3 batches" in done.stdout
