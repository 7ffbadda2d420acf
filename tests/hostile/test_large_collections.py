"""A run over a very large collection holds, hands out and prints no more at a time than it must: counted, not
measured."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any

import pytest

from glost.cli.linting import OUTPUTS
from glost.language.layout import format_text
from glost.language.parse import parse
from glost.language.source import Source
from glost.linter.engine import LintContext, examine
from glost.linter.finding import Finding
from glost.linter.report import CrossCheck, Report
from glost.output.catalog.as_csv import as_csv
from glost.output.catalog.as_jsonl import as_jsonl
from glost.output.catalog.rows import Row
from glost.output.formula import as_json, text
from glost.recipe.materials.catalogue import shipped_catalogue
from glost.recipe.settings import Settings
from glost.workspace import files
from glost.workspace.collection import Collections, find
from glost.workspace.page_cache import PageCache
from glost.workspace.runs import catalog, processes
from glost.workspace.runs.catalog import Beside, see_all
from glost.workspace.runs.lint import lint_files
from glost.workspace.runs.lint_options import LintOptions
from tests.benchmark.__main__ import FOUND, small_pages
from tests.work import steps_grow_in_proportion

BENCH = LintContext(shipped_catalogue(), Settings())


@pytest.fixture(autouse=True)
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GLOST_CACHE", str(tmp_path / "cache"))


def collection(folder: Path, count: int) -> list[Path]:
    folder.mkdir()
    (folder / "glost.yaml").write_text(FOUND)
    for number, page in enumerate(small_pages(count)):
        (folder / f"quay-{number}.glost").write_text(page)
    return find([str(folder)], Collections())


def test_the_pages_that_are_measured_are_laid_out() -> None:
    for page in small_pages(3):
        assert format_text(parse(Source("a.glost", page))) == page


def test_few_pieces_are_handed_out_before_their_results_are_taken(monkeypatch: pytest.MonkeyPatch) -> None:
    handed_out = 0
    submit = ProcessPoolExecutor.submit

    def counting(self: ProcessPoolExecutor, *arguments: Any) -> Any:
        nonlocal handed_out
        handed_out += 1
        return submit(self, *arguments)

    monkeypatch.setattr(ProcessPoolExecutor, "submit", counting)
    results = processes.each(abs, range(20_000), 2)
    taken = 0
    for _ in results:
        taken += 1
        assert handed_out <= taken // 64 + 2 * 4 + 1
    assert (taken, handed_out) == (20_000, -(-20_000 // 64))


@pytest.mark.parametrize("workers", [1, 2])
def test_one_part_of_the_cache_is_held_at_a_time(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, workers: int
) -> None:
    pages = collection(tmp_path / "pages", 300)
    held: list[int] = []
    part = PageCache._part

    def counting(self: PageCache, number: int) -> dict[str, list[Any]]:
        found = part(self, number)
        held.append(len(self._parts))
        return found

    monkeypatch.setattr(PageCache, "_part", counting)
    for known in (False, True):
        held.clear()
        looked = list(lint_files(pages, LintOptions(), Collections(), workers))
        assert {one.path for one in looked} == set(pages)
        assert len(held) >= len(pages)
        assert max(held) == 1
        assert all(one.changes is None for one in looked)
        assert known == (not any(one.content for one in looked))  # a known page is not looked at again


def test_a_run_that_fixes_takes_pages_in_their_order(tmp_path: Path) -> None:
    pages = collection(tmp_path / "pages", 300)
    looked = lint_files(pages, LintOptions(fix=True, only_show=True), Collections(), 2)
    assert [one.path for one in looked] == pages


def reports(count: int) -> list[Report]:
    """Every third page has the name of another, every fourth its mix."""
    made = []
    for number, page in enumerate(small_pages(count)):
        same = page.replace(f'"Quay {number}"', f'"Quay {number // 3}"')
        mix = same.replace("bentonite ", "whiting   ") if number % 4 else same
        made.append(examine(Source(f"{number % 7}/{number}.glost", mix), BENCH))
    return made


def test_the_order_in_which_pages_come_changes_nothing() -> None:
    pages = reports(60)
    found = []
    for seed in range(3):
        met = CrossCheck()
        for report in random.Random(seed).sample(pages, len(pages)):
            met.add(report, "one")
        found.append(met.findings())
    assert found[0] == found[1] == found[2]
    assert sum(one.rule == "same-name" for one in found[0]) == 60


def test_pages_are_held_against_those_of_their_own_collection() -> None:
    met = CrossCheck()
    for number, report in enumerate(reports(6)):
        met.add(report, number)
    assert not any(one.rule.startswith("same-") for one in met.findings())


def many(count: int) -> list[Finding]:
    one, *_ = [found for report in reports(1) for found in report.findings]
    return [one._replace(file=f"{number}.glost", line=1 + number % 9) for number in range(count)]


@pytest.mark.parametrize("form", OUTPUTS)
def test_no_piece_of_a_report_grows_with_the_report(form: str) -> None:
    longest = [max(map(len, OUTPUTS[form]()(many(count)))) for count in (100, 999)]
    assert longest[1] <= longest[0] + 10
    assert steps_grow_in_proportion(lambda count: list(OUTPUTS[form]()(many(count))), 50)


class Taken:
    """Hands things on, and counts them."""

    def __init__(self, things: Sequence[Any]) -> None:
        self._things = things
        self.count = 0

    def __iter__(self) -> Iterator[Any]:
        for thing in self._things:
            self.count += 1
            yield thing


@pytest.mark.parametrize("write", [as_csv, as_jsonl])
def test_a_table_takes_row_by_row(
    tmp_path: Path, write: Callable[[Any], Iterator[str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    pages = collection(tmp_path / "pages", 20)
    taken = Taken(pages)
    collections = Collections()
    beside = Beside(pages, collections, revisions=False)
    monkeypatch.setattr(catalog, "each", lambda work, _paths, _workers: map(work, taken))
    table = write(beside.rows(see_all(pages, collections)))
    for number, text_of_row in enumerate(table, -1 if write is as_csv else 0):
        assert text_of_row.count("\n") == 1
        assert taken.count == number + 1
    assert taken.count == 20


@pytest.mark.parametrize("whole", [text.whole, as_json.whole])
def test_formulas_are_handed_on_one_by_one(whole: Callable[[Any], Iterator[str]]) -> None:
    taken = Taken(["one", "two", "three"])
    handed_on = iter(whole(taken))
    next(handed_on)
    assert taken.count <= 1
    assert "".join(whole(["{}", "[]"])).count("{}") == 1


# ---- a text in pieces, written to a file -------------------------------------------------------------------


def pieces(*texts: str) -> Iterator[str]:
    yield from texts


def always(_: bytes) -> bool:
    return True


def test_pieces_make_a_file_that_is_whole(tmp_path: Path) -> None:
    target = Path("below") / "a.txt"
    assert files.write_below(tmp_path, target, pieces("a", "\udcff", "ä"), always)
    assert (tmp_path / target).read_bytes() == "a\\udcffä".encode()
    assert files.write_below(tmp_path, target, pieces("b"), always)
    assert (tmp_path / target).read_bytes() == b"b"
    assert [path.name for path in (tmp_path / "below").iterdir()] == ["a.txt"]


def test_a_file_that_holds_the_pieces_is_not_touched(tmp_path: Path) -> None:
    target = tmp_path / "a.txt"
    target.write_text("abc" * 50_000)
    before = target.stat()
    assert not files.write_below(tmp_path, Path("a.txt"), pieces("abc" * 20_000, "abc" * 30_000), always)
    assert files.write_below(tmp_path, Path("b.txt"), pieces(""), always)
    assert (target.stat().st_ino, target.stat().st_mtime_ns) == (before.st_ino, before.st_mtime_ns)
    assert sorted(path.name for path in tmp_path.glob("*.txt*")) == ["a.txt", "b.txt"]


def test_pieces_that_fail_leave_the_file_as_it_was(tmp_path: Path) -> None:
    def failing() -> Iterator[str]:
        yield "new"
        raise ValueError("no more")

    (tmp_path / "a.txt").write_text("old")
    with pytest.raises(ValueError, match="no more"):
        files.write_below(tmp_path, Path("a.txt"), failing(), always)
    with pytest.raises(files.ForeignFileError):
        files.write_below(tmp_path, Path("a.txt"), pieces("new"), lambda _: False)
    assert (tmp_path / "a.txt").read_text() == "old"
    assert [path.name for path in tmp_path.glob("*.txt*")] == ["a.txt"]


def test_rows_are_whole(tmp_path: Path) -> None:
    pages = collection(tmp_path / "pages", 3)
    collections = Collections()
    rows: list[Row] = list(Beside(pages, collections, revisions=False).rows(see_all(pages, collections)))
    assert [len(row.findings) for row in rows] == [2, 2, 2]
