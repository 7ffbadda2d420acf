"""The schemas against the specification of JSON Schema, and the data against the schemas."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator
from tests.output.convert.bench import studio_jobs

from glost.output.formats import json as json_format
from glost.output.formats import jsonl
from glost.recipe.cone import KNOWN, read_cone
from glost.recipe.fields import FIELDS

SCHEMAS = sorted((Path(__file__).parents[2] / "schema").glob("*.json"))
RECIPE = json.loads((Path(__file__).parents[2] / "schema" / "recipe.schema.json").read_text("utf-8"))


# Source: the meta-schema of JSON Schema 2020-12, as the PyPI package jsonschema carries it.
@pytest.mark.parametrize("path", SCHEMAS, ids=lambda path: path.name)
def test_each_schema_is_one(path: Path) -> None:
    schema = json.loads(path.read_text("utf-8"))
    Draft202012Validator.check_schema(schema)
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"


def test_the_studio_is_valid() -> None:
    document = json.loads(json_format.write(studio_jobs()))
    assert list(Draft202012Validator(RECIPE).iter_errors(document)) == []
    line = Draft202012Validator({"$ref": "#/$defs/line", "$defs": RECIPE["$defs"]})
    for text in jsonl.write(studio_jobs()).splitlines():
        assert list(line.iter_errors(json.loads(text))) == []


def test_the_schema_names_the_fields_that_there_are() -> None:
    properties = RECIPE["$defs"]["fields"]["properties"]
    assert list(properties) == list(FIELDS)
    line = dict(RECIPE["$defs"]["line"]["properties"])
    del line["version"]
    assert list(line) == list(RECIPE["$defs"]["recipe"]["properties"])


@pytest.mark.parametrize("cone", [*KNOWN, "6 1/2", "5-6", "04-02"])
def test_the_schema_takes_each_cone(cone: str) -> None:
    pattern = Draft202012Validator(RECIPE["$defs"]["fields"]["properties"]["cone"])
    assert pattern.is_valid(str(read_cone(cone)))


def test_every_object_is_closed() -> None:
    def objects(value: object) -> list[dict[str, object]]:
        inner = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
        here = [value] if isinstance(value, dict) and value.get("type") == "object" else []
        return here + [found for one in inner for found in objects(one)]

    assert all(found["additionalProperties"] is False for found in objects(RECIPE))
