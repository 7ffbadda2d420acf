"""A rescue in plain words, and as JSON (schema/rescue.schema.json)."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from typing import Any, Final

from glost.language.exact_json import written
from glost.output.batch.figures import percent, to_places
from glost.output.escape import visible
from glost.output.model.text import table, wrapped
from glost.output.rescue.rescue import BenchRescue
from glost.weighing.overshoot import Step
from glost.weighing.rounding import exact_sum, round_to, significant, to_decimal

VERSION: Final = 1
_LARGE: Final = 2
"""From this factor on, a word on beginning anew."""


def as_text(rescued: BenchRescue) -> str:
    return "".join(f"{line}\n" for line in _lines(rescued))


def _lines(rescued: BenchRescue) -> Iterator[str]:
    found, made = rescued.found, rescued.made
    yield visible(made.test.name)
    yield f"  {visible(made.file)}"
    for error in made.sheet.attention:
        yield from wrapped(visible(error), 4, "!   ")
    yield from wrapped(
        f"planned: base {_grams(made.amount.base_g)} g, {rescued.plan.total_target_g:f} g in all", 2, "  "
    )
    for taken in rescued.taken:
        yield from wrapped(visible(taken), 4, "  ")
    for material in found.over:
        planned = rescued.planned_g[material]
        step = next(step for step in found.steps if step.material == material)
        more = exact_sum((step.in_g, planned.copy_negate()))
        yield from wrapped(
            f"too much in the cup: {visible(rescued.names[material])}, {step.in_g:f} g where the plan has {planned:f} g"
            f" ({more:f} g over)",
            4,
            "  ",
        )
    yield ""
    yield from wrapped(_verdict(rescued))
    if found.under_capacity is False and rescued.plan.main is not None:
        main = rescued.plan.main
        yield from wrapped(
            f"All of it is {found.total_g:f} g, and '{visible(main.name)}' carries {main.capacity_g:f} g with the cup:"
            " weigh on in further vessels, each tared empty, and tip them all together.",
            4,
            "!   ",
        )
    if made.sheet.balance_note:
        yield from wrapped(made.sheet.balance_note)
    to_add = [step for step in found.steps if step.add_g]
    if to_add:
        yield ""
        yield from _table(to_add, rescued)
    else:
        yield from ("", "Nothing is left to add.")
    done = [step for step in found.steps if not step.add_g]
    if to_add and done:
        yield ""
        yield from wrapped(
            f"Add no more of: {', '.join(visible(rescued.names[step.material]) for step in done)}."
        )
    for step in found.steps:
        if not step.within:
            yield from wrapped(
                f"{visible(rescued.names[step.material])}: {step.final_g:f} g in place of"
                f" {to_places(step.exact_g, 6):f} g, {percent(step.error)} % off; it is too small for these balances"
                " (glost batch says what helps).",
                4,
                "!   ",
            )


def _verdict(rescued: BenchRescue) -> str:
    found, made = rescued.found, rescued.made
    tolerance = percent(made.tolerance)
    if not found.over:
        return "Nothing is over: go on as planned."
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


def _table(steps: list[Step], rescued: BenchRescue) -> list[str]:
    on = len({step.balance for step in steps}) > 1
    heads = [
        "add",
        *(["on"] if on else []),
        "is in",
        "add g",
        "then",
        "in all" if rescued.found.under_capacity is False else "all in cup",
        "off %",
    ]
    rows = [
        [
            f"[ ] {visible(rescued.names[step.material])}",
            *([visible(step.balance.name) if step.balance else ""] if on else []),
            _as_shown(step),
            f"{step.add_g:f}",
            f"{step.final_g:f}",
            f"{step.running_total_g:f}",
            percent(step.error),
        ]
        for step in steps
    ]
    return table(heads, rows, "<" + ("<" if on else "") + ">>>>>")


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
