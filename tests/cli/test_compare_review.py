"""What a reviewer must see of a change, and what a comparison need not read: with git itself."""

from __future__ import annotations

import json
import random
import re
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

import glost.cli.comparing
from glost.workspace import load
from tests.cli.test_compare import SCHEMA, edit, git
from tests.conftest import Run
from tests.repository import committed

PAGE = 'glaze "{name}"\ncone: 6\n\nbase:\n{base}\n'


def page(name: str, **amounts: object) -> str:
    lines = (f"    {material.replace('_', ' ')}  {amount}" for material, amount in amounts.items())
    return PAGE.format(name=name, base="\n".join(lines))


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


@pytest.fixture
def top(tmp_path: Path) -> Path:
    git(tmp_path, "init", "-q", "-b", "main")
    write(tmp_path, "dune", page("Dune", whiting=20, silica=30, tip_ash=50))
    write(tmp_path, "foam", page("Foam", whiting=40, kaolin=60))
    (tmp_path / "glost.yaml").write_text(
        "materials: materials.yaml\nhandling:\n    whiting: wear a mask\n"
        "balances:\n    - {name: fine, capacity: 300 g, readability: 0.01 g}\n",
        "utf-8",
    )
    (tmp_path / "materials.yaml").write_text(
        "materials:\n  - name: tip ash\n    aliases: [TA]\n    role: ash\n    source: invented\n"
        "    analysis: {SiO2: 45, CaO: 50, K2O: 5}\n",
        "utf-8",
    )
    commit(tmp_path)
    return tmp_path


def write(top: Path, name: str, text: str) -> None:
    (top / f"{name}.glost").write_text(text, "utf-8")


def commit(top: Path) -> None:
    git(top, "add", "-A")
    git(top, "commit", "-q", "-m", "x", "--allow-empty")


def document(run: Run, top: Path, *arguments: str) -> dict[str, Any]:
    done = run("compare", "--output", "json", *arguments, cwd=top)
    found: dict[str, Any] = json.loads(done.stdout)
    assert list(Draft202012Validator(SCHEMA).iter_errors(found)) == []
    assert found["same"] is (done.returncode == 0) or done.returncode == 2
    return found


def sections(found: dict[str, Any]) -> dict[str, set[tuple[str, str, str]]]:
    """Of each recipe: section, within and what of its changes."""
    return {
        one["name"]: {(change["section"], change["within"], change["what"]) for change in one["changes"]}
        for one in found["recipes"]
    }


def test_an_allowance_is_a_change(run: Run, top: Path) -> None:
    edit(top / "dune.glost", ("whiting  20", "whiting  20  # allow missing-handling-note: everyone knows"))
    commit(top)
    found = document(run, top, "HEAD~1", "HEAD")
    assert sections(found) == {"Dune": {("allowances", "base, whiting", "missing-handling-note")}}
    assert found["recipes"][0]["allowed"][0]["reason"] == "everyone knows"
    text = run("compare", "HEAD~1", "HEAD", cwd=top)
    assert text.returncode == 1
    assert "!   now allowed: missing-handling-note (base, whiting): everyone knows" in text.stdout
    assert (
        "no longer allows missing-handling-note"
        in run("compare", "--brief", "HEAD", "HEAD~1", cwd=top).stdout
    )
    edit(top / "dune.glost", ("everyone", "nobody"))
    assert document(run, top)["recipes"][0]["allowed"][0]["reason"] == "nobody knows"
    edit(top / "dune.glost", ('glaze "Dune"', '\n# just a remark\nglaze "Dune"'), ("nobody", "everyone"))
    assert run("compare", "HEAD", cwd=top).returncode == 0


@pytest.mark.parametrize(
    ("file", "swap", "place", "touched"),
    [
        ("glost.yaml", ("mask", "respirator"), ("house notes", "", "whiting"), ["dune", "foam"]),
        ("glost.yaml", ("0.01 g", "0.1 g"), ("balances", "", "fine"), ["dune", "foam"]),
        ("glost.yaml", ("balances:", "batch: 2 kg\nbalances:"), ("settings", "", "batch"), ["dune", "foam"]),
        ("glost.yaml", ("balances:", "rules:\n    dust-hazard: off\nbalances:"),
         ("settings", "rules", "dust-hazard"), []),
        ("materials.yaml", ("CaO: 50, K2O: 5", "CaO: 30, K2O: 25"), ("materials", "tip ash", "analysis"), ["dune"]),
        ("materials.yaml", ("[TA]", "[TB]"), ("materials", "tip ash", "aliases"), []),
        ("materials.yaml", ("source: invented", "source: invented\n    soluble: yes"),
         ("materials", "tip ash", "soluble"), ["dune"]),
        ("materials.yaml", ("source: invented", "source: invented\n    price: 3 EUR/kg"),
         ("materials", "tip ash", "price"), []),
        ("materials.yaml", ("source: invented", "source: a sheet of 2026"), ("materials", "tip ash", "source"), []),
        ("glost.yaml", ("balances:", "bodies:\n    crank: {expansion: 58e-7/K, range: 20-500 C, source: x}\nbalances:"),
         ("settings", "bodies", "crank"), ["dune", "foam"]),
    ],
)  # fmt: skip
def test_what_the_collection_says_is_a_change(
    run: Run, top: Path, file: str, swap: tuple[str, str], place: tuple[str, str, str], touched: list[str]
) -> None:
    edit(top / file, swap)
    commit(top)
    found = document(run, top, "HEAD~1..HEAD")
    changes = found["collections"][0]["changes"]
    mine = [one for one in changes if (one["section"], one["within"], one["what"]) == place]
    assert [one["touches"] for one in mine] == [[f"HEAD:{name}.glost" for name in touched]]
    told = run("compare", "HEAD~1", "HEAD", cwd=top)
    assert told.returncode == (1 if touched else 0)
    assert all(f"{name}.glost" in told.stdout for name in touched)
    git(top, "checkout", "-q", "HEAD~1")  # the answer on two commits is the same whatever is checked out
    assert document(run, top, "main~1..main")["recipes"] == [
        {**one, "old": one["old"].replace("HEAD", "main"), "new": one["new"].replace("HEAD", "main")}
        for one in found["recipes"]
    ]


def test_a_body_touches_the_recipes_that_are_put_on_it(run: Run, top: Path) -> None:
    bodies = "bodies:\n    {0}: {{expansion: 61e-7/K, range: 20-400 C, source: sheet}}\n"
    bodies += "    fine white: {{expansion: 70e-7/K, range: 20-400 C, source: sheet}}\n"
    edit(top / "dune.glost", ("cone: 6", "cone: 6\nbody: Crank, bone-dry"))
    settings = (top / "glost.yaml").read_text("utf-8")
    (top / "glost.yaml").write_text(settings + bodies.format("crank"), "utf-8")
    commit(top)
    edit(top / "glost.yaml", ("61e-7", "64e-7"))
    commit(top)
    (change,) = document(run, top, "HEAD~1..HEAD")["collections"][0]["changes"]
    assert (change["what"], change["touches"]) == ("crank", ["HEAD:dune.glost"])
    assert "- bodies, crank: 61e-7/K, 20-400 °C, sheet -> 64e-7/K" in run("compare", "HEAD~1", cwd=top).stdout


def test_the_level_of_a_rule_is_told_once_and_is_no_change_of_a_recipe(run: Run, top: Path) -> None:
    edit(top / "dune.glost", ("whiting  20", "whiting  24"))
    commit(top)
    assert "base-total" in run("lint", ".", cwd=top).stdout
    edit(top / "glost.yaml", ("balances:", "rules:\n    base-total: off\n    corner-cone: error\nbalances:"))
    commit(top)
    found = document(run, top, "HEAD~1..HEAD")
    (collection,) = found["collections"]
    touches = {one["what"]: one["touches"] for one in collection["changes"]}
    assert touches == {"base-total": ["HEAD:dune.glost"], "corner-cone": []}
    assert (found["same"], found["recipes"], found["same_recipes"]) == (False, [], 2)
    done = run("compare", "HEAD~1..HEAD", cwd=top)
    assert done.returncode == 1
    assert done.stderr == "2 recipes compared: the same in meaning, 1 judged otherwise\n"
    assert "!   findings gone with it: 1 base-total\n" in done.stdout
    brief = run("compare", "--brief", "HEAD~1..HEAD", cwd=top).stdout
    assert "base-total: - -> off; touches dune.glost\n" in brief
    assert "HEAD:glost.yaml: rules, corner-cone: - -> error; touches no recipe\n" in brief
    # What is weighed differs as well: that is told of the recipe.
    edit(top / "foam.glost", ("cone: 6", "cone: 7"))
    assert set(sections(document(run, top, "HEAD~1"))) == {"Foam"}
    # A rule that finds nothing here is no difference.
    edit(top / "glost.yaml", ("corner-cone: error", "corner-cone: off"))
    edit(top / "foam.glost", ("cone: 7", "cone: 6"))
    assert run("compare", cwd=top).returncode == 0


def test_hazards_that_a_material_is_said_to_have_are_not_missed(run: Run, top: Path) -> None:
    edit(
        top / "materials.yaml", ("    analysis", "    hazards: []\n    hazard source: a sheet\n    analysis")
    )
    commit(top)
    edit(top / "materials.yaml", ("hazards: []", "hazards: [H350i, H373]"))
    commit(top)
    for form in ("text", "markdown"):
        done = run("compare", "HEAD~1", "HEAD", "--output", form, cwd=top)
        assert done.returncode == 1
        said = done.stdout.replace("**", "")
        assert "new hazards: tip ash H350i H373" in said
        assert "touches dune.glost" in said
    assert "new hazards" not in run("compare", "HEAD", "HEAD~1", cwd=top).stdout


def test_what_is_skipped_anew_is_counted_where_it_is_told(run: Run, top: Path) -> None:
    (top / "shelf").mkdir()
    for number in range(3):
        write(top, f"shelf/reed {number}", page(f"Reed {number}", whiting=40 + number, kaolin=60 - number))
    commit(top)
    edit(top / "glost.yaml", ("balances:", "skip: [shelf]\nbalances:"))
    commit(top)
    done = run("compare", "HEAD~1", "HEAD", cwd=top)
    assert done.returncode == 0
    assert "- skip: - -> shelf; 3 recipes of one side not compared\n" in done.stdout
    assert "2 recipes compared" in done.stderr
    assert "3 recipes of one side" in run("compare", "HEAD", "HEAD~1", cwd=top).stdout


def test_a_page_that_no_side_can_read_is_no_news_where_the_settings_changed(run: Run, top: Path) -> None:
    write(top, "half", 'glaze "Half"\nbase:\n    silica\n')
    write(top, "blank", "")
    commit(top)
    edit(top / "glost.yaml", ("0.01 g", "0.02 g"))
    commit(top)
    done = run("compare", "HEAD~1", "HEAD", cwd=top)
    assert done.returncode == 1
    assert "error" not in done.stdout + done.stderr
    edit(top / "half.glost", ("silica", "silica  ?"))
    done = run("compare", cwd=top)
    assert done.returncode == 1
    assert "half.glost:3:" in done.stderr
    assert "blank.glost" not in done.stderr


def test_a_name_for_an_alias_is_a_spelling_whatever_is_checked_out(run: Run, top: Path) -> None:
    edit(top / "dune.glost", ("tip ash", "TA"))
    commit(top)
    edit(top / "dune.glost", ("TA", "tip ash"))
    edit(top / "materials.yaml", ("    aliases: [TA]\n", ""))
    commit(top)
    for checked_out in ("main", "main~1", "main~2"):
        git(top, "checkout", "-q", checked_out)
        done = run("compare", "main~1", "main", cwd=top)
        assert done.returncode == 0, done.stdout
        assert "base, tip ash, spelled: TA -> tip ash" in done.stdout
    git(top, "checkout", "-q", "main")
    edit(top / "dune.glost", ("tip ash", "TA"))
    commit(top)
    assert ("base", "", "ta") in sections(document(run, top, "main~2", "main"))["Dune"]


def test_what_analysis_changes_is_fired(run: Run, top: Path) -> None:
    edit(top / "materials.yaml", ("CaO: 50, K2O: 5", "CaO: 30, K2O: 25"))
    assert "K2O, mol" in run("compare", cwd=top).stdout


def test_only_what_can_be_seen_of_the_fired_figures(run: Run, top: Path) -> None:
    edit(top / "foam.glost", ("40", "40.5"), ("60", "59.5"))
    done = run("compare", cwd=top)
    assert "SiO2, mol" in done.stdout
    assert "<0.001" not in done.stdout


@pytest.mark.parametrize(
    ("old", "new", "rounded"),
    [
        # lint --fix --rescale of a base of 97
        ((39, 15, 21, 22, 3), ("40.21", "15.46", "21.65", "22.68", "3.09"), True),
        (
            ("38.461538", "30.769231", "15.384615", "15.384615", "7.692308"),
            ("38.46", "30.77", "15.38", "15.38", "7.69"),
            True,
        ),
        ((39, 15, 21, 22, 3), (40, 15, 22, 23, 3), False),
        ((25, 25, 25, 25, 2), ("25.05", 25, 25, 25, 2), False),
        (("25.00", "25.00", "25.00", "25.00", "0.05"), ("25.00", "25.00", "25.00", "25.00", "0.06"), False),
        ((39, 15, 21, 22, 3), ("40.21", "15.46", "21.65", "22.68", "4.09"), False),
    ],
)  # fmt: skip
def test_rounding_only(run: Run, tmp_path: Path, old: Any, new: Any, rounded: bool) -> None:
    def text(amounts: Any) -> str:
        *base, rutile = amounts
        named = dict(zip(("whiting", "kaolin", "silica", "talc"), base, strict=True))
        return page("Dune", **named) + f"\nadditions:\n    rutile  {rutile}\n"

    write(tmp_path, "old", text(old))
    write(tmp_path, "new", text(new))
    for sides in (("old.glost", "new.glost"), ("new.glost", "old.glost")):
        done = run("compare", *sides)
        assert done.returncode == (0 if rounded else 1), done.stdout
        assert ("rounding only: every amount within 0.01 parts of 100" in done.stdout) is rounded


def test_unreadable_pages(run: Run, top: Path) -> None:
    write(top, "draft", 'glaze "Draft"\nbase:\n    silica\n')
    commit(top)
    edit(top / "foam.glost", ("cone: 6", "cone: 7"))
    commit(top)
    done = run("compare", "HEAD~1", "HEAD", cwd=top)
    assert (done.returncode, "draft" in done.stdout + done.stderr) == (1, False)
    edit(top / "glost.yaml", ("mask", "respirator"))  # read, and equal all the same
    assert run("compare", "HEAD", cwd=top).returncode == 1
    git(top, "checkout", "-q", "glost.yaml")
    edit(top / "draft.glost", ("Draft", "Draught"))
    edit(top / "dune.glost", ("cone: 6", "cone: 5"))
    done = run("compare", cwd=top)
    assert done.returncode == 1
    assert "cone: 6 -> 5" in done.stdout
    assert "1 cannot be read, 1 differs in meaning" in done.stderr


def test_settings_that_cannot_be_taken_hide_no_other_collection(run: Run, top: Path) -> None:
    (top / "inner").mkdir()
    (top / "inner" / "glost.yaml").write_text("nonsense: 1\n", "utf-8")
    write(top / "inner", "reef", page("Reef", silica=50, kaolin=50))
    commit(top)
    assert run("compare", "HEAD", "HEAD", cwd=top).returncode == 0
    edit(top / "dune.glost", ("cone: 6", "cone: 5"))
    edit(top / "inner" / "reef.glost", ("cone: 6", "cone: 5"))
    done = run("compare", cwd=top)
    assert done.returncode == 2
    assert "cone: 6 -> 5" in done.stdout
    assert done.stderr.count("glost.yaml") >= 1


# ---- words of the command line ----------------------------------------------------------------------------


def test_ranges(run: Run, top: Path) -> None:
    git(top, "switch", "-qc", "trial")
    edit(top / "dune.glost", ("cone: 6", "cone: 7"))
    commit(top)
    git(top, "switch", "-q", "main")
    edit(top / "foam.glost", ("cone: 6", "cone: 9"))
    commit(top)
    assert set(sections(document(run, top, "main..trial"))) == {"Dune", "Foam"}
    assert set(sections(document(run, top, "main...trial"))) == {"Dune"}
    assert set(sections(document(run, top, "trial..."))) == {"Foam"}
    assert set(sections(document(run, top, "..trial"))) == {"Dune", "Foam"}
    assert set(sections(document(run, top, "main", "trial", "--", "foam.glost"))) == {"Foam"}
    assert set(sections(document(run, top, "main", "trial", "dune.glost"))) == {"Dune"}
    assert set(sections(document(run, top, "main~1", "--", "foam.glost"))) == {"Foam"}
    assert document(run, top, "--", "dune.glost")["same_recipes"] == 1
    for wrong in (
        ["main..nowhere"],
        ["main", "trial", "--", "no.glost"],
        ["main", "x", "--", "dune.glost"],
        ["dune.glost"],
    ):
        done = run("compare", *wrong, cwd=top)
        assert (done.returncode, "Error: " in done.stderr) == (2, True), wrong


def test_what_git_ignores_is_no_new_recipe(run: Run, top: Path) -> None:
    (top / ".gitignore").write_text("scratch/\n", "utf-8")
    (top / "scratch").mkdir()
    write(top / "scratch", "try", page("Try", silica=100))
    git(top, "worktree", "add", "-q", "beside")
    assert run("compare", cwd=top).returncode == 0


def test_a_page_is_judged_by_its_file_and_not_by_the_revision_it_is_shown_under(run: Run, top: Path) -> None:
    """The rule file-name holds the name of a page against its file, which no revision stands before."""
    edit(top / "dune.glost", ("whiting  20", "whiting  21"))
    for arguments in ((), ("HEAD",), ("HEAD:dune.glost", "dune.glost")):
        found = document(run, top, *arguments)["recipes"][0]["findings"]
        assert [one["rule"] for one in found["come"] + found["gone"]] == ["base-total"], arguments
    git(top, "mv", "dune.glost", "surf.glost")
    commit(top)
    for arguments in (("HEAD~1",), ("HEAD~1", "HEAD")):
        found = document(run, top, *arguments)["recipes"][0]["findings"]
        assert {one["rule"] for one in found["come"]} == {"base-total", "file-name"}, arguments
        assert "its file 'surf'" in json.dumps(found)


def test_one_page_gone_and_another_new_are_no_rename(run: Run, top: Path) -> None:
    (top / "one").mkdir()
    write(top / "one", "a", page("A", silica=100))
    commit(top)
    (top / "one" / "a.glost").unlink()
    write(top / "one", "b", page("B", kaolin=50, talc=50))
    commit(top)
    found = document(run, top, "HEAD~1", "HEAD", "--", "one")
    assert sorted(one["state"] for one in found["recipes"]) == ["added", "removed"]


# ---- forms -----------------------------------------------------------------------------------------------


def test_markdown_has_a_size_and_calls_nobody(run: Run, top: Path) -> None:
    for number in range(400):
        write(top, f"n{number}", page(f"N{number} @tern #12 !3 <b> www.example.org", silica=60, kaolin=40))
    commit(top)
    for number in range(400):
        edit(top / f"n{number}.glost", ("silica  60", f"silica  {number + 1}"))
    shown = run("compare", "--output", "markdown", cwd=top).stdout
    assert 20_000 < len(shown.encode()) < 65_536
    assert shown.startswith("**402 recipes compared: 399 differ")
    assert shown.count("<details>") == shown.count("</details>")
    assert "there is no room for" in shown
    for call in ("@tern", "#12", "!3", "<b>", "www.example"):
        assert call not in shown, call


def test_what_must_not_be_missed_has_room_first(run: Run, top: Path) -> None:
    """A page whose path comes last brings a hazard in, and one in the middle is longer than all that fits."""
    for number in range(500):
        write(top, f"n{number:03}", page(f"Row {number} of the long shelf", silica=60, kaolin=40))
    commit(top)
    for number in range(500):
        edit(top / f"n{number:03}.glost", ("silica  60", f"silica  {number + 1}"))
    edit(top / "n499.glost", ("kaolin", "barium carbonate"))
    edit(top / "n200.glost", ("cone: 6", "cone: 7  # allow missing-origin: nobody knows"))
    long = "\n".join(f"    line {number}: {'wash it twice, ' * 9}" for number in range(600))
    with (top / "n200.glost").open("a", encoding="utf-8") as file:
        file.write(f"\nnotes:\n{long}\n")
    shown = run("compare", "--output", "markdown", cwd=top).stdout
    assert len(shown.encode()) < 65_536
    table, _, details = shown.partition("<details>")
    assert "barium carbonate H3" in table
    assert "missing-origin (cone): nobody knows" in table
    assert "| Row 0 of the long shelf (n000.glost) |" in table
    assert "<summary>Row 499 of the long shelf (n499.glost)</summary>" in details
    assert "<summary>Row 200 of the long shelf" not in details  # there is room for no part of it
    rows = table.count(" of the long shelf (")
    told = re.search(r"\n([0-9]+) more recipes? changed: there is no room for (?:it|them) here", table)
    assert rows + (int(told[1]) if told else 0) == 499  # one has 60 anew
    folded = details.count("<details>") + 1
    assert f"The details of {499 - folded} recipes are left out" in details


def test_two_recipes_of_one_name_are_told_apart(run: Run, top: Path) -> None:
    for folder in ("raku", "soda & salt"):
        (top / folder).mkdir()
        write(top / folder, "gull", page("Gull", silica=60, kaolin=40))
    commit(top)
    for folder, amount in (("raku", 61), ("soda & salt", 62)):
        edit(top / folder / "gull.glost", ("silica  60", f"silica  {amount}"))
    write(top, "torn", "glaze\n")
    shown = run("compare", "--output", "markdown", cwd=top).stdout
    for place in ("raku", "soda &amp; salt"):
        assert f"| Gull ({place}/gull.glost) | silica 60" in shown
        assert f"<summary>Gull ({place}/gull.glost)</summary>" in shown
    assert "| torn.glost | cannot be compared" in shown
    lines = run("compare", "--brief", cwd=top).stdout.splitlines()
    assert [line.partition(":")[0] for line in lines] == [
        "Gull (raku/gull.glost)", "Gull (soda & salt/gull.glost)", "torn.glost",
    ]  # fmt: skip


def test_many_changes_of_a_collection_leave_room_for_its_recipes(run: Run, top: Path) -> None:
    own = "".join(
        f"  - name: ash of bay {number}\n    role: ash\n    source: {'a word ' * 30}\n    loss: 1\n"
        f"    analysis: {{SiO2: 45, CaO: 49, K2O: 5}}\n"
        for number in range(300)
    )
    materials = top / "materials.yaml"
    materials.write_text(materials.read_text("utf-8") + own, "utf-8")
    commit(top)
    materials.write_text(materials.read_text("utf-8").replace("CaO: 49", "CaO: 48"), "utf-8")
    edit(top / "dune.glost", ("whiting  20", "whiting  21"), ("silica  30", "silica  29"))
    shown = run("compare", "--output", "markdown", cwd=top).stdout
    assert len(shown.encode()) < 65_536
    assert "| Dune (dune.glost) | silica 30 → 29; whiting 20 → 21" in shown
    assert "<summary>Dune (dune.glost)</summary>" in shown
    told = shown.count("\n- **material ash of bay")
    left_out = re.search(r"\n([0-9]+) more changes have no room here", shown)
    assert left_out is None or told + int(left_out[1]) == 300
    assert told > 50


def test_text_is_as_wide_as_the_terminal(run: Run, top: Path) -> None:
    edit(top / "dune.glost", ("whiting  20", "whiting  21"), ("silica  30", "silica  29"))
    edit(top / "glost.yaml", ("mask", "mask " + "of a kind that is described at length " * 5))
    for columns in (45, 60, 110):
        lines = run("compare", cwd=top, COLUMNS=str(columns)).stdout.splitlines()
        assert max(map(len, lines)) <= columns


def test_the_short_form_has_one_line_a_recipe(run: Run, top: Path) -> None:
    edit(top / "dune.glost", ("whiting  20", "whiting  20  # allow missing-handling-note: so it is"))
    edit(top / "foam.glost", ("whiting", "barium carbonate"))
    lines = run("compare", "--brief", cwd=top).stdout.splitlines()
    assert len(lines) == 2
    assert "NOW ALLOWED missing-handling-note (base, whiting): so it is" in lines[0]
    assert "NEW HAZARDS barium carbonate H3" in lines[1]
    assert "findings +" in lines[1]
    assert "barium carbonate added 40" in lines[1]


def test_the_short_form_says_hazards_once_and_where_a_page_was(run: Run, top: Path) -> None:
    git(top, "mv", "foam.glost", "spray.glost")
    edit(
        top / "spray.glost", ("whiting  40", "whiting  38\n    barium carbonate  1\n    manganese dioxide  1")
    )
    git(top, "mv", "dune.glost", "sand.glost")
    both = run("compare", "--brief", "--staged", cwd=top).stdout.splitlines()
    assert both == [
        "Dune (sand.glost): moved from HEAD:dune.glost; findings +1 file-name",
        "Foam (spray.glost): moved from HEAD:foam.glost; findings +1 file-name",
    ]
    line = run("compare", "--brief", "HEAD", cwd=top).stdout.splitlines()[1]
    assert line.count("NEW HAZARDS") == 1
    assert re.search(r"NEW HAZARDS barium carbonate H[0-9 Ha-z]+, manganese dioxide H", line), line
    assert "; moved from HEAD:foam.glost; NEW HAZARDS" in line


# ---- what is not read ------------------------------------------------------------------------------------


def test_only_what_differs_is_read(run: Run, top: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for number in range(60):
        write(top, f"n{number}", page(f"N{number}", silica=60, kaolin=40))
    commit(top)
    for number in range(5):
        edit(top / f"n{number}.glost", ("silica  60", f"silica  {number + 1}"))
    commit(top)
    read: list[str] = []
    usable_text = load.usable_text

    def counting(shown: str, *others: Any) -> Any:
        read.append(shown)
        return usable_text(shown, *others)

    monkeypatch.setattr(glost.cli.comparing, "usable_text", counting)
    found = document(run, top, "HEAD~1", "HEAD")
    assert (found["same_recipes"], found["compared"], len(found["recipes"])) == (57, 62, 5)
    assert len(read) == 10
    read.clear()
    assert document(run, top, "HEAD~1")["same_recipes"] == 57  # against the folder
    assert len(read) == 10


def test_comments_of_the_settings_let_nothing_be_read(
    run: Run, top: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What the collection says is the same, however its files are laid out."""
    edit(top / "glost.yaml", ("materials:", "# of the loft\nmaterials:"), ("whiting: wear", "whiting:  wear"))
    edit(top / "materials.yaml", ("SiO2: 45, CaO: 50", "SiO2: 45,  CaO: 50"))
    commit(top)
    read: list[object] = []
    monkeypatch.setattr(glost.cli.comparing, "usable_text", read.append)
    found = document(run, top, "HEAD~1", "HEAD")
    assert (found["same_recipes"], found["collections"], read) == (2, [], [])


# ---- an independent model ----------------------------------------------------------------------------------

MATERIALS = ("silica", "kaolin", "whiting", "talc", "dolomite", "bentonite")


def _history(run: Run, top: Path, commits: int, seed: int) -> None:
    """Commits of random changes, and beside them a model of what each page says: cone and amounts. Every comparison of
    two commits must find what the models differ in."""
    chance = random.Random(seed)
    git(top, "init", "-q", "-b", "main")
    pages: dict[str, tuple[int, dict[str, int]]] = {}
    models: list[dict[str, tuple[int, dict[str, int]]]] = []
    for at in range(commits):
        for _ in range(chance.randint(1, 3)):
            name = f"p{chance.randint(0, 14)}"
            kind = chance.choice(["amount", "amount", "cone", "new", "gone", "layout", "scale"])
            cone, mix = pages.get(name, (6, {}))
            if kind == "gone" or not mix:
                pages.pop(name, None)
                (top / f"{name}.glost").unlink(missing_ok=True)
                if kind == "gone":
                    continue
                mix = {material: chance.randint(1, 60) for material in chance.sample(MATERIALS, 3)}
            if kind == "cone":
                cone = chance.randint(1, 9)
            elif kind == "amount":
                mix = {**mix, chance.choice(MATERIALS): chance.randint(1, 60)}
            pages[name] = cone, mix
            factor = chance.choice([1, 2, 5]) if kind == "scale" else 1
            lines = [f"    {material}  {amount * factor}\n" for material, amount in mix.items()]
            if kind == "layout":
                chance.shuffle(lines)
            text = f'glaze "{name}"\ncone: {cone}\nbase:\n{"".join(lines)}'
            (top / f"{name}.glost").write_text(text, "utf-8")
        commit(top)
        models.append(dict(pages))
        old = chance.randint(0, at)
        _agrees(
            document(run, top, f"HEAD~{at - old}", "HEAD") if pages and models[old] else None,
            models[old],
            pages,
        )


def _agrees(found: dict[str, Any] | None, old: dict[str, Any], new: dict[str, Any]) -> None:
    if found is None:
        return
    told: dict[str, set[tuple[str, Decimal | str]]] = {}
    for one in found["recipes"]:
        name = (one["new"] or one["old"]).rpartition(":")[2].removesuffix(".glost")
        if one["old"] is None or one["new"] is None or one["state"] in ("changed", "renamed"):
            told[name] = {(change["section"], change["what"]) for change in one["changes"]}
    expected: dict[str, set[tuple[str, str]]] = {}
    for name in old.keys() & new.keys():
        (old_cone, old_mix), (new_cone, new_mix) = old[name], new[name]
        changed = {("field", "cone")} if old_cone != new_cone else set()
        shares = [
            {material: Fraction(amount, sum(mix.values())) for material, amount in mix.items()}
            for mix in (old_mix, new_mix)
        ]
        changed |= {
            ("base", material)
            for material in shares[0].keys() | shares[1].keys()
            if shares[0].get(material) != shares[1].get(material)
        }
        if changed:
            expected[name] = changed
    paired = {name: changes for name, changes in told.items() if name in old and name in new}
    assert paired == expected
    alone = set(old.keys() ^ new.keys())
    assert set(told) - set(paired) <= alone


def test_comparisons_agree_with_a_model(run: Run, tmp_path: Path) -> None:
    _history(run, tmp_path, 25, seed=1)


@pytest.mark.slow
def test_many_comparisons_agree_with_a_model(run: Run, tmp_path: Path) -> None:
    _history(run, tmp_path, 300, seed=2)


def test_git_is_asked_once_what_it_ignores(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """And what lies in a repository within this one is left out all the same."""
    from glost.workspace.git import ignored
    from glost.workspace.git import run as git_run

    asked: list[str] = []
    ask = git_run.asked

    def counted(top: Path, *words: str, **more: Any) -> bytes:
        asked.extend(word for word in words if word == "ls-files")
        return ask(top, *words, **more)

    for module in (git_run, ignored):
        monkeypatch.setattr(module, "asked", counted)
    (tmp_path / "dune.glost").write_text(page("Dune", silica=60, kaolin=40), "utf-8")
    (tmp_path / ".gitignore").write_text("out/\n", "utf-8")
    committed(tmp_path, "one")
    for folder in ("out", "inner"):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "other.glost").write_text(page("Other", silica=50, kaolin=50), "utf-8")
    committed(tmp_path / "inner", "a repository of its own")
    done = run("compare", "HEAD", cwd=tmp_path)
    assert (done.returncode, "1 recipe compared: the same" in done.stderr) == (0, True), done.stderr
    assert asked == ["ls-files"]


def test_two_files_that_exchanged_their_names_are_no_change_of_recipes(run: Run, top: Path) -> None:
    dune, foam = (top / name for name in ("dune.glost", "foam.glost"))
    texts = [one.read_text("utf-8") for one in (dune, foam)]
    foam.write_text(texts[0], "utf-8")
    dune.write_text(texts[1], "utf-8")
    done = run("compare", cwd=top)
    assert (done.returncode, done.stderr) == (0, "2 recipes compared: the same in meaning\n")
    assert "Dune\nHEAD:dune.glost -> foam.glost\nthe same recipe; its file was moved\n" in done.stdout
    assert "the recipe is called 'Dune', and its file 'foam' (file-name)" in " ".join(done.stdout.split())
    edit(foam, ("cone: 6", "cone: 5"))
    assert sections(document(run, top)) == {"Dune": {("field", "", "cone")}, "Foam": set()}
