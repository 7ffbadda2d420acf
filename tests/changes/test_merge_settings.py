"""Two changes of a materials.yaml or a glost.yaml put together, entry by entry."""

from __future__ import annotations

import itertools
from collections.abc import Mapping

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from glost.changes.merge import Marks, MergeError
from glost.changes.merge_settings import merged_settings
from tests.changes.test_merge import by_lines

MATERIALS = """\
# Invented, all of it.
materials:
  - name: orchard ash
    aliases: [apple ash]
    role: ash
    analysis: {SiO2: 14.6, CaO: 38.9}
    loss: 27.8

  # of the bank
  - name: house red clay
    role: clay
    price: 0.15 EUR/kg
    analysis:
      SiO2: 57.4
      Al2O3: 18.6
    loss: 8.7
"""


def entry(name: str, more: str = "") -> str:
    return f"\n  - name: {name}\n    role: clay\n{more}"


def merge(ours: str, theirs: str, base: str = MATERIALS) -> tuple[str, list[str]]:
    text, conflicts = merged_settings(base, ours, theirs, by_lines, Marks(7, "main", "1a2b3c4", "trial"))
    return text, [conflict.where for conflict in conflicts]


def names(text: str) -> list[str]:
    return [material["name"] for material in yaml.safe_load(text)["materials"]]


def test_two_that_add_a_material_are_not_in_each_others_way() -> None:
    text, conflicts = merge(MATERIALS + entry("loft clay"), MATERIALS + entry("kiln wash", "    loss: 3\n"))
    assert conflicts == []
    assert text.startswith(MATERIALS)
    assert sorted(names(text)) == ["house red clay", "kiln wash", "loft clay", "orchard ash"]


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (("role: ash", "role: flux"), ("[apple ash]", "[apple ash, prunings ash]")),
        (("0.15", "0.17"), ("role: clay", "role: clay\n    source: invented")),
        (("    price: 0.15 EUR/kg\n", ""), ("loss: 27.8", "loss: 27.9")),
        (("# of the bank", "# of the other bank"), ("0.15", "0.17")),
        (("# Invented, all of it.", "# Invented."), ("loss: 8.7", "loss: 9")),
    ],
    ids=["beside", "new key", "taken out", "comment", "top"],
)
def test_keys_of_one_material_are_changed_each_by_itself(
    one: tuple[str, str], other: tuple[str, str]
) -> None:
    meant = MATERIALS.replace(*one).replace(*other)
    for here, there in ((one, other), (other, one)):
        text, conflicts = merge(MATERIALS.replace(*here), MATERIALS.replace(*there))
        assert conflicts == []
        assert yaml.safe_load(text) == yaml.safe_load(meant)
        assert sorted(text.splitlines()) == sorted(meant.splitlines())  # no comment is lost


def test_one_key_changed_by_both_is_a_conflict_that_names_it() -> None:
    text, conflicts = merge(
        MATERIALS.replace("0.15", "0.17") + entry("loft clay"), MATERIALS.replace("0.15", "0.2")
    )
    assert conflicts == ["materials, house red clay, price"]
    assert (
        """\
<<<<<<< main: materials, house red clay, price
    price: 0.17 EUR/kg
=======
    price: 0.2 EUR/kg
>>>>>>> trial: materials, house red clay, price
"""
        in text
    )
    assert "name: loft clay" in text


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (("SiO2: 57.4", "SiO2: 57.0"), ("Al2O3: 18.6", "Al2O3: 18.7")),
        (("SiO2: 57.4", "SiO2: 57.0"), ("loss: 8.7", "loss: 8.9")),
    ],
)
def test_an_analysis_and_its_loss_are_one_measurement(one: tuple[str, str], other: tuple[str, str]) -> None:
    _, conflicts = merge(MATERIALS.replace(*one), MATERIALS.replace(*other))
    assert conflicts in (["materials, house red clay, analysis"], ["materials, house red clay"])


def test_two_new_materials_of_one_name_are_a_conflict_of_the_whole_entry() -> None:
    _, conflicts = merge(MATERIALS + entry("loft clay"), MATERIALS + entry("Loft Clay", "    loss: 2\n"))
    assert conflicts == ["materials, loft clay"]


def test_taken_out_and_changed() -> None:
    out = MATERIALS[: MATERIALS.index("\n  # of the bank")]
    _, conflicts = merge(out, MATERIALS.replace("0.15", "0.2"))
    assert conflicts == ["materials, house red clay"]
    assert merge(out, MATERIALS) == (out, [])


@pytest.mark.parametrize(
    "ours",
    ["materials: [\n", MATERIALS.replace("\n", "\r\n"), "a: 1\na: 2\n", "&x a: 1\n"],
    ids=["no YAML", "line breaks", "twice", "anchor"],
)
def test_a_side_that_cannot_be_read_is_not_put_together(ours: str) -> None:
    with pytest.raises(MergeError):
        merge(ours, MATERIALS.replace("0.15", "0.2"))


def test_settings_are_merged_the_same_way() -> None:
    base = "name: studio\nhouse notes:\n  silica: P100\nskip:\n  - old\nrules:\n  other-name: off\n"
    ours = base.replace("  silica: P100\n", "  silica: P100\n  talc: P100\n").replace(
        "- old\n", "- old\n  - raw\n"
    )
    theirs = base.replace("  silica: P100\n", "  silica: P100\n  rutile: wet\n").replace(
        "- old\n", "- old\n  - tin\n"
    )
    text, conflicts = merge(ours, theirs, base)
    assert conflicts == []
    read = yaml.safe_load(text)
    assert read["house notes"] == {"silica": "P100", "talc": "P100", "rutile": "wet"}
    assert sorted(read["skip"]) == ["old", "raw", "tin"]


# ---- any edits -------------------------------------------------------------------------------------------

NAMES = ["loft clay", "bank clay", "kiln ash", "tide silt", "yard marl"]
KEYS = ["role", "price", "source"]
materials = st.dictionaries(
    st.sampled_from(NAMES),
    st.dictionaries(st.sampled_from(KEYS), st.sampled_from("123"), min_size=1),
    min_size=1,
)
Held = Mapping[str, Mapping[str, str]]


def page(held: Held) -> str:
    lines = ["materials:"]
    for name in NAMES:
        if name in held:
            lines += [
                f"  - name: {name}",
                *(f"    {key}: {held[name][key]}" for key in KEYS if key in held[name]),
            ]
    return "\n".join(lines) + "\n"


def flat(held: Held) -> dict[tuple[str, str], str]:
    return {(name, key): text for name, keys in held.items() for key, text in {**keys, "name": name}.items()}


@settings(max_examples=200, deadline=None)
@given(materials, materials, materials)
def test_whatever_is_merged_without_a_conflict_says_what_both_mean(
    base: Held, ours: Held, theirs: Held
) -> None:
    """Against three sets of facts: what is in a side and not in the base was put in, and the other way round."""
    text, conflicts = merge(page(ours), page(theirs), page(base))
    if conflicts:
        assert text.count("<<<<<<< ") == text.count(">>>>>>> ") == len(conflicts)
        return
    read = {
        (material["name"], key): str(value)
        for material in yaml.safe_load(text)["materials"]
        for key, value in material.items()
    }
    was, here, there = flat(base), flat(ours), flat(theirs)
    for place in {*was, *here, *there, *read}:
        a, b, c = was.get(place), here.get(place), there.get(place)
        meant = c if b == a else b
        assert b == c or a in (b, c)
        assert read.get(place) == meant


def test_conflicts_are_only_where_both_changed_one_key() -> None:
    base = {"loft clay": {"role": "1", "price": "1"}, "kiln ash": {"role": "1"}}
    changes = [("loft clay", "role"), ("loft clay", "price"), ("kiln ash", "role"), ("kiln ash", "source")]
    for one, other in itertools.product(changes, changes):
        sides = []
        for (name, key), text in ((one, "2"), (other, "3")):
            held = {known: dict(keys) for known, keys in base.items()}
            held[name][key] = text
            sides.append(page(held))
        _, conflicts = merge(sides[0], sides[1], page(base))
        assert bool(conflicts) == (one == other), (one, other)


BALANCES = """\
balances:
  - {name: fine, capacity: 300 g, readability: 0.01 g}  # by the window
  - { name: floor, capacity: 6 kg, readability: 0.1 g }
bodies:
  crank: {expansion: 58e-7/K, range: 20-500 C, source: a sheet}
"""


@pytest.mark.parametrize(
    ("one", "other", "line"),
    [
        (("300 g", "320 g"), ("0.01 g", "0.02 g"), "{name: fine, capacity: 320 g, readability: 0.02 g}  # by the window"),  # noqa: E501
        (("300 g", "320 g"), ("window", "door"), "{name: fine, capacity: 320 g, readability: 0.01 g}  # by the door"),
        (
            ("0.01 g}", "0.01 g, minimum: 1 g}"),
            ("{name: fine, capacity: 300 g,", "{name: fine, capacity: 310 g, cup: 20 g,"),
            "{name: fine, capacity: 310 g, cup: 20 g, readability: 0.01 g, minimum: 1 g}  # by the window",
        ),
        (("6 kg", "5 kg"), ("0.1 g", "0.5 g"), "{ name: floor, capacity: 5 kg, readability: 0.5 g }"),
    ],
)  # fmt: skip
def test_an_entry_in_braces_is_merged_key_by_key(
    one: tuple[str, str], other: tuple[str, str], line: str
) -> None:
    for ours, theirs in ((one, other), (other, one)):
        text, conflicts = merge(BALANCES.replace(*ours), BALANCES.replace(*theirs), BALANCES)
        assert conflicts == []
        found = yaml.safe_load(text)["balances"]
        assert yaml.safe_load(line) in found
        assert len(found) == 2
        assert line.partition("#")[2] in text
    assert text.count("\n") == BALANCES.count("\n")


@pytest.mark.parametrize(
    ("one", "other", "label"),
    [
        (("300 g", "320 g"), ("300 g", "330 g"), "balances, fine"),
        (("58e-7", "60e-7"), ("500 C", "400 C"), "bodies, crank"),
        (("capacity: 300 g, ", ""), ("300 g", "330 g"), "balances, fine"),
    ],
)
def test_what_is_one_figure_or_one_measurement_is_not_mixed(
    one: tuple[str, str], other: tuple[str, str], label: str
) -> None:
    for text in (BALANCES, BALANCES.replace("{expansion", "\n    expansion").replace(
        ", range", "\n    range").replace(", source: a sheet}", "\n    source: a sheet")):  # fmt: skip
        _, conflicts = merge(text.replace(*one), text.replace(*other), text)
        assert conflicts == [label]


def test_a_conflict_says_what_stands_on_both_sides() -> None:
    sides = [BALANCES.replace("300 g", f"3{digit}0 g") for digit in "012"]
    _, (conflict,) = merged_settings(sides[0], sides[1], sides[2], by_lines, Marks())
    said = [side.split("- ")[1].split("\n")[0] for side in (*sides[1:], sides[0])]
    assert [conflict.ours, conflict.theirs, conflict.base] == [f"- {line}" for line in said]
