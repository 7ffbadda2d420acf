"""Recipes as JSON: exact, typed, and checked against schema/recipe.schema.json when it is read.

Numbers are written with the digits of the recipe. An amount has at most 15, so that a program which reads
numbers as doubles still gets each amount right; reading here takes them as decimals.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from glost.errors import ValueRefusedError, refused_at
from glost.language.exact_json import check_against, loaded, written
from glost.output.amount import bounded
from glost.output.format import Format, Job
from glost.output.origin import revision_data
from glost.output.used_data import read_uses, used_data
from glost.recipe.blends import SHAPES, divisions
from glost.recipe.fields import FIELDS, Quantity, Value
from glost.recipe.recipe import (
    Blend,
    Handling,
    Ingredient,
    Recipe,
    Series,
    Step,
    Variation,
    labels,
)
from glost.weighing.rounding import plain

VERSION = 3
"""Of the form of the data. It changes when what is written could not be read, or not as what it is, by who knows the
one before. The second brought blends, a base that is set anew, recipes among the ingredients, and what a variation says
of itself; the third says of each recipe where it is from, and its tests. All are read."""


# ---- writing -------------------------------------------------------------------------------------------


def write(jobs: Sequence[Job]) -> str:
    """One document that holds all recipes."""
    document = {"version": Decimal(VERSION), "recipes": [data_of(job) for job in jobs]}
    return written(document) + "\n"


def data_of(job: Job) -> dict[str, Any]:
    """A recipe as the schema has it, with where it is from, its tests, and the errors that stand on its page."""
    return {
        **data(job.recipe),
        "file": job.file,
        "collection": job.collection,
        "revision": revision_data(job.revision),
        "tests": list(labels(job.recipe)),
        "findings": [one.data for one in job.attention],
    }


def data(recipe: Recipe) -> dict[str, Any]:
    """A recipe as the schema has it. Numbers are Decimals."""
    return {
        "kind": recipe.kind,
        "name": recipe.name,
        "fields": {key: _field(value) for key, value in recipe.fields.items()},
        "base": [_ingredient(ingredient) for ingredient in recipe.base],
        "base_total": plain(recipe.base_total),
        "additions": [_ingredient(ingredient) for ingredient in recipe.additions],
        "handling": [{"names": list(handling.names), "text": handling.text} for handling in recipe.handling],
        "variations": [
            {
                "name": variation.name,
                **({"base": [_ingredient(one) for one in variation.base]} if variation.base else {}),
                "additions": [_ingredient(ingredient) for ingredient in variation.additions],
                **({"fields": dict(variation.fields)} if variation.fields else {}),
            }
            for variation in recipe.variations
        ],
        "series": [{"name": series.name, **_steps(series)} for series in recipe.series],
        **(
            {"blends": [{"name": blend.name, "by": blend.by, **_steps(blend)} for blend in recipe.blends]}
            if recipe.blends
            else {}
        ),
        "notes": recipe.notes,
        **({"uses": [used_data(used) for used in recipe.uses.values()]} if recipe.uses else {}),
    }


def _steps(block: Series | Blend) -> dict[str, Any]:
    base = {"base": [_step(step) for step in block.base]} if block.base else {}
    return {**base, "steps": [_step(step) for step in block.steps]}


def _field(value: Value) -> Any:
    if isinstance(value, Quantity):
        return {"amount": value.amount, "unit": value.unit}
    return list(value) if isinstance(value, tuple) else str(value)


def _ingredient(ingredient: Ingredient) -> dict[str, Any]:
    quantity = ingredient.quantity
    return {
        "name": ingredient.name,
        "material": ingredient.material,
        "amount": quantity.amount,
        "unit": quantity.unit,
        "note": ingredient.note,
    }


def _step(step: Step) -> dict[str, Any]:
    units = [quantity.unit for quantity in step.quantities]
    same = len(set(units)) == 1
    return {
        "name": step.name,
        "material": step.material,
        "amounts": [quantity.amount for quantity in step.quantities],
        **({"unit": units[0]} if same else {"units": units}),
        "note": step.note,
    }


# ---- reading -------------------------------------------------------------------------------------------


def read_json(text: str) -> list[Recipe]:
    """The recipes of a document. Raises ValueError that says where it differs from the schema, and how to
    fix it."""
    document = loaded(text)
    check(document, "document")
    return [recipe(entry, f"recipes[{at}].") for at, entry in enumerate(document["recipes"])]


def recipe(entry: Mapping[str, Any], path: str) -> Recipe:
    """The recipe in a value that the schema has passed; ``path`` leads to it, with a point behind it. Raises
    ValueError for what the schema cannot say."""
    fields: dict[str, Value] = {}
    for key, said in entry.get("fields", {}).items():
        try:
            fields[key] = _read_field(key, said)
        except ValueError as error:
            raise refused_at(f"{path}fields.{key}", error) from None
    return Recipe(
        kind=entry["kind"],
        name=entry["name"],
        fields=fields,
        base=_read_ingredients(entry["base"], f"{path}base"),
        additions=_read_ingredients(entry.get("additions", ()), f"{path}additions"),
        handling=tuple(Handling(tuple(one["names"]), one["text"]) for one in entry.get("handling", ())),
        variations=tuple(
            Variation(
                one["name"],
                _read_ingredients(one["additions"], f"{path}variations[{at}].additions"),
                _read_ingredients(one.get("base", ()), f"{path}variations[{at}].base"),
                tuple(one.get("fields", {}).items()),
            )
            for at, one in enumerate(entry.get("variations", ()))
        ),
        series=tuple(
            Series(one["name"], *_read_blocks(one, f"{path}series[{at}]"))
            for at, one in enumerate(entry.get("series", ()))
        ),
        blends=tuple(
            _read_blend(one, f"{path}blends[{at}]") for at, one in enumerate(entry.get("blends", ()))
        ),
        uses=read_uses(entry.get("uses", ()), f"{path}uses"),
        notes=entry.get("notes", ""),
    )


def _read_field(key: str, said: Any) -> Value:
    if isinstance(said, dict):
        return FIELDS[key].read(f"{bounded(said['amount']):f} {said['unit']}".rstrip(" "))
    return tuple(said) if isinstance(said, list) else FIELDS[key].read(said)


def _read_ingredients(entries: Sequence[Mapping[str, Any]], path: str) -> tuple[Ingredient, ...]:
    return tuple(
        Ingredient(
            one["name"],
            one.get("material"),
            Quantity(_read_amount(one["amount"], f"{path}[{at}].amount"), one.get("unit", "")),
            one.get("note", ""),
        )
        for at, one in enumerate(entries)
    )


def _read_blocks(entry: Mapping[str, Any], path: str) -> tuple[tuple[Step, ...], tuple[Step, ...]]:
    """The steps of a series or blend, and those of its base."""
    steps = _read_steps(entry["steps"], f"{path}.steps")
    base = _read_steps(entry.get("base", ()), f"{path}.base")
    if steps and base and len(steps[0].quantities) != len(base[0].quantities):
        raise ValueRefusedError(
            f"{path}: {len(steps[0].quantities)} amounts stand in its steps and {len(base[0].quantities)} in its base",
            "write one a test in both",
        )
    return steps, base


def _read_blend(entry: Mapping[str, Any], path: str) -> Blend:
    by = _read_amount(entry["by"], f"{path}.by")
    if divisions(by) is None:
        raise ValueRefusedError(f"{path}.by: a step of {by:f} % does not divide 100", "write such as 25")
    blend = Blend(entry["name"], by, *_read_blocks(entry, path))
    if blend.corners not in SHAPES:
        raise ValueRefusedError(
            f"{path}: {blend.corners} corners stand here", "write 2, 3 or 4 amounts a line"
        )
    return blend


def _read_steps(entries: Sequence[Mapping[str, Any]], path: str) -> tuple[Step, ...]:
    steps: list[Step] = []
    for at, one in enumerate(entries):
        amounts = [
            _read_amount(amount, f"{path}[{at}].amounts[{n}]") for n, amount in enumerate(one["amounts"])
        ]
        units = one.get("units", [one.get("unit", "")] * len(amounts))
        if len(units) != len(amounts):
            raise ValueRefusedError(
                f"{path}[{at}].units: {len(units)} units stand here for {len(amounts)} amounts",
                "write one for each",
            )
        steps.append(
            Step(one["name"], one.get("material"), tuple(map(Quantity, amounts, units)), one.get("note", ""))
        )
        first = len(steps[0].quantities)
        if len(amounts) != first:
            raise ValueRefusedError(
                f"{path}[{at}].amounts: {len(amounts)} amounts stand here and {first} in the first step",
                "write one a test",
            )
    return tuple(steps)


def _read_amount(number: Decimal, path: str) -> Decimal:
    try:
        return bounded(number)
    except ValueError as error:
        raise refused_at(path, error) from None


def check(value: Any, part: str) -> None:
    """Raise ValueError with the first place where ``value`` is not what the schema says of that part of it
    ("document" or "line")."""
    check_against("recipe.schema.json", value, f"#/$defs/{part}")


FORMAT = Format(
    name="json",
    ending=".json",
    summary="one JSON document that holds all recipes, for other programs",
    write=write,
    mark=re.compile(r'\A\{\s*"version": \d+,\s*"recipes": \['),
    together=True,
    read=read_json,
)
