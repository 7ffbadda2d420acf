"""The JSON of a record: what is taken, and what is refused in which words."""

from __future__ import annotations

import json
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given

from glost.language.exact_json import LARGEST, loaded, written
from glost.records.record import Record, data, record_from
from tests.conftest import TOP
from tests.records.bench import GROWN, MIST, json_of, records


def read(text: str) -> Record:
    return record_from(loaded(text))


def refused(text: str) -> str:
    with pytest.raises(ValueError) as caught:  # noqa: PT011 - the caller compares the message
        read(text)
    return str(caught.value)


def with_line(**changes: Any) -> str:
    lines = data(MIST)["lines"]
    return json_of(lines=[{**lines[0], **changes}, *lines[1:]])


@given(records)
def test_json_gives_the_record_back(record: Record) -> None:
    again = read(json_of(record))
    assert again == record
    assert [f"{line.target_g:f}" for line in again.lines if line.target_g] == [
        f"{line.target_g:f}" for line in record.lines if line.target_g
    ]


def test_the_saved_record_of_the_demo_is_one() -> None:
    record = read((TOP / "corpus" / "records" / "harbour-mist.json").read_text("utf-8"))
    assert (record.recipe, record.total_actual_g) == ("Harbour Mist", Decimal("1045.2"))


def test_the_day_and_the_moment_are_those_of_weighing() -> None:
    assert (str(GROWN.day), GROWN.moment) == ("2026-03-13", "2026-03-13T23:57:00")
    assert (str(MIST.day), MIST.moment) == ("2026-03-14", "2026-03-14T10:22:05")


def test_amounts_are_exact() -> None:
    text = json_of().replace("120.1", "120.10")
    assert str(read(text).lines[0].actual_g) == "120.10"
    assert read(text.replace("120.10", "1.201e2")) == MIST


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "line 1, column 1: this is not JSON: expecting value"),
        ("[]", "the whole: write an object in {} here"),
        ("null", "the whole: write an object in {} here"),
        (json_of().replace('"kind"', '"version": 1, "kind"'), "the key 'version' stands twice in one object"),
        (json_of().replace("120.1", "NaN"), "NaN is not a number that can be weighed"),
        (json_of().replace("120.1", "Infinity"), "Infinity is not a number that can be weighed"),
        (json_of().replace("120.1", "1" * 100), "the number 11111111111111111111... is too long"),
        ("[" * 100_000, "line 1: more than 50 brackets stand inside each other here"),
        (f'"{"x" * LARGEST}"', "this text holds 8,388,610 bytes; 8,388,608 are read at most"),
        (json_of().replace("spring", "\\ud800"), "half a character (a lone surrogate) stands in"),
        (json_of(version=4), "version: this is not a record of a version that is read here"),
        (json_of(version=True), "version: this is not a record of a version that is read here"),
        (json_of(version="1"), "version: this is not a record of a version that is read here"),
        (json_of(version=2), "the whole: 'weighed_on' is missing; write it"),
        (json_of(weighed_on="2026-03-14"), "the whole: 'weighed_on' is not a key here; the keys are"),
        (json_of(GROWN, weighed_on="2026-02-30"), "weighed_on: '2026-02-30' is no day; write such as"),
        (json_of(GROWN, weighed_on="14.3.26"), "weighed_on: '14.3.26' is not written as it should be; write a day"),
        (json_of(GROWN, planned={"base_mass_g": 190, "total_mass_g": 190}), "planned.total_mass_g: 190 stands here"),
        (json_of(GROWN, rescues=[{}]), "rescues[0]: 'at' is missing"),
        (json_of(GROWN).replace('"ticked"', '"guessed"'), "lines[2].taken: 'guessed' stands here; write one of"),
        (json_of(GROWN).replace("T00:04:00+01:00", "T25:04:00+01:00"), "lines[2].at: '2026-03-14T25:04:00+01:00'"),
        (json_of(kind="glost recipe"), "kind: 'glost recipe' stands here; write \"glost record\""),
        (json_of(person=...), "the whole: 'person' is missing; write it"),
        (json_of(price=3), "the whole: 'price' is not a key here; the keys are: version, kind, recorded_at"),
        (json_of(person=3), "person: write a text in double quotes here"),
        (json_of(person="x" * 4001), "person: 4,001 characters stand here; 4,000 are read at most"),
        (json_of(lines=[]), "lines: nothing stands here; write something"),
        (json_of(revision="5c1e0aa"), "revision: write an object in {} or null here"),
        (json_of(revision={"text": "5c1e0aa"}), "revision: 'changed' is missing; write it"),
        (json_of(revision={"text": "5c1e0aa", "changed": "no"}), "revision.changed: write true or false here"),
        (json_of(water_g="156"), "water_g: write a number or null here"),
        (json_of(water_g=-1), "water_g: -1 stands here; write 0 or more"),
        (with_line(actual_g=True), "lines[0].actual_g: write a number or null here"),
        (with_line(target_g=None), "lines[0].target_g: write a number here"),
        (with_line(material=""), "lines[0].material: nothing stands here; write something"),
        (with_line(target_g=Decimal("0.0000000001")), "lines[0].target_g: 1E-10 is no mass that can be weighed"),
        (with_line(target_g=Decimal("1.0000000001")), "lines[0].target_g: '1.0000000001' is no mass; write grams"),
        (json_of().replace("120.1", "1e-999999999"), "lines[0].actual_g: 1E-999999999 is no mass"),
        (json_of().replace("120.1", "1e999999999"), "lines[0].actual_g: 1E+999999999 stands here; write less than"),
        (json_of(recorded_at="14.3.2026"), "recorded_at: '14.3.2026' is not written as it should be; write such"),
        (json_of(recorded_at="2026-02-30T10:00:00Z"), "recorded_at: '2026-02-30T10:00:00Z' is no date and time"),
        (json_of(recorded_at="2026-03-14T10:00:00"), "recorded_at: '2026-03-14T10:00:00' is not written as it should"),
        (json_of(total_actual_g=Decimal("202.02")), "total_actual_g: 202.02 stands here, and the weighed masses"),
        (json_of(total_actual_g=None), "total_actual_g: null stands here, and the weighed masses"),
        (with_line(actual_g=None), "total_actual_g: 202.01 stands here, and the weighed"),
        (json_of(batch={"base_mass_g": 1, "total_mass_g": 1}), "batch.total_mass_g: 1 stands here"),
    ],
    ids=lambda value: value[:60],
)  # fmt: skip
def test_what_is_refused(text: str, message: str) -> None:
    assert refused(text).startswith(message)


def test_data_is_what_the_page_saves() -> None:
    assert json.loads(json_of()) == json.loads(written(data(MIST)))
