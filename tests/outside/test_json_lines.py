"""Every line of JSON Lines that a command prints against the schema that docs/scale.md names for it."""

from __future__ import annotations

import json
import re
from pathlib import Path

import click
import pytest
from jsonschema import Draft202012Validator
from tests.conftest import STUDIO, TOP, Run

from glost.cli import app

LISTED = {
    tuple(found["form"].split()): found["schema"]
    for found in re.finditer(
        r"^\| `glost (?P<form>[^`]+)` \| [^|]+ \| \[(?P<schema>[a-z-]+\.schema\.json)\]\(\.\./schema/(?P=schema)\) \|$",
        (TOP / "docs" / "scale.md").read_text("utf-8"),
        re.MULTILINE,
    )
}
# The demo collection, what needs work there and is left out of it, and the pages below.
PAGES = (STUDIO, STUDIO / "needs-work", Path())
OWN = {
    "unread.glost": b'glaze "Quay"\nbase:\n    whiting  twenty\n',
    "bytes.glost": b'glaze "Qu\xe4y"\nbase:\n    whiting  100\n',
    "bare.glost": b'glaze "Bare"\nbase:\n    whiting  100\n',
    "masses.glost": 'glaze "\u2028 Größe"\nbase:\n    "W 12"  60 g\n    silica  0.5 kg  (fein)\n'.encode(),
}


def validator(name: str) -> Draft202012Validator:
    schema = json.loads((TOP / "schema" / name).read_text("utf-8"))
    Draft202012Validator.check_schema(schema)
    return Draft202012Validator(schema)


def forms() -> set[tuple[str, ...]]:
    """Every option of every command that takes the word jsonl."""
    found: set[tuple[str, ...]] = set()
    context = click.Context(app.app)
    for name in app.COMMANDS:
        command = app.app.get_command(context, name)
        assert command is not None
        for option in command.params:
            metavar = option.make_metavar(context) if isinstance(option, click.Option) else ""
            if "jsonl" in getattr(option.type, "choices", ()) or "jsonl" in metavar:
                found.add((name, max(option.opts, key=len), "jsonl"))
    return found


def test_every_form_is_listed() -> None:
    assert forms() == set(LISTED)


@pytest.mark.parametrize("form", LISTED, ids=" ".join)
def test_each_line_is_what_its_schema_says(run_process: Run, tmp_path: Path, form: tuple[str, ...]) -> None:
    for name, data in OWN.items():
        (tmp_path / name).write_bytes(data)
    described = validator(LISTED[form])
    count = 0
    for path in PAGES:
        for text in run_process(*form, str(path)).stdout.split("\n")[:-1]:
            wrong = [str(error.message) for error in described.iter_errors(json.loads(text))]
            assert not wrong, (wrong, text)
            count += 1
    assert count > 20


@pytest.mark.parametrize("name", sorted(set(LISTED.values())))
def test_what_is_no_such_line_is_refused(name: str) -> None:
    described = validator(name)
    wrong: object
    for wrong in ({}, {"version": 2}, [], {"version": 2, "findings": []}, {"version": 99, "recipes": []}):
        assert not described.is_valid(wrong), wrong


def test_a_line_more_or_less_than_a_finding_holds_is_refused(run_process: Run, tmp_path: Path) -> None:
    (tmp_path / "bare.glost").write_bytes(OWN["bare.glost"])
    described = validator("finding-line.schema.json")
    line = json.loads(run_process("lint", "--output", "jsonl").stdout.splitlines()[0])
    assert described.is_valid(line)
    for key in line:
        assert not described.is_valid({other: line[other] for other in line if other != key}), key
    assert not described.is_valid({**line, "more": 1})
    assert not described.is_valid({**line, "version": 1})
