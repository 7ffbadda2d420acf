"""What a batch record must hold, point by point, against the sheet, the record that is saved, and the log.

Source: 21 CFR 211.188, batch production and control records (43 FR 45077, amended 73 FR 51933; read). It is law for
makers of drugs and not for a studio; it is the best list there is of what a record of one batch must answer. What is
left out is left out on purpose, and docs/records.md says so in the same words.
"""

from __future__ import annotations

import json
import re
from decimal import Decimal
from typing import Any, NamedTuple

import pytest
from tests.conftest import TOP
from tests.records.bench import MIST

from glost.language.parse import parse
from glost.language.source import Source
from glost.output.format import Job, Revision
from glost.output.formats import sheet
from glost.recipe.materials.catalogue import shipped_catalogue
from glost.recipe.resolve import resolve
from glost.recipe.settings import Settings
from glost.records.record import data
from glost.records.text import text_of
from glost.weighing.balance import Balance


class Point(NamedTuple):
    """One item of the section, what it asks for in short, and where it is met: words of the sheet, keys of the
    record, words of the log. ``left_out``: why it is not, or not wholly."""

    item: str
    asks: str
    sheet: tuple[str, ...] = ()
    record: tuple[str, ...] = ()
    log: tuple[str, ...] = ()
    left_out: str = ""


NOT_FOR_SALE = "a batch of glaze is not packed or labelled for sale"
POINTS = (
    Point(
        "(a)",
        "an accurate reproduction of the master record, checked, dated and signed",
        ("Harbour Mist", "file harbour-mist.glost", "revision 5c1e0aa", "parts grams", "checked by"),
        ("recipe", "test", "file", "revision.text", "revision.changed", "lines.target_g", "checked_by"),
        ("recipe: Harbour Mist", "test: storm", "file: stoneware/harbour-mist.glost", "revision: 5c1e0aa",
         "changed since: yes", "target g", "checked by: M. O."),
    ),
    Point("(b)(1)", "dates", ("date ___",), ("recorded_at",), ("recorded: 2026-03-14T10:22:05+01:00",)),
    Point(
        "(b)(2)",
        "identity of individual major equipment and lines used",
        ("balance ___", "sieve 100 mesh"),
        ("lines.balance", "sieve"),
        ("| balance |", "| floor ", "sieve: 100 mesh"),
    ),
    Point(
        "(b)(3)",
        "specific identification of each batch of component used",
        ("lot\n",),
        ("lines.material", "lines.name", "lines.lot"),
        ("| lot ", "| S-94a "),
    ),
    Point(
        "(b)(4)",
        "weights and measures of components used",
        ("weighed", "water 60.3 g"),
        ("lines.actual_g", "water_g"),
        ("weighed g", "120.1", "water: 156 g"),
    ),
    Point(
        "(b)(5)",
        "in-process and laboratory control results",
        ("Fired result", "cone reached"),
        ("remarks",),
        ("remarks:",),
        "the kiln comes weeks later, so its result stands on the sheet and not in the record; what is seen while the"
        " batch is mixed goes under remarks",
    ),
    Point("(b)(6)", "inspection of the packaging and labelling area", left_out=NOT_FOR_SALE),
    Point(
        "(b)(7)",
        "actual yield and percentage of theoretical yield",
        ("total on the balance 100.5 ___",),
        ("batch.total_mass_g", "total_actual_g"),
        ("target: 202.00 g", "weighed: 202.01 g, 100.00 % of the target"),
    ),
    Point("(b)(8)", "labelling control records", left_out=NOT_FOR_SALE),
    Point("(b)(9)", "description of containers and closures", left_out=NOT_FOR_SALE),
    Point(
        "(b)(10)",
        "any sampling performed",
        left_out="a test is weighed as a batch of its own, with a record of its own",
    ),
    Point(
        "(b)(11)",
        "identification of the persons performing and checking each significant step",
        ("weighed by", "checked by"),
        ("person", "checked_by"),
        ("weighed by: R. T.", "checked by: M. O."),
        "one name each for the whole batch, not for every step: it is weighed at one bench in one go",
    ),
    Point(
        "(b)(12)",
        "any investigation made",
        ("remarks ___",),
        ("remarks",),
        ("Sieved twice.",),
        "no form of its own; what went wrong goes under remarks",
    ),
    Point("(b)(13)", "results of examinations of the labelled product", left_out=NOT_FOR_SALE),
)  # fmt: skip

RECIPE = """\
glaze "Harbour Mist"
cone: 6
sieve: 100 mesh
water: 60 %

base:
    silica                 60
    whiting                40

additions:
    cobalt carbonate        0.5
"""


def the_sheet() -> str:
    resolved = resolve(parse(Source("harbour-mist.glost", RECIPE)), shipped_catalogue())
    balances = (Balance("fine", Decimal(300), Decimal("0.1")),)
    return sheet.write(
        [
            Job(
                "harbour-mist.glost",
                resolved.recipe,
                Settings(balances=balances),
                shipped_catalogue(),
                revision=Revision("5c1e0aa", False),
            )
        ]
    )


def keys(value: Any, before: str = "") -> set[str]:
    """The keys of a value, those inside others behind a point."""
    if isinstance(value, list):
        return {key for one in value for key in keys(one, before)}
    if not isinstance(value, dict):
        return set()
    inner = {key for name, one in value.items() for key in keys(one, f"{before}{name}.")}
    return {f"{before}{name}" for name in value} | inner


def test_every_item_of_the_section_has_its_point() -> None:
    assert [point.item for point in POINTS] == ["(a)", *(f"(b)({number})" for number in range(1, 14))]


@pytest.mark.parametrize("point", POINTS, ids=lambda point: point.item)
def test_point(point: Point) -> None:
    assert point.left_out or (point.sheet and point.record and point.log)
    page, schema = (
        re.sub(" +", " ", the_sheet()),
        json.loads((TOP / "schema" / "record.schema.json").read_text("utf-8")),
    )
    for words in point.sheet:
        assert words in page
    for key in point.record:
        assert key in keys(data(MIST))
        assert key.split(".")[0] in schema["required"]
    for words in point.log:
        assert words in text_of(MIST)


@pytest.mark.parametrize("point", POINTS, ids=lambda point: point.item)
def test_documentation_says_the_same(point: Point) -> None:
    rows = (TOP / "docs" / "records.md").read_text("utf-8").splitlines()
    (row,) = [row for row in rows if row.startswith(f"| {point.item} |")]
    assert point.asks in row
    assert point.left_out in row
