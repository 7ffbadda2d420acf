"""The limits that are held, against the rules that set them; the source stands beside each."""

from __future__ import annotations

from decimal import Decimal

import pytest

from glost.chemistry.usual import usual_ranges
from glost.recipe.safety.limits import exposure_limits, leaching_limits

D = Decimal


# Sources: 29 CFR 1910.1053 and 1910.1053(c), the recommended limit of NIOSH of 1974 and the threshold limit value of
# ACGIH, all as quoted by CPWR and other bodies of occupational health.
@pytest.mark.parametrize(
    ("authority", "rule", "value"),
    [
        ("OSHA", "permissible exposure limit", "50"),
        ("OSHA", "action level", "25"),
        ("NIOSH", "recommended exposure limit", "50"),
        ("ACGIH", "threshold limit value", "25"),
    ],
)
def test_respirable_crystalline_silica(authority: str, rule: str, value: str) -> None:
    (row,) = [
        row for row in exposure_limits() if row.authority.startswith(authority) and row.rule.find(rule) >= 0
    ]
    assert (row.substance, row.value, row.unit) == ("respirable crystalline silica", D(value), "µg/m³")
    assert row.standing == "second-hand"


# Source: the Ontario table of the PyPI package chemicals 1.5.2, in mg/m³; good for the order of magnitude.
@pytest.mark.parametrize(
    ("substance", "values"),
    [
        ("manganese", {"0.2"}),
        ("cobalt", {"0.02"}),
        ("barium", {"0.5"}),
        ("antimony", {"0.5"}),
        ("borates", {"2", "6"}),
        ("lead", {"0.05"}),
        ("kaolin", {"2"}),
        ("talc", {"2"}),
        ("zinc oxide", {"2"}),
        ("vanadium pentoxide", {"0.05"}),
    ],
)
def test_limits_of_ontario(substance: str, values: set[str]) -> None:
    rows = [
        row
        for row in exposure_limits()
        if row.authority.startswith("Ontario") and row.substance.startswith(substance)
    ]
    assert {row.value for row in rows} == {D(value) for value in values}
    assert {(row.unit, row.standing) for row in rows} == {("mg/m³", "second-hand")}


# Source: a guide on silica of a Canadian association for safety at work, which quotes the regulation of Ontario. The
# table of the package merges the row, and keeps the strictest of its limits.
@pytest.mark.parametrize(
    ("substance", "value"), [("quartz", "0.10"), ("tripoli", "0.10"), ("cristobalite", "0.05")]
)
def test_silica_of_ontario_by_its_kind(substance: str, value: str) -> None:
    (row,) = [
        row for row in exposure_limits() if row.authority.startswith("Ontario") and substance in row.substance
    ]
    assert (row.substance, row.value, row.unit) == (f"{substance}, respirable", D(value), "mg/m³")
    assert row.standing == "second-hand"
    assert "package" not in row.source


# Source: the directives named, from memory, not compared with their texts; the check is that they say so.
@pytest.mark.parametrize(
    ("substance", "directive", "values"),
    [
        ("respirable crystalline silica", "(EU) 2017/2398", {"0.1"}),
        ("chromium(VI)", "(EU) 2017/2398", {"0.005"}),
        ("cadmium", "(EU) 2019/983", {"0.001"}),
        ("arsenic", "(EU) 2019/983", {"0.01"}),
        ("nickel", "(EU) 2022/431", {"0.05", "0.01"}),
        ("lead", "(EU) 2024/869", {"0.03"}),
        ("manganese", "(EU) 2017/164", {"0.2", "0.05"}),
        ("carbon monoxide", "(EU) 2017/164", {"23", "117"}),
        ("hydrogen chloride", "2000/39/EC", {"8", "15"}),
    ],
)
def test_limits_of_the_european_union(substance: str, directive: str, values: set[str]) -> None:
    rows = [
        row
        for row in exposure_limits()
        if row.authority == "European Union" and row.substance.startswith(substance)
    ]
    assert {row.value for row in rows} == {D(value) for value in values}
    assert all(directive in row.rule for row in rows)
    assert {row.standing for row in rows} == {"from memory"}


def test_no_row_merges_limits_that_differ() -> None:
    assert [row.substance for row in exposure_limits() if " or " in row.substance] == []
    asked = [(row.substance, row.authority, row.rule, row.over) for row in exposure_limits()]
    assert len(asked) == len(set(asked))


def _limits(rule: str) -> list[tuple[str, Decimal, str]]:
    return [(row.metal, row.value, row.unit) for row in leaching_limits() if row.rule.startswith(rule)]


def _standings(rule: str) -> set[str]:
    return {row.standing for row in leaching_limits() if row.rule.startswith(rule)}


# Source: Directive 84/500/EEC, article 2(4), read in German and in the practical guide of the European Union:
# category 1 (not fillable, or at most 25 mm deep), 2 (all other fillable), 3 (cooking ware, storage over 3 l).
def test_directive_84_500() -> None:
    assert _limits("Directive 84/500/EEC") == [
        ("lead", D("0.8"), "mg/dm²"),
        ("cadmium", D("0.07"), "mg/dm²"),
        ("lead", D("4.0"), "mg/l"),
        ("cadmium", D("0.3"), "mg/l"),
        ("lead", D("1.5"), "mg/l"),
        ("cadmium", D("0.1"), "mg/l"),
    ]
    assert _standings("Directive 84/500/EEC") == {"read"}


# Source: the table of FDA Food Code 4-101.13 as printed in Washington WAC 246-215-04110; CPG 545.450 has the same
# figures: flat ware, small hollow ware, large hollow ware, cups and mugs and pitchers.
def test_lead_of_fda() -> None:
    assert _limits("FDA CPG 545.450") == [
        ("lead", D(value), "mg/l") for value in ("3.0", "2.0", "1.0", "0.5")
    ]
    assert _standings("FDA") == {"second-hand"}


# Source: a copy of FDA CPG 545.400: flat ware, hollow ware of less than 1.1 l, of 1.1 l and more.
def test_cadmium_of_fda() -> None:
    assert _limits("FDA CPG 545.400") == [("cadmium", D(value), "mg/l") for value in ("0.5", "0.5", "0.25")]


# Source: ISO 6486-2:1999, from memory, not compared with the standard; the check is that it says so.
def test_iso_6486_2() -> None:
    assert _standings("ISO 6486-2") == {"from memory"}
    values = {
        metal: [value for name, value, _ in _limits("ISO 6486-2") if name == metal]
        for metal in ("lead", "cadmium")
    }
    assert values == {
        "lead": [D(value) for value in ("0.8", "2.0", "1.0", "0.5", "0.5", "0.5")],
        "cadmium": [D(value) for value in ("0.07", "0.50", "0.25", "0.25", "0.25", "0.05")],
    }


# Source: D. Rhodes, Clay and Glazes for the Potter, 1957, from memory, not compared with the book.
def test_ranges_by_cone_say_that_they_are_from_memory() -> None:
    held = {
        row.cones: {oxide: tuple(map(float, limits)) for oxide, limits in row.oxides.items()}
        for row in usual_ranges()
    }
    assert {row.standing for row in usual_ranges()} == {"from memory"}
    assert held[("8", "12")].items() >= {"SiO2": (3, 5), "Al2O3": (0.3, 0.5), "KNaO": (0.2, 0.4)}.items()
    assert held[("2", "5")].items() >= {"SiO2": (2, 3), "Al2O3": (0.2, 0.28), "B2O3": (0.3, 0.6)}.items()
    assert held[("08", "01")].items() >= {"SiO2": (1.5, 2), "Al2O3": (0.1, 0.25), "PbO": (0.7, 1)}.items()
