"""Rows out of pages: amounts, cones, lines, hazards, and what becomes of a page that cannot be read."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from glost.language.parse import parse
from glost.language.source import Source
from glost.output.catalog.hazard_groups import ALL, groups_of
from glost.output.catalog.rows import Row, RowBuilder, amount_text
from glost.recipe.cone import KNOWN, read_cone
from glost.recipe.materials.catalogue import shipped_catalogue
from glost.recipe.resolve import resolve
from glost.recipe.safety.statements import CLASSES, needs_note
from glost.workspace.collection import Collections
from glost.workspace.runs.catalog import gather, see_all

D = Decimal
PAGE = """\
glaze "Ebb"
cone: 5-6
atmosphere: oxidation
surface: satin
use: test
tags: blue, liner
origin: own test

base:
    nepheline syenite    80
    china clay           40
    silica               80

additions:
    tin oxide             5 %

variation "storm":
    tin oxide             0
    cobalt carbonate      1

series "steps":
    cobalt carbonate      0.25, 0
"""


def rows(text: str) -> tuple[Row, ...]:
    resolved = resolve(parse(Source("ebb.glost", text)), shipped_catalogue())
    return RowBuilder(shipped_catalogue()).rows(resolved)


def test_a_row_a_test() -> None:
    found = rows(PAGE)
    assert [(row.test, row.line) for row in found] == [
        ("", 1),
        ("storm", 17),
        ("steps 1", 21),
        ("steps 2", 21),
    ]
    about = found[0].about
    assert (about.kind, about.name, about.cone) == ("glaze", "Ebb", "5-6")
    assert (about.cone_low, about.cone_high) == (D(5), D(6))
    assert (about.surface, about.use, about.tags, about.colour) == ("satin", "test", ("blue", "liner"), "")
    assert about.others == (("origin", "own test"),)
    assert (about.read, found[0].findings, found[0].revision) == ("whole", (), None)


def test_surface_and_colour_are_those_of_the_test_itself() -> None:
    """What was seen on the tile of the recipe is not said of its variations, steps and points."""
    text = PAGE + '\nvariation "seen":\n    colour: blue\n    cobalt carbonate   1\n'
    found = {row.test: (row.about.surface, row.about.colour) for row in rows(text)}
    assert found == {
        "": ("satin", ""),
        "storm": ("", ""),
        "seen": ("", "blue"),
        "steps 1": ("", ""),
        "steps 2": ("", ""),
    }


def test_amounts_stand_on_a_base_of_100() -> None:
    plain, storm, _, second = rows(PAGE)
    assert [(one.called, one.parts, one.on_100) for one in plain.weighed] == [
        ("nepheline syenite", D(80), D(40)),
        ("kaolin", D(40), D(20)),
        ("silica", D(80), D(40)),
        ("tin oxide", D(10), D(5)),
    ]
    assert plain.weighed[1].name == "china clay"
    assert [one.called for one in storm.weighed if not one.base] == ["cobalt carbonate"]
    assert [one.called for one in second.weighed if not one.base] == ["tin oxide"]


@pytest.mark.parametrize(
    ("amounts", "shown"),
    [("1 1 1", ["33.3333"] * 3), ("60 40", ["60", "40"]), ("99.99999 0.00001", ["100", "0.00001"]),
     ("12.5 87.5", ["12.5", "87.5"])],
)  # fmt: skip
def test_amounts_for_reading(amounts: str, shown: list[str]) -> None:
    names = ("silica", "kaolin", "whiting")
    lines = "".join(f"    {name}  {amount}\n" for name, amount in zip(names, amounts.split(), strict=False))
    assert [amount_text(one) for one in rows(f'glaze "A"\nbase:\n{lines}')[0].weighed] == shown


def test_a_base_in_masses_and_one_of_nothing() -> None:
    (row,) = rows('glaze "A"\nbase:\n    silica  30 g\n    kaolin  90 g\n')
    assert [(one.parts, one.on_100) for one in row.weighed] == [(D(30), D(25)), (D(90), D(75))]
    (row,) = rows('glaze "A"\nbase:\n    silica  0\n\nadditions:\n    tin oxide  3\n')
    assert [(one.called, one.parts, one.on_100) for one in row.weighed] == [("tin oxide", D(3), None)]


def test_cones_as_numbers_grow_with_the_heat() -> None:
    numbers = [read_cone(name).numbers for name in KNOWN]
    assert numbers == sorted(numbers)  # type: ignore[type-var]
    assert len(set(numbers)) == len(KNOWN)
    assert read_cone("04-02").numbers == (D(-4), D(-2))
    assert read_cone("6 1/2").numbers == (D("6.5"), D("6.5"))
    assert read_cone("04 1/2").numbers == (D("-4.5"), D("-4.5"))
    assert read_cone("5 1/2-6").numbers == (D("5.5"), D(6))
    assert read_cone("42").numbers == (D(42), D(42))
    assert read_cone("43").numbers is read_cone("022 1/2").numbers is read_cone("42 1/2").numbers is None


def test_hazards_with_their_materials() -> None:
    plain, storm, first, second = rows(PAGE)
    # Kaolin carries some quartz, and is listed for it.
    assert plain.statements == {"H350i": ("kaolin", "silica"), "H372": ("silica",), "H373": ("kaolin",)}
    assert storm.statements["H372"] == ("silica",)
    assert "cobalt carbonate" in storm.statements["H317"]
    assert first.statements == storm.statements
    assert second.statements == plain.statements
    assert all(row.hazards_known for row in (plain, storm))
    assert [told.partition(":")[0] for told in plain.sources["H350i"]] == ["a committee's opinion, not law"]
    assert [told.partition(":")[0] for told in plain.sources["H372"]] == ["industry"]
    assert set(storm.sources) == set(storm.statements)
    assert "nepheline syenite" in plain.hazards.silent
    assert "kaolin" not in plain.hazards.silent


def test_what_is_not_known_is_said() -> None:
    (row,) = rows('glaze "A"\nbase:\n    silica  60\n    moon dust  40\n')
    assert (row.hazards_known, row.hazards.unknown, row.about.read) == (False, ("moon dust",), "whole")
    (row,) = rows('glaze "A"\nbase:\n    silica  60\n    kaolin  4O\n')
    assert (row.hazards_known, row.hazards.unknown, row.about.read) == (False, (), "in part")
    # A base that lacks a line has no total to go by.
    assert [(one.parts, one.on_100) for one in row.weighed] == [(D(60), None)]


@pytest.mark.parametrize("text", ["", "\n", "what is this", 'glaze "A"\n', "base:\n    silica 100\n"])
def test_any_page_has_a_row(text: str) -> None:
    found = rows(text)
    assert len(found) == 1
    assert found[0].line == 1


def test_each_statement_of_the_catalogue_belongs_to_a_group() -> None:
    codes = {code for material in shipped_catalogue() for code in material.statements}
    assert len(codes) > 20
    for code in codes:
        assert groups_of([code]) - {"other"}, code
        # What calls for a handling note is never filed under something milder alone.
        assert bool(needs_note([code])) == bool(groups_of([code]) & set(CLASSES)), code
    assert groups_of(["EUH066"]) == groups_of(["H999"]) == {"other"}
    assert groups_of(["h360fd", "H350i "]) == {"reproductive", "carcinogenic"}
    assert groups_of(["H302+H315"]) == {"acute", "irritant"}
    assert groups_of([]) == frozenset()
    assert len({group.key for group in ALL}) == len(ALL)


def test_findings_are_those_of_the_linter_and_hold_files_against_each_other(tmp_path: Path) -> None:
    (tmp_path / "glost.yaml").write_text("name: Here (invented)\nrules: {missing-handling-note: hint}\n")
    for name in ("one", "two"):
        (tmp_path / f"{name}.glost").write_text(PAGE)
    (tmp_path / "three.glost").write_bytes(b"\xff\xfe\x00")
    paths = sorted(tmp_path.glob("*.glost"))
    collections = Collections()
    gathered = gather(list(see_all(paths, collections)), collections)
    by_name = {Path(row.about.file).name: row for row in gathered.rows}
    assert (gathered.broken, gathered.names) == (True, ("Here (invented)",))
    assert {one.rule for one in by_name["one.glost"].findings} >= {"same-name", "missing-handling-note"}
    assert {one.level for one in by_name["one.glost"].findings if one.rule == "missing-handling-note"} == {
        "hint"
    }
    unread = by_name["three.glost"]
    assert (unread.about.read, [one.rule for one in unread.findings]) == ("not at all", ["unreadable"])
    assert not unread.hazards_known
    assert sum(unread.counts.values()) == 1
    assert "china clay" in gathered.aliases["kaolin"]
