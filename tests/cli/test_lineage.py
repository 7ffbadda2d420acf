"""glost history and glost blame in repositories with branches, merges, renames, copies and deletions."""

from __future__ import annotations

import csv
import io
import json
import os
import re
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from tests.conftest import TOP, Run

SCHEMAS = {
    name: Draft202012Validator(json.loads((TOP / "schema" / f"{name}.schema.json").read_text("utf-8")))
    for name in ("history", "blame")
}


def page(
    name: str = "Dune",
    silica: str = "25",
    whiting: str = "20",
    cone: str = "6",
    kaolin: str = "kaolin                 15",
    more: str = "",
) -> str:
    return (
        f'glaze "{name}"\ncone: {cone}\n\nbase:\n    nepheline syenite      40\n    silica                 {silica}\n'
        f"    whiting                {whiting}\n    {kaolin}\n{more}"
    )


class Shelf:
    """A repository whose commits are a day apart, each by whom we like."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.day = 0
        folder.mkdir()
        self.git("init", "-q", "-b", "main")

    def git(self, *words: str, author: str = "Tern", fails: bool = False) -> str:
        when = f"2026-03-{self.day or 1:02}T12:00:00"
        who = {
            f"GIT_{role}_{what}": value
            for role in ("AUTHOR", "COMMITTER")
            for what, value in (("NAME", author), ("EMAIL", "x@example.org"), ("DATE", when))
        }
        environment = {**os.environ, **who, "GIT_CONFIG_GLOBAL": os.devnull}
        done = subprocess.run(
            ["git", *words], cwd=self.folder, env=environment, capture_output=True, text=True, check=not fails
        )
        return done.stdout

    def commit(self, subject: str, pages: dict[str, str | None], author: str = "Tern") -> str:
        """Writes pages, takes those of None away, and returns the commit's name."""
        self.day += 1
        for path, text in pages.items():
            if text is None:
                (self.folder / path).unlink()
            else:
                (self.folder / path).parent.mkdir(parents=True, exist_ok=True)
                (self.folder / path).write_text(text, "utf-8")
        self.git("add", "-A")
        self.git("commit", "-q", "--allow-empty", "-m", subject, author=author)
        return self.git("rev-parse", "HEAD").strip()

    def merge(self, branch: str, pages: dict[str, str | None]) -> str:
        self.git("merge", "-q", "--no-commit", "--no-ff", "-s", "ours", branch, fails=True)
        return self.commit(f"Merge {branch}", pages)


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    return Shelf(tmp_path / "shelf")


@pytest.fixture
def run(run_here: Run) -> Run:
    return run_here


def history(run: Run, shelf: Shelf, *words: str) -> list[dict[str, Any]]:
    done = run("history", *words, "--output", "json", cwd=shelf.folder)
    assert done.returncode == 0, done.stderr
    document = json.loads(done.stdout)
    assert list(SCHEMAS["history"].iter_errors(document)) == []
    revisions: list[dict[str, Any]] = document["revisions"]
    return revisions


def subjects(revisions: list[dict[str, Any]]) -> list[str]:
    return [one["subject"] for one in revisions]


def changed(one: dict[str, Any]) -> set[str]:
    return {change["what"] or change["section"] for change in one["changes"]}


# ---- history ---------------------------------------------------------------------------------------------


@pytest.fixture
def busy(shelf: Shelf) -> Shelf:
    """A recipe renamed on one branch and changed on another, copied, and the copy taken out."""
    shelf.commit("Begin", {"dune.glost": page()})
    shelf.commit("More silica", {"dune.glost": page(silica="27", whiting="18")})
    shelf.git("switch", "-qc", "side")
    shelf.commit("Cooler", {"dune.glost": page(silica="27", whiting="18", cone="5")}, author="Plover")
    shelf.git("switch", "-q", "main")
    # A rename and another spelling at once: to git these texts are less alike than the mixes are.
    renamed = page("Marram", "27", "18", kaolin="china clay 15")
    shelf.commit("Call it Marram", {"dune.glost": None, "beach/marram.glost": renamed})
    shelf.merge("side", {"beach/marram.glost": page("Marram", "27", "18", "5", "china clay 15")})
    shelf.commit("Split off", {"second.glost": page("Marram II", "28", "17", "5")}, author="Knot")
    shelf.commit(
        "Note it", {"beach/marram.glost": page("Marram", "28.5", "16.5", "5", more="notes:\n    good\n")}
    )
    shelf.commit("No use", {"second.glost": None})
    return shelf


def test_followed_through_a_rename_and_into_what_was_merged(run: Run, busy: Shelf) -> None:
    revisions = history(run, busy, "beach/marram.glost")
    assert subjects(revisions) == [
        "Note it",
        "Merge side",
        "Call it Marram",
        "Cooler",
        "More silica",
        "Begin",
    ]
    assert [one["path"] for one in revisions] == ["beach/marram.glost"] * 3 + ["dune.glost"] * 3
    assert [one["author"] for one in revisions] == ["Tern", "Tern", "Tern", "Plover", "Tern", "Tern"]
    # A merge changed what none of its sides has: here it has the name of one and the cone of the other.
    assert [changed(one) for one in revisions] == [
        {"silica", "whiting", "notes"}, set(), {"name"}, {"cone"}, {"silica", "whiting"}, set(),
    ]  # fmt: skip
    assert [one["merge"] for one in revisions] == [False, True, False, False, False, False]
    assert revisions[2]["moves"] == ["renamed from dune.glost"]
    # Each commit once, of those that git knows.
    names = [one["commit"] for one in revisions]
    assert len(set(names)) == len(names)
    assert set(names) <= set(busy.git("rev-list", "--all").split())


def test_a_copy_is_told_as_one_and_begins_with_itself(run: Run, busy: Shelf) -> None:
    revisions = history(run, busy, "second.glost")
    assert subjects(revisions) == ["No use", "Split off"]
    assert revisions[1]["moves"] == ["copied from beach/marram.glost"]
    assert revisions[1]["author"] == "Knot"


def test_a_deleted_recipe_ends_with_its_deletion(run: Run, busy: Shelf) -> None:
    newest = history(run, busy, "second.glost")[0]
    assert (newest["state"], newest["moves"], newest["recipe"]) == ("gone", ["taken out here"], None)
    text = run("history", "second.glost", cwd=busy.folder).stdout
    assert text.startswith("Marram II\n")
    assert re.search(r"2026-03-08  Tern  No use\n +taken out here\n", text)


def test_a_path_that_was_renamed_says_where_to(run: Run, busy: Shelf) -> None:
    revisions = history(run, busy, "dune.glost")
    assert subjects(revisions) == ["Call it Marram", "More silica", "Begin"]
    assert revisions[0]["moves"] == ["renamed to beach/marram.glost"]


def test_the_newest_and_those_since_a_day(run: Run, busy: Shelf) -> None:
    path = "beach/marram.glost"
    whole = history(run, busy, path)
    assert history(run, busy, path, "-n", "2") == whole[:2]  # marks and all
    assert history(run, busy, path, "--since", "2026-03-04") == whole[:3]
    assert history(run, busy, path, "--since", "2026-03-04", "-n", "1") == whole[:1]
    done = run("history", path, "--since", "2027-01-01", cwd=busy.folder)
    assert done.returncode == 2
    assert "no commit since 2027-01-01 changed 'beach/marram.glost'" in done.stderr
    for wrong in ("--since=yesterday", "-n0"):
        assert run("history", path, wrong, cwd=busy.folder).returncode == 2


def test_up_to_a_revision(run: Run, busy: Shelf) -> None:
    assert subjects(history(run, busy, "side:dune.glost")) == ["Cooler", "More silica", "Begin"]
    assert subjects(history(run, busy, "HEAD~2:beach/marram.glost"))[0] == "Merge side"
    done = run("history", "HEAD:nowhere.glost", cwd=busy.folder)
    assert done.returncode == 2
    assert "no commit has one" in done.stderr


def test_moved_and_not_committed_yet(run: Run, busy: Shelf) -> None:
    busy.git("mv", "beach/marram.glost", "bent.glost")
    (busy.folder / "bent.glost").write_text(page("Bent", "28.5", "16.5", "5"), "utf-8")
    revisions = history(run, busy, "bent.glost")
    assert subjects(revisions)[:2] == ["not committed yet", "Note it"]
    assert len(revisions) == 7
    assert (revisions[0]["moves"], revisions[0]["commit"]) == (["renamed from beach/marram.glost"], None)
    assert changed(revisions[0]) == {"name", "notes"}


def test_a_page_put_back_is_followed_over_the_gap(run: Run, shelf: Shelf) -> None:
    shelf.commit("Begin", {"dune.glost": page()})
    shelf.commit("Away", {"dune.glost": None})
    shelf.commit("Back", {"dune.glost": page(silica="27", whiting="18")})
    revisions = history(run, shelf, "dune.glost")
    assert [one["state"] for one in revisions] == ["read", "gone", "read"]
    assert changed(revisions[0]) == {"silica", "whiting"}  # against what there was before it was taken out


def test_all_fields_have_rows_and_long_texts_are_told_below(run: Run, shelf: Shelf) -> None:
    handling = "handling:\n    silica: wet\n"
    shelf.commit("Begin", {"dune.glost": page(more=handling)})
    first = page(more=handling).replace(
        "cone: 6\n", "cone: 6\nsurface: matt\norigin: from an old card of the loft\n"
    )
    shelf.commit("Fields", {"dune.glost": first})
    second = first.replace("matt", "glossy").replace("wet", "P100 respirator, wet").replace("old", "older")
    second = second.replace(
        "silica                 25", "silica                 25  # allow idle-one: as it was"
    )
    shelf.commit("Handling", {"dune.glost": second})
    newest = history(run, shelf, "dune.glost")[0]
    assert changed(newest) == {"surface", "origin", "silica", "idle-one"}
    text = run("history", "dune.glost", cwd=shelf.folder).stdout
    assert re.search(r"^surface +\*glossy +\*matt +-$", text, re.MULTILINE)
    assert re.search(r"^origin +\*written +\*written +-$", text, re.MULTILINE)
    assert "origin: from an old card of the loft -> from an older card of the loft" in text.replace(
        "\n            ", " "
    )
    assert "handling, silica: wet -> P100 respirator, wet" in text
    assert "allows idle-one: - -> as it was" in text
    rows = list(
        csv.reader(io.StringIO(run("history", "dune.glost", "--output", "csv", cwd=shelf.folder).stdout))
    )
    held = {(section, what): cells for section, what, *cells in rows}
    assert held["", "surface"] == ["", "matt", "glossy"]
    assert held["commit", "author"] == ["Tern"] * 3
    assert held["commit", "subject"] == ["Begin", "Fields", "Handling"]


def test_each_revision_is_read_with_the_materials_of_its_time(run: Run, shelf: Shelf) -> None:
    """The alias is dropped later: the first revision still knew it, and a pure respelling is no change."""
    material = (
        "materials:\n  - name: house frit\n{alias}    role: frit\n    source: invented\n"
        "    hazards: []\n    analysis: {{SiO2: 60, B2O3: 40}}\n    loss: 0\n"
    )
    old = {"alias": "    aliases: [HF-3]\n"}
    shelf.commit(
        "Begin",
        {
            "glost.yaml": "materials: materials.yaml\n",
            "materials.yaml": material.format(**old),
            "dune.glost": page(kaolin="HF-3 15"),
        },
    )
    shelf.commit(
        "Whole name",
        {"materials.yaml": material.format(alias=""), "dune.glost": page(kaolin="house frit 15")},
    )
    newest, first = history(run, shelf, "dune.glost")
    assert changed(newest) == set()
    for one in (newest, first):
        assert {place["what"] for place in one["recipe"] if place["section"] == "base"} >= {"house frit"}
    text = run("history", "dune.glost", cwd=shelf.folder).stdout
    assert "hf-3" not in text.lower().replace("house frit", "")


ASH = """materials:
  - name: tip ash
    aliases: [{alias}]
    role: ash
    source: invented
    hazards: []
    analysis: {{CaO: {lime}, K2O: {potash}}}
    loss: 0
  - name: house frit
    role: frit
    source: invented
    hazards: []
    analysis: {{SiO2: {frit}, B2O3: {boron}}}
    loss: 0
"""


def materials(alias: str = "TA", lime: int = 50, frit: int = 60) -> str:
    return ASH.format(alias=alias, lime=lime, potash=100 - lime, frit=frit, boron=100 - frit)


def settings(note: str = "mask", more: str = "") -> str:
    return f"materials: materials.yaml\nhandling:\n  silica: {note}\n  talc: {note} and gloves\n{more}"


@pytest.fixture
def house(shelf: Shelf) -> Shelf:
    """A recipe whose collection says other things in time, and its page never."""
    shelf.commit(
        "Begin",
        {
            "glost.yaml": settings(),
            "materials.yaml": materials(),
            "bench/dune.glost": page(kaolin="tip ash 15"),
            "bench/other.glost": page("Other", kaolin="talc 15"),
        },
    )
    shelf.commit("Ash analysed anew", {"materials.yaml": materials(lime=30)}, author="Plover")
    shelf.commit("Another frit", {"materials.yaml": materials(lime=30, frit=58)})
    shelf.commit("Wear a respirator", {"glost.yaml": settings("P100 respirator")}, author="Knot")
    shelf.commit(
        "A note for talc", {"glost.yaml": settings("P100 respirator").replace("and gloves", "always")}
    )
    balance = "balances:\n  - name: bench scale\n    capacity: 2 kg\n    readability: 0.1 g\n"
    shelf.commit("A balance", {"glost.yaml": settings("P100 respirator", balance)})
    shelf.commit("A remark", {"glost.yaml": "# Ours.\n" + settings("P100 respirator", balance)})
    return shelf


def test_a_commit_of_the_collection_is_listed_where_it_touches_the_recipe(run: Run, house: Shelf) -> None:
    revisions = history(run, house, "bench/dune.glost")
    assert subjects(revisions) == ["A balance", "Wear a respirator", "Ash analysed anew", "Begin"]
    said = [
        [(one["section"], one["within"], one["what"], one["old"] and one["old"]["text"], one["new"]["text"])
         for one in revision["changes"]]
        for revision in revisions
    ]  # fmt: skip
    assert said[1:] == [
        [("house notes", "", "silica", "mask", "P100 respirator")],
        [("materials", "tip ash", "analysis", "CaO 50, K2O 50", "CaO 30, K2O 70")],
        [],
    ]
    assert [one[:3] for one in said[0]] == [("balances", "", "bench scale")]
    assert [one["path"] for one in revisions] == ["bench/dune.glost"] * 4
    text = " ".join(run("history", "bench/dune.glost", cwd=house.folder).stdout.split())
    assert "Plover Ash analysed anew materials, tip ash, analysis: CaO 50, K2O 50 -> CaO 30, K2O 70" in text
    assert "house notes, silica: mask -> P100 respirator" in text
    # The other recipe has neither ash nor frit, and talc has a note of its own.
    assert subjects(history(run, house, "bench/other.glost")) == [
        "A balance", "A note for talc", "Wear a respirator", "Begin",
    ]  # fmt: skip


def test_the_page_and_its_collection_take_turns(run: Run, house: Shelf) -> None:
    house.commit("More silica", {"bench/dune.glost": page(silica="27", whiting="18", kaolin="tip ash 15")})
    house.git("mv", "bench", "loft")
    house.commit("To the loft", {})
    house.commit("And again", {"materials.yaml": materials(lime=31)})
    nearer = "name: loft\nhandling:\n  silica: none\n"
    house.commit("Its own settings", {"loft/glost.yaml": nearer})
    house.commit("Not its own", {"glost.yaml": "name: house\n"})
    house.commit("Its own no more", {"loft/glost.yaml": None})
    revisions = history(run, house, "loft/dune.glost")
    assert subjects(revisions) == [
        "Its own no more", "Its own settings", "And again", "To the loft", "More silica",
        "A balance", "Wear a respirator", "Ash analysed anew", "Begin",
    ]  # fmt: skip
    assert revisions[3]["moves"] == ["renamed from bench/dune.glost"]
    assert changed(revisions[3]) == set()
    assert changed(revisions[4]) == {"silica", "whiting"}  # and not the balance, which came before
    assert changed(revisions[2]) == {"analysis"}


def test_another_name_of_a_material_is_a_change_where_the_recipe_has_it(run: Run, house: Shelf) -> None:
    house.commit("By its short name", {"bench/dune.glost": page(kaolin="TA 15")})
    house.commit("The name goes", {"materials.yaml": materials("TIA", 30, 58)})
    newest, before, *_ = history(run, house, "bench/dune.glost")
    assert (newest["subject"], before["subject"]) == ("The name goes", "By its short name")
    assert changed(newest) == {"ta", "tip ash", "means"}
    text = run("history", "bench/dune.glost", cwd=house.folder).stdout
    assert "materials, ta: tip ash -> no material that is known\n" in text
    assert changed(before) == set()


def test_settings_that_were_broken_for_a_while(run: Run, house: Shelf) -> None:
    house.commit("Broken", {"glost.yaml": "batch: [\n"})
    house.commit("Whole again", {"glost.yaml": settings("P100 respirator and gloves")})
    revisions = history(run, house, "bench/dune.glost")
    assert [one["state"] for one in revisions[:3]] == ["read", "unread", "read"]
    assert subjects(revisions)[:3] == ["Whole again", "Broken", "A balance"]
    assert changed(revisions[0]) == {"silica", "bench scale"}  # against what could be read last


def test_settings_of_a_branch_are_named_by_its_own_commit(run: Run, house: Shelf) -> None:
    house.git("switch", "-qc", "side")
    house.commit("On its branch", {"materials.yaml": materials(lime=33)}, author="Dunlin")
    house.git("switch", "-q", "main")
    house.commit("Meanwhile", {"bench/dune.glost": page(silica="28", whiting="17", kaolin="tip ash 15")})
    house.git("merge", "-q", "--no-edit", "side")
    revisions = history(run, house, "bench/dune.glost")
    assert {one["subject"]: changed(one) for one in revisions[:3]} == {
        "Merge branch 'side'": set(),  # it has what neither of its sides had, and changed nothing by itself
        "Meanwhile": {"silica", "whiting"},
        "On its branch": {"analysis"},
    }
    assert blame(run, house, "bench/dune.glost")["analysis"][1:] == ("On its branch", "Dunlin")


def test_settings_that_are_not_committed_yet(run: Run, house: Shelf) -> None:
    (house.folder / "materials.yaml").write_text(materials(lime=20), "utf-8")
    newest = history(run, house, "bench/dune.glost")[0]
    assert (newest["commit"], changed(newest)) == (None, {"analysis"})
    (house.folder / "materials.yaml").write_text(materials(lime=30, frit=1), "utf-8")
    assert history(run, house, "bench/dune.glost")[0]["commit"] is not None


def test_blame_names_who_changed_what_the_collection_says(run: Run, house: Shelf) -> None:
    said = blame(run, house, "bench/dune.glost")
    assert said["tip ash"][1:] == ("Begin", "Tern")
    assert said["analysis"] == (None, "Ash analysed anew", "Plover")
    assert said["bench scale"][1] == "A balance"
    done = json.loads(run("blame", "bench/dune.glost", "--output", "json", cwd=house.folder).stdout)
    notes = [one for one in done["places"] if one["section"] == "house notes"]
    assert [(one["what"], one["subject"], one["author"]) for one in notes] == [
        ("silica", "Wear a respirator", "Knot")
    ]
    # A line whose meaning another name has changed is blamed on whoever changed the name.
    house.commit("By its short name", {"bench/dune.glost": page(kaolin="TA 15")})
    assert blame(run, house, "bench/dune.glost")["tip ash"][1] == "Begin"
    house.commit("The name goes", {"materials.yaml": materials("TIA", 30, 58)}, author="Dunlin")
    assert blame(run, house, "bench/dune.glost")["ta"][1:] == ("The name goes", "Dunlin")
    assert blame(run, house, "HEAD~1:bench/dune.glost")["tip ash"][1] == "Begin"


def test_rescaled_and_rounded_is_no_mark(run: Run, shelf: Shelf) -> None:
    shelf.commit("Begin", {"dune.glost": page(silica="22", whiting="21", kaolin="kaolin  14")})
    assert run("lint", "--fix", "--rescale", "dune.glost", cwd=shelf.folder).returncode in (0, 1)
    shelf.commit("To 100", {"dune.glost": (shelf.folder / "dune.glost").read_text("utf-8")})
    newest = history(run, shelf, "dune.glost")[0]
    assert newest["subject"] == "To 100"
    assert newest["changes"] == []
    assert "*" not in run("history", "dune.glost", cwd=shelf.folder).stdout.partition("* changed")[0]


def test_names_and_subjects_of_any_kind(run: Run, shelf: Shelf) -> None:
    subject = "0" * 40 + " 1234567 2026-01-01 "
    shelf.commit(subject, {"ä dune #1.glost": page()}, author="O'Tern, 2026-01-01")
    (one,) = history(run, shelf, "ä dune #1.glost")
    assert (one["subject"], one["author"]) == (subject.strip(), "O'Tern, 2026-01-01")


# ---- blame -----------------------------------------------------------------------------------------------


def blame(run: Run, shelf: Shelf, path: str) -> dict[str, tuple[int | None, str, str]]:
    """Of each place: the line, the subject and the author."""
    done = run("blame", path, "--output", "json", cwd=shelf.folder)
    assert done.returncode == 0, done.stderr
    document = json.loads(done.stdout)
    assert list(SCHEMAS["blame"].iter_errors(document)) == []
    return {
        one["what"] or one["section"]: (one["line"], one["subject"], one["author"])
        for one in document["places"]
    }


def test_who_last_changed_each_amount(run: Run, busy: Shelf) -> None:
    said = blame(run, busy, "beach/marram.glost")
    assert said == {
        "name": (1, "Call it Marram", "Tern"),
        "cone": (2, "Cooler", "Plover"),  # on its branch, and not the merge
        "nepheline syenite": (5, "Begin", "Tern"),
        "silica": (6, "Note it", "Tern"),
        "whiting": (7, "Note it", "Tern"),
        "kaolin": (8, "Begin", "Tern"),  # now called china clay
        "notes": (9, "Note it", "Tern"),
    }


def test_not_fooled_by_layout_scale_and_order(run: Run, shelf: Shelf) -> None:
    shelf.commit("Begin", {"dune.glost": page()}, author="Knot")
    ten = page(silica="250", whiting="200", kaolin="kaolin 150").replace(" 40\n", " 400\n")
    shelf.commit("Ten times", {"dune.glost": ten})
    lines = ten.splitlines()
    lines[4], lines[6] = lines[6], lines[4]
    shelf.commit("Another order", {"dune.glost": "\n".join(lines) + "\n"})
    shelf.commit("In grams", {"dune.glost": re.sub(r"(\d0)\n", r"\1 g\n", "\n".join(lines) + "\n")})
    said = blame(run, shelf, "dune.glost")
    assert {author for _, _, author in said.values()} == {"Knot"}
    assert said["whiting"][0] == 5
    # git's own blame is fooled: what the above is compared with.
    assert "Knot" not in shelf.git("blame", "-L", "5,8", "dune.glost")


def test_one_changed_amount_blames_no_other(run: Run, shelf: Shelf) -> None:
    """The shares of all others move, since a base is 100."""
    shelf.commit("Begin", {"dune.glost": page()}, author="Knot")
    shelf.commit("More silica", {"dune.glost": page(silica="30")}, author="Plover")
    said = blame(run, shelf, "dune.glost")
    assert [what for what, (_, _, author) in said.items() if author == "Plover"] == ["silica"]


def test_every_place_of_every_line_in_text(run: Run, busy: Shelf) -> None:
    done = run("blame", "beach/marram.glost", cwd=busy.folder)
    assert done.returncode == 0
    lines = done.stdout.splitlines()
    assert any(re.fullmatch(r" +2  cone +5 +[0-9a-f]{7} +2026-03-03 +Plover", line) for line in lines)
    assert any(re.fullmatch(r" +6 +silica +28\.5 +[0-9a-f]{7} +2026-03-07 +Tern", line) for line in lines)
    assert any(re.fullmatch(r" +[0-9a-f]{7} +Cooler", line) for line in lines)
    assert max(map(len, lines)) <= 80


@pytest.mark.parametrize("columns", ["100", "80", "60", "42"])
def test_a_long_name_tears_no_word(run: Run, shelf: Shelf, columns: str) -> None:
    author = "Bartholomew Featherstonehaugh-Cholmondeley"
    shelf.commit(
        "Begin", {"dune.glost": page().replace("cone: 6", "cone: 6\ntags: demo, blue")}, author=author
    )
    for command in ("blame", "history"):
        text = run(command, "dune.glost", cwd=shelf.folder, COLUMNS=columns).stdout
        said = text.split()
        whole = [*author.split(), "nepheline", "syenite", "2026-03-01", "silica", "whiting", "Begin"]
        assert [word for word in whole if word not in said] == []
        assert max(map(len, text.splitlines())) <= int(columns)
        assert "demo, blue" in text


def test_what_is_not_committed_yet(run: Run, busy: Shelf) -> None:
    (busy.folder / "beach/marram.glost").write_text(page("Marram", "28.5", "16", "5", "kaolin 15.5"), "utf-8")
    said = blame(run, busy, "beach/marram.glost")
    assert {what for what, (_, subject, _) in said.items() if subject == "not committed yet"} == {
        "whiting",
        "kaolin",
    }


def test_everything_that_can_be_said_has_its_line(run: Run, shelf: Shelf) -> None:
    more = """additions:
    rutile  2  # allow bare-addition: as found

handling:
    silica, kaolin: P100 respirator

variation "storm":
    surface: matt
    rutile  0

base series "drier":
    silica  24, 23

blend "fog" by 50 %:
    tin oxide  1, 4

notes:
    one
"""
    shelf.commit("Begin", {"dune.glost": page(more=more)})
    done = run("blame", "dune.glost", "--output", "json", cwd=shelf.folder)
    places = json.loads(done.stdout)["places"]
    text = (shelf.folder / "dune.glost").read_text("utf-8").splitlines()
    assert [one for one in places if not one["line"]] == []
    for one in places:
        if one["section"] not in ("name", "notes") and one["what"] != "step:":
            word = one["what"].rstrip(":") or one["within"]
            assert word in text[one["line"] - 1], one


def test_what_cannot_be_blamed(run: Run, busy: Shelf) -> None:
    for path, said in (
        ("second.glost", "'second.glost' was taken out here; glost history shows it"),
        ("dune.glost", "was renamed to beach/marram.glost"),
        ("nowhere.glost", "no commit has one"),
        (".", "is a folder"),
    ):
        done = run("blame", path, cwd=busy.folder)
        assert (done.returncode, said in done.stderr) == (2, True), done.stderr
    (busy.folder / "beach/marram.glost").write_text('glaze "x"\nbase:\n    silica\n', "utf-8")
    done = run("blame", "beach/marram.glost", cwd=busy.folder)
    assert done.returncode == 1
    assert "beach/marram.glost:3" in done.stderr


# ---- any history -----------------------------------------------------------------------------------------


def edits(seed: int) -> Iterator[tuple[str, dict[str, str]]]:
    """Commits of one recipe: who, and the amounts, of which each changes one."""
    import random

    chance = random.Random(seed)
    amounts = {"silica": 25, "whiting": 20, "kaolin": 15, "nepheline syenite": 40}
    for at in range(12):
        if at:
            amounts[chance.choice(list(amounts))] += chance.randint(1, 5)
        yield f"person {at}", {name: str(amount) for name, amount in amounts.items()}


@pytest.mark.parametrize("seed", [3, 7, 19])
def test_any_linear_history_is_blamed_as_it_was_made(run: Run, shelf: Shelf, seed: int) -> None:
    """Whoever set an amount last is known, since each commit changed one."""
    by: dict[str, str] = {}
    before: dict[str, str] = {}
    for at, (author, amounts) in enumerate(edits(seed)):
        for name, amount in amounts.items():
            if before.get(name) != amount:
                by[name] = author
        before = amounts
        scale = 10 if at % 3 == 2 else 1  # every third at another scale, under another name, in another order
        lines = [f"    {name}  {int(amount) * scale}" for name, amount in amounts.items()]
        text = 'glaze "Dune"\ncone: 6\n\nbase:\n' + "\n".join(lines[:: -1 if at % 2 else 1]) + "\n"
        shelf.git("rm", "-rq", "--ignore-unmatch", ".")
        shelf.commit(f"step {at}", {f"dune {at // 3}.glost": text}, author=author)
    said = blame(run, shelf, "dune 3.glost")
    assert {name: said[name][2] for name in by} == by
