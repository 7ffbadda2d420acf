"""Sums of the log: exact, complete, and fit for a bill."""

from __future__ import annotations

import csv
import io
import json
import re
from collections import Counter
from dataclasses import replace
from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from glost.language.csv_cells import bare
from glost.output.usage.reports import as_csv, as_json, as_text
from glost.recipe.materials.catalogue import shipped_catalogue
from glost.records.record import Line, Record
from glost.records.usage import BY, Asked, By, Usage, usage
from tests.conftest import TOP
from tests.records.bench import MIST, at, records, steers

D = Decimal
SCHEMA = Draft202012Validator(json.loads((TOP / "schema" / "usage.schema.json").read_text("utf-8")))


def used(*those: Record, asked: Asked = Asked()) -> Usage:  # noqa: B008 - immutable
    return usage(((record, shipped_catalogue()) for record in those), asked)


def line(material: str, target: str, actual: str | None, lot: str = "") -> Line:
    return Line(material, material, True, D(target), None if actual is None else D(actual), lot, "")


def test_a_weighed_mass_counts_and_else_the_target_as_planned() -> None:
    found = used(
        at("2026-03-01T10:00:00Z", lines=(line("silica", "10", "10.01", "A"), line("tin oxide", "1", None))),
        at("2026-03-02T10:00:00Z", lines=(line("silica", "20", None, "B"), line("silica", "5", "5.0", "A"))),
    )
    rows = {row.material: row.amount for row in found.rows}
    assert rows["silica"] == (D("15.01"), D(20), 2, ("A", "B"))
    assert rows["tin oxide"] == (D(0), D(1), 1, ())


def test_what_was_left_out_was_not_used() -> None:
    found = used(at("2026-03-01T10:00:00Z", lines=(line("silica", "10", "0"), line("whiting", "10", "10"))))
    assert [row.material for row in found.rows] == ["whiting"]
    assert found.hazardous == ()


def test_other_names_of_a_material_are_one() -> None:
    found = used(at("2026-03-01T10:00:00Z", lines=(line("flint", "10", "10"), line("silica", "10", "10"))))
    assert [(row.material, row.amount.weighed_g) for row in found.rows] == [("silica", D(20))]


@pytest.mark.parametrize(
    ("asked", "days"),
    [
        (Asked(), [1, 14, 31]),
        (Asked(start=date(2026, 3, 14)), [14, 31]),
        (Asked(end=date(2026, 3, 14)), [1, 14]),
        (Asked(start=date(2026, 3, 2), end=date(2026, 3, 30)), [14]),
        (Asked(person="r.  t."), [1, 31]),
        (Asked(project="Tiles"), [14]),
        (Asked(person="R. T.", project="tiles"), []),
    ],
)
def test_what_is_asked_for(asked: Asked, days: list[int]) -> None:
    # The day is that of the clock at the bench: 00:30 on the 1st, though it is still February in Greenwich.
    three = [
        at("2026-03-01T00:30:00+01:00", project="mugs", lines=(line("silica", "1", "1"),)),
        at("2026-03-14T10:00:00+01:00", person="M. O.", project="tiles", lines=(line("silica", "14", "14"),)),
        at("2026-03-31T23:59:59-11:00", project="mugs", lines=(line("silica", "31", "31"),)),
    ]
    found = used(*three, asked=asked)
    assert found.records == len(days)
    assert sum(row.amount.weighed_g for row in found.rows) == sum(days)


def _names(cell: str, name: str) -> bool:
    """Whether a cell is the name letter by letter, but for what would steer a terminal: that is written out."""
    written = re.sub("<U[+]([0-9A-F]{4,6})>", lambda sign: chr(int(sign[1], 16)), cell)
    return bare(written) == name and not steers(cell)


@pytest.mark.parametrize("by", BY)
@given(st.lists(records, max_size=4))
def test_nothing_is_lost_and_nothing_is_rounded(by: By, those: list[Record]) -> None:
    found = used(*those, asked=Asked(by=by))
    weighed, planned = Fraction(0), Fraction(0)
    for record in those:
        for one in record.lines:
            if one.actual_g is None:
                planned += Fraction(one.target_g)
            else:
                weighed += Fraction(one.actual_g)
    assert sum((Fraction(row.amount.weighed_g) for row in found.rows), Fraction(0)) == weighed
    assert sum((Fraction(row.amount.planned_g) for row in found.rows), Fraction(0)) == planned
    assert len({(row.group, row.material) for row in found.rows}) == len(found.rows)
    names = {row.material for row in found.rows}
    assert Counter(names) == Counter([*(e.material for e in found.hazardous), *found.silent, *found.unknown])
    # Reports of anything: the table is read by a reader of another hand, the document is what the schema says.
    table = list(csv.reader(io.StringIO(as_csv(found), newline="")))
    assert len(table) == 1 + len(found.rows)
    head = table[0]
    for row, cells in zip(found.rows, table[1:], strict=True):
        said = dict(zip(head, cells, strict=True))
        assert _names(said["material"], row.material)
        assert (D(said["weighed_g"]), D(said["planned_g"])) == (row.amount.weighed_g, row.amount.planned_g)
        if by != "material":
            assert _names(said[by], row.group)
    document = json.loads(as_json(found), parse_float=D)
    assert list(SCHEMA.iter_errors(document)) == []
    assert [row["weighed_g"] for row in document["rows"]] == [row.amount.weighed_g for row in found.rows]
    assert not steers(as_text(found))


def test_a_table_runs_nowhere_and_numbers_are_untouched() -> None:
    record = at(
        "2026-03-01T10:00:00Z", person='=HYPERLINK("x")', lines=(line("@silica", "1", "0.10", "+1\n-2"),)
    )
    text = as_csv(used(record, asked=Asked(by="person", start=date(2026, 3, 1))))
    assert text == (
        "from,to,person,material,weighed_g,planned_g,batches,lots,hazards\r\n"
        '2026-03-01,,"\'=HYPERLINK(""x"")",\'@silica,0.10,0,1,"\'+1\n-2",\r\n'
    )


def test_hazards_are_named_with_who_used_them_and_where_they_stand() -> None:
    found = used(MIST, replace(MIST, person="M. O.", recorded_at="2026-03-15T10:00:00Z"))
    cobalt = next(entry for entry in found.hazardous if entry.material == "cobalt carbonate")
    assert cobalt.people == ("M. O.", "R. T.")
    assert cobalt.amount.weighed_g == D("4.02")
    assert ("H350i", "May cause cancer by inhalation.") in cobalt.statements
    assert cobalt.sources
    text = as_text(found)
    assert "* cobalt carbonate: 4.02 g weighed; lot CC-70a" in text
    assert "used by M. O., R. T." in text
    assert "H350i May cause cancer by inhalation." in text
    assert "supplier's safety data sheet" in text
    assert "No hazard statement on record here, which does not mean no hazard: whiting." in text


def test_what_nobody_knows_is_said() -> None:
    found = used(at("2026-03-01T10:00:00Z", person="", lines=(line("moon dust", "1", "1"),)))
    assert found.unknown == ("moon dust",)
    text = as_text(replace(found, asked=Asked(by="person")))
    assert "Not in the catalogue, so that nothing is known here of their hazards: moon dust." in " ".join(
        text.split()
    )
    assert "(no name written down)" in as_text(
        used(at("2026-03-01T10:00:00Z", person=""), asked=Asked(by="person"))
    )


def test_no_report_calls_anything_safe() -> None:
    text = as_text(used(MIST)).replace("safety data sheet", "sheet")
    assert "safe" not in text.replace("\n", " ")
