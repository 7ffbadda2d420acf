"""What to weigh."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, NamedTuple, TypeAlias

from glost.api import pages
from glost.api.recipes import Recipe, Test, test_of
from glost.errors import ValueRefusedError
from glost.output.batch import data as batch_data
from glost.output.batch import text as batch_text
from glost.output.batch.amount import Asked, BaseMass, SlipMass, SlipVolume, TotalMass, read_slip
from glost.output.batch.plan import BenchPlan, bench_plan
from glost.weighing.units import read_mass
from glost.workspace.load import job_of

Mass: TypeAlias = "str | int | Decimal"


class PlannedLine(NamedTuple):
    """One line to weigh; masses in grams. ``name``: as the page writes it. ``exact_g``: before rounding, to 28 figures.
    ``target_g``: what is weighed, a whole number of the balance's divisions. ``display_g``: what the balance shows when
    it is in, in the way of weighing that is taken; None where nothing carries it. ``balance``: its name, None where
    none is known. ``within``: it can be weighed within the collection's tolerance."""

    name: str
    material: str | None
    base: bool
    exact_g: Decimal
    target_g: Decimal
    display_g: Decimal | None
    balance: str | None
    within: bool


@dataclass(frozen=True)
class Plan:
    """How to weigh one batch of a test; masses in grams. ``base_g`` and ``total_g``: what was asked for, exact;
    ``base_target_g`` and ``total_target_g``: what the rounded lines come to. ``within``: every line can be weighed
    within tolerance. ``cautions``: what to read before a jar is opened; the supplier's safety data sheet and local
    codes come first."""

    test: Test
    base_g: Decimal
    total_g: Decimal
    base_target_g: Decimal
    total_target_g: Decimal
    within: bool
    lines: tuple[PlannedLine, ...]
    cautions: tuple[str, ...]
    made: BenchPlan = field(repr=False, compare=False)
    """For glost alone."""

    @property
    def data(self) -> dict[str, Any]:
        """One of ``plans`` as ``glost batch --output json`` has it (schema/batch.schema.json)."""
        return batch_data.data(self.made)

    @property
    def text(self) -> str:
        """As ``glost batch`` prints it."""
        return batch_text.text([self.made])

    def _repr_html_(self) -> str:
        return pages.plan_page(self.made)


def plan(
    recipe: Recipe | Test,
    batch: Mass | None = None,
    *,
    total: Mass | None = None,
    slip: str | None = None,
    test: str | None = None,
    balance: str | None = None,
) -> Plan:
    """How to weigh a recipe, or one test of it. At most one of ``batch`` (the base), ``total`` (base and additions) and
    ``slip`` ("2 l", "3 kg") says how much; without any, the recipe's own batch, then the collection's, then 100 g. A
    mass is a text with its unit ("100 g"), or grams as a whole number or Decimal. ``balance``: the name of the only
    balance to use. Raises ValueRefusedError for a mass or balance that cannot be taken, NotFoundError for a test that
    is not there."""
    asked = _asked(batch, total, slip)
    one = test_of(recipe, test)
    base_g = asked.grams if isinstance(asked, BaseMass) else None
    made = bench_plan(job_of(one.recipe.usable, base_g), one.inner, asked, None, balance)
    data = batch_data.data(made)
    lines = tuple(
        PlannedLine(
            line["as_written"],
            part.part.material,
            line["base"],
            line["exact_g"],
            line["target_g"],
            line["display_g"],
            line["balance"],
            line["within"],
        )
        for line, part in zip(data["lines"], made.lines, strict=True)
    )
    return Plan(
        one,
        data["base_mass_g"],
        data["total_mass_g"],
        data["base_target_g"],
        data["total_target_g"],
        data["within"],
        lines,
        tuple(caution.text for caution in made.sheet.cautions),
        made,
    )


def _asked(batch: Mass | None, total: Mass | None, slip: str | None) -> Asked:
    given: list[BaseMass | TotalMass | SlipMass | SlipVolume] = []
    if batch is not None:
        given.append(BaseMass(grams(batch)))
    if total is not None:
        given.append(TotalMass(grams(total)))
    if slip is not None:
        given.append(read_slip(slip))
    if len(given) > 1:
        raise ValueRefusedError("batch, total and slip each say how much to weigh", "keep one of them")
    return given[0] if given else None


def grams(mass: Mass) -> Decimal:
    if isinstance(mass, bool) or not isinstance(mass, str | int | Decimal):
        raise ValueRefusedError(
            f"{mass!r} is not a mass",
            'write a text with its unit, such as "100 g", or grams as int or Decimal',
        )
    return read_mass(
        mass if isinstance(mass, str) else f"{mass:f} g" if isinstance(mass, Decimal) else f"{mass} g"
    )
