"""The shipped catalogue: its data hold what their schema says, and every spelling finds its one material."""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import jsonschema
import pytest

import glost.recipe.materials.catalogue as module
from glost.language.shipped import shipped
from glost.language.source import Source
from glost.recipe.materials.catalogue import (
    ROLES,
    SOLUBLE,
    Catalogue,
    LibraryError,
    Material,
    key,
    shipped_catalogue,
)
from glost.recipe.materials.formula import atoms
from glost.recipe.materials.own import with_own_materials
from glost.recipe.safety.statements import statement_text

SCHEMA: dict[str, Any] = json.loads(shipped("schema", "catalogue.schema.json").read_text("utf-8"))
FILES = sorted((Path(module.__file__).parent / "data").glob("*.json"))
GROUPS: dict[str, dict[str, Any]] = {path.stem: json.loads(path.read_text("utf-8")) for path in FILES}
ENTRIES: list[dict[str, Any]] = [entry for group in GROUPS.values() for entry in group["materials"]]
every_entry = pytest.mark.parametrize("entry", ENTRIES, ids=[entry["name"] for entry in ENTRIES])


@pytest.mark.parametrize("group", GROUPS)
def test_group_holds_what_the_schema_says(group: str) -> None:
    jsonschema.Draft202012Validator(SCHEMA).validate(GROUPS[group])
    assert GROUPS[group]["group"] == group


def test_catalogue_schema_is_a_schema() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)


def test_there_are_materials_enough() -> None:
    assert len(ENTRIES) >= 90
    assert len(shipped_catalogue()) == len(ENTRIES)
    assert {material.name for material in shipped_catalogue()} == {entry["name"] for entry in ENTRIES}


def _valued(part: Any, at: str) -> Iterator[tuple[str, dict[str, Any]]]:
    """Every record below ``part`` that holds values, with where it stands."""
    if isinstance(part, dict):
        if at.rpartition("/")[2] != "oxides":
            yield at, part
        for word, inner in part.items():
            yield from _valued(inner, f"{at}/{word}")
    elif isinstance(part, list):
        for number, inner in enumerate(part):
            yield from _valued(inner, f"{at}/{number}")


@every_entry
def test_every_value_has_a_source(entry: dict[str, Any]) -> None:
    for at, part in _valued(entry, entry["name"]):
        assert part.get("source", "").strip(), at
    if entry["cas"]:
        assert "CAS" in entry["source"] or "from memory" in entry["source"]


@every_entry
def test_entry_is_in_the_words_of_the_code(entry: dict[str, Any]) -> None:
    found = shipped_catalogue().find(entry["name"])
    assert found is not None
    assert found.role in ROLES
    assert found.soluble in SOLUBLE
    for code in found.statements:
        assert statement_text(code), code


@every_entry
def test_name_needs_no_quotes_and_spellings_are_whole(entry: dict[str, Any]) -> None:
    assert entry["name"] == key(entry["name"])
    for spelling in (entry["name"], *entry["aliases"]):
        assert spelling == " ".join(spelling.split())
        # An alias that was cut at a comma shows by a bracket without its partner.
        assert spelling.count("(") == spelling.count(")"), spelling
        assert spelling.find(")") >= spelling.find("("), spelling
        assert not spelling.startswith((")", "-", ","))
        assert not spelling.endswith(("(", "-", ","))
        assert len(spelling) > 1


def test_names_and_aliases_are_unique_over_all_groups() -> None:
    spellings = Counter(key(spelling) for entry in ENTRIES for spelling in (entry["name"], *entry["aliases"]))
    assert [spelling for spelling, count in spellings.items() if count > 1] == []


@every_entry
def test_cas_check_figures(entry: dict[str, Any]) -> None:
    for number in entry["cas"]:
        figures = number[:-2].replace("-", "")
        assert sum(place * int(f) for place, f in enumerate(reversed(figures), 1)) % 10 == int(number[-1]), (
            number
        )


@every_entry
def test_analysis_adds_up(entry: dict[str, Any]) -> None:
    composition = entry["composition"]
    if composition["kind"] == "analysis":
        total = sum(
            (Decimal(value) for value in composition["oxides"].values()), Decimal(composition["loss"])
        )
        assert abs(total - 100) <= Decimal(composition["sum tolerance"])


_LEAVES = {
    "S": "sulfur",
    "F": "fluorine",
    "Cl": "chlorid",
    "N": "nitrogen|ammonia",
    "As": "arsenic",
    "Se": "selenium",
}
"""What leaves a kiln as a harmful fume, and what a note calls it."""


@every_entry
def test_what_gives_off_a_harmful_fume_says_so(entry: dict[str, Any]) -> None:
    held = entry["composition"]
    if held["kind"] == "formula":
        elements = set(atoms(held["formula"]))
    elif held["kind"] == "analysis":
        # A trace in a glass or an ore is none: less than 0.7 % of the raw material.
        elements = {
            element
            for oxide, percent in held["oxides"].items()
            if Decimal(percent) >= Decimal("0.7")
            for element in atoms(oxide)
        }
    else:
        return
    for element in elements & _LEAVES.keys():
        assert re.search(_LEAVES[element], entry.get("note", "")), element


def test_restricted_materials_are_read_and_flagged() -> None:
    restricted = {
        material.name: material.restricted for material in shipped_catalogue() if material.restricted
    }
    assert "lead" in restricted.values()
    assert "cadmium" in restricted.values()


# ---- looking up ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("kaolin", "kaolin"),
        ("china clay", "kaolin"),
        ("Kaolin", "kaolin"),
        ("CHINA  CLAY", "kaolin"),
        (" china\u00a0clay ", "kaolin"),
        ("quartz", "silica"),
        ("rio", "red iron oxide"),
        ("Iron(III) oxide", "red iron oxide"),
        ("magnetite", "black iron oxide"),
    ],
)
def test_every_spelling_finds_its_material(written: str, name: str) -> None:
    found = shipped_catalogue().find(written)
    assert found is not None
    assert found.name == name


@every_entry
def test_every_alias_finds_its_entry(entry: dict[str, Any]) -> None:
    for spelling in (entry["name"], *entry["aliases"]):
        for written in (spelling, spelling.upper(), spelling.title(), spelling.replace(" ", "   ")):
            found = shipped_catalogue().find(written)
            assert found is not None, written
            assert found.name == entry["name"]


@pytest.mark.parametrize(
    "written", ["", " ", "clay from behind the shed", "iron(ii", "iii) oxide", "all", "a" * 5000]
)
def test_what_is_no_material_is_none(written: str) -> None:
    assert shipped_catalogue().find(written) is None


@pytest.mark.parametrize(
    ("slip", "meant"),
    [
        ("nephelin syenite", "nepheline syenite"),
        ("sillica", "silica"),
        ("whitting", "whiting"),
        ("cobalt carbonat", "cobalt carbonate"),
        ("Zink Oxide", "zinc oxide"),
        ("chiná clay", "kaolin"),
    ],
)
def test_nearest_name(slip: str, meant: str) -> None:
    assert shipped_catalogue().nearest(slip)[0] == meant


def test_nearest_names_are_few_and_each_once() -> None:
    near = shipped_catalogue().nearest("iron oxide x", most=3)
    assert len(near) <= 3
    assert len(set(near)) == len(near)
    assert shipped_catalogue().nearest("xyzzy plugh") == []
    assert shipped_catalogue().nearest("") == []
    assert shipped_catalogue().nearest("q" * 100_000) == []


# ---- a collection's own --------------------------------------------------------------------------------

SHIPPED = Catalogue(
    [
        Material("kaolin", "clay", "common practice", aliases=("china clay", "white clay")),
        Material("silica", "silica", "common practice", aliases=("quartz", "flint")),
    ]
)


def named(catalogue: Catalogue, name: str) -> str | None:
    found = catalogue.find(name)
    return found.name if found else None


def test_own_material_is_added() -> None:
    together = SHIPPED.with_own([Material("house clay", "clay", "studio", aliases=("hc",))])
    assert [material.name for material in together] == ["house clay", "kaolin", "silica"]
    assert named(together, "HC") == "house clay"
    assert len(SHIPPED) == 2


def test_own_material_takes_the_place_of_its_namesake() -> None:
    together = SHIPPED.with_own([Material("kaolin", "clay", "studio", aliases=("ours",))])
    found = together.find("ours")
    assert found is not None
    assert (found.name, found.source) == ("kaolin", "studio")
    assert len(together) == 2


def test_own_alias_goes_before_the_catalogue_s() -> None:
    together = SHIPPED.with_own([Material("flint pebbles", "silica", "studio", aliases=("Flint",))])
    assert named(together, "flint") == "flint pebbles"
    assert named(together, "quartz") == "silica"
    assert named(SHIPPED, "flint") == "silica"
    found = together.find("silica")
    assert found is not None
    assert found.aliases == ("quartz",)


@pytest.mark.parametrize(
    "own",
    [
        [Material("house clay", "clay", "studio", aliases=("kaolin",))],
        [Material("house clay", "clay", "studio", aliases=("Kaolin",))],
        [Material("a", "clay", "studio", aliases=("c",)), Material("b", "clay", "studio", aliases=("C",))],
        [Material("a", "clay", "studio"), Material("b", "clay", "studio", aliases=("A",))],
    ],
)
def test_one_spelling_cannot_stand_for_two(own: list[Material]) -> None:
    with pytest.raises(LibraryError):
        SHIPPED.with_own(own)


def test_an_entry_keeps_what_it_leaves_out() -> None:
    together = with_own_materials(
        shipped_catalogue(),
        Source(
            "m", "materials:\n  - name: manganese dioxide\n    note: ours is coarse\n    aliases: [pyro]\n"
        ),
    )
    before, after = shipped_catalogue().find("manganese dioxide"), together.find("pyro")
    assert before is not None
    assert after is not None
    assert after.note == "ours is coarse"
    assert after.aliases == (*before.aliases, "pyro")
    for word in ("hazards", "cas", "role", "source", "composition", "density"):
        assert getattr(after, word) == getattr(before, word), word
    assert len(together) == len(shipped_catalogue())


def test_a_stated_alias_goes_before_one_that_another_entry_keeps() -> None:
    text = (
        "materials:\n  - name: kaolin\n    note: ours is damp\n"
        "  - name: house clay\n    role: clay\n    source: invented\n    aliases: [china clay]\n"
    )
    together = with_own_materials(shipped_catalogue(), Source("m", text))
    assert named(together, "china clay") == "house clay"
    assert named(together, "kaolin") == "kaolin"


def test_own_hazards_carry_their_source_and_standing() -> None:
    text = (
        "materials:\n  - name: manganese dioxide\n    hazards: [H302, H373]\n"
        "    hazard source: sheet of 2026-03\n"
        "  - name: whiting\n    analysis: {CaO: 55.2, MgO: 0.6}\n    loss: 43.9\n"
        "    source: own sheet, invented\n"
    )
    together = with_own_materials(shipped_catalogue(), Source("m", text))
    found = together.find("manganese dioxide")
    assert found is not None
    assert [(h.statements, h.source, h.standing) for h in found.hazards] == [
        (("H302", "H373"), "sheet of 2026-03", "studio")
    ]
    whiting = together.find("whiting")
    assert whiting is not None
    assert whiting.composition == {
        "kind": "analysis",
        "oxides": {"CaO": "55.2", "MgO": "0.6"},
        "loss": "43.9",
        "source": "own sheet, invented",
        "standing": "studio",
    }
