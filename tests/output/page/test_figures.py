"""Every figure on every page is that of the JSON, for the whole demo collection: sheet, session, labels, table, chart,
formulas.

A page is read as whoever looks at it does, from its markup, not from what it was made of."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections import Counter
from collections.abc import Callable
from decimal import ROUND_HALF_UP, Decimal
from html import unescape
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import STUDIO
from tests.work import HANG_S

Page = dict[str, Any]
Weighed = Counter[tuple[str, Decimal]]


Told = Callable[..., str]


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Told:
    """What a command prints of the demo collection; each is asked once."""
    folder = tmp_path_factory.mktemp("figures")
    known: dict[tuple[str, ...], str] = {}

    def ask(command: str, *words: str) -> str:
        if (command, *words) not in known:
            done = subprocess.run(
                [sys.executable, "-m", "glost", command, str(STUDIO), *words],
                cwd=folder, capture_output=True, encoding="utf-8", timeout=HANG_S, check=False,
                env={**os.environ, "PYTHONIOENCODING": "utf-8", "GLOST_CACHE": str(folder / "cache")},
            )  # fmt: skip
            assert done.returncode in (0, 1), done.stderr
            known[command, *words] = done.stdout
        return known[command, *words]

    return ask


def by_test(text: str) -> dict[tuple[str, str], Page]:
    read = json.loads(text, parse_float=Decimal, parse_int=Decimal)
    return {(one["file"], one["label"]): one for one in read["tests" if "tests" in read else "cups"]}


def held_in(page: str) -> Any:
    found = re.search(r'id="held">(.*?)</script>', page, re.DOTALL)
    assert found is not None
    return json.loads(found[1])


def text_of(markup: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]*>", " ", markup)).split())


def weighings(lines: list[Page]) -> Weighed:
    return Counter((line["material"], one["target_g"]) for line in lines for one in line["weighings"])


def cells(markup: str, name: str) -> list[Decimal]:
    return [Decimal(one) for one in re.findall(rf'data-fill="{name}">(?:<b>)?([\d.]+)', markup)]


def test_the_sheet_says_what_the_plan_says(told: Told) -> None:
    plans = by_test(told("batch", "--output", "json"))
    page = told("convert", "--to", "html")
    articles = re.findall(r'<article class="sheet".*?</article>', page, re.DOTALL)
    held = held_in(page)
    assert len(articles) == len(held) == len(plans) > 200
    for article, one in zip(articles, held, strict=True):
        plan = plans[one["file"], one["test"]]
        wanted = weighings(plan["lines"])
        # what leads on the screen
        assert (
            Counter((line["material"] or line["name"], Decimal(line["target"])) for line in one["lines"])
            == wanted
        )
        assert Decimal(one["total"]) == plan["total_target_g"]
        assert Decimal(one["base"]) == plan["base_mass_g"]
        # what is printed
        assert Counter(cells(article, "grams")) == Counter(mass for _, mass in wanted.elements())
        # what is weighed apart is in no cup yet, and has no running total there
        running = Counter(
            each["running_total_g"]
            for line in plan["lines"]
            for each in line["weighings"]
            if not line["apart"]
        )
        assert Counter(cells(article, "running")) == running, one["shown"]
        assert f"{plan['total_target_g']}" in text_of(article)


def test_the_session_says_what_the_plan_says(told: Told) -> None:
    plans = by_test(told("batch", "--output", "json"))
    cups = by_test(told("session", "--output", "json"))
    held = held_in(told("session", "--output", "html"))
    assert len(held["sheets"]) == len(cups) == len(plans)
    jars: Counter[str] = Counter()
    for one in held["sheets"]:
        key = one["file"], one["test"]
        wanted = weighings(plans[key]["lines"])
        assert weighings(cups[key]["lines"]) == wanted
        assert (
            Counter((line["material"] or line["name"], Decimal(line["target"])) for line in one["lines"])
            == wanted
        )
        assert Decimal(one["total"]) == plans[key]["total_target_g"] == cups[key]["total_target_g"]
        for (material, mass), count in wanted.items():
            jars[material] += mass * count  # type: ignore[assignment]
    assert {jar["material"]: Decimal(jar["total"]) for jar in held["jars"]} == dict(jars)


def test_the_labels_say_what_the_plan_says(told: Told) -> None:
    pytest.importorskip("segno")
    plans = list(by_test(told("batch", "--output", "json")).values())
    rows = {
        (row["file"], row["test"]): row
        for row in map(json.loads, told("catalog", "--to", "jsonl").splitlines())
    }
    cups = re.findall(r'<article class="cup">.*?</article>', told("convert", "--to", "labels"), re.DOTALL)
    assert len(cups) == len(plans)
    for cup, plan in zip(cups, plans, strict=True):
        said = re.search(r"([\d.]+) (k?g) base, ([\d.]+) g in all", cup)
        assert said is not None
        assert Decimal(said[1]) * (1000 if said[2] == "kg" else 1) == plan["base_mass_g"]
        assert Decimal(said[3]) == plan["total_target_g"]
        made = re.search(r'<p class="made">(.*?)</p>', cup)
        assert made is not None
        amounts = [Decimal(one) for one in re.findall(r" ([\d.]+)(?=[,;]|$)", unescape(made[1]))]
        exact = [Decimal(str(one["on_100"])) for one in rows[plan["file"], plan["label"]]["materials"]]
        assert len(amounts) == len(exact), made[1]
        for amount, right in zip(amounts, exact, strict=True):
            assert abs(amount - right) <= min(Decimal("0.00501"), right / 100), made[1]


def test_the_table_says_what_its_rows_say(told: Told) -> None:
    lines = told("catalog", "--to", "jsonl").splitlines()
    rows = [json.loads(line, parse_float=Decimal, parse_int=Decimal) for line in lines]
    held = held_in(told("catalog"))
    texts = held["texts"]
    assert len(held["rows"]) == len(rows) > 200
    for packed, row in zip(held["rows"], rows, strict=True):
        about = held["abouts"][packed[0]]
        assert texts[about[0]] == row["file"]
        assert texts[packed[2]] == row["test"]
        shown = [
            (texts[held["materials"][one[0]][0]], Decimal(texts[one[1]]))
            for one in [*held["bases"][packed[3]], *packed[4]]
        ]
        exact = [(one["material"] or one["name"], one["on_100"]) for one in row["materials"]]
        assert [name for name, _ in shown] == [name for name, _ in exact]
        for (_, amount), (name, right) in zip(shown, exact, strict=True):
            assert abs(amount - right) <= Decimal("0.00005"), (row["file"], name)
        codes = {code for _, codes, _ in held["harms"][packed[5]][0] for code in codes}
        assert codes == {one["code"] for one in row["hazards"]}
        assert (texts[about[8]], texts[about[9]]) == (row["surface"], row["colour"])


def test_the_chart_says_what_the_formulas_say(told: Told, tmp_path: Path) -> None:
    formulas = by_test(told("formula", "--output", "json"))
    target = tmp_path / "plot.html"
    told("plot", "--out", str(target))
    rows = re.findall(r'<tr data-row="\d+">(.*?)</tr>', target.read_text("utf-8"))
    assert len(rows) > 40
    for row in rows:
        name, _, _, *figures, file = [text_of(one) for one in re.findall(r"<t[hd].*?>(.*?)</t[hd]>", row)]
        # a recipe that is nothing but a blend stands there by its first point
        formula = next(one for (of, _), one in formulas.items() if of == file)
        assert name == formula["name"]
        unity = formula["unity"]
        alkalis, earths = ("Li2O", "Na2O", "K2O"), ("MgO", "CaO", "SrO", "BaO")
        for shown, oxides in zip(
            figures, (["SiO2"], ["Al2O3"], ["B2O3"], alkalis, earths, ["ZnO", "PbO"]), strict=True
        ):
            right = sum((unity.get(oxide, Decimal(0)) for oxide in oxides), Decimal(0))
            assert abs(Decimal(shown) - right) <= Decimal("0.00501"), (name, oxides)


EACH = re.compile(r'<section class="test">(.*?)</section>', re.DOTALL)


def shown_as(exact: Decimal, decimals: int) -> str:
    """A figure as a person reads it: rounded, a trace said to be one."""
    least = Decimal(1).scaleb(-decimals)
    rounded = exact.quantize(least, ROUND_HALF_UP)
    return f"<{least}" if exact and not rounded else f"{rounded}"


def near(shown: str, exact: Decimal, decimals: int) -> bool:
    """The JSON has more decimals, which are rounded too: what lies between two is either."""
    slack = Decimal("0.00005")
    return shown in {shown_as(one, decimals) for one in (exact - slack, exact, exact + slack) if one >= 0}


def estimated(said: str, one: Page, decimals: int) -> None:
    """An estimate is told with its interval. The JSON has one decimal, the page as many for the figure, none for the
    ends."""
    shape = rf"\w+ ([\d.]+) {re.escape(one['unit'])} \(.*? like it: (-?\d+) to (-?\d+)\), model (\S+)"
    found = re.match(shape, said)
    assert found is not None, said[:80]
    tenth = Decimal("0.05")
    assert abs(Decimal(found[1]) - one["value"]) <= Decimal(1).scaleb(-decimals) / 2 + tenth
    for end, at in (("low", 2), ("high", 3)):
        assert abs(Decimal(found[at]) - one[end]) <= Decimal("0.5") + tenth
    assert found[4] == one["model"]


@pytest.mark.parametrize(
    "words", [(), ("--on", "alumina", "--counting-colourants", "--iron", "FeO")], ids=str
)
def test_the_formulas_say_what_the_json_says(told: Told, words: tuple[str, ...]) -> None:
    formulas = list(by_test(told("formula", *words, "--output", "json")).values())
    tests = EACH.findall(told("formula", *words, "--output", "html"))
    assert len(tests) == len(formulas) > 200
    for test, formula in zip(tests, formulas, strict=True):
        name, ranges = formula["name"], formula["ranges"] or {}
        columns = (("unity", 3), ("fired_weight_percent", 2), ("mol_percent", 2))
        seen = []
        for row in re.findall(r"<tr><th scope=\"row\">(.*?)</tr>", test):
            oxide = re.split(r"[*<]", row)[0]
            seen.append(oxide)
            cells = re.findall(r"<td[^>]*>(.*?)(?: <small>(.*?)</small>)?</td>", row)
            for (key, decimals), (figure, off) in zip(columns, cells, strict=True):
                exact = (formula[key] or {}).get(oxide)
                assert (
                    unescape(figure) in "-\u2013"
                    if exact is None
                    else near(unescape(figure), exact, decimals)
                ), name
                ends = (ranges.get(key) or {}).get(oxide)
                assert bool(off) == (ends is not None), (name, oxide, key)
                if ends is not None:
                    low, high = (off.removesuffix(" or more"), None) if "more" in off else off.split(" to ")
                    assert Decimal(0) <= ends[0] - Decimal(low) < Decimal(1).scaleb(-decimals), (name, oxide)
                    assert (high is None) == (ends[1] is None)
                    assert high is None or 0 <= Decimal(high) - ends[1] < Decimal(1).scaleb(-decimals)
        assert set(seen) == {*formula["fired_weight_percent"], *(ranges.get("fired_weight_percent") or {})}
        said = text_of(test)
        for key, called, decimals in (("expansion", "expansion", 1), ("softening", "fusibility", 0)):
            if formula[key]:
                estimated(said[said.index(called) :], formula[key], decimals)
        for word in (*formula["remarks"], *formula["problems"]):
            assert " ".join(word.split()) in said, (name, word)
        for word in formula["taken_for_granted"]["ideal_minerals"] + formula["taken_for_granted"]["made_up"]:
            assert word in said, name


def test_the_formulas_say_every_word_that_the_text_says(told: Told) -> None:
    texts = re.split(r"\n\n(?=\S)", told("formula").strip())
    tests = EACH.findall(told("formula", "--output", "html"))
    assert len(texts) == len(tests) > 200
    for text, test in zip(texts, tests, strict=True):
        _, _, *lines = text.splitlines()  # name and file stand above
        lacking = Counter(" ".join(lines).split()) - Counter(text_of(test).split())
        # the heads of the table stand in one row, and a list has no signs of its own
        assert set(lacking) <= {"-", "unity"}, (text.splitlines()[0], lacking)
