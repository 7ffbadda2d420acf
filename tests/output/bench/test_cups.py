"""Many cups at one go."""

from __future__ import annotations

import csv
import io
import json
from collections import Counter
from dataclasses import replace
from html.parser import HTMLParser

import pytest
from jsonschema import Draft202012Validator
from syrupy.assertion import SnapshotAssertion

from glost.language.width import width
from glost.output.batch_sheet import batch_sheet
from glost.output.formats.html import SCRIPTS
from glost.output.model.markdown import as_markdown
from glost.output.model.text import as_text
from glost.output.session.content import content
from glost.output.session.data import as_csv, as_json
from glost.output.session.page import page
from glost.output.session.session import BenchSession, bench_session, numbers
from glost.recipe import recipe
from glost.recipe.safety.cautions import DUST_CAUTION, FOOD_CAUTION, PRECEDENCE
from glost.recipe.settings import Settings
from glost.weighing.rounding import exact_sum
from tests.conftest import TOP
from tests.output.bench.kitchen import HOUSE, MIST, D, job, studio_work

SCHEMA = Draft202012Validator(json.loads((TOP / "schema" / "session.schema.json").read_text("utf-8")))
HOSTILE = (
    MIST.replace("Harbour Mist", "<script>alert(1)</script>&'")
    .replace("kaolin  ", '"<b>x</b> & y"')
    .replace("and gloves.", "<img src=x onerror=alert(1)>")
)


def text(made: BenchSession) -> str:
    return as_text(content(made))


def markdown(made: BenchSession) -> str:
    return as_markdown(content(made))


def html(made: BenchSession) -> str:
    return page(made)


def mist(text_of: str = MIST, settings: Settings = HOUSE) -> BenchSession:
    made = job(text_of, settings)
    return bench_session([(made, test) for test in recipe.tests(made.recipe)], D(100))


def test_the_whole_studio_each_jar_once_and_every_sum_to_the_division() -> None:
    work = studio_work()
    made = bench_session(work, D(100))
    assert len(made.cups) == len(work)
    jars = Counter(jar.opening.material for jar in made.jars)
    assert set(jars.values()) == {1}
    targets: dict[str, list[object]] = {}
    for one, test in work:
        sheet = batch_sheet(replace(one, batch_g=D(100)), test)
        assert sheet.plan is not None
        for line in sheet.plan.lines:
            if line.exact_g:
                targets.setdefault(line.material, []).append(line.target_g)
    assert {jar.pull.material: jar.pull.total_g for jar in made.jars} == {
        material: exact_sum(those)  # type: ignore[arg-type]
        for material, those in targets.items()
    }
    assert [error.message for error in SCHEMA.iter_errors(json.loads(as_json(made)))] == []
    assert max(map(width, text(made).splitlines())) <= 80


def test_what_is_toxic_or_colours_comes_last_and_silica_does_not() -> None:
    order = [jar.opening.material for jar in mist().jars]
    assert order[-1] == "cobalt carbonate"
    assert order.index("silica") == 1
    marks = [bool(jar.why_last) for jar in bench_session(studio_work()).jars]
    assert marks == sorted(marks)


def test_what_nobody_knows_comes_last_and_is_not_called_toxic() -> None:
    made = mist(MIST.replace("kaolin  ", "bin seven"))
    assert [jar.opening.material for jar in made.jars][-2:] == ["bin seven", "cobalt carbonate"]
    jar = made.jars[-2]
    assert (jar.known, jar.toxic) == (False, False)
    assert "nothing is known here of its hazards" in " ".join(text(made).split())


def test_both_orders_weigh_the_same() -> None:
    data = json.loads(as_json(bench_session(studio_work(), D(100))))
    by_cup = {
        (cup["number"], line["material"], line["target_g"]) for cup in data["cups"] for line in cup["lines"]
    }
    by_jar = {
        (pour["cup"], jar["material"], pour["target_g"]) for jar in data["jars"] for pour in jar["pours"]
    }
    assert by_cup == by_jar
    rows = list(csv.DictReader(io.StringIO(as_csv(bench_session(studio_work(), D(100))))))
    assert len(rows) == sum(len(jar["pours"]) for jar in data["jars"])
    last = {row["cup"]: row["running_total_g"] for row in rows}
    assert {int(cup): float(total) for cup, total in last.items()} == {
        cup["number"]: cup["total_target_g"] for cup in data["cups"]
    }


def test_a_shared_base_is_mixed_once() -> None:
    made = mist()
    (base,) = made.shared
    assert D(200) == base.needed_g
    assert base.weighings_saved == 3
    assert "100.00 g into each of cups 1, 2" in text(made)


def test_cups_of_one_mix_are_told() -> None:
    made = mist(MIST.replace("        1\n", "        0.5\n"))
    assert made.cups[1].twin == 1
    assert "Cup 2 is the same mix as cup 1" in text(made)


def test_cups_of_one_name_are_told_apart() -> None:
    first, second = job(), replace(job(), file="other.glost")
    work = [(one, test) for one in (first, second) for test in recipe.tests(one.recipe)]
    assert [cup.name for cup in bench_session(work).cups] == [
        "Harbour Mist (mist.glost)",
        "Harbour Mist, storm (mist.glost)",
        "Harbour Mist (other.glost)",
        "Harbour Mist, storm (other.glost)",
    ]


def test_water_that_is_left_open_is_told() -> None:
    made = mist(settings=replace(HOUSE, water=None))
    assert made.water_g is None
    assert made.open_water == (1, 2)
    assert "left open: all cups" in text(made)


def test_an_assumed_balance_is_told() -> None:
    assert "none is listed in glost.yaml" in text(mist(settings=Settings()))


@pytest.mark.parametrize("form", [text, markdown, html])
def test_every_form_for_people_carries_the_care(form: object) -> None:
    shown = " ".join(form(mist()).split())  # type: ignore[operator]
    plain = shown.replace("&#x27;", "'")
    for said in (PRECEDENCE, DUST_CAUTION, FOOD_CAUTION, "P100 respirator and gloves.", "never sweep."):
        assert said in plain
    assert "H334" in plain


class _Page(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: Counter[str] = Counter()
        self.open: list[str] = []
        self.addresses: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags[tag] += 1
        self.addresses += [
            value or "" for name, value in attrs if name in ("src", "href") or name.startswith("on")
        ]
        if tag not in ("meta", "input", "br", "link"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def test_html_stands_by_itself_and_nothing_slips_through() -> None:
    found = _Page()
    found.feed(html(mist(HOSTILE)))
    assert found.open == []
    assert not {"img", "b2", "link", "iframe"} & set(found.tags)
    assert found.tags["script"] == len(SCRIPTS) + 2  # that of the order of the cups, and what they read
    assert found.addresses == ["#cup-1", "#cup-2"]
    assert (
        found.tags["input"] == 7 + 5
    )  # a box for each jar to fetch, and for each line of the base to mix once


def test_markdown_and_csv_let_nothing_slip_through() -> None:
    assert "<script" not in markdown(mist(HOSTILE))
    assert "<b>x" not in markdown(mist(HOSTILE))
    rows = as_csv(mist(MIST.replace('"Harbour Mist"', '"=cmd()"')))
    assert ",=cmd" not in rows


def test_runs_of_numbers() -> None:
    assert numbers([1, 2, 3, 5, 6, 8]) == "1 to 3, 5, 6, 8"


def test_no_tests_no_plan() -> None:
    with pytest.raises(ValueError, match="no test to weigh"):
        bench_session([])


def test_text_as_it_is_read(snapshot: SnapshotAssertion) -> None:
    assert text(mist()) == snapshot


def test_markdown_as_it_is_read(snapshot: SnapshotAssertion) -> None:
    assert markdown(mist()) == snapshot
