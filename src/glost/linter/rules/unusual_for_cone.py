"""A glaze whose silica, alumina, boron or alkali lies outside what books give for its cone."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from glost.language.diagnostics import Diagnostic
from glost.linter.rule import Checked, Expected, Rule
from glost.recipe.cone import KNOWN, Cone
from glost.recipe.recipe import tests

_ASKED = {"SiO2": "silica", "Al2O3": "alumina", "B2O3": "boric oxide", "KNaO": "soda and potash"}


def check(checked: Checked) -> Iterator[Diagnostic]:
    resolved = checked.resolved
    cone = resolved.recipe.fields.get("cone")
    if (
        resolved.recipe.kind != "glaze"
        or not resolved.complete
        or resolved.title is None
        or not isinstance(cone, Cone)
        or not cone.known
    ):
        return
    # Only here: a usual run of the linter calculates no oxides.
    from glost.chemistry.firing import Calculator
    from glost.chemistry.usual import amount_of, usual_ranges

    rows = [row for row in usual_ranges() if _within(cone, row.cones)]
    if not rows:
        return
    fired = Calculator(checked.catalogue).fire(next(tests(resolved.recipe)))
    if fired.unity is None or fired.partial:
        # Figures of the known rest are not those of the glaze.
        return
    for row in rows:
        if not row.describes(fired.unity):
            continue
        for oxide, called in _ASKED.items():
            usual = row.oxides.get(oxide)
            amount = amount_of(fired.unity, oxide)
            if (
                usual is None
                or usual.low <= amount <= usual.high
                or (amount < usual.low and oxide in row.absent)
            ):
                continue
            side = "above" if amount > usual.high else "below"
            yield Diagnostic(
                resolved.title.name.span,
                f"{called} ({oxide}) is {_rounded(amount)} to 1 of the fluxes, {side} the {usual.low} to {usual.high} "
                f"of {row.kind} at cone {row.cones[0]} to {row.cones[1]} ({row.source}, {row.standing})",
                "compare the amounts with where the recipe comes from; where it is meant, as in many matts and ash "
                "glazes, leave it so: only a fired test tells",
            )


def _within(cone: Cone, cones: tuple[str, str]) -> bool:
    return KNOWN.index(cones[0]) <= KNOWN.index(cone.low) and cone.rank <= KNOWN.index(cones[1])


def _rounded(amount: Decimal) -> str:
    """To two decimals, and to three where that would hide on which side of a range it lies."""
    return f"{amount:.2f}" if amount >= 1 else f"{amount:.3f}"


RULE = Rule(
    name="unusual-for-cone",
    level="off",
    summary="A glaze whose silica, alumina, boron or alkali is unusual for its cone.",
    why="""\
Too little silica or alumina for its cone makes a glaze run, scratch or give more off to food; too much leaves it dry.
A recipe that lies far from its kind is sometimes a slip of the pen that no other rule sees, such as a cone copied
without its 0. The ranges are those of a book, for glazes at cone 8 to 12, for boron glazes at cone 2 to 5 and for
lead glazes at cone 08 to 01: D. Rhodes, Clay and Glazes for the Potter, 1957, from memory. Books disagree, no range
is held for the other cones, and good glazes lie outside: matts, crystalline, ash and shino glazes mostly on purpose.
So the rule is off until glost.yaml turns it on, or `--select` for one run. It needs the composition of everything in
the recipe, and is silent where one is not known. Inside a range nothing is shown, neither fit nor surface nor what a
glaze gives off.""",
    how_to_fix="""\
Look for a slip: the cone, a decimal point, a material that was left out or taken for another. Where the page is as it
was meant, leave it, and allow it on its first line if the rule is on for the whole collection. Never move a glaze
that works to please a range.""",
    bad="""\
glaze "Harbour Mist"
cone: 10
atmosphere: reduction
origin: own test

base:
    potash feldspar        40
    silica                 10
    whiting                40
    kaolin                 10

handling:
    silica: P100 respirator; wet-clean, never sweep.
""",
    expected=(
        Expected(
            1,
            7,
            "alumina (Al2O3) is 0.235 to 1 of the fluxes, below the 0.3 to 0.5 of stoneware and porcelain glazes "
            "at cone 8 to 12 (D. Rhodes, Clay and Glazes for the Potter, 1957, from memory)",
        ),
        Expected(
            1,
            7,
            "silica (SiO2) is 1.43 to 1 of the fluxes, below the 3.0 to 5.0 of stoneware and porcelain glazes at "
            "cone 8 to 12 (D. Rhodes, Clay and Glazes for the Potter, 1957, from memory)",
        ),
        Expected(
            1,
            7,
            "soda and potash (KNaO) is 0.152 to 1 of the fluxes, below the 0.2 to 0.4 of stoneware and porcelain "
            "glazes at cone 8 to 12 (D. Rhodes, Clay and Glazes for the Potter, 1957, from memory)",
        ),
    ),
    good="""\
glaze "Harbour Mist"
cone: 10
atmosphere: reduction
origin: own test

base:
    potash feldspar        40
    silica                 30
    whiting                20
    kaolin                 10

handling:
    silica: P100 respirator; wet-clean, never sweep.
""",
    settings="""\
rules:
  unusual-for-cone: hint
""",
    check=check,
)
