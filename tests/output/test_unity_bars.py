"""Unity formulas as bars: lengths that are the figures, and words that say all of them."""

from __future__ import annotations

import re
from decimal import Decimal
from html import unescape

import pytest

from glost.chemistry.unity import Term, Unity, group_of
from glost.output.unity_bars import Glaze, lanes, longest


def unity(**oxides: float) -> Unity:
    counted = ("Li2O", "Na2O", "K2O", "MgO", "CaO", "SrO", "BaO", "ZnO", "PbO")
    return Unity(
        "flux",
        tuple(
            Term(oxide, group_of(oxide), Decimal(str(amount)), oxide in counted)
            for oxide, amount in oxides.items()
        ),
    )


# Round figures of no glaze.
CLEAR = Glaze("clear", unity(Na2O=0.2, K2O=0.1, CaO=0.5, ZnO=0.2, Al2O3=0.35, B2O3=0.4, SiO2=3.5))
MATT = Glaze("matt <b>", unity(K2O=0.25, MgO=0.25, CaO=0.5, Al2O3=0.5, SiO2=2.5))


def widths(markup: str, look: str) -> list[float]:
    return [float(one) for one in re.findall(rf'<rect class="{look}[^"]*"[^>]* width="([\d.]+)"', markup)]


def words(markup: str, name: str = "") -> list[tuple[str, str]]:
    """What stands below each bar of that glaze, by its lane."""
    told = [
        (lane, unescape(said))
        for lane, inside in re.findall(r"<div><dt>(\w+)</dt>(.*?)</div>", markup, re.DOTALL)
        for said in re.findall(r"<small>(.*?)</small>", inside)
    ]
    return [(lane, said.removeprefix(name)) for lane, said in told if said.startswith(name)]


def test_lengths_are_the_figures_on_one_scale() -> None:
    most = longest(one.unity for one in (CLEAR, MATT))
    markup = "\n".join(lanes([CLEAR, MATT], most))
    a_mol = 1000 / float(most)
    fluxes = [*widths(markup, "alkalis"), *widths(markup, "earths"), *widths(markup, "zinc")]
    assert sorted(round(one / a_mol, 2) for one in fluxes) == [0.1, 0.2, 0.2, 0.25, 0.25, 0.5, 0.5]
    assert [round(one / a_mol, 2) for one in widths(markup, "alumina")] == [0.35, 0.5]
    assert [round(one / a_mol, 2) for one in widths(markup, "boron")] == [0.4]
    assert [round(4 * one / a_mol, 2) for one in widths(markup, "silica")] == [3.5, 2.5]


def test_words_say_every_figure_of_each() -> None:
    markup = "\n".join(lanes([CLEAR, MATT], longest([CLEAR.unity, MATT.unity])))
    assert words(markup, "clear: ") == [
        ("fluxes", "1.00 = Na2O 0.20, K2O 0.10, CaO 0.50, ZnO 0.20"),
        ("Al2O3", "0.35"),
        ("B2O3", "0.40"),
        ("SiO2", "3.50, drawn at a quarter"),
    ]
    assert words(markup, "matt <b>: ") == [
        ("fluxes", "1.00 = K2O 0.25, MgO 0.25, CaO 0.50"),
        ("Al2O3", "0.50"),
        ("B2O3", "none"),
        ("SiO2", "2.50, drawn at a quarter"),
    ]


@pytest.mark.parametrize("silica", ["0.5", "3", "14"])
def test_bars_stay_in_the_drawing(silica: str) -> None:
    glaze = Glaze("one", unity(CaO=1, Al2O3=2.5, SiO2=float(silica)))
    markup = "\n".join(lanes([glaze], longest([glaze.unity])))
    found = re.findall(r' x="([\d.]+)" y="0" width="([\d.]+)"', markup)
    assert len(found) == 3
    assert max(float(x) + float(width) for x, width in found) == 1000


def test_no_lane_for_what_no_glaze_holds() -> None:
    assert "<dt>B2O3</dt>" in "\n".join(lanes([CLEAR, MATT], Decimal(1)))
    assert "<dt>B2O3</dt>" not in "\n".join(lanes([MATT], Decimal(1)))


def test_a_glaze_without_a_name_has_its_figures_alone() -> None:
    markup = "\n".join(lanes([MATT._replace(name="")], Decimal(1)))
    assert ("fluxes", "1.00 = K2O 0.25, MgO 0.25, CaO 0.50") in words(markup)


def test_on_alumina_the_fluxes_are_what_they_are() -> None:
    terms = {"Na2O": "0.1", "CaO": "0.2", "CoO": "0.3", "Al2O3": "1", "SiO2": "4", "ZnO": "0.0004"}
    body = Unity(
        "alumina",
        tuple(Term(oxide, group_of(oxide), Decimal(mol), oxide == "Al2O3") for oxide, mol in terms.items()),
    )
    markup = "\n".join(lanes([Glaze("", body)], longest([body])))
    assert "<small>0.30 = Na2O 0.10, CaO 0.20, ZnO &lt;0.01</small>" in markup
    assert widths(markup, "alumina") == widths(markup, "silica") == [1000]
