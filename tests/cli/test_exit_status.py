"""What the exit status of every command says of what it is given, as the table on docs/linting.md has it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from glost.cli.app import COMMANDS
from tests.conftest import TOP, Run
from tests.records.bench import at, json_of
from tests.repository import committed

PAGE = """glaze "Quay"
cone: 6
atmosphere: oxidation
origin: own

base:
    silica                 30
    potash feldspar        30
    whiting                20
    kaolin                 20

handling:
    silica: a respirator, and wet cleaning
    potash feldspar: a respirator, and wet cleaning
    whiting: a respirator, and wet cleaning
    kaolin: a respirator, and wet cleaning
"""
NAMES = ("silica", "potash feldspar", "whiting", "kaolin")
FIRING = """firing "Small kiln 9"
date: 2026-03-21
kiln: small electric
cone: 6

tile "A":
    test: glaze "Quay"
    surface: satin
"""
RECORD = json_of(at("2026-03-14T10:22:05+01:00"))

CALLED = {
    "lint": "lint HERE",
    "format": "format --check HERE",
    "convert": "convert --to jsonl HERE",
    "formula": "formula HERE",
    "cost": "cost HERE",
    "plot": "plot HERE --out made.html",
    "batch": "batch HERE",
    "match": "match HERE --using-materials silica,kaolin,whiting,potash_feldspar",
    "rescue": "rescue HERE --weighed silica=40",
    "blend": "blend HERE other.glost --by 50% --out made.glost",
    "session": "session HERE",
    "record --from-sheet": "record --from-sheet HERE --csv answers.csv",
    "compare": "compare page.glost HERE",
    "results": "results HERE",
    "firing": "firing HERE",
    "blame": "blame HERE",
    "history": "history HERE",
    "catalog": "catalog HERE",
    "find": "find HERE",
    "textconv": "textconv HERE",
    "merge": "merge HERE other.glost other.glost",
    "usage": "usage HERE",
    "stock": "stock HERE",
}
OF_FIRINGS, OF_RECORDS = {"firing"}, {"usage", "stock"}
NO_PAGES = {
    "new", "import", "materials", "count", "delivery", "record", "git-setup", "explain", "server", "completion",
    "help", "version",
}  # fmt: skip
"""Commands that read no page of a collection; a table of its own says what ``record`` answers."""

MISTAKES = {
    "line": PAGE.replace("whiting                20", "whiting                twenty"),
    "field": PAGE.replace("origin: own", "origin: own\nlustre of the rim: high"),
    "head": PAGE + "\nplus:\n    rutile  3\n",
    "second base": PAGE + "\nbase:\n    silica  100\n",
    "no recipe": "whiting 20\n",
}
UNREADABLE = {
    "latin-1": PAGE.replace("Quay", "Qu\xe4y").encode("latin-1"),
    "utf-16": PAGE.encode("utf-16"),
    "zero": PAGE.encode() + b"\0",
    "large": PAGE.encode() + b"# long\n" * 40_000,
}


def rows() -> Iterator[tuple[str, list[int]]]:
    """The commands of the table, and what each says of the five kinds of input."""
    text = (TOP / "docs" / "linting.md").read_text("utf-8")
    for line in text.partition("| command | whole |")[2].partition("\n\n")[0].splitlines()[2:]:
        called, *statuses = line.strip("| ").split(" | ")
        for command in re.findall("`([^`]+)`", called):
            yield command, [int(status) for status in statuses]


TABLE = dict(rows())


def test_the_table_has_every_command() -> None:
    assert set(TABLE) == set(CALLED)
    assert {command.split()[0] for command in TABLE} | NO_PAGES == set(COMMANDS)
    assert not {one for one in TABLE if " " not in one} & NO_PAGES


@pytest.fixture
def here(tmp_path: Path) -> Path:
    (tmp_path / "glost.yaml").write_text("")
    (tmp_path / "answers.csv").write_text(
        "material,weighed_g\n" + "".join(f"{name},ticked\n" for name in NAMES)
    )
    (tmp_path / "other.glost").write_text(PAGE.replace("Quay", "Mole"))
    (tmp_path / "none").mkdir()
    return tmp_path


def given(here: Path, command: str, content: str | bytes, folder: str = ".") -> str:
    """Puts a page, a firing or a record where the command reads it; what the command is given."""
    data = content if isinstance(content, bytes) else content.encode("utf-8")
    if command in OF_FIRINGS:
        path = here / folder / "given.firing"
    elif command in OF_RECORDS:
        path = here / folder / "given.batch"
    else:
        path = here / folder / "given.glost"
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(data)
    if command in ("blame", "history"):
        committed(here, "all")
    return path.relative_to(here).as_posix()


def whole(run: Run, here: Path, command: str) -> str:
    if command in OF_RECORDS:
        assert run("record", "-", stdin=RECORD, cwd=here).returncode == 0
        (made,) = here.rglob("*.batch")
        return str(made)
    return given(here, command, FIRING if command in OF_FIRINGS else PAGE)


def mistaken(here: Path, command: str) -> str:
    if command in OF_FIRINGS:
        return given(here, command, FIRING.replace("cone: 6", "cone: 6\nlustre: high"))
    return given(here, command, '{"kind": "glost record"}' if command in OF_RECORDS else MISTAKES["line"])


def status(run: Run, command: str, given: str, here: Path) -> int:
    if command == "compare":
        (here / "page.glost").write_text(PAGE)
    words = [given if word == "HERE" else word.replace("_", " ") for word in CALLED[command].split()]
    done = run(*words, cwd=here)
    for made in here.glob("made.*"):
        made.unlink()
    told = done.stdout + done.stderr
    assert "Traceback" not in told
    assert "mistake in glost itself" not in told
    assert not done.returncode or done.stderr or command in ("lint", "compare"), "a failure says what it is"
    return done.returncode


@pytest.mark.parametrize("command", CALLED)
def test_every_command_answers_as_the_table_says(run_process: Run, here: Path, command: str) -> None:
    def answer(given: str) -> int:
        return status(run_process, command, given, here)

    assert [
        answer(whole(run_process, here, command)),
        answer(mistaken(here, command)),
        answer(given(here, command, UNREADABLE["zero"])),
        answer("nowhere.firing" if command in OF_FIRINGS else "nowhere.glost"),
        answer("none"),
    ] == TABLE[command]


OF_PAGES = sorted(set(CALLED) - OF_FIRINGS - OF_RECORDS - {"merge", "textconv"})


@pytest.mark.parametrize("command", OF_PAGES)
def test_every_mistake_is_one_to_every_command(run_here: Run, here: Path, command: str) -> None:
    expected = TABLE[command][1]
    for what, page in MISTAKES.items():
        if command == "format" and what not in ("line", "no recipe"):
            continue  # it takes nothing from a page, and lays out all that it can read
        assert status(run_here, command, given(here, command, page), here) == expected, what


@pytest.mark.parametrize("command", OF_PAGES)
def test_what_cannot_be_read_is_so_to_every_command(run_here: Run, here: Path, command: str) -> None:
    for what, page in UNREADABLE.items():
        assert status(run_here, command, given(here, command, page), here) == TABLE[command][2], what


@pytest.mark.parametrize(
    "command", [one for one in OF_PAGES if one not in ("results", "blame", "history", "compare")]
)
def test_of_several_pages_the_highest_counts(run_here: Run, here: Path, command: str) -> None:
    given(here, command, MISTAKES["line"], "some")
    (here / "some" / "whole.glost").write_text(PAGE)
    one_alone = command in ("match", "rescue", "record --from-sheet")
    assert status(run_here, command, "some", here) == (2 if one_alone else TABLE[command][1])
    (here / "some" / "bytes.glost").write_bytes(UNREADABLE["zero"])
    assert status(run_here, command, "some", here) == 2


def test_a_mistake_and_a_difference_are_both_told(run_here: Run, here: Path) -> None:
    for folder, silica in (("old", "30"), ("new", "31")):
        (here / folder).mkdir()
        (here / folder / "a.glost").write_text(
            PAGE.replace("silica                 30", f"silica                 {silica}")
        )
        (here / folder / "b.glost").write_text(PAGE.replace("Quay", "Slip way"))
    (here / "new" / "b.glost").write_text(MISTAKES["line"])
    done = run_here("compare", "old", "new", cwd=here)
    assert done.returncode == 1
    assert "1 cannot be read, 1 differs in meaning" in done.stderr
    # Equal on both sides, nothing is found between them.
    (here / "old" / "b.glost").write_text(MISTAKES["line"])
    (here / "new" / "a.glost").write_text((here / "old" / "a.glost").read_text())
    assert run_here("compare", "old", "new", cwd=here).returncode == 0


def test_a_name_is_known_where_no_recipe_lies(run_here: Run, here: Path) -> None:
    (here / "glost.yaml").write_text("materials: materials.yaml\n")
    (here / "materials.yaml").write_text(
        "materials:\n  - {name: quay clay, role: clay, source: invented, analysis: {SiO2: 60, Al2O3: 30}, loss: 10}\n"
    )
    for name in ("silica", "quay clay"):
        done = run_here("find", "--with", name, "none", cwd=here)
        assert (done.returncode, done.stdout) == (0, "")
        assert "no recipe found" in done.stderr
    assert run_here("find", "--with", "no such clay", "none", cwd=here).returncode == 2
