"""Unity formulas as bars: lengths that are the figures, and words that say all of them."""

from __future__ import annotations

import re
from decimal import Decimal
from xml.etree import ElementTree

import pytest

from glost.chemistry.unity import Term, Unity, group_of
from glost.output.unity_bars import Glaze, in_words, lanes_of_one, longest, unity_bars


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


def test_lengths_are_the_figures() -> None:
    markup = "\n".join(unity_bars([CLEAR, MATT]))
    fluxes = [*widths(markup, "alkalis"), *widths(markup, "earths"), *widths(markup, "zinc")]
    a_mol = sum(fluxes) / 2
    assert sorted(round(one / a_mol, 2) for one in fluxes) == [0.1, 0.2, 0.2, 0.25, 0.25, 0.5, 0.5]
    assert [round(one / a_mol, 2) for one in widths(markup, "alumina")] == [0.35, 0.5]
    assert [round(one / a_mol, 2) for one in widths(markup, "boron")] == [0.4, 0]
    assert [round(4 * one / a_mol, 2) for one in widths(markup, "silica")] == [3.5, 2.5]


def test_words_say_every_figure() -> None:
    said = "clear: Na2O 0.20, K2O 0.10, CaO 0.50, ZnO 0.20, Al2O3 0.35, B2O3 0.40, SiO2 3.50"
    assert in_words(CLEAR) == said
    root = ElementTree.fromstring("\n".join(unity_bars([CLEAR, MATT])))
    label = root.get("aria-label") or ""
    assert said in label
    assert "matt <b>: K2O 0.25" in label


@pytest.mark.parametrize("silica", ["0.5", "3", "14"])
def test_bars_and_figures_stay_in_the_drawing(silica: str) -> None:
    glaze = Glaze("a name that is far too long for its room", unity(CaO=1, Al2O3=2.5, SiO2=float(silica)))
    markup = "\n".join(unity_bars([glaze]))
    for x, width in re.findall(r' x="([\d.]+)" y="[\d.]+" width="([\d.]+)"', markup):
        assert float(x) + float(width) <= 380 - 40


def test_no_lane_for_what_no_glaze_holds() -> None:
    assert "B2O3</text>" in "\n".join(unity_bars([CLEAR, MATT]))
    assert "B2O3</text>" not in "\n".join(unity_bars([MATT]))
    assert "B2O3 0.00" in "\n".join(unity_bars([MATT]))


def test_bars_of_one_glaze_are_its_figures_and_to_the_scale_of_all() -> None:
    most = longest(one.unity for one in (CLEAR, MATT))
    for glaze in (CLEAR, MATT):
        markup = "\n".join(lanes_of_one(glaze, most))
        a_mol = 1000 / float(most)
        fluxes = [term for term in glaze.unity.terms if term.counted]
        drawn = [*widths(markup, "alkalis"), *widths(markup, "earths"), *widths(markup, "zinc")]
        assert [round(one / a_mol, 2) for one in drawn] == [float(term.equivalents) for term in fluxes]
        assert [round(one / a_mol, 2) for one in widths(markup, "alumina")] == [
            float(glaze.unity.of("Al2O3"))
        ]
        assert [round(4 * one / a_mol, 2) for one in widths(markup, "silica")] == [
            float(glaze.unity.of("SiO2"))
        ]
        assert "1.00 = " + ", ".join(f"{term.oxide} {term.equivalents:.2f}" for term in fluxes) in markup
        assert ("<dt>B2O3</dt>" in markup) == bool(glaze.unity.of("B2O3"))


def test_on_alumina_the_fluxes_are_what_they_are() -> None:
    terms = {"Na2O": "0.1", "CaO": "0.2", "CoO": "0.3", "Al2O3": "1", "SiO2": "4", "ZnO": "0.0004"}
    body = Unity(
        "alumina",
        tuple(Term(oxide, group_of(oxide), Decimal(mol), oxide == "Al2O3") for oxide, mol in terms.items()),
    )
    markup = "\n".join(lanes_of_one(Glaze("body", body), longest([body])))
    assert "<small>0.30 = Na2O 0.10, CaO 0.20, ZnO &lt;0.01</small>" in markup
    assert widths(markup, "alumina") == widths(markup, "silica") == [1000]
