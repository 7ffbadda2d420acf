"""Recipes as JSON: exact, typed, and checked against schema/recipe.schema.json when it is read.

Numbers are written with the digits of the recipe. An amount has at most 15, so that a program which reads
numbers as doubles still gets each amount right; reading here takes them as decimals.
"""

from __future__ import annotations

import functools
import json
import re
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal, InvalidOperation
from typing import TYPE_CHECKING, Any, NoReturn

from glost.convert.amount import bounded
from glost.convert.format import Format, Job
from glost.recipe.fields import FIELDS, Quantity, Value
from glost.recipe.recipe import Handling, Ingredient, Recipe, Series, Step, Variation
from glost.shipped import shipped
from glost.weighing.rounding import plain

if TYPE_CHECKING:
    from jsonschema import Draft202012Validator
    from jsonschema.exceptions import ValidationError

VERSION = 1
"""Of the form of the data. It changes when what was written before would be read as something else."""

LARGEST = 8 * 1024 * 1024
"""Bytes."""
DEEPEST = 50
_LINE = 110
"""Columns up to which an object stands on one line."""
_LONGEST_NUMBER = 60

# What JSON allows inside a string and a terminal should not be given: controls that are not escaped anyhow,
# signs that turn the direction of writing, line separators, lone surrogates. They stand nowhere else in the
# text.
_HIDDEN = re.compile(
    "[\x7f-\x9f\u061c\u200b\u200e\u200f\u2028-\u202e\u2060-\u2064\u2066-\u206f\ufeff\ud800-\udfff]"
)
# Always matches from a quote on, and never goes back, so that no text makes it slow.
_BRACKETS = re.compile(r'"(?:[^"\\]|\\.)*+(?:"|\\?\Z)|[\[\]{}]', re.DOTALL)


# ---- writing -------------------------------------------------------------------------------------------


def write(jobs: Sequence[Job]) -> str:
    """One document that holds all recipes."""
    document = {"version": Decimal(VERSION), "recipes": [data(job.recipe) for job in jobs]}
    return written(document) + "\n"


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
                "additions": [_ingredient(ingredient) for ingredient in variation.additions],
            }
            for variation in recipe.variations
        ],
        "series": [
            {"name": series.name, "steps": [_step(step) for step in series.steps]} for series in recipe.series
        ],
        "notes": recipe.notes,
    }


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


def written(value: Any, indent: int | None = 0) -> str:
    """``value`` as JSON, Decimals with every digit. What fits stands on one line, the rest two blanks further
    in; with ``indent`` None all of it stands on one line."""
    if isinstance(value, Decimal):
        return f"{value:f}"
    if value is None:
        return "null"
    if isinstance(value, str):
        return _HIDDEN.sub(lambda found: f"\\u{ord(found[0]):04x}", json.dumps(value, ensure_ascii=False))
    if indent is None or _flat(value):
        line = ", ".join(_entries(value, None))
        line = f"{{{line}}}" if isinstance(value, dict) else f"[{line}]"
        if indent is None or not value or len(line) + indent <= _LINE:
            return line
    assert indent is not None
    edge = " " * (indent + 2)
    lines = ",\n".join(edge + entry for entry in _entries(value, indent + 2))
    return f"{{\n{lines}\n{' ' * indent}}}" if isinstance(value, dict) else f"[\n{lines}\n{' ' * indent}]"


def _flat(value: dict[str, Any] | list[Any]) -> bool:
    """Whether there is nothing in it but single values and lists of those."""
    inside = value.values() if isinstance(value, dict) else value
    return all(
        not inner
        or (
            not isinstance(inner, dict)
            and (not isinstance(inner, list) or not any(isinstance(one, (dict, list)) for one in inner))
        )
        for inner in inside
    )


def _entries(value: dict[str, Any] | list[Any], indent: int | None) -> Iterable[str]:
    if isinstance(value, dict):
        return (f"{json.dumps(key)}: {written(inner, indent)}" for key, inner in value.items())
    return (written(inner, indent) for inner in value)


# ---- reading -------------------------------------------------------------------------------------------


def read_json(text: str) -> list[Recipe]:
    """The recipes of a document. Raises ValueError that says where it differs from the schema, and how to
    mend it."""
    document = loaded(text)
    check(document, "document")
    return [recipe(entry, f"recipes[{at}].") for at, entry in enumerate(document["recipes"])]


def loaded(text: str) -> Any:
    """The JSON value in a text, numbers as Decimals. Raises ValueError for what is too large, too deep, no
    JSON, or says one thing twice."""
    text = text.removeprefix("\ufeff")
    size = len(text.encode("utf-8", "surrogatepass"))
    if size > LARGEST:
        raise ValueError(
            f"this text holds {size:,} bytes; {LARGEST:,} are read at most: split it into several"
        )
    _check_depth(text)
    try:
        value = json.loads(
            text, parse_float=_number, parse_int=_number, parse_constant=_constant, object_pairs_hook=_object
        )
    except json.JSONDecodeError as error:
        said = error.msg[:1].lower() + error.msg[1:]
        raise ValueError(f"line {error.lineno}, column {error.colno}: this is not JSON: {said}") from None
    if "\\u" in text or not text.isascii():
        _check_characters(value)
    return value


def _check_depth(text: str) -> None:
    depth = 0
    for found in _BRACKETS.finditer(text):
        if found[0] in "[{":
            depth += 1
            if depth > DEEPEST:
                line = text.count("\n", 0, found.start()) + 1
                raise ValueError(
                    f"line {line}: more than {DEEPEST} brackets stand inside each other here; a recipe needs"
                    " no more than eight"
                )
        elif found[0] in "]}":
            depth -= 1


def _number(text: str) -> Decimal:
    try:
        if len(text) <= _LONGEST_NUMBER:
            return Decimal(text)
    except InvalidOperation:
        pass
    raise ValueError(f"the number {text[:20]}... is too long; an amount has at most 9 figures and 6 decimals")


def _constant(text: str) -> NoReturn:
    raise ValueError(f"{text} is not a number that can be weighed; write one with figures, such as 0.5")


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    value = dict(pairs)
    if len(value) != len(pairs):
        seen: set[str] = set()
        twice = next(key for key, _ in pairs if key in seen or seen.add(key))  # type: ignore[func-returns-value]
        raise ValueError(f"the key '{_short(twice)}' stands twice in one object; keep one of them")
    return value


def _check_characters(value: Any) -> None:
    """Raise ValueError for half a character, which no file can hold."""
    if isinstance(value, str):
        if any("\ud800" <= character <= "\udfff" for character in value):
            raise ValueError(
                f"half a character (a lone surrogate) stands in '{_short(value)}'; write the whole one"
            )
    elif isinstance(value, dict):
        for key, inner in value.items():
            _check_characters(key)
            _check_characters(inner)
    elif isinstance(value, list):
        for inner in value:
            _check_characters(inner)


def recipe(entry: Mapping[str, Any], path: str) -> Recipe:
    """The recipe in a value that the schema has passed; ``path`` leads to it, with a point behind it. Raises
    ValueError for what the schema cannot say."""
    fields: dict[str, Value] = {}
    for key, said in entry.get("fields", {}).items():
        try:
            fields[key] = _read_field(key, said)
        except ValueError as error:
            raise ValueError(f"{path}fields.{key}: {error}") from None
    return Recipe(
        kind=entry["kind"],
        name=entry["name"],
        fields=fields,
        base=_read_ingredients(entry["base"], f"{path}base"),
        additions=_read_ingredients(entry.get("additions", ()), f"{path}additions"),
        handling=tuple(Handling(tuple(one["names"]), one["text"]) for one in entry.get("handling", ())),
        variations=tuple(
            Variation(one["name"], _read_ingredients(one["additions"], f"{path}variations[{at}].additions"))
            for at, one in enumerate(entry.get("variations", ()))
        ),
        series=tuple(
            Series(one["name"], _read_steps(one["steps"], f"{path}series[{at}].steps"))
            for at, one in enumerate(entry.get("series", ()))
        ),
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


def _read_steps(entries: Sequence[Mapping[str, Any]], path: str) -> tuple[Step, ...]:
    steps: list[Step] = []
    for at, one in enumerate(entries):
        amounts = [
            _read_amount(amount, f"{path}[{at}].amounts[{n}]") for n, amount in enumerate(one["amounts"])
        ]
        units = one.get("units", [one.get("unit", "")] * len(amounts))
        if len(units) != len(amounts):
            raise ValueError(
                f"{path}[{at}].units: {len(units)} units stand here for {len(amounts)} amounts; write one for"
                " each"
            )
        steps.append(
            Step(one["name"], one.get("material"), tuple(map(Quantity, amounts, units)), one.get("note", ""))
        )
        first = len(steps[0].quantities)
        if len(amounts) != first:
            raise ValueError(
                f"{path}[{at}].amounts: {len(amounts)} amounts stand here and {first} in the first step;"
                " write one a test"
            )
    return tuple(steps)


def _read_amount(number: Decimal, path: str) -> Decimal:
    try:
        return bounded(number)
    except ValueError as error:
        raise ValueError(f"{path}: {error}") from None


# ---- the schema ----------------------------------------------------------------------------------------


def check(value: Any, part: str) -> None:
    """Raise ValueError with the first place where ``value`` is not what the schema says of that part of it
    ("document" or "line")."""
    error = next(_validator(part).iter_errors(value), None)
    if error is not None:
        raise ValueError(f"{_path(error.absolute_path)}: {_plain_words(error)}")


@functools.cache
def _validator(part: str) -> Draft202012Validator:
    from jsonschema import Draft202012Validator

    schema = json.loads(shipped("schema", "recipe.schema.json").read_text("utf-8"))
    return Draft202012Validator({"$ref": f"#/$defs/{part}", "$defs": schema["$defs"]})


def _path(steps: Iterable[str | int]) -> str:
    path = "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in steps)
    return path.removeprefix(".") or "the whole"


_TYPES = {
    "object": "an object in {}",
    "array": "a list in []",
    "string": "a text in double quotes",
    "number": "a number",
    "null": "null",
}


def _plain_words(error: ValidationError) -> str:
    rule = str(error.validator)
    said: Any = error.validator_value
    value: Any = error.instance
    schema: Any = error.schema
    if rule == "type":
        kinds = [said] if isinstance(said, str) else said
        return f"write {' or '.join(_TYPES[kind] for kind in kinds)} here"
    if rule == "required":
        missing = next(key for key in said if key not in value)
        return f"'{missing}' is missing; write it"
    if rule == "additionalProperties":
        known = list(schema["properties"])
        extra = next(key for key in value if key not in known)
        return f"'{_short(extra)}' is not a key here; the keys are: {', '.join(known)}"
    if rule == "enum":
        return f"{_shown(value)} stands here; write one of: {', '.join(json.dumps(one) for one in said)}"
    if rule == "const":
        return f"{_shown(value)} stands here; write {json.dumps(said)}"
    if rule in ("minimum", "maximum", "exclusiveMinimum", "exclusiveMaximum"):
        limit = {
            "minimum": f"{said} or more",
            "maximum": f"{said} or less",
            "exclusiveMinimum": f"more than {said}",
            "exclusiveMaximum": f"less than {said}",
        }[rule]
        return f"{_shown(value)} stands here; write {limit}"
    if rule in ("minLength", "minItems"):
        return "nothing stands here; write something, or leave the key out"
    if rule == "pattern":
        asked = schema.get("description", said)
        return f"{_shown(value)} is not written as it should be; write {asked}"
    if rule == "not":
        return "'unit' and 'units' stand side by side; keep one of them"
    return _short(error.message)


def _shown(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    return f"'{_short(value)}'" if isinstance(value, str) else _short(str(value))


def _short(text: str) -> str:
    line = " ".join(text.split())
    return line if len(line) <= 60 else line[:57] + "..."


FORMAT = Format(
    name="json",
    ending=".json",
    summary="one JSON document that holds all recipes, for other programs",
    write=write,
    together=True,
    read=read_json,
)
