"""The estimates against published arithmetic and against measured glasses."""

from __future__ import annotations

import csv
import math
from collections.abc import Callable
from pathlib import Path

import pytest
from molmass import Formula
from tests.conftest import TOP
from tests.fit import held_out, tables
from tests.fit.corners import CORNERS, Row, Tried, row, table

from glost.chemistry import expansion, softening
from glost.chemistry.additive import (
    FITTED,
    Basis,
    Estimate,
    Estimated,
    Withheld,
    composition,
    known,
    unlike_a_glaze,
)

DATA = Path(__file__).parent / "data"
Cells = dict[str, str]


def rows(name: str) -> list[Cells]:
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


GLASSES = rows("sciglass-glazelike-cte-300.csv")
VISCOUS = rows("sciglass-glazelike-viscosity-200.csv")


def part(cells: Cells, basis: str) -> dict[str, float]:
    return {oxide: float(cells[f"{basis}_{oxide}"]) for oxide in FITTED if float(cells[f"{basis}_{oxide}"])}


def errors(of: list[Cells], column: str, estimate: Callable[[Cells], Estimated]) -> list[float]:
    """Estimate less measured, where both are to be had inside the range of the model."""
    found = [(estimate(cells), cells) for cells in of if cells[column]]
    return [
        one.value - float(cells[column])
        for one, cells in found
        if isinstance(one, Estimate) and not one.outside
    ]


def quantile(values: list[float], share: float) -> float:
    """Of the absolute values; linear between neighbours."""
    ordered = sorted(map(abs, values))
    place = share * (len(ordered) - 1)
    low = int(place)
    return ordered[low] + (place - low) * (ordered[min(low + 1, len(ordered) - 1)] - ordered[low])


def rank_correlation(first: list[float], second: list[float]) -> float:
    """Spearman's, for values of which few are equal."""

    def ranks(values: list[float]) -> list[float]:
        order = sorted(range(len(values)), key=values.__getitem__)
        out = [0.0] * len(values)
        for rank, place in enumerate(order):
            out[place] = rank
        return out

    a, b = ranks(first), ranks(second)
    n = len(a)
    return 1 - 6 * sum((x - y) ** 2 for x, y in zip(a, b, strict=True)) / (n * (n * n - 1))


# ---- published arithmetic --------------------------------------------------------------------------------

WINDOW = {"SiO2": 72, "Na2O": 14, "CaO": 10, "MgO": 2.5, "Al2O3": 1.5}
SRM_620 = {
    "SiO2": 72.08, "Al2O3": 1.80, "Fe2O3": 0.043, "TiO2": 0.018, "CaO": 7.11, "MgO": 3.69, "Na2O": 14.39, "K2O": 0.41,
    "SO3": 0.28, "As2O3": 0.056,
}  # fmt: skip
BOROSILICATE = {"SiO2": 80.6, "B2O3": 13.0, "Na2O": 4.0, "Al2O3": 2.3}


# Source: worked by hand from the factors of S. English and W. E. S. Turner (1927-29), 1e-7/K for each mass %: 72 x 0.05
# + 14 x 4.16 + 10 x 1.63 + 2.5 x 0.45 + 1.5 x 0.14 = 79.5, and so on; factors and the composition of NIST SRM 620 from
# memory. It tests the arithmetic and the units.
@pytest.mark.parametrize(
    ("glass", "expected"),
    [(WINDOW, 79.5), (SRM_620, 78.6), (BOROSILICATE, 12.5)],
    ids=["soda-lime", "SRM 620", "borosilicate"],
)
def test_english_and_turner_worked_by_hand(glass: dict[str, float], expected: float) -> None:
    of = expansion.published("english-turner")
    assert expansion.factor_sum(glass, of) == pytest.approx(expected, abs=0.05)
    # An estimate takes the oxides that have a factor as the whole, so it may lie a little higher.
    assert known(expansion.estimate(glass, "english-turner")).value == pytest.approx(expected, abs=0.6)


# Source: worked by hand from the factors of A. A. Appen, 1e-7/K for each mol fraction, from memory. The first: 70 x
# 0.35 (SiO2 above 67 %: 38 less 3) + 15 x 3.95 + 15 x 1.30. The second: alkali is 12, so PbO has 130 + 5 x 9 = 175; K2O
# is 420, there being no Na2O. The third: psi = (10 + 0.7 x 10 - 5) / 10 = 1.2, so B2O3 has -15. The fourth: TiO2 has
# 30 - 1.5 x 10 = 15.
@pytest.mark.parametrize(
    ("mol", "expected"),
    [
        ({"SiO2": 70, "Na2O": 15, "CaO": 15}, 24.5 + 59.25 + 19.5),
        ({"SiO2": 60, "K2O": 12, "PbO": 28}, 22.8 + 50.4 + 49.0),
        ({"SiO2": 65, "Na2O": 10, "CaO": 10, "Al2O3": 5, "B2O3": 10}, 24.7 + 39.5 + 13.0 - 1.5 - 1.5),
        ({"SiO2": 60, "Na2O": 20, "CaO": 10, "TiO2": 10}, 22.8 + 79.0 + 13.0 + 1.5),
    ],
    ids=["soda-lime", "potash-lead", "boron", "titania"],
)
def test_appen_worked_by_hand(mol: dict[str, float], expected: float) -> None:
    assert expansion.factor_sum(mol, expansion.published("appen")) == pytest.approx(expected, abs=1e-6)
    found = expansion.estimate(mol, "appen", "mol")
    assert known(found).value == pytest.approx(expected, abs=1e-6)


# Source: a maker's comparison of laboratory glasses gives 9.1e-6 /K for soda-lime glass (20-300 °C); borosilicate glass
# 3.3 has 3.3e-6 /K (ISO 3585). The set of 1927 misses the latter, so every model must say that it is outside.
def test_two_glasses_of_trade() -> None:
    window = known(expansion.estimate(WINDOW))
    assert window.outside == ()
    assert window.low < 91 < window.high
    for model in expansion.MODELS:
        found = known(expansion.estimate(BOROSILICATE, model))
        assert found.outside
        assert found.low < 33 < found.high


# Source: PyPI molmass.
@pytest.mark.parametrize("oxide", FITTED)
def test_mass_to_mol(oxide: str) -> None:
    found = composition({oxide: 50, "SiO2": 50}, FITTED, "wt").mol if oxide != "SiO2" else {"SiO2": 100.0}
    share = {name: 50 / Formula(name).mass for name in {oxide, "SiO2"}}
    assert found[oxide] == pytest.approx(100 * share[oxide] / sum(share.values()), rel=1e-4)


# ---- measured glasses ------------------------------------------------------------------------------------
# Source of all that follows: 300 and 200 glasses of the SciGlass database, see data/README.md. Mean linear expansion
# near 160 and 210 °C (about 20-300 and 20-400 °C), 1e-7/K; temperature at 1000 Pa s.


@pytest.mark.parametrize("basis", ["wt", "mol"])
@pytest.mark.parametrize("column", ["cte160C_1e-7", "cte210C_1e-7"])
def test_appen_on_measured_glasses(basis: Basis, column: str) -> None:
    found = errors(GLASSES, column, lambda row: expansion.estimate(part(row, basis), "appen", basis))
    assert len(found) > 130
    assert quantile(found, 0.5) < 5
    assert quantile(found, 0.9) < 14
    assert abs(sorted(found)[len(found) // 2]) < 5


# The column holds what another program, written apart from this one, made of the same factors; it left out that K2O has
# 420 in place of 465 where there is no Na2O.
def test_appen_agrees_with_another_calculation() -> None:
    for cells in GLASSES:
        mol = part(cells, "mol")
        value = expansion.factor_sum(mol, expansion.published("appen"))
        potash = 0.0 if "Na2O" in mol else 0.45 * mol.get("K2O", 0.0)
        assert value + potash == pytest.approx(float(cells["appen_1e-7"]), abs=0.1)


# Source: these glasses; soda-free ones lean less high with the lower factor.
def test_appen_leans_less_without_soda() -> None:
    bare = [cells for cells in GLASSES if not float(cells["mol_Na2O"]) and float(cells["mol_K2O"])]
    found = errors(bare, "cte160C_1e-7", lambda cells: expansion.estimate(part(cells, "mol"), "appen", "mol"))
    before = [one + 0.45 * float(cells["mol_K2O"]) for one, cells in zip(found, bare, strict=False)]
    assert len(found) > 3
    assert abs(sum(found)) < abs(sum(before))


# The older set is worse on glasses that are like glazes; the bounds hold what was found, so that nobody takes it for as
# good.
def test_the_set_of_1927_on_measured_glasses() -> None:
    found = errors(
        GLASSES, "cte160C_1e-7", lambda cells: expansion.estimate(part(cells, "wt"), "english-turner")
    )
    assert len(found) > 50
    assert 7 < quantile(found, 0.5) < 13
    assert quantile(found, 0.9) < 22


# ---- the fits, held out ----------------------------------------------------------------------------------
# Source of all that follows: the glasses of the SciGlass database in data/sciglass-*-held-out.csv, see data/README.md.
# Each is estimated by factors, and judged by an interval, that had not seen its author.


@pytest.mark.parametrize("name", held_out.NAMES)
def test_the_extract_gives_what_the_fit_counted(name: str) -> None:
    stated = held_out.record(name)["tables"]
    counted = table(held_out.glazes(name))
    assert counted.keys() == stated["corners"].keys()
    others = {"later than the fit": row(held_out.later(name)), "PbO above 5 mol %": row(held_out.lead(name))}
    # What is rounded to 0.01 mol % is not worth more.
    off = 0.15 if name == "expansion" else 0.5
    for found, was in (
        *((counted[corner], Row(*stated["corners"][corner])) for corner in counted),
        *((others[corner], Row(*stated[corner])) for corner in others),
    ):
        assert (found.glasses, found.authors) == (was.glasses, was.authors)
        for field in ("median", "ninetieth", "bias", "median_by_author", "ninetieth_by_author", "half"):
            assert getattr(found, field) == pytest.approx(getattr(was, field), abs=off)
        for field in ("held", "held_by_author"):
            # One or two glasses lie just on the end of their interval.
            assert getattr(found, field) == pytest.approx(getattr(was, field), abs=0.2 + 150 / was.glasses)


@pytest.mark.parametrize("name", held_out.NAMES)
def test_what_is_shipped_is_what_was_counted(name: str) -> None:
    found, spread = row(held_out.glazes(name)), held_out.shipped(name).spreads["like a glaze"]
    off = 0.15 if name == "expansion" else 0.5
    for field in ("median", "ninetieth", "bias", "median_by_author", "ninetieth_by_author", "held"):
        assert getattr(spread, field) == pytest.approx(getattr(found, field), abs=off)
    assert (spread.glasses, spread.authors) == (found.glasses, found.authors)


def test_expansion_is_as_good_as_is_said() -> None:
    found = row(held_out.glazes("expansion"))
    assert found.median < 1.8
    assert found.ninetieth < 6.2
    assert found.median_by_author < 2.0
    assert found.ninetieth_by_author < 7.0
    assert abs(found.bias) <= 0.3
    median, ninetieth = held_out.record("expansion")["tables"]["like a glaze, random folds"][2:4]
    assert median < 1.8
    assert ninetieth < 6.2


POTTERS = [
    "Li2O from 1 %",
    "Li2O from 3 %",
    "B2O3 from 3 %",
    "B2O3 from 15 %",
    "ZnO from 2 %",
    "BaO from 3 %",
    "MgO from 3 %",
    "Fe2O3 from 2 %",
    "PbO from 2 %",
    "TiO2 from 2 %",
]


@pytest.mark.parametrize("corner", ["all", "as studios fire", "no Li2O", *POTTERS])
def test_nine_of_ten_lie_in_the_interval_in_every_corner(corner: str) -> None:
    found = row(glass for glass in held_out.glazes("expansion") if CORNERS[corner](glass))
    assert 87.9 <= found.held <= 93.3
    # Narrow where it can be, wide where it must.
    if corner == "no Li2O":
        assert found.half < 6.2
    if corner.startswith("Li2O"):
        assert 9 < found.half < 11


@pytest.mark.parametrize("name", held_out.NAMES)
def test_nine_of_ten_lie_in_the_interval_or_the_estimate_says_that_they_do_not(name: str) -> None:
    estimate = expansion.estimate if name == "expansion" else softening.estimate
    told = 0
    for one in held_out.rows(name):
        mol = one.whole.mol
        found = estimate(mol, basis="mol")
        if isinstance(found, Withheld):
            continue
        spread = held_out.shipped(name).spreads
        kind, _ = held_out.tried(name, one)
        amounts = dict(one.whole.mass)
        amounts["alkali"] = sum(amounts.get(oxide, 0.0) for oxide in ("Na2O", "K2O", "Li2O"))
        poor = [
            step
            for step in spread[kind].steps
            if amounts.get(step.what, 0.0) >= step.least and round(min(step.held, step.held_by_author)) < 88
        ]
        # Of two steps for one oxide the further one counts.
        last = {step.what: step for step in spread[kind].steps if amounts.get(step.what, 0.0) >= step.least}
        if any(step in last.values() for step in poor):
            told += 1
            assert "held only" in found.note
        else:
            assert "held only" not in found.note
    assert told or name == "expansion"


@pytest.mark.parametrize("name", held_out.NAMES)
def test_no_author_is_left_out_of_the_interval_by_the_others(name: str) -> None:
    found: dict[str, list[Tried]] = {}
    for glass in held_out.glazes(name):
        found.setdefault(glass.author, []).append(glass)
    shares = sorted(
        sum(glass.within for glass in those) / len(those) for those in found.values() if len(those) >= 10
    )
    assert len(shares) > 40
    # An author's glasses lean together, so that single ones lie lower than nine of ten; half do not.
    assert shares[len(shares) // 2] > 0.9
    assert sum(share < 0.5 for share in shares) / len(shares) < 0.08


@pytest.mark.parametrize(("name", "least"), [("expansion", 88), ("softening", 85)])
def test_later_years_lie_in_the_interval_of_earlier_ones(name: str, least: float) -> None:
    found = row(held_out.later(name))
    assert found.glasses > 500
    assert found.held > least
    assert found.held_by_author > least
    assert min(glass.year for glass in held_out.later(name)) > held_out.record(name)["year"]


@pytest.mark.parametrize("decade", [1960, 1970, 1980, 1990, 2000])
def test_each_decade_lies_in_the_interval(decade: int) -> None:
    found = row(glass for glass in held_out.glazes("expansion") if decade <= glass.year < decade + 10)
    assert found.glasses > 50
    # One author of 1979, with glasses rich in lithia, leans by 13 alone: the seventies are the worst.
    assert found.held_by_author >= 86
    assert found.held >= 80


# Source: SciGlass, PbO 33.3 SiO2 66.7 mol %: 848 °C at 1000 Pa s. Two frits of that kind with clay are cone 05 glazes.
def test_lead_is_as_fusible_as_was_measured() -> None:
    bare = known(softening.estimate({"PbO": 33.3, "SiO2": 66.7}, "mol"))
    assert bare.value == pytest.approx(848, abs=25)
    assert bare.low < 848 < bare.high
    glaze = known(softening.estimate({"PbO": 61.85, "Al2O3": 6.05, "SiO2": 32.10}))
    assert 800 < glaze.value < 1000
    found = row(held_out.lead("softening"))
    assert found.glasses > 400
    assert found.median < 27
    assert abs(found.bias) < 5


def test_iron_and_phosphorus_take_part_in_fusibility() -> None:
    glass = {"SiO2": 65, "Al2O3": 12, "CaO": 12, "K2O": 5, "Na2O": 3}
    bare = known(softening.estimate(glass))
    iron, ash = (known(softening.estimate(glass | more)) for more in ({"Fe2O3": 8}, {"P2O5": 3}))
    assert iron.outside == ash.outside == ()
    assert iron.value < bare.value - 30
    assert ash.value != bare.value
    assert row(g for g in held_out.glazes("softening") if CORNERS["Fe2O3 from 2 %"](g)).median < 45


# ---- the other extracts ----------------------------------------------------------------------------------
# Source: 300 and 200 glasses of the same database, chosen by somebody else by their unity formulas; see data/README.md.


def others(name: str) -> list[Tried]:
    """Their glasses, each by the factors that had not seen its author; such as are in range."""
    fold = {one.author: one.fold for one in held_out.rows(name)}
    of, column = (GLASSES, "cte160C_1e-7") if name == "expansion" else (VISCOUS, "T_logeta3_C")
    out = []
    for cells in of:
        author = cells["first_author"]
        if not cells[column] or author not in fold:
            continue
        whole = composition(part(cells, "mol"), FITTED, "mol")
        line = held_out.Row(author, int(cells["year"]), fold[author], False, float(cells[column]), whole)
        kind, glass = held_out.tried(name, line)
        if kind in ("like a glaze", "in range"):
            out.append(glass)
    return out


@pytest.mark.parametrize("name", held_out.NAMES)
def test_the_other_extract_gives_the_same_within_noise(name: str) -> None:
    found, spread = others(name), held_out.shipped(name).spreads["like a glaze"]
    assert len(found) > 130
    size = [glass.error for glass in found]
    # Three standard errors of a share, and of a median of so many.
    noise = 3 * math.sqrt(0.25 / len(found))
    within = [abs(one) <= spread.median for one in size]
    assert abs(sum(within) / len(within) - 0.5) < noise + 0.1
    held = sum(glass.within for glass in found) / len(found)
    assert abs(held - 0.9) < 3 * math.sqrt(0.09 / len(found))


def test_the_own_fit_is_clearly_better_on_authors_it_has_not_seen() -> None:
    own = [glass.error for glass in others("expansion")]
    appen = errors(
        GLASSES, "cte160C_1e-7", lambda cells: expansion.estimate(part(cells, "mol"), "appen", "mol")
    )
    assert quantile(own, 0.5) < 2.6
    assert quantile(own, 0.5) < 0.75 * quantile(appen, 0.5)
    assert quantile(own, 0.9) < quantile(appen, 0.9)
    assert abs(sorted(own)[len(own) // 2]) < 1


def test_the_order_of_expansion() -> None:
    found = [
        (known(expansion.estimate(part(cells, "mol"), basis="mol")).value, float(cells["cte160C_1e-7"]))
        for cells in GLASSES
        if cells["cte160C_1e-7"]
    ]
    assert rank_correlation([one for one, _ in found], [measured for _, measured in found]) > 0.9


def test_the_order_of_fusibility() -> None:
    found = [(glass, glass.error) for glass in others("softening")]
    assert len(found) > 150
    measured = [float(cells["T_logeta3_C"]) for cells in VISCOUS if cells["T_logeta3_C"]]
    values = [
        known(softening.estimate(part(cells, "mol"), "mol")).value
        for cells in VISCOUS
        if cells["T_logeta3_C"]
    ]
    own = rank_correlation(values, measured)
    assert own > 0.8
    # A single ratio does clearly worse, which is why the fit is offered at all.
    fluxes = ("K2O", "Na2O", "Li2O", "CaO", "MgO", "BaO", "SrO", "ZnO", "PbO")
    ratios = []
    for cells in VISCOUS:
        if cells["T_logeta3_C"]:
            mol = part(cells, "mol")
            ratios.append((mol["SiO2"] + mol.get("Al2O3", 0)) / sum(mol.get(oxide, 0) for oxide in fluxes))
    assert rank_correlation(ratios, measured) < own - 0.1


def test_the_extracts_are_like_glazes() -> None:
    for of in (GLASSES, VISCOUS):
        like = [not unlike_a_glaze(composition(part(cells, "mol"), FITTED, "mol").mass) for cells in of]
        assert sum(like) / len(like) > 0.8


# ---- the page --------------------------------------------------------------------------------------------


def test_the_page_holds_the_tables_as_they_are_counted() -> None:
    page = (TOP / "docs" / "models.md").read_text("utf-8")
    assert sorted(tables.named(page)) == sorted(tables.TABLES)
    assert tables.written(page) == page, "python -m tests.fit.tables writes them anew"
