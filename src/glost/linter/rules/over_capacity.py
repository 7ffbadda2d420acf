"""A batch that no balance carries."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction

from glost.language.diagnostics import Diagnostic
from glost.linter.rule import Checked, Expected, Rule
from glost.linter.smallness import MARGIN
from glost.recipe.recipe import Test
from glost.weighing.balance import Balance
from glost.weighing.rounding import round_to, to_decimal


def check(checked: Checked) -> Iterator[Diagnostic]:
    resolved = checked.resolved
    balances = checked.settings.balances
    total = checked.base_total
    if not balances or resolved.title is None or not resolved.complete or (resolved.base and total <= 0):
        return
    largest = max(balances, key=lambda balance: balance.capacity_g - (balance.cup_g or 0))
    if float(checked.batch_g) * (1 + max(map(_about, checked.tests), default=0.0)) * MARGIN < largest.room_g:
        return  # nearly all; in fractions this took a fifth of all rules
    share = max(
        (test.added_exact / test.base_exact for test in checked.tests if test.base_exact > 0),
        default=Fraction(0),
    )
    mass = to_decimal(Fraction(checked.batch_g) * (1 + share))
    if largest.carries(mass):
        return
    place = resolved.fields.get("batch")
    cup = f" and a cup of {largest.cup_g:f} g" if largest.cup_g else ""
    yield Diagnostic(
        place.span if place is not None else resolved.title.name.span,
        f"the batch weighs {mass.quantize(Decimal(1)):f} g with its additions{cup}, and the largest balance, "
        f"'{largest.name}', carries {largest.capacity_g.normalize():f} g",
        _hint(mass, largest),
    )


def _about(test: Test) -> float:
    """The additions as a share of the base, nearly."""
    base = sum(float(part.parts) for part in test.base)
    return sum(float(part.parts) for part in test.additions) / base if base > 0 else 0.0


def _hint(mass: Decimal, largest: Balance) -> str:
    from glost.weighing.weighable import portions_of  # only a finding needs it

    count = portions_of(round_to(mass, largest.readability_g), largest)
    rest = "weigh a smaller batch, or list a larger balance in glost.yaml"
    if not count:
        return rest
    return f"weigh it into {count} vessels or more, as the batch sheet parts it, {rest}"


RULE = Rule(
    name="over-capacity",
    level="warning",
    summary="A batch that no balance carries.",
    why="""\
Near the end of a running total the balance shows an error instead of a mass, with eight materials already in the
bucket and the ninth half poured. The additions and the usual cup (where glost.yaml gives its mass) count too. The sheet
and `glost batch` share such a batch out over vessels, each with a running total of its own that the balance can
show.""",
    how_to_fix="""\
Weigh into the vessels that the sheet names, or weigh a smaller batch. If there is a larger balance in the studio, list
it in glost.yaml.""",
    settings="""\
balances:
  - {name: bench, capacity: 2 kg, readability: 0.1 g, cup: 150 g}
""",
    bad="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test
batch: 1900 g

base:
    nepheline syenite      60
    whiting                40
""",
    expected=(
        Expected(
            5,
            1,
            "the batch weighs 1900 g with its additions and a cup of 150 g, and the largest balance, 'bench', "
            "carries 2000 g",
        ),
    ),
    good="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test
batch: 1500 g

base:
    nepheline syenite      60
    whiting                40
""",
    check=check,
)
