"""What a run writes passes through no link that came with the recipes, and takes the place of nobody's own file."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest

from glost.output.format import all_formats, find_format
from glost.workspace import files
from glost.workspace.outputs import OneOutput, OutputError, Outputs
from tests.conftest import STUDIO, Run
from tests.hostile.conftest import Tame
from tests.hostile.pages import BAD, GOOD
from tests.records.bench import json_of

OWN = "Dune\nsilica 50\nkaolin 50\n"
FORMS = sorted(form.name for form in all_formats())
ENDINGS = {form.name: form.ending for form in all_formats()}

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="links are made otherwise there")


@pytest.fixture
def clone(tmp_path: Path) -> Path:
    """A collection that came from somebody else, beside the folder of whoever took it."""
    (tmp_path / "home").mkdir()
    (tmp_path / "home" / ".profile").write_text("export PATH\n")
    clone = tmp_path / "clone"
    (clone / ".git").mkdir(parents=True)
    (clone / "a.glost").write_text(GOOD)
    (clone / "sub").mkdir()
    (clone / "sub" / "b.glost").write_text(GOOD.replace('"A"', '"B"'))
    return clone


def everything(folder: Path) -> dict[str, str]:
    return {str(path): path.read_text() for path in folder.rglob("*") if path.is_file()}


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("force", [(), ("--force",)], ids=["", "force"])
def test_link_in_the_place_of_a_sheet(tame: Tame, clone: Path, form: str, force: tuple[str, ...]) -> None:
    (clone / "sheets").mkdir()
    link = clone / "sheets" / f"a{ENDINGS[form]}"
    link.symlink_to("../../home/.profile")
    before = everything(clone.parent)
    said = tame(2, "convert", "--to", form, "--out", "sheets", *force, cwd=clone).stderr
    assert f"'sheets/{link.name}' is a link, to '../../home/.profile'" in said
    assert everything(clone.parent) == before


@pytest.mark.parametrize(
    ("link", "to"),
    [
        ("sheets", "../home"),
        ("sheets/sub", "../../home"),
        ("sheets/sub", "../sub"),  # within the clone: below a folder that was named no link is followed
        ("sheets", ".git"),
        ("sheets", "./sub/out"),
    ],
)
def test_link_in_the_place_of_a_folder(tame: Tame, clone: Path, link: str, to: str) -> None:
    (clone / "sub" / "out").symlink_to("../../home")
    (clone / link).parent.mkdir(exist_ok=True)
    (clone / link).symlink_to(to)
    before = everything(clone.parent)
    for name in ("sheets", "./sheets/", "sub/../sheets", str(clone / "sheets")):
        said = tame(2, "convert", "--to", "sheet", "--out", name, "--force", cwd=clone).stderr
        assert "is a link" in said
        assert "nothing is written through it" in said
    assert everything(clone.parent) == before


@pytest.mark.parametrize(
    "command",
    [
        ("convert", "--to", "json", "--out", "{}"),
        ("convert", "--to", "sheet", "--out", "{}"),
        ("catalog", "--to", "csv", "--out", "{}"),
        ("lint", "--output", "json={}"),
        ("lint", "--output", "text={}"),
        ("plot", "--out", "{}"),
    ],
    ids=lambda command: " ".join(command[:3]),
)
@pytest.mark.parametrize("link", ["all.svg", "reports"])
def test_single_file_through_a_link(tame: Tame, clone: Path, command: tuple[str, ...], link: str) -> None:
    """A link to the file, or to the folder that it lies in."""
    kept = clone.parent / "home" / "all.svg"
    kept.write_text("")  # an empty file could be written over, if it were here
    (clone / link).symlink_to("../home" if link == "reports" else "../home/all.svg")
    named = "reports/all.svg" if link == "reports" else "all.svg"
    said = tame(2, *(word.format(named) for word in command), cwd=clone).stderr
    assert f"'{link}' is a link that leads out of" in said
    assert kept.read_text() == ""


def test_baseline_is_not_written_through_a_link(run: Run, clone: Path) -> None:
    precious = clone.parent / "home" / "list.json"
    precious.write_text('{"version": 1, "findings": []}\n')
    (clone / "glost.yaml").write_text("{}\n")
    (clone / "glost-baseline.json").symlink_to("../home/list.json")
    (clone / "a.glost").write_text(BAD)
    done = run("lint", "--write-baseline", cwd=clone)
    assert done.returncode == 2
    assert "is a link that leads out of" in done.stderr
    assert precious.read_text() == '{"version": 1, "findings": []}\n'


def test_what_is_begun_is_not_written_through_a_link(run: Run, clone: Path) -> None:
    (clone / "notes.txt").write_text(OWN)
    (clone / "recipes").symlink_to("../home")
    done = run("import", "notes.txt", "--to", "recipes", cwd=clone)
    assert done.returncode == 2
    assert "is a link that leads out of" in done.stderr + done.stdout
    (clone / "glost.yaml").write_text("{}\n")
    (clone / "log").symlink_to("../home")
    (clone / "saved.json").write_text(json_of())
    done = run("record", "saved.json", cwd=clone)
    assert done.returncode == 2
    assert "is a link that leads out of" in done.stderr
    for words in (
        ("match", "a.glost", "--out", "recipes/m.glost"),
        ("blend", "a.glost", "sub/b.glost", "--by", "50 %", "--out", "recipes/m.glost"),
        ("blend", "a.glost", "sub/b.glost", "--by", "50 %", "--out", "recipes/new/m.glost"),
        ("firing", "--out", "recipes/k.firing"),
        ("new", "Sand", "--base", "silica 100", "--out", "recipes/m.glost"),
        ("new", "--collection", "--out", "recipes/studio"),
    ):
        done = run(*words, cwd=clone)
        assert done.returncode == 2, words
        assert "is a link that leads out of" in done.stderr
    assert sorted(path.name for path in (clone.parent / "home").iterdir()) == [".profile"]


def test_only_what_looks_at_links_makes_new_files() -> None:
    """A command that took the plain writer would go past the look."""
    source = Path(files.__file__).parents[1]
    taken = re.compile(r"from glost\.workspace\.files import [^\n]*\bwrite_new\b|\bfiles\.write_new\b")
    takers = [path for path in source.rglob("*.py") if taken.search(path.read_text("utf-8"))]
    assert takers == [source / "workspace" / "outputs.py"]


def test_links_of_ones_own_are_followed(tame: Tame, clone: Path) -> None:
    """One that lies outside of every collection and of the working folder, and one that stays inside."""
    (clone.parent / "elsewhere").symlink_to("home")
    tame(0, "convert", "--to", "sheet", "--out", "../elsewhere/sheets", cwd=clone)
    assert (clone.parent / "home" / "sheets" / "a.txt").is_file()
    (clone / "made").mkdir()
    (clone / "sheets").symlink_to("made")
    tame(0, "convert", "--to", "sheet", "--out", "sheets", cwd=clone)
    assert (clone / "made" / "a.txt").is_file()
    (clone / "nowhere").symlink_to("gone")
    assert "leads nowhere" in tame(2, "convert", "--to", "sheet", "--out", "nowhere", cwd=clone).stderr


def test_link_put_there_between_looking_and_writing(clone: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The folder is opened without following a link, whatever was seen of it before."""
    monkeypatch.chdir(clone)
    monkeypatch.setattr("glost.workspace.files.is_link", lambda path: False)
    (clone / "sheets").mkdir()
    (clone / "sheets" / "sub").symlink_to("../../home")
    outputs = Outputs(Path("sheets"), re.compile(""))
    with pytest.raises(OutputError, match="is a link"):
        outputs.write(Path("sub/b.txt"), "text")
    (clone / "sheets" / "a.txt").symlink_to("../../home/.profile")
    with pytest.raises((OutputError, OSError)):
        outputs.write(Path("a.txt"), "text")
    assert everything(clone.parent / "home") == {str(clone.parent / "home" / ".profile"): "export PATH\n"}


# ---- what somebody else wrote --------------------------------------------------------------------------


@pytest.mark.parametrize("form", FORMS)
def test_nobody_loses_a_file_of_their_own(tame: Tame, tmp_path: Path, form: str) -> None:
    """First the folder, then one file for all; nothing at all is written where one of them would be lost."""
    ending = ENDINGS[form]
    (tmp_path / "dune.glost").write_text(GOOD)
    (tmp_path / "a.glost").write_text(GOOD)
    notes = tmp_path / f"dune{ending}"
    notes.write_text(OWN)
    for out in (".", f"dune{ending}"):
        said = tame(2, "convert", "--to", form, "--out", out).stderr
        assert f"'dune{ending}' was not written by glost, and would be lost" in said
        assert "--force" in said
        assert notes.read_text() == OWN
        assert sorted(path.name for path in tmp_path.iterdir()) == sorted(
            ["a.glost", "dune.glost", notes.name]
        )
    tame(0, "convert", "--to", form, "--out", ".", "--force")
    assert notes.read_bytes() != OWN.encode()
    tame(0, "convert", "--to", form, "--out", ".")


def test_the_notes_that_import_read_are_kept(tame: Tame, run: Run, tmp_path: Path) -> None:
    (tmp_path / "dune.txt").write_text(OWN)
    run("import", "dune.txt")
    assert (tmp_path / "dune.glost").is_file()
    tame(2, "convert", "--to", "sheet", "--out", ".")
    assert (tmp_path / "dune.txt").read_text() == OWN


@pytest.mark.parametrize(
    ("command", "own"),
    [
        (("catalog", "--to", "html", "--out", "x.html"), "<!DOCTYPE html>\n<title>my studio</title>\n"),
        (("catalog", "--to", "csv", "--out", "x.csv"), "file,line\r\nmine,1\r\n"),
        (("catalog", "--to", "jsonl", "--out", "x.jsonl"), '{"version": 1}\n'),
        (("plot", "--out", "x.svg"), "<svg/>\n"),
        (("plot", "--out", "x.html"), "<p>generator glost</p>\n"),
        (("lint", "--output", "text=x.txt"), "lint: to be done\n"),
        (("lint", "--output", "line=x.txt"), "a.glost:1\n"),
        (("lint", "--output", "json=x.json"), '{"findings": []}\n'),
        (("lint", "--output", "sarif=x.sarif"), '{"version": "2.1.0", "runs": []}\n'),
        (("lint", "--output", "github=x.txt"), "::notice::mine\n"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, tuple) else None,
)
def test_reports_take_the_place_of_reports_only(
    run: Run, tmp_path: Path, command: tuple[str, ...], own: str
) -> None:
    (tmp_path / "a.glost").write_text(BAD)
    file = tmp_path / command[-1].rpartition("=")[2]
    file.write_text(own, newline="")
    done = run(*command)
    assert done.returncode == 2
    assert f"'{file.name}' was not written by glost" in done.stderr
    assert "--force" in done.stderr
    assert file.read_bytes() == own.encode()
    assert run(*command, "--force").returncode < 2
    assert file.read_bytes() != own.encode()
    assert run(*command).returncode < 2  # its own report


@pytest.mark.parametrize("force", [(), ("--force",)], ids=["", "force"])
@pytest.mark.parametrize("name", ["own.yaml", "glost.yaml", "glost-baseline.json", "x.batch", "a.glost"])
def test_what_belongs_to_the_collection_is_kept_whatever_is_asked(
    tame: Tame, tmp_path: Path, name: str, force: tuple[str, ...]
) -> None:
    held = {
        "own.yaml": "materials: []\n",
        "glost.yaml": "materials: own.yaml\n",
        "glost-baseline.json": '{"version": 1, "findings": []}\n',
        "x.batch": "1\n",
        "a.glost": GOOD,
    }
    for file, text in held.items():
        (tmp_path / file).write_text(text)
    for command in (("convert", "--to", "json", "--out", name), ("lint", "--output", f"json={name}")):
        assert "would be lost" in tame(2, *command, *force).stderr
    assert {path.name: path.read_text() for path in tmp_path.iterdir()} == held


@pytest.mark.parametrize("form", FORMS)
def test_every_output_is_known_again(form: str, tmp_path: Path) -> None:
    """Of all recipes of the demonstration together, of each by itself, and of titles that try to look otherwise."""
    from glost.workspace.collection import Collections, find
    from glost.workspace.runs.convert import Converter

    chosen = find([str(STUDIO)], Collections())
    title = tmp_path / "t.glost"
    title.write_text(GOOD.replace('"A"', f'"{"long winded " * 40}"'))
    found = find_format(form)
    converter = Converter(found, None, [*chosen, title], Collections())
    texts = [made.product for made in converter.texts(converter.paths, 1) if made.product is not None]
    assert len(texts) > 50
    for text in texts:
        head = text if isinstance(text, str) else text.decode("utf-8", "replace")
        assert found.mark.search(head), head[:300]
    assert not found.mark.search(OWN)
    file = tmp_path / "x"
    for text in (texts[0], texts[-1]):
        OneOutput(file, found.mark).write(text)


def test_a_file_for_all_keeps_the_last_good_one(run: Run, tmp_path: Path) -> None:
    for form in FORMS:
        all_in_one = tmp_path / f"all{ENDINGS[form]}"
        (tmp_path / "bad.glost").unlink(missing_ok=True)
        (tmp_path / "a.glost").write_text(GOOD)
        assert run("convert", "--to", form, "--out", all_in_one.name).returncode == 0
        good = all_in_one.read_bytes()
        (tmp_path / "bad.glost").write_text("glase")
        (tmp_path / "a.glost").write_text(GOOD.replace("6", "7"))
        done = run("convert", "--to", form, "--out", all_in_one.name)
        assert done.returncode == 1
        assert f"{all_in_one.name}: not written, since not every recipe can be converted" in done.stderr
        assert all_in_one.read_bytes() == good


def test_a_name_that_ends_as_a_folder_is_one(tame: Tame, tmp_path: Path) -> None:
    (tmp_path / "a.glost").write_text(GOOD)
    tame(0, "convert", "--to", "csv", "--out", "sheets-v1.3/")
    assert (tmp_path / "sheets-v1.3" / "a.csv").is_file()
    tame(0, "convert", "--to", "csv", "--out", "all.csv")
    assert (tmp_path / "all.csv").is_file()
    assert "could not be written" in tame(2, "convert", "--to", "csv", "--out", "all.csv/").stderr
