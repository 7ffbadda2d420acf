"""A whole hour at the bench, as one person would spend it: six tests of one recipe of the demo collection on a phone,
with what goes wrong in such an hour, up to the records in the log and the bill for them."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import ROUND_HALF_EVEN, Decimal
from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema import Draft202012Validator

from tests.conftest import STUDIO, Run
from tests.output.page.conftest import Screen, kill, started
from tests.output.page.test_session import asked, head, is_open, order, take
from tests.output.page.test_weighing import SCHEMA, enter, panel
from tests.repository import committed

D = Decimal
PHONE_UPRIGHT = (390, 844)
RECIPE = "stoneware/harbour-mist.glost"
MOST_CUPS = 6
PERSON, PROJECT = "R. T.", "bench hour"
CENT = D("0.01")
GRAMS_OF = {"g": D(1), "kg": D(1000), "lb": D("453.59237")}
"""The avoirdupois pound of 1959 is 0.45359237 kg exactly (international yard and pound agreement)."""

Place = tuple[int, str]
"""Cup and material."""


# ---- what the test itself writes down of the hour --------------------------------------------------------


@dataclass
class Ledger:
    """What went into each cup, and how: the person at the bench knows it, whatever the page keeps."""

    grams: dict[Place, Decimal] = field(default_factory=dict)
    how: dict[Place, set[str]] = field(default_factory=dict)

    def put(self, place: Place, mass: Decimal, how: str) -> None:
        self.grams[place] = self.grams.get(place, D(0)) + mass
        self.how.setdefault(place, set()).add(how)

    def taken(self, place: Place) -> str:
        [how] = self.how[place] if len(self.how[place]) == 1 else ["partly"]
        return how


def place_of(screen: Screen) -> Place:
    """The cup and the jar that the panel leads to, which it names on top."""
    cup, material = head(screen).split(": ", 1)
    return int(cup.removeprefix("Cup ")), material


def read(screen: Screen, ledger: Ledger, figure: str) -> None:
    """Types what the balance shows, with every line tared."""
    ledger.put(place_of(screen), D(figure), "read")
    enter(screen, figure)


def tick(screen: Screen, ledger: Ledger) -> None:
    ledger.put(place_of(screen), asked(screen), "ticked")
    take(screen)


def until_cup(screen: Screen, ledger: Ledger, cup: int, material: str) -> None:
    """Goes on as the page leads: what colours is read off the balance, the rest is ticked."""
    for _ in range(MOST_CUPS):
        if place_of(screen) == (cup, material):
            return
        if place_of(screen)[1] in ("cobalt carbonate", "tin oxide"):
            read(screen, ledger, f"{asked(screen)}")
        else:
            tick(screen, ledger)
    assert place_of(screen) == (cup, material)


def written_to_the_disk(screen: Screen) -> None:
    """Waits until what was taken lies in the database of the browser. Changes of one store are made one after the other
    (Indexed Database API 3.0, 2.7.2, scheduling of transactions), so that behind ours all earlier ones are done."""
    screen.js(
        "return new Promise((done, failed) => {"
        "  const asked = indexedDB.open('glost bench');"
        "  asked.onerror = failed;"
        "  asked.onsuccess = () => {"
        "    const work = asked.result.transaction('batches', 'readwrite', { durability: 'strict' });"
        "    work.objectStore('batches').put({ id: 'mark of the test' });"
        "    work.objectStore('batches').delete('mark of the test');"
        "    work.oncomplete = () => { asked.result.close(); done(); };"
        "    work.onabort = failed;"
        "  };"
        "})"
    )


# ---- what the collection says that materials cost --------------------------------------------------------


def prices(collection: Path) -> dict[str, Decimal]:
    """EUR a gram, by material, of the one delivery with a price that the collection has of each."""
    found: dict[str, Decimal] = {}
    for file in sorted((collection / "log").rglob("*-delivery-*.stock.yaml")):
        for line in yaml.safe_load(file.read_text("utf-8"))["lines"]:
            if "price" not in line:
                continue
            amount, unit = line["price"].split()
            mass, of = line["mass"].split()
            each = D(amount) / (GRAMS_OF["kg"] if unit.endswith("/kg") else D(mass) * GRAMS_OF[of])
            assert unit.removesuffix("/kg") == "EUR"
            assert line["material"] not in found
            found[line["material"]] = each
    return found


def lots(collection: Path) -> dict[str, str]:
    """The lot of each material on the shelf, as its bag says."""
    return {
        line["material"]: line["lot"]
        for file in sorted((collection / "log").rglob("*-delivery-*.stock.yaml"))
        for line in yaml.safe_load(file.read_text("utf-8"))["lines"]
        if line.get("lot")
    }


def rows(page: str) -> Iterable[dict[str, str]]:
    """The table of a page of the log."""
    lines = [line for line in page.splitlines() if line.startswith("|")]
    cells = [[cell.strip() for cell in line.strip("|").split("|")] for line in lines]
    return [dict(zip(cells[0], row, strict=True)) for row in cells[2:]]


def fact(page: str, name: str) -> str:
    return next(line.partition(":")[2].strip() for line in page.splitlines() if line.startswith(f"{name}:"))


# ---- the hour --------------------------------------------------------------------------------------------


@pytest.mark.browser
@pytest.mark.skipif(os.name == "nt", reason="needs SIGKILL")
def test_an_hour_at_the_bench(run: Run, tmp_path: Path) -> None:
    studio = tmp_path / "studio"
    shutil.copytree(STUDIO, studio)
    committed(studio, "Begin")
    head_of_git = ("git", "rev-parse", "--short", "HEAD")
    told = subprocess.run(head_of_git, cwd=studio, capture_output=True, encoding="utf-8", check=True)
    revision = told.stdout.strip()
    done = run("session", RECIPE, "--output", "json", cwd=studio)
    assert done.returncode == 0, done.stderr
    plan = json.loads(done.stdout, parse_float=D, parse_int=D)
    page = tmp_path / "session.html"
    page.write_text(run("session", RECIPE, "--output", "html", cwd=studio).stdout, encoding="utf-8")
    bags, ledger = lots(studio), Ledger()
    jars = [jar["material"] for jar in plan["jars"]]
    assert len(plan["cups"]) == 6
    weighings = len(plan["cups"]) * len(jars)

    bench = started(tmp_path / "profile")
    try:
        bench.show(page, PHONE_UPRIGHT)
        for key, text in (("person", PERSON), ("project", PROJECT)):
            bench.one(f"#all-{key}").send_keys(text)
        bench.press("Begin")
        assert place_of(bench) == (1, "nepheline syenite")
        assert "6 cups to go with this jar" in panel(bench)

        # The lot is asked once a jar. Two cups are read, the others ticked.
        bench.one(".options .lot input").send_keys(bags["nepheline syenite"])
        read(bench, ledger, "76.31")
        read(bench, ledger, "75.9")
        until_cup(bench, ledger, 1, "silica")

        # A wrong tap: the cup was not on the balance yet.
        bench.one(".options .lot input").send_keys(bags["silica"])
        tick(bench, ledger)
        assert place_of(bench) == (2, "silica")
        take(bench)
        assert place_of(bench) == (3, "silica")
        bench.press("Undo")
        assert place_of(bench) == (2, "silica")
        read(bench, ledger, "44.05")

        # The page is loaded again, in the middle of a jar.
        bench.driver.refresh()
        assert place_of(bench) == (3, "silica")
        assert bench.one(".options .lot input").get_attribute("value") == bags["silica"]

        # Too much: 48.4 g in the place of 44 g is 1.1 times as much, so that a base of 200 g becomes one of 220 g.
        read(bench, ledger, "48.4")
        assert head(bench) == "Cup 3: Too much silica"
        assert "Make more: base 220 g" in panel(bench)
        bench.press("Make more")
        tick(bench, ledger)
        assert place_of(bench) == (5, "silica")

        # The battery is flat.
        written_to_the_disk(bench)
        kill(bench)
        bench = started(tmp_path / "profile")
        bench.show(page, PHONE_UPRIGHT)
        # Ten were done; the first jar of the larger cup is asked for once more.
        bench.until(lambda: f"9 of {weighings} weighings done" in bench.one(".front").text)
        assert {bench.one(f"#all-{key}").get_attribute("value") for key in ("person", "project")} == {
            PERSON,
            PROJECT,
        }
        bench.press("Go on")
        assert place_of(bench) == (5, "silica")
        assert bench.one(".options .lot input").get_attribute("value") == bags["silica"]
        until_cup(bench, ledger, 1, jars[2])

        # From jar to jar; then what the larger cup lacks of the jar that was closed before it was made larger.
        for at, material in enumerate(jars[2:], 2):
            assert place_of(bench) == (1, material)
            bench.one(".options .lot input").send_keys(bags[material])
            until_cup(bench, ledger, *((1, jars[at + 1]) if at + 1 < len(jars) else (3, jars[0])))
        assert "add on top" in panel(bench)
        read(bench, ledger, f"{asked(bench)}")
        assert not is_open(bench)

        assert "All cups are in" in bench.one(".handing").text
        bench.press("Hand over all records")
        bench.until(lambda: list(bench.downloads.glob("*.json")))
        [handed] = bench.downloads.glob("*.json")
        assert "6 records. Handed to the browser" in bench.one(".handing .notice").text
        order(bench, "cup")
        states = "return [...document.querySelectorAll('.places .state')].map((one) => one.textContent)"
        assert bench.js(states) == ["handed over"] * 6
        assert bench.complaints() == []
    finally:
        bench.driver.quit()

    # What is handed over keeps to the schema, and tells what was asked for from what was made of it.
    exact: list[dict[str, Any]] = json.loads(handed.read_text("utf-8"), parse_float=D, parse_int=D)["records"]
    for plain in json.loads(handed.read_text("utf-8"))["records"]:
        assert list(Draft202012Validator(SCHEMA).iter_errors(plain)) == []
    tests = [cup["label"] for cup in plan["cups"]]
    assert sorted(record["test"] for record in exact) == sorted(tests)
    by_cup = {tests.index(record["test"]) + 1: record for record in exact}
    assert {record["planned"]["base_mass_g"] for record in exact} == {200}
    assert [by_cup[cup]["batch"]["base_mass_g"] for cup in range(1, 7)] == [200, 200, 220, 200, 200, 200]
    assert [len(by_cup[cup]["rescues"]) for cup in range(1, 7)] == [0, 0, 1, 0, 0, 0]
    [rescue] = by_cup[3]["rescues"]
    assert {key: rescue[key] for key in ("material", "target_g", "actual_g", "base_mass_g")} == {
        "material": "silica", "target_g": 44, "actual_g": D("48.4"), "base_mass_g": 220,
    }  # fmt: skip

    # Into the log: six new files, each with what the ledger of this test says.
    before = set((studio / "log").rglob("*.batch"))
    done = run("record", str(handed), cwd=studio)
    assert done.returncode == 0, done.stderr + done.stdout
    new = sorted(set((studio / "log").rglob("*.batch")) - before)
    assert len(new) == 6
    assert done.stdout.count(": recorded") == 6
    seen: dict[Place, dict[str, str]] = {}
    for file in new:
        text = file.read_text("utf-8")
        cup = tests.index(fact(text, "test")) + 1
        assert (fact(text, "weighed by"), fact(text, "project")) == (PERSON, PROJECT)
        assert (fact(text, "recipe"), fact(text, "file")) == ("Harbour Mist", RECIPE)
        assert (fact(text, "revision"), fact(text, "changed since")) == (revision, "no")
        seen |= {(cup, row["material"]): row for row in rows(text)}
        assert ("48.4" in text) == (cup == 3)
        assert fact(text, "base") == ("220 g" if cup == 3 else "200 g")
    assert {place: D(row["weighed g"]) for place, row in seen.items()} == ledger.grams
    assert {place: row["taken"] for place, row in seen.items()} == {
        place: ledger.taken(place) for place in ledger.grams
    }
    assert {row["taken"] for row in seen.values()} == {"read", "ticked", "partly"}
    assert {place: row["lot"] for place, row in seen.items()} == {place: bags[place[1]] for place in seen}
    assert all(row["at"] for row in seen.values())
    assert {place: D(row["planned g"]) for place, row in seen.items()} == {
        (int(cup["number"]), line["material"]): line["target_g"]
        for cup in plan["cups"]
        for line in cup["lines"]
    }
    larger = D("1.1")
    assert {place: D(row["target g"]) for place, row in seen.items()} == {
        (int(cup["number"]), line["material"]): (
            line["target_g"] * (larger if cup["number"] == 3 else 1)
        ).quantize(CENT, ROUND_HALF_EVEN)
        for cup in plan["cups"]
        for line in cup["lines"]
    }

    # Handed over twice, as happens: nothing is booked twice.
    again = run("record", str(handed), cwd=studio)
    assert again.stdout.count(": in the log already") == 6
    assert set((studio / "log").rglob("*.batch")) == before | set(new)

    # The bill, by the prices of the collection.
    per_gram = prices(studio)
    used = {name: sum((g for (_, of), g in ledger.grams.items() if of == name), D(0)) for name in jars}
    owed = {name: grams * per_gram[name] for name, grams in used.items()}
    total = sum(owed.values(), D(0)).quantize(CENT, ROUND_HALF_EVEN)
    assert total > 1
    ask = ("usage", "--project", PROJECT, "--cost")
    done = run(*ask, "--output", "json", cwd=studio)
    assert done.returncode == 0, done.stderr
    bill = json.loads(done.stdout, parse_float=D, parse_int=D)
    assert bill["batches"] == 6
    assert {row["material"]: (row["weighed_g"], row["planned_g"]) for row in bill["rows"]} == {
        name: (grams, 0) for name, grams in used.items()
    }
    assert {row["material"]: row["cost"] for row in bill["rows"]} == {
        name: [{"amount": cost.quantize(CENT, ROUND_HALF_EVEN), "currency": "EUR"}]
        for name, cost in owed.items()
    }
    assert bill["bills"] == [
        {"group": "", "cost": [{"amount": total, "currency": "EUR"}], "complete": True, "unpriced": []}
    ]
    assert f"Cost: {total} EUR" in run(*ask, cwd=studio).stdout
