"""What a run of sheets does once, counted: for the tests of a recipe, for the texts they share, for the folders."""

from __future__ import annotations

import errno
import os
import stat
from collections import Counter
from collections.abc import Callable, Iterator
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from pathlib import Path, PurePath
from typing import Any

import pytest

from glost.output import batch_sheet
from glost.output.batch_sheet import batch_sheets
from glost.output.model import Entries, Entry, Form, Heading, Node, Paragraph, Prose, text
from glost.weighing import batch, weighable
from glost.weighing.balance import Balance
from glost.weighing.batch import Line, plan
from glost.workspace import outputs as outputs_module
from glost.workspace.collection import Collections
from glost.workspace.git.folders import Places
from glost.workspace.load import job_of, usable
from glost.workspace.outputs import ANY, OutputError, Outputs

PAGE = """glaze "Quiet Cove"
cone: 6

base:
    silica    40
    whiting   30
    kaolin    30

series "tin steps":
    tin oxide  1, 2, 3, 4, 5

variation "blue":
    cobalt carbonate  1
"""


def counted(monkeypatch: pytest.MonkeyPatch, calls: Counter[str], where: Any, name: str) -> None:
    """Counts the calls of a function under a name that a module has for it."""
    real: Callable[..., Any] = getattr(where, name)

    def call(*given: Any, **named: Any) -> Any:
        calls[name] += 1
        return real(*given, **named)

    monkeypatch.setattr(where, name, call)


def test_what_is_said_of_the_materials_is_worked_out_once_for_all_tests_that_are_made_of_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = tmp_path / "quiet-cove.glost"
    page.write_text(PAGE)
    (tmp_path / "glost.yaml").write_text("batch: 100 g\n")
    (tmp_path / "materials.yaml").write_text("{}\n")
    recipe = usable(page, Collections())
    assert not hasattr(recipe, "findings")
    calls: Counter[str] = Counter()
    counted(monkeypatch, calls, batch_sheet, "hazards_of")
    counted(monkeypatch, calls, batch_sheet, "cautions_of")
    monkeypatch.setattr(recipe.collection.catalogue, "_said", {})
    sheets = batch_sheets(job_of(recipe))
    made_of = {tuple(line.name for line in (*sheet.base, *sheet.additions)) for sheet in sheets}
    assert (len(sheets), len(made_of)) == (7, 3)
    assert calls == {"hazards_of": 3, "cautions_of": 3}
    batch_sheets(job_of(recipe))
    assert calls == {"hazards_of": 3, "cautions_of": 3}


def test_lines_of_a_base_are_made_once_for_the_tests_that_share_it(tmp_path: Path) -> None:
    page = tmp_path / "quiet-cove.glost"
    page.write_text(f'{PAGE}\nbase variation "lean":\n    kaolin  20\n')
    (tmp_path / "glost.yaml").write_text("batch: 100 g\n")
    recipe = usable(page, Collections())
    assert not hasattr(recipe, "findings")
    first, blue, lean, *steps = batch_sheets(job_of(recipe))
    assert (blue.label, lean.label, len(steps)) == ("blue", "lean", 5)
    for before, after in ((first, blue), *pairwise(steps)):
        assert all(one is its for one, its in zip(before.base, after.base, strict=True))
        assert before.additions != after.additions
    assert [line.parts for line in first.base] == [40, 30, 30] == [line.parts for line in steps[0].base]
    assert [line.parts for line in lean.base] == [40, 30, 20]


def test_what_is_kept_of_materials_stays_bounded() -> None:
    from glost.recipe.materials.catalogue import _MOST_SAID, Catalogue

    catalogue = Catalogue(())
    for number in range(3 * _MOST_SAID):
        assert catalogue.say(number, lambda said=number: said) == number  # type: ignore[misc]
        assert len(catalogue._said) <= _MOST_SAID
    assert catalogue.say(3 * _MOST_SAID - 1, lambda: -1) == 3 * _MOST_SAID - 1


def test_texts_that_sheets_share_are_laid_out_once(monkeypatch: pytest.MonkeyPatch) -> None:
    nodes: list[Node] = [
        Heading("Handling and cautions"),
        Entries([Entry("wet-clean, and wear what the supplier's sheet says " * 4, "silica")]),
        Paragraph("a note " * 30),
        Prose("one line\n  and one further in"),
        Form(("date", "weighed by"), "remarks"),
    ]
    first = text.as_text(nodes)
    calls: Counter[str] = Counter()
    counted(monkeypatch, calls, text, "wrapped")
    counted(monkeypatch, calls, text, "padded")
    assert text.as_text(nodes) == first
    assert calls == {}


def test_a_table_that_fits_is_not_broken(monkeypatch: pytest.MonkeyPatch) -> None:
    calls: Counter[str] = Counter()
    counted(monkeypatch, calls, text, "broken")
    rows = [["silica", "40", "40.00"], ["whiting", "30.5", "30.50"]]
    assert text.table(["material", "parts", "grams"], rows, "<>>") == [
        "material  parts  grams",
        "silica     40    40.00",
        "whiting    30.5  30.50",
    ]
    assert calls == {}
    text.table(["material", "parts"], [["a name " * 20, "40"]], "<>")
    assert calls["broken"] > 0


def test_a_line_whose_share_is_its_nearest_division_is_judged_once(monkeypatch: pytest.MonkeyPatch) -> None:
    calls: Counter[str] = Counter()
    counted(monkeypatch, calls, weighable, "flaw_of")
    counted(monkeypatch, calls, batch, "flaw_of")
    fine = Balance("fine", Decimal(300), Decimal("0.01"))
    lines = [Line(name, Decimal(parts), True) for name, parts in (("a", 40), ("b", 30), ("c", 30))]
    planned = plan(lines, Decimal(100), Decimal(100), [fine], Decimal("0.02"))
    assert [line.target_g for line in planned.lines] == [Decimal("40.00"), Decimal("30.00"), Decimal("30.00")]
    assert calls == {"flaw_of": len(lines)}
    # In thirds one share is pushed off its nearest division, and is judged anew where it lands.
    thirds = [Line(name, Decimal(1), True) for name in "abc"]
    planned = plan(thirds, Decimal(3), Decimal(100), [fine], Decimal("0.02"))
    assert [line.target_g for line in planned.lines] == [Decimal("33.34"), Decimal("33.33"), Decimal("33.33")]
    assert [line.exact_g for line in planned.lines] == [Fraction(100, 3)] * 3
    assert calls == {"flaw_of": len(lines) + len(thirds) + 2}


@pytest.mark.parametrize(("many", "folders"), [(True, 2), (False, 6)])
def test_a_run_of_many_files_flushes_each_file_and_each_folder_once(
    many: bool, folders: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    flushed: Counter[str] = Counter()
    on_disk: set[int] = set()
    real, replace = os.fsync, os.replace

    def fsync(handle: int) -> None:
        about = os.fstat(handle)
        flushed["folder" if stat.S_ISDIR(about.st_mode) else "file"] += 1
        real(handle)
        on_disk.add(about.st_ino)

    def named(part: str, name: str, *, src_dir_fd: int, dst_dir_fd: int) -> None:
        assert os.stat(part, dir_fd=src_dir_fd).st_ino in on_disk, "a name is given to what is on the disk"
        replace(part, name, src_dir_fd=src_dir_fd, dst_dir_fd=dst_dir_fd)

    for folder in ("a", "b"):
        (tmp_path / folder).mkdir()
    monkeypatch.setattr(os, "fsync", fsync)
    monkeypatch.setattr(os, "replace", named)
    names = [PurePath(folder, f"{number}.txt") for folder in ("a", "b") for number in range(3)]
    with Outputs(tmp_path, ANY, many=many) as outputs:
        for name in names:
            assert outputs.write(name, "text\n")
        outputs.flush()
        outputs.flush()
        assert flushed == {"file": 6, "folder": folders}
        assert sorted(tmp_path.rglob("*.*")) == [tmp_path / name for name in names]
        assert not outputs.write(PurePath("a", "0.txt"), "text\n")


def test_nothing_is_looked_for_in_a_folder_that_is_not_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    files = [f"{folder}/{number}.txt" for folder in ("a", "b") for number in range(3)]
    calls: Counter[str] = Counter()
    counted(monkeypatch, calls, outputs_module, "look_at")
    assert Outputs(tmp_path / "new", ANY).lying(files) == set()
    assert calls == {}
    (tmp_path / "new" / "a").mkdir(parents=True)
    (tmp_path / "new" / "a" / "1.txt").write_text("text\n")
    assert Outputs(tmp_path / "new", ANY).lying(files) == {"a/1.txt"}
    assert calls == {"look_at": 2 + 3}, "both folders, and what may lie in the one that is there"
    (tmp_path / "new" / "b").symlink_to("a", target_is_directory=True)
    with pytest.raises(OutputError, match=r"new/b' is a link"):
        Outputs(tmp_path / "new", ANY).lying(files)


def test_a_run_that_is_stopped_gives_names_to_what_is_whole_and_leaves_nothing_else(tmp_path: Path) -> None:
    (tmp_path / "7.txt").write_text("old\n")
    (tmp_path / "7.txt").chmod(0o640)

    def pieces() -> Iterator[str]:
        yield "the first half"
        raise KeyboardInterrupt

    def stopped() -> None:
        with Outputs(tmp_path, ANY, many=True) as outputs:
            for number in range(100):
                assert outputs.write(PurePath(f"{number % 3}", f"{number}.txt"), f"text {number}\n")
            assert outputs.write(PurePath("7.txt"), "new\n")
            assert not list(tmp_path.rglob("99.txt"))
            assert (tmp_path / "7.txt").read_text() == "old\n"
            outputs.write(PurePath("half.txt"), pieces())

    with pytest.raises(KeyboardInterrupt):
        stopped()
    whole = {path.name: path.read_text() for path in tmp_path.glob("?/*")}
    assert whole == {f"{number}.txt": f"text {number}\n" for number in range(100)}
    assert [path.name for path in tmp_path.iterdir() if path.is_file()] == ["7.txt"]
    assert (tmp_path / "7.txt").read_text() == "new\n"
    assert stat.S_IMODE((tmp_path / "7.txt").stat().st_mode) == 0o640


def test_what_the_disk_could_not_take_gets_no_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A disk says once that it has lost something: to flush the same file again may seem to succeed."""
    real, asked = os.fsync, iter(range(100))

    def fsync(handle: int) -> None:
        if next(asked) == 1:
            raise OSError(errno.EIO, "Input/output error")
        real(handle)

    monkeypatch.setattr(os, "fsync", fsync)

    def run() -> None:
        with Outputs(tmp_path, ANY, many=True) as outputs:
            for number in range(4):
                outputs.write(PurePath(f"{number}.txt"), "text\n")
            outputs.flush()

    with pytest.raises(OSError, match="Input/output"):
        run()
    assert sorted(path.name for path in tmp_path.iterdir()) == ["0.txt", "2.txt", "3.txt"]


def test_the_links_of_a_folder_are_followed_once_for_all_files_in_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = tmp_path / "real"
    real.mkdir()
    (tmp_path / "link").symlink_to(real, target_is_directory=True)
    places = Places(lambda _: None)
    calls: Counter[str] = Counter()
    counted(monkeypatch, calls, os.path, "realpath")
    for number in range(20):
        assert places.real_folder(tmp_path / "link" / f"{number}.glost") == os.fspath(real)
    assert calls == {"realpath": 1}
