"""glost compare, with git itself in repositories of the test's own."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from tests.conftest import STUDIO, TOP, Run

PAGE = (STUDIO / "stoneware" / "harbour-mist.glost").read_text("utf-8")
SCHEMA = json.loads((TOP / "schema" / "comparison.schema.json").read_text("utf-8"))
SILICA = ("silica                 22", "silica                 24")
WHITING = ("whiting                14", "whiting                12")


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


def git(folder: Path, *arguments: str, check: bool = True) -> str:
    done = subprocess.run(
        ["git", "-c", "user.name=Tern Saltmarsh", "-c", "user.email=tern@example.org",
         "-c", "commit.gpgsign=false", *arguments],
        cwd=folder, capture_output=True, text=True, check=check,
    )  # fmt: skip
    return done.stdout + done.stderr


def edit(path: Path, *swaps: tuple[str, str]) -> None:
    text = path.read_text("utf-8")
    for old, new in swaps:
        assert old in text
        text = text.replace(old, new, 1)
    path.write_text(text, "utf-8")


@pytest.fixture
def studio(tmp_path: Path) -> Path:
    """A repository with one commit: two recipes, one of them in a folder."""
    git(tmp_path, "init", "-q", "-b", "main")
    (tmp_path / "blue").mkdir()
    (tmp_path / "blue" / "harbour-mist.glost").write_text(PAGE, "utf-8")
    (tmp_path / "dune.glost").write_text('glaze "Dune"\nbase:\n    silica  60\n    kaolin  40\n', "utf-8")
    git(tmp_path, "add", ".")
    git(tmp_path, "commit", "-q", "-m", "one")
    return tmp_path


def test_the_same_is_the_same(run: Run, studio: Path) -> None:
    for arguments in (
        ["HEAD"],
        ["dune.glost", "dune.glost"],
        [".", "."],
        ["HEAD", "HEAD"],
        ["HEAD:blue", "blue"],
    ):
        done = run("compare", *arguments, cwd=studio)
        assert (done.returncode, done.stdout) == (0, ""), arguments
        assert "the same in meaning" in done.stderr


def test_what_changed_since_a_revision(run: Run, studio: Path) -> None:
    edit(studio / "blue" / "harbour-mist.glost", SILICA, WHITING, ("cone: 6", "cone: 7"))
    done = run("compare", "HEAD", cwd=studio)
    assert done.returncode == 1
    assert [" ".join(line.split()) for line in done.stdout.splitlines()[:9] if line] == [
        "Harbour Mist",
        "HEAD:blue/harbour-mist.glost -> blue/harbour-mist.glost",
        "- cone: 6 -> 7",
        "old new change as written",
        "base, parts of 100",
        "silica 22.00 24.00 +2.00 22 -> 24",
        "whiting 14.00 12.00 -2.00 14 -> 12",
    ]
    assert "SiO2, mol" in done.stdout
    assert "model glost" in done.stdout
    assert "does not replace a firing test" in done.stdout
    assert done.stderr == "2 recipes compared: 1 differs in meaning\n"


def test_from_a_folder_and_for_one_path(run: Run, studio: Path) -> None:
    edit(studio / "blue" / "harbour-mist.glost", SILICA)
    assert run("compare", "HEAD", "harbour-mist.glost", cwd=studio / "blue").returncode == 1
    assert (
        run("compare", "HEAD:./harbour-mist.glost", "harbour-mist.glost", cwd=studio / "blue").returncode == 1
    )
    assert (
        run("compare", "HEAD:blue/harbour-mist.glost", "harbour-mist.glost", cwd=studio / "blue").returncode
        == 1
    )
    assert run("compare", "HEAD", "dune.glost", cwd=studio).returncode == 0


def test_only_written_otherwise_has_status_0(run: Run, studio: Path) -> None:
    path = studio / "dune.glost"
    path.write_text('# new\nglaze "Dune"\nbase:\n    china clay  20\n    silica  30\n', "utf-8")
    done = run("compare", "HEAD", cwd=studio)
    assert done.returncode == 0
    assert "base written at another scale: 100 parts -> 50 parts" in done.stdout
    assert "base, kaolin, spelled: kaolin -> china clay" in done.stdout
    assert "base, order: silica, kaolin -> kaolin, silica" in done.stdout
    assert done.stderr.endswith("the same in meaning, 1 only written otherwise\n")


def test_only_comments(run: Run, studio: Path) -> None:
    edit(studio / "dune.glost", ('"Dune"', '"Dune"  # of the beach'))
    done = run("compare", "HEAD", cwd=studio)
    assert done.returncode == 0
    assert "the same recipe; only layout or comments differ" in done.stdout


def test_renamed_added_and_taken_out(run: Run, studio: Path) -> None:
    git(studio, "mv", "dune.glost", "strand.glost")
    edit(studio / "strand.glost", ("Dune", "Strand"))
    (studio / "blue" / "harbour-mist.glost").unlink()
    (studio / "new.glost").write_text('glaze "New"\nbase:\n    silica  100\n', "utf-8")
    done = run("compare", "HEAD", "--output", "json", cwd=studio)
    assert done.returncode == 1
    states = [(one["old"], one["new"], one["state"]) for one in json.loads(done.stdout)["recipes"]]
    assert states == [
        ("HEAD:blue/harbour-mist.glost", None, "removed"),
        (None, "new.glost", "added"),
        ("HEAD:dune.glost", "strand.glost", "renamed"),
    ]


def test_folders_are_paired_by_path(run: Run, tmp_path: Path) -> None:
    for folder in ("a", "b"):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "x.glost").write_text(PAGE, "utf-8")
        (tmp_path / folder / "y.glost").write_text(PAGE.replace("Mist", "Fog"), "utf-8")
    edit(tmp_path / "b" / "y.glost", SILICA)
    done = run("compare", "a", "b")
    assert done.returncode == 1
    assert "a/y.glost -> b/y.glost" in done.stdout
    assert "x.glost" not in done.stdout


@pytest.mark.parametrize(
    "swaps",
    [
        [SILICA, WHITING],
        [
            ("silica                 22\n", ""),
            ("variation", 'variation "calm":\n    tin oxide  1\n\nvariation'),
        ],
        [("0.25, 0.5, 1, 2", "0.25, 0.5"), ("tags: demo, blue", "tags: blue"), ("(sift in last)", "")],
        [("kaolin    ", "china clay")],
        [("    zinc oxide             10\n", "    moon dust  10\n")],
    ],
)
def test_json_is_as_the_schema_has_it(run: Run, tmp_path: Path, swaps: list[tuple[str, str]]) -> None:
    for name in ("old.glost", "new.glost"):
        (tmp_path / name).write_text(PAGE, "utf-8")
    edit(tmp_path / "new.glost", *swaps)
    for sides in (("old.glost", "new.glost"), ("new.glost", "old.glost")):
        done = run("compare", *sides, "--output", "json")
        document = json.loads(done.stdout)
        assert list(Draft202012Validator(SCHEMA).iter_errors(document)) == []
        assert document["same"] is (done.returncode == 0)


def test_the_schema_is_strict() -> None:
    def objects(value: object) -> list[dict[str, object]]:
        inner = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
        here = [value] if isinstance(value, dict) and value.get("type") == "object" else []
        return here + [found for one in inner for found in objects(one)]

    assert all("additionalProperties" in found for found in objects(SCHEMA))


def test_markdown_is_a_table_with_nothing_in_it_that_marks(run: Run, tmp_path: Path) -> None:
    (tmp_path / "old.glost").write_text(PAGE, "utf-8")
    (tmp_path / "new.glost").write_text(
        PAGE.replace("Harbour Mist", "<b>|Mist|").replace("22", "23"), "utf-8"
    )
    done = run("compare", "old.glost", "new.glost", "--output", "markdown")
    assert "<b>" not in done.stdout
    assert "| silica | 22.00 | 22.77 | \\+0.77 | 22 → 23 |" in done.stdout


def test_what_cannot_be_read_whole_is_told_and_has_status_1(run: Run, studio: Path) -> None:
    edit(studio / "dune.glost", ("silica  60", "silica"))
    done = run("compare", "HEAD", cwd=studio)
    assert done.returncode == 1
    assert "cannot be compared" in done.stdout
    assert "dune.glost:3" in done.stderr


@pytest.mark.parametrize(
    "arguments",
    [["HEAD"], ["nowhere", "dune.glost"], ["dune.glost"], ["HEAD:nowhere", "dune.glost"], ["a", "b", "c"],
     ["--output=/tmp/x", "HEAD"], ["HEAD", "nowhere.glost"]],
)  # fmt: skip
def test_wrong_usage(run: Run, tmp_path: Path, studio: Path, arguments: list[str]) -> None:
    folder = tmp_path if arguments != ["HEAD"] else Path("/")
    done = run("compare", *arguments, cwd=folder)
    assert done.returncode == 2
    assert "Traceback" not in done.stderr
    assert "mistake in glost" not in done.stderr


def test_a_revision_that_looks_like_an_option_is_no_option(run: Run, studio: Path) -> None:
    done = run("compare", "--", "--output=x", "dune.glost", cwd=studio)
    assert done.returncode == 2
    assert not (studio / "x").exists()


def test_skipped_folders_are_skipped_on_both_sides(run: Run, studio: Path) -> None:
    (studio / "glost.yaml").write_text("skip: [blue]\n", "utf-8")
    (studio / "blue" / "harbour-mist.glost").unlink()
    assert run("compare", "HEAD", cwd=studio).returncode == 0
    assert run("compare", "HEAD", "blue", cwd=studio).returncode == 1


# ---- history -------------------------------------------------------------------------------------------


def test_history_follows_renames_and_shows_what_is_not_committed(run: Run, studio: Path) -> None:
    edit(studio / "dune.glost", ("silica  60", "silica  55"), ("kaolin  40", "kaolin  45"))
    git(studio, "commit", "-qam", "softer")
    git(studio, "mv", "dune.glost", "strand.glost")
    git(studio, "commit", "-qam", "named anew")
    edit(studio / "strand.glost", ("kaolin  45\n", "kaolin  45\n    <talc>  1\n".replace("<talc>", "talc")))
    done = run("history", "strand.glost", "--output", "csv", cwd=studio)
    rows = [line.split(",") for line in done.stdout.splitlines()]
    assert rows[0][-1] == "now"
    assert len(rows[0]) == 6
    table = {row[1]: row[2:] for row in rows[1:]}
    assert table["silica"] == ["60", "55", "55", "54.455446"]
    assert table["talc"] == ["", "", "", "0.990099"]
    text = run("history", "strand.glost", cwd=studio).stdout
    assert "*55" in text
    assert "named anew" in text
    html = run("history", "strand.glost", "--output", "html", cwd=studio).stdout
    assert '<td class="figure changed"><b>55 *</b></td>' in html


def test_history_escapes(run: Run, studio: Path) -> None:
    edit(studio / "dune.glost", ("kaolin  40", "kaolin  41"))
    git(studio, "commit", "-qam", "<script>alert(1)</script>\x1b[2J")
    html = run("history", "dune.glost", "--output", "html", cwd=studio).stdout
    assert "<script>" not in html
    assert "&lt;script&gt;" in html
    assert "\x1b" not in run("history", "dune.glost", cwd=studio).stdout


def test_history_of_what_could_not_be_read_has_question_marks(run: Run, studio: Path) -> None:
    edit(studio / "dune.glost", ("silica  60", "silica"))
    git(studio, "commit", "-qam", "broken")
    done = run("history", "dune.glost", cwd=studio)
    assert done.returncode == 0
    assert "?" in done.stdout
    assert "question marks" in done.stderr


def test_no_history(run: Run, studio: Path) -> None:
    assert run("history", "nowhere.glost", cwd=studio).returncode == 2
    assert run("history", "x.glost", cwd=Path("/")).returncode == 2


def test_many_revisions_are_folded_to_the_width(run: Run, studio: Path) -> None:
    for amount in range(41, 55):
        (studio / "dune.glost").write_text(
            f'glaze "Dune"\nbase:\n    silica  60\n    kaolin  {amount}\n', "utf-8"
        )
        git(studio, "commit", "-qam", str(amount))
    lines = run("history", "dune.glost", cwd=studio).stdout.splitlines()
    assert max(map(len, lines)) <= 80
    assert sum(line.startswith("  silica") for line in lines) > 1
