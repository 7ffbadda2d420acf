"""What JSON is refused, and in which words."""

from __future__ import annotations

import json
from typing import Any

import pytest

from glost.language.exact_json import LARGEST
from glost.output.formats.json import read_json, write
from glost.output.formats.jsonl import read_jsonl
from glost.recipe.recipe import Recipe
from tests.output.convert.bench import job_of
from tests.work import steps_grow_in_proportion, time_grows_in_proportion


def document(**changes: Any) -> str:
    recipe = {"kind": "glaze", "name": "Mist", "base": [{"name": "silica", "amount": 60}], **changes}
    return json.dumps({"version": 1, "recipes": [recipe]})


def refused(text: str) -> str:
    with pytest.raises(ValueError) as caught:  # noqa: PT011 - the caller compares the message
        read_json(text)
    return str(caught.value)


@pytest.mark.parametrize("sign", ["\x7f", "\u202e", "\u200b", "\U000e0000", "\U000e0041"])
def test_what_cannot_be_seen_is_escaped_and_comes_back(sign: str) -> None:
    """RFC 8259, section 7: beyond the Basic Multilingual Plane a character is escaped as a surrogate pair."""
    text = write([job_of(Recipe("glaze", f"Mist{sign}"))])
    assert sign not in text
    assert json.loads(text)["recipes"][0]["name"] == f"Mist{sign}"
    assert read_json(text)[0].name == f"Mist{sign}"


def test_the_least_that_is_a_recipe() -> None:
    (recipe,) = read_json(document())
    assert (recipe.kind, recipe.name, recipe.base[0].name, recipe.base[0].material) == (
        "glaze",
        "Mist",
        "silica",
        None,
    )


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "line 1, column 1: this is not JSON: expecting value"),
        ('{"version": 1,\n "recipes": [}', "line 2, column 14: this is not JSON: expecting value"),
        (
            '{"version": 1, "version": 1, "recipes": []}',
            "the key 'version' stands twice in one object; keep one",
        ),
        ('{"version": 4, "recipes": []}', "version: 4 stands here; write one of: 1, 2, 3"),
        ('{"version": true, "recipes": []}', "version: true stands here; write one of: 1, 2"),
        ('{"recipes": []}', "the whole: 'version' is missing; write it"),
        ("[]", "the whole: write an object in {} here"),
        ('{"version": NaN, "recipes": []}', "NaN is not a number that can be weighed"),
        ('{"version": -Infinity, "recipes": []}', "-Infinity is not a number that can be weighed"),
        ("[" * 100_000, "line 1: more than 50 brackets stand inside each other here"),
        ('{"a":' * 60 + "1" + "}" * 60, "line 1: more than 50 brackets"),
        (f'"{"x" * LARGEST}"', "this text holds 8,388,610 bytes; 8,388,608 are read at most: split it"),
        (f'{{"version": {"1" * 5000}}}', "the number 11111111111111111111... is too long"),
        ('{"version": 1e99999999999999999999}', "the number 1e999999999999999999... is too long"),
        (document(kind="glase"), 'recipes[0].kind: \'glase\' stands here; write one of: "glaze", "engobe"'),
        (document(colour="red"), "recipes[0]: 'colour' is not a key here; the keys are: kind, name, fields"),
        (
            document(base=[{"name": "", "amount": 1}]),
            "recipes[0].base[0].name: nothing stands here; write something",
        ),
        (document(base=[{"name": "a", "amount": "1"}]), "recipes[0].base[0].amount: write a number here"),
        (
            document(base=[{"name": "a", "amount": -1}]),
            "recipes[0].base[0].amount: -1 stands here; write 0 or more",
        ),
        (
            document(base=[{"name": "a", "amount": 1e9}]),
            "recipes[0].base[0].amount: 1000000000.0 stands here; write less",
        ),
        (
            document(base=[{"name": "a", "amount": 0.1234567}]),
            "recipes[0].base[0].amount: '0.1234567' is not an amount",
        ),
        (
            document(base=[{"name": "a", "amount": 1e-300}]),
            "recipes[0].base[0].amount: 1E-300 is not an amount",
        ),
        (
            document(base=[{"name": "a", "amount": 1, "unit": "gram"}]),
            'recipes[0].base[0].unit: \'gram\' stands here; write one of: "", "%", "g"',
        ),
        (
            document(fields={"cone": "six"}),
            "recipes[0].fields.cone: 'six' is not written as it should be; write a pyro",
        ),
        (
            document(fields={"cone": "6-04"}),
            "recipes[0].fields.cone: the cones 6-04 stand from the hotter to the cooler",
        ),
        (
            document(fields={"date": "2026-02-30"}),
            "recipes[0].fields.date: '2026-02-30' is not a date; write year",
        ),
        (
            document(fields={"gravity": {"amount": 5, "unit": ""}}),
            "recipes[0].fields.gravity: '5' is not the specific",
        ),
        (
            document(fields={"glow": "x"}),
            "recipes[0].fields: 'glow' is not a key here; the keys are: cone, atmosphere",
        ),
        (document(name="\ud800"), "half a character (a lone surrogate) stands in"),
        (
            document(
                series=[
                    {"name": "s", "steps": [{"name": "a", "amounts": [1, 2]}, {"name": "b", "amounts": [1]}]}
                ]
            ),
            "recipes[0].series[0].steps[1].amounts: 1 amounts stand here and 2 in the first step;",
        ),
        (
            document(series=[{"name": "s", "steps": [{"name": "a", "amounts": [1, 2], "units": ["g"]}]}]),
            "recipes[0].series[0].steps[0].units: 1 units stand here for 2 amounts; write one for each",
        ),
        (
            document(
                series=[{"name": "s", "steps": [{"name": "a", "amounts": [1], "unit": "g", "units": ["g"]}]}]
            ),
            "recipes[0].series[0].steps[0]: 'unit' and 'units' stand side by side; keep one of them",
        ),
    ],
    ids=lambda value: value[:60],
)
def test_what_is_refused(text: str, message: str) -> None:
    assert refused(text).startswith(message)


@pytest.mark.parametrize(
    ("start", "unit", "end"),
    [('"', '\\"', "\\"), ('"', '""', ""), ("{", '"a":[],', ""), ("[", "[],", ""), ("[", "1,", "1")],
    ids=("escaped", "quotes", "keys", "lists", "numbers"),
)
def test_no_text_takes_long(start: str, unit: str, end: str) -> None:
    def refuse(size: int) -> None:
        said = refused(start + unit * size + end)
        assert "JSON" in said or "twice" in said or "not an object" in said, said

    assert steps_grow_in_proportion(refuse, 1_000)
    assert time_grows_in_proportion(refuse, 20_000)


def test_what_may_be_written_otherwise() -> None:
    (recipe,) = read_json(document(base=[{"name": "a", "amount": 1.50e1}], base_total=99))
    assert str(recipe.base[0].quantity) == "15.0"


def test_a_line_names_itself() -> None:
    good = json.dumps({"version": 1, "kind": "glaze", "name": "Mist", "base": []})
    with pytest.raises(ValueError, match=r"^line 3: base\[0\]: 'amount' is missing; write it$"):
        read_jsonl(good + "\n\n" + good.replace("[]", '[{"name": "a"}]') + "\n")
    with pytest.raises(ValueError, match=r"^line 1: the whole: 'version' is missing; write it$"):
        read_jsonl(good.replace('"version": 1, ', ""))


def test_nothing_in_it_steers_a_terminal() -> None:
    name = "\x1b]0;x\x07\x9b31m\u202egnp.exe\u2066\u2028"
    text = write([job_of(Recipe("glaze", name))])
    assert all(character >= " " or character == "\n" for character in text)
    assert not set("\x9b\u202e\u2066\u2028") & set(text)
    assert read_json(text)[0].name == name
