"""What the schemas say that is known elsewhere: the rules, the fields of a recipe, and the words of the language."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from glost.language.tables import in_words, lexicon
from glost.linter.rule import all_rules
from glost.output.catalog.rows import OTHERS
from glost.recipe.fields import CONE, DATE, FIELDS, GRAVITY, MASS, MESH, PERCENT, TAGS, USES, FieldType
from glost.weighing.units import MASS_UNITS, MOST_DECIMALS, MOST_DIGITS
from tests.conftest import TOP

FOLDER = TOP / "schema"
Schema = dict[str, Any]


def rules_of_the_schema() -> Schema:
    """What the schema says of every rule that there is."""
    return {
        rule.name: {
            "$ref": "#/$defs/level",
            "description": f"{rule.summary} {rule.level.capitalize()}, unless a level stands here.",
            "examples": ["warning"],
        }
        for rule in all_rules()
    }


def _sentence(field: FieldType) -> str:
    return f"{field.says[:1].upper()}{field.says[1:]}."


def _quantity(field: FieldType, units: tuple[str, ...], above_zero: bool, more: str = "") -> Schema:
    most = 10 ** lexicon().figures
    lowest = {"exclusiveMinimum": 0} if above_zero else {"minimum": 0}
    return {
        "type": "object",
        "additionalProperties": False,
        "required": ["amount", "unit"],
        "description": f"{_sentence(field).removesuffix('.')}{more}.",
        "properties": {
            "amount": {"type": "number", "exclusiveMaximum": most, **lowest},
            "unit": {"enum": list(units)},
        },
    }


# A description that begins with a small letter is what a message says to write, so it tells the form, not the use.
_CONE = (
    'a pyrometric cone in the trade\'s own writing, such as "06", "6", "6 1/2", or a range from the cooler to the '
    'hotter, "5-6" or "5 1/2-6".'
)
_TYPES: dict[str, Callable[[FieldType], Schema]] = {
    CONE.name: lambda field: {
        "type": "string",
        "pattern": "^0?[0-9]{1,2}( 1/2)?( ?- ?0?[0-9]{1,2}( 1/2)?)?$",
        "description": _CONE,
    },
    DATE.name: lambda field: {
        "type": "string",
        "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}$",
        "description": 'year-month-day, such as "2026-03-14".',
    },
    TAGS.name: lambda field: {
        "type": "array",
        "items": {
            "type": "string",
            "pattern": "^[^ ,\\n]([^,\\n]*[^ ,\\n])?$",
            "description": "a word or two without a comma, and without blanks at the ends.",
        },
        "description": "Words to find the recipe by.",
    },
    MASS.name: lambda field: _quantity(field, lexicon().masses, above_zero=True),
    PERCENT.name: lambda field: _quantity(field, ("%",), above_zero=False),
    GRAVITY.name: lambda field: _quantity(
        field, ("",), above_zero=False, more=', from 1 to 3; the unit is ""'
    ),
    MESH.name: lambda field: _quantity(field, ("mesh",), above_zero=True),
}


def field_of_the_schema(field: FieldType) -> Schema:
    """What the schema says of a field: as its type is written in JSON, a text where nothing else is known of it."""
    if field.type.words:
        return {"enum": list(field.type.words), "description": _sentence(field)}
    if field.type.name in _TYPES:
        return _TYPES[field.type.name](field)
    return {"type": "string", "minLength": 1, "description": _sentence(field)}


def _settings(schema: Schema) -> None:
    schema["properties"]["rules"]["properties"] = rules_of_the_schema()
    units = tuple(MASS_UNITS)
    number = rf"(?:[0-9]{{1,{MOST_DIGITS}}}(?:\.[0-9]{{0,{MOST_DECIMALS}}})?|\.[0-9]{{1,{MOST_DECIMALS}}})"
    longest_first = "|".join(sorted(units, key=len, reverse=True))
    schema["$defs"]["mass"]["pattern"] = rf"^\s*(?=[^a-z]*[1-9]){number}\s*(?:{longest_first})\s*$"
    schema["$defs"]["mass"]["description"] = f"A mass above 0 with its unit: {in_words(units)}."


def _recipe(schema: Schema) -> None:
    words = lexicon()
    inside = schema["$defs"]
    inside["fields"]["properties"] = {key: field_of_the_schema(field) for key, field in FIELDS.items()}
    inside["recipe"]["properties"]["kind"]["enum"] = list(words.kinds)
    inside["unit"]["enum"] = ["", *words.units]
    inside["amount"]["exclusiveMaximum"] = 10**words.figures
    inside["amount"]["description"] = (
        f"An exact amount: at most {words.figures} figures in front of the decimal point and {words.decimals} "
        "behind it."
    )


def _catalog(schema: Schema) -> None:
    inside = schema["properties"]
    inside["kind"]["enum"] = ["", *lexicon().kinds]
    inside["use"]["enum"] = ["", *USES]
    inside["more"]["properties"] = {
        key: {"type": "string", "description": _sentence(FIELDS[key])} for key in OTHERS
    }


PAGES: dict[str, Callable[[Schema], None]] = {
    "settings.schema.json": _settings,
    "recipe.schema.json": _recipe,
    "catalog.schema.json": _catalog,
}


def _line_of_findings(findings: Schema) -> Schema:
    """A finding that stands alone, with the version of the whole in it."""
    finding = findings["properties"]["findings"]["items"]
    return {
        "$schema": findings["$schema"],
        "title": "A finding of glost lint on a line of its own",
        "description": "What `glost lint --output jsonl` writes on each line; findings.schema.json has them as one.",
        **finding,
        "required": ["version", *finding["required"]],
        "properties": {"version": findings["properties"]["version"], **finding["properties"]},
    }


def _line_of_recipes(recipes: Schema) -> Schema:
    return {
        "$schema": recipes["$schema"],
        "title": "A recipe on a line of its own",
        "description": "What `glost convert --to jsonl` writes on each line; recipe.schema.json has them as one. "
        "Masses and parts are exact decimals: read them as such where the language can.",
        "$ref": "#/$defs/line",
        "$defs": {name: inside for name, inside in recipes["$defs"].items() if name != "document"},
    }


LINES: dict[str, tuple[str, Callable[[Schema], Schema]]] = {
    "finding-line.schema.json": ("findings.schema.json", _line_of_findings),
    "recipe-line.schema.json": ("recipe.schema.json", _line_of_recipes),
}
"""The forms that are one value a line, by the schema of the whole. A row of the catalog has no whole."""


def files() -> dict[Path, str]:
    schemas: dict[str, Schema] = {}
    for name, change in PAGES.items():
        schemas[name] = _written(name)
        change(schemas[name])
    for name, (whole, line_of) in LINES.items():
        schemas[name] = line_of(schemas[whole] if whole in schemas else _written(whole))
    return {
        FOLDER / name: json.dumps(schema, ensure_ascii=False, indent=2) + "\n"
        for name, schema in schemas.items()
    }


def _written(name: str) -> Schema:
    schema: Schema = json.loads((FOLDER / name).read_text("utf-8"))
    return schema
