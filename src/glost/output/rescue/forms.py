"""A rescue in plain words, and as JSON (schema/rescue.schema.json)."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from typing import Any, Final

from glost.language.exact_json import written
from glost.output.batch.figures import percent, to_places
from glost.output.model import Column, Entries, Entry, Heading, Node, Paragraph, Row, Table, Terms, Tick
from glost.output.model.text import as_text as nodes_as_text
from glost.output.rescue.rescue import BenchRescue
from glost.weighing.overshoot import Step
from glost.weighing.rounding import exact_sum, round_to, significant, to_decimal

VERSION: Final = 1
_LARGE: Final = 2
"""From this factor on, a word on beginning anew."""


def as_text(rescued: BenchRescue) -> str:
    return nodes_as_text(content(rescued))


def content(rescued: BenchRescue) -> Iterator[Node]:
    """What to do with the cup."""
    found, made = rescued.found, rescued.made
    yield Heading(made.test.name)
    planned = f"base {_grams(made.amount.base_g)} g, {rescued.plan.total_target_g:f} g in all"
    yield Terms([("file", made.file), ("planned", planned)])
    yield from (Paragraph(error, "attention") for error in made.sheet.attention)
    yield Entries([Entry(taken) for taken in rescued.taken])
    yield from (
        Paragraph(
            _over(rescued, material),
            lead="too much in the cup" if material in found.too_much else "a little over",
        )
        for material in found.over
    )
    yield Paragraph(_verdict(rescued), "strong")
    if found.under_capacity is False and rescued.plan.main is not None:
        main = rescued.plan.main
        yield Paragraph(
            f"All of it is {found.total_g:f} g, and '{main.name}' carries {main.capacity_g:f} g with the cup: weigh on"
            " in further vessels, each tared empty, and tip them all together.",
            "attention",
        )
    if made.sheet.balance_note:
        yield Paragraph(made.sheet.balance_note)
    to_add = [step for step in found.steps if step.add_g]
    yield _table(to_add, rescued) if to_add else Paragraph("Nothing is left to add.")
    done = [step for step in found.steps if not step.add_g]
    if to_add and done:
        yield Paragraph(f"Add no more of: {', '.join(rescued.names[step.material] for step in done)}.")
    for step in found.steps:
        if not step.within:
            yield Paragraph(
                f"{rescued.names[step.material]}: {step.final_g:f} g in place of {to_places(step.exact_g, 6):f} g,"
                f" {percent(step.error)} % off; it is too small for these balances (glost batch says what helps).",
                "attention",
            )


def _over(rescued: BenchRescue, material: str) -> str:
    planned = rescued.planned_g[material]
    step = next(step for step in rescued.found.steps if step.material == material)
    more = exact_sum((step.in_g, planned.copy_negate()))
    return f"{rescued.names[material]}, {step.in_g:f} g where the plan has {planned:f} g ({more:f} g over)"


def _verdict(rescued: BenchRescue) -> str:
    found, made = rescued.found, rescued.made
    tolerance = percent(made.tolerance)
    if not found.over:
        hidden = any(step.in_g > rescued.planned_g[step.material] for step in found.steps)
        return f"Nothing is over{' that the balance shows' if hidden else ''}: go on as planned."
    if found.leave:
        off = max(step.error for step in found.steps if step.material in found.over)
        return f"Leave it: {percent(off)} % too much, and {tolerance} % is allowed. Go on as planned."
    base, times = _grams(found.base_mass_g), to_places(Fraction(found.factor), 2)
    said = (
        f"Go on as a batch of {base} g of base, {times:f} times what was planned: {found.total_g:f} g in all. Nothing"
        " comes out of the cup; add what stands below."
    )
    if found.factor >= _LARGE:
        said += " That is a good deal more: setting the cup aside, labelled, and beginning anew may use less."
    return said


def _table(steps: list[Step], rescued: BenchRescue) -> Table:
    several = len({step.balance for step in steps}) > 1
    in_vessels = rescued.found.under_capacity is False
    columns = [
        Column(""),
        Column("add"),
        Column("on"),
        Column("is in", figures=True),
        Column("add g", figures=True, strong=True),
        Column("then", figures=True),
        Column("in all" if in_vessels else "all in cup", figures=True),
        Column("off %", figures=True),
    ]
    return Table(columns, [_row(step, rescued, several) for step in steps])


def _row(step: Step, rescued: BenchRescue, several: bool) -> Row:
    """``several``: more than one balance is used, so that each line names its own."""
    name = rescued.names[step.material]
    return Row(
        (
            Tick(name),
            name,
            step.balance.name if several and step.balance else "",
            _as_shown(step),
            f"{step.add_g:f}",
            f"{step.final_g:f}",
            f"{step.running_total_g:f}",
            percent(step.error),
        )
    )


def _as_shown(step: Step) -> str:
    """What is in, with the decimals of the display that shows it."""
    on_display = round_to(step.in_g, step.division_g)
    return f"{on_display if on_display == step.in_g else step.in_g:f}"


def _grams(mass: Decimal) -> str:
    return f"{to_places(mass, 2):f}" if mass >= 1 else f"{significant(mass):f}"


# ---- JSON ------------------------------------------------------------------------------------------------


def as_json(rescued: BenchRescue) -> str:
    return written({"version": VERSION, **data(rescued)}) + "\n"


def data(rescued: BenchRescue) -> dict[str, Any]:
    """One rescue as the schema has it, without the version."""
    found, made = rescued.found, rescued.made
    planned = rescued.planned_g
    return {
        "name": made.test.name,
        "file": made.file,
        "recipe": made.test.recipe.name,
        "label": made.test.label,
        "findings": [one.data for one in made.attention],
        "planned_base_mass_g": made.amount.base_g,
        "planned_total_g": rescued.plan.total_target_g,
        "tolerance_percent": to_places(Fraction(made.tolerance) * 100, 6),
        "verdict": "as planned" if not found.over else "leave" if found.leave else "larger batch",
        "said": _verdict(rescued),
        "taken": list(rescued.taken),
        "over": list(found.over),
        "base_mass_g": found.base_mass_g,
        "factor": found.factor,
        "in_g": found.in_g,
        "total_g": found.total_g,
        "under_capacity": found.under_capacity,
        "within": found.within,
        "steps": [
            {
                "material": step.material,
                "as_written": rescued.names[step.material],
                "planned_g": planned[step.material],
                "in_g": step.in_g,
                "add_g": step.add_g,
                "final_g": step.final_g,
                "exact_g": to_decimal(step.exact_g),
                "running_total_g": step.running_total_g,
                "balance": step.balance.name if step.balance else None,
                "division_g": step.division_g,
                "error_percent": to_places(Fraction(step.error) * 100, 6),
                "within": step.within,
            }
            for step in found.steps
        ],
    }
