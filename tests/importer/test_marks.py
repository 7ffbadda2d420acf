"""What marks an addition, in the head of a column, in a cell and in a line: a row a way to write it."""

from __future__ import annotations

import pytest

from glost.importer.items import read_item
from glost.importer.marks import Head, block_of, is_additions_head, is_base_head
from glost.importer.materials import Names
from tests.importer.bench import CATALOGUE

NAMES = Names(CATALOGUE)


@pytest.mark.parametrize(
    ("text", "head"),
    [
        ("Silica", Head("Silica")),
        ("Silica (%)", Head("Silica", "%")),
        ("Silica [g]", Head("Silica", "g")),
        ("Silica, grams", Head("Silica", "g")),
        ("Silica in %", Head("Silica", "%")),
        ("% Silica", Head("Silica", "%")),
        ("Frit G", Head("Frit G")),
        ("+ Pipestone %", Head("Pipestone", "%", True)),
        ("+Pipestone", Head("Pipestone", "", True)),
        ("(+) Pipestone", Head("Pipestone", "", True)),
        ("(+ Pipestone)", Head("Pipestone", "", True)),
        ("Pipestone +", Head("Pipestone", "", True)),
        ("Pipestone +%", Head("Pipestone", "%", True)),
        ("Pipestone (+ %)", Head("Pipestone", "%", True)),
        ("Pipestone % (add)", Head("Pipestone", "%", True)),
        ("Pipestone (add, %)", Head("Pipestone", "%", True)),
        ("Pipestone added", Head("Pipestone", "", True)),
        ("Pipestone, extra", Head("Pipestone", "", True)),
        ("Pipestone (colourant)", Head("Pipestone", "", True)),
        ("add Pipestone", Head("Pipestone", "", True)),
        ("Add: Pipestone (g)", Head("Pipestone", "g", True)),
        ("plus Pipestone", Head("Pipestone", "", True)),
        ("Addition - Pipestone", Head("Pipestone", "", True)),
        ("Opacifier: Pipestone", Head("Pipestone", "", True)),
        ("Rutile (extra)", Head("Rutile", "", True)),
        ("Rutile, extra", Head("Rutile", "", True)),
        ("Zirconium Silicate [opacifier, %]", Head("Zirconium Silicate", "%", True)),
        ("Zircon (opacifier)", Head("Zircon", "", True)),
        ("Silica (extra fine)", Head("Silica (extra fine)")),
    ],
)
def test_head_of_a_column(text: str, head: Head) -> None:
    assert NAMES.read_head(text) == head


@pytest.mark.parametrize(
    ("line", "name"),
    [
        ("+ rutile 4", "rutile"),
        ("+4 rutile", "rutile"),
        ("rutile +4", "rutile"),
        ("rutile + 4 %", "rutile"),
        ("rutile 4 +", "rutile"),
        ("4% rutile +", "rutile"),
        ("4 + rutile", "rutile"),
        ("(+) rutile 4", "rutile"),
        ("(+ rutile 4)", "rutile"),
        ("* + rutile 4", "rutile"),
        ("plus 4 rutile", "rutile"),
        ("and add rutile 4", "rutile"),
        ("rutile 4 (add)", "rutile"),
        ("rutile 4 % added", "rutile"),
        ("rutile 4 extra", "rutile"),
        ("colourant: rutile 4", "rutile"),
        ("with 4% rutile", "rutile"),
        ("additions: rutile 4", "rutile"),
    ],
)
def test_line_that_is_marked(line: str, name: str) -> None:
    read = read_item(line)
    assert read is not None
    assert (read.name, read.plus, [amount["number"] for amount in read.amounts]) == (name, True, ["4"])


@pytest.mark.parametrize("line", ["rutile 4", "4 rutile", "rutile - 4", "rutile 4 (fine)", "1. rutile 4"])
def test_line_that_is_not_marked(line: str) -> None:
    read = read_item(line)
    assert read is not None
    assert not read.plus


@pytest.mark.parametrize("text", ["+", "Add:", "Additions (%)", "plus", "Colorants", "and add:",
                                  "Additions & opacifiers", "On top"])  # fmt: skip
def test_head_of_additions(text: str) -> None:
    assert is_additions_head(text)
    assert not is_base_head(text)


@pytest.mark.parametrize("text", ["Add tin", "Extra White", "silica", "", "Addington"])
def test_no_head_of_additions(text: str) -> None:
    assert not is_additions_head(text)


@pytest.mark.parametrize(
    ("section", "block"),
    [("base", "base"), ("Recipe", "base"), ("addition", "additions"), ("Colorant", "additions"), ("+", "additions"),
     ("(added)", "additions"), ("opacifier", "additions"), ("flux", None), ("clay", None), ("", None)],
)  # fmt: skip
def test_section(section: str, block: str | None) -> None:
    assert block_of(section) == block
