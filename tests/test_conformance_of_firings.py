"""The conformance corpus of the pages of firings, which corpus/conformance/README.md describes."""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from glost.changes.firing_text import comments_of, said_of, said_of_tile
from glost.language.diagnostics import Diagnostic
from glost.language.parse import parse
from glost.language.source import DecodeError, Source, apply, decode
from glost.recipe.firing import ResolvedFiring, resolve_firing
from glost.recipe.schedule import Schedule
from tests.test_conformance import CORPUS, figure, finding, fraction

FIRINGS = CORPUS / "firings"
ACCEPT = sorted((FIRINGS / "accept").glob("*.firing"))
REJECT = sorted((FIRINGS / "reject").glob("*.firing"))


def read(data: bytes) -> ResolvedFiring:
    """What a file means. Raises DecodeError."""
    return resolve_firing(parse(Source("page.firing", decode(data))))


def meaning(resolved: ResolvedFiring) -> dict[str, Any]:
    """The firing, without what it does not hold."""
    firing = resolved.firing
    said = {
        "name": firing.name,
        "fields": said_of(firing),
        "schedule": None if firing.schedule is None else _schedule(firing.schedule),
        "tiles": [{"name": tile.name} | said_of_tile(tile) for tile in firing.tiles],
        "notes": firing.notes,
        "comments": list(comments_of(resolved.page)),
    }
    return {key: value for key, value in said.items() if value}


def _schedule(schedule: Schedule) -> dict[str, Any]:
    return {
        "unit": schedule.unit,
        "start": figure(schedule.start),
        "steps": [
            {
                "to": figure(step.target),
                "rate": "" if step.rate is None else figure(step.rate),
                "minutes": "" if step.minutes is None else str(step.minutes),
                "hold": str(step.hold),
            }
            for step in schedule.steps
        ],
        "known minutes": fraction(Fraction(schedule.minutes)),
    }


def diagnostics(resolved: ResolvedFiring) -> list[Diagnostic]:
    return [*resolved.page.diagnostics, *resolved.diagnostics]


def findings(data: bytes) -> list[dict[str, Any]]:
    """Every finding of a file, in the order of the page."""
    try:
        resolved = read(data)
    except DecodeError as error:
        line, column = error.position
        return [{"line": line, "column": column, "end_column": column, "message": error.message}]
    found = [finding(resolved.page.source, diagnostic) for diagnostic in diagnostics(resolved)]
    return sorted(found, key=lambda one: (one["line"], one["column"], one["message"]))


def case(path: Path) -> tuple[bytes, dict[str, Any]]:
    return path.read_bytes(), json.loads(path.with_suffix(".json").read_text("utf-8"))


@pytest.mark.parametrize("path", ACCEPT, ids=lambda path: path.stem)
def test_an_accepted_page_gives_exactly_its_firing(path: Path) -> None:
    data, expected = case(path)
    resolved = read(data)
    assert diagnostics(resolved) == []
    assert resolved.complete
    assert meaning(resolved) == expected["firing"]


@pytest.mark.parametrize("path", REJECT, ids=lambda path: path.stem)
def test_a_rejected_page_gives_exactly_its_findings_and_keeps_its_good_lines(path: Path) -> None:
    data, expected = case(path)
    assert expected["findings"]
    assert findings(data) == expected["findings"]
    assert not read(data).complete
    assert meaning(read(data)) == expected["keeps"]


@pytest.mark.parametrize("path", REJECT, ids=lambda path: path.stem)
def test_a_fix_takes_its_finding_away(path: Path) -> None:
    resolved = read(path.read_bytes())
    fixed = [one for one in diagnostics(resolved) if one.edits]
    text = apply(resolved.page.source.text, [edit for one in fixed for edit in one.edits])
    left = {one.message for one in diagnostics(read(text.encode()))}
    assert not left & {one.message for one in fixed}


@pytest.mark.parametrize("path", [*ACCEPT, *REJECT], ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_the_bytes_are_those_described(path: Path) -> None:
    data, expected = case(path)
    assert len(data) == expected["bytes"], "run: python -m tests.generate conformance"
    assert expected["says"], "read what the page gives, and say what the case is about"


def test_the_corpus_is_whole() -> None:
    assert len(ACCEPT) >= 5
    assert len(REJECT) >= 18
    for folder, pages in (("accept", ACCEPT), ("reject", REJECT)):
        assert {path.stem for path in (FIRINGS / folder).glob("*.json")} == {path.stem for path in pages}
