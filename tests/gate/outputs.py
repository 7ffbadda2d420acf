"""What each output of glost says is weighed, read back without glost."""

from __future__ import annotations

import csv
import html
import io
import json
import re
from collections import Counter
from decimal import Decimal
from typing import Any

from tests.gate.pages import Amount

Test = tuple[str, Counter[Amount], Counter[Amount]]
Written = Counter[tuple[str, str, str, Decimal, str]]


def _exact(text: str) -> Any:
    return json.loads(text, parse_float=Decimal, parse_int=Decimal)


# ---- as the page has it ------------------------------------------------------------------------------------


def written_json(text: str) -> Written:
    (recipe,) = _exact(text)["recipes"]
    return _recipe(recipe)


def written_jsonl(text: str) -> Written:
    return _recipe(_exact(text))


def _recipe(recipe: dict[str, Any]) -> Written:
    found: Written = Counter()
    for section in ("base", "additions"):
        for one in recipe[section]:
            found[section, "", one["name"].lower(), one["amount"], one["unit"]] += 1
    for variation in recipe["variations"]:
        for one in variation["additions"]:
            found["variation", variation["name"], one["name"].lower(), one["amount"], one["unit"]] += 1
    for series in recipe["series"]:
        for step in series["steps"]:
            units = step.get("units", [step.get("unit")] * len(step["amounts"]))
            for amount, unit in zip(step["amounts"], units, strict=True):
                found["series", series["name"], step["name"].lower(), amount, unit] += 1
    return found


def written_csv(text: str) -> Written:
    found: Written = Counter()
    for row in csv.DictReader(io.StringIO(text, newline="")):
        if row["amount"]:
            found[row["section"], row["group"], row["name"].lower(), Decimal(row["amount"]), row["unit"]] += 1
    return found


# ---- as it is weighed --------------------------------------------------------------------------------------

MAP_OF = ": map of the board"
"""What stands in the title of a map, which is no sheet."""
_TICKED = re.compile(r"\[ \][ !](?P<name>\S.*?)(?: +(?P<parts>[0-9.]+))? *")
"""A line of a sheet as far as the column of parts, which is empty for the second portion of a line and the others."""


_STATEMENTS = ": hazard statements"
"""How what stands once behind all sheets is headed."""
_LABEL = re.compile(r"^  test +(\S.*(?:\n {5,}\S.*)*)", re.MULTILINE)
_ON_TOP = re.compile(r" \(on top of the .* in the base, .* in all\)$")
"""What a sheet says of an addition that the base holds too."""


def weighed_sheet(text: str) -> list[Test]:
    """The label is followed by what the test sets."""
    found: list[Test] = []
    for sheet in text.split("\f\n"):
        lines = sheet.split("\n")
        if lines[0].endswith(_STATEMENTS) or MAP_OF in lines[0]:
            continue
        head = next(line for line in lines if line.lstrip().startswith("material "))
        upto = head.index(" parts ") + len(" parts")
        found_label = _LABEL.search(sheet)
        label = " ".join(found_label[1].split()) if found_label else ""  # a recipe of one test names none
        base: Counter[Amount] = Counter()
        additions: Counter[Amount] = Counter()
        into, before = base, ""
        for line in lines:
            into = additions if line == "additions" else into
            row = _TICKED.fullmatch(line[:upto])
            if row and row["parts"]:
                into[row["name"].lower(), Decimal(row["parts"])] += 1
                before = row["name"]
            elif row:
                assert row["name"] == before, "the portions of a line stand together"
        found.append(("" if label == "as it stands" else label.lower(), base, additions))
    return found


def weighed_markdown(text: str) -> list[Test]:
    found: list[Test] = []
    for section in re.split(r"^## ", text, flags=re.MULTILINE)[1:]:
        name = section.split("\n", 1)[0]
        if name.endswith(_STATEMENTS) or MAP_OF in name:
            continue
        base: Counter[Amount] = Counter()
        additions: Counter[Amount] = Counter()
        into = base
        for line in section.split("\n"):
            cells = [cell.strip() for cell in line.split("|")]
            into = additions if "**additions**" in cells else into
            if len(cells) > 5 and cells[1].startswith("☐") and cells[3]:  # a later portion has no parts
                into[_ON_TOP.sub("", cells[2].lower()), Decimal(cells[3])] += 1
        found.append((name.partition(", ")[2], base, additions))
    return found


def weighed_html(text: str) -> list[Test]:
    """The label is followed by what the test sets."""
    found: list[Test] = []
    for article in re.findall(r'<article class="sheet".*?</article>', text, re.DOTALL):
        label = re.search(r'<span class="test">(.*?)</span>', article)
        table = re.search(r'<table class="paper">.*?</table>', article, re.DOTALL)
        assert table is not None
        parts = re.split(r'<tr><th class="band"', table[0])
        sides: dict[bool, Counter[Amount]] = {True: Counter(), False: Counter()}
        for at, part in enumerate(parts):
            rows = re.findall(
                r'<th scope="row">([^<]*?)\s*(?:<small>.*?</small>)?\s*</th><td class="figure">([0-9.]+)',
                part,
            )
            for name, amount in rows:
                sides[at == 0][html.unescape(name).lower(), Decimal(amount)] += 1
        named = html.unescape(label[1]) if label else ""
        found.append(("" if named == "as it stands" else named.lower(), sides[True], sides[False]))
    return found


def weighed_batch(text: str) -> list[Test]:
    return [_test(test["label"], test["lines"], lambda line: line["base"]) for test in _exact(text)["tests"]]


def weighed_session(text: str) -> list[tuple[str, Counter[Amount], Counter[Amount]]]:
    """Grams on the display, not parts."""
    return [
        _test(cup["label"], cup["lines"], lambda line: line["base"], "target_g")
        for cup in _exact(text)["cups"]
    ]


def _test(label: str, lines: Any, in_base: Any, what: str = "parts") -> Test:
    base: Counter[Amount] = Counter()
    additions: Counter[Amount] = Counter()
    for line in lines:
        (base if in_base(line) else additions)[line["material"], line[what]] += 1
    return label, base, additions


def weighed_formula(text: str) -> list[tuple[str, Counter[Amount]]]:
    """Base and additions together, since that is what is fired."""
    return [
        (test["label"], Counter((line["material"], line["parts"]) for line in test["lines"]))
        for test in _exact(text)["tests"]
    ]


def labelled(text: str) -> list[tuple[str, str]]:
    """The label of each cup with what the test sets, and its facts."""
    found = []
    for cup in re.findall(r'<article class="cup">.*?</article>', text, re.DOTALL):
        label = re.search(r'<p class="test">(.*?)</p>', cup)
        facts = re.search(r'<p class="facts">(.*?)</p>', cup)
        assert facts is not None
        said = html.unescape(re.sub("<.*?>", "", label[1])) if label else ""
        found.append((said.lower(), html.unescape(facts[1])))
    return found
