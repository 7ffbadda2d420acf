"""A reader in another language, written from the docs alone, says of every page what glost and the corpus say.

All pages go through one process of node. Without node the module is skipped.
"""

from __future__ import annotations

import base64
import json
import random
import shutil
import subprocess
from collections.abc import Iterable, Sequence
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from tests import test_conformance_of_firings as of_firings
from tests.test_conformance import ACCEPT, CORPUS, REJECT, case, figure, findings, meaning, read, weighed
from tests.work import HANG_S

NODE = shutil.which("node")
pytestmark = [
    pytest.mark.process,
    pytest.mark.skipif(NODE is None, reason="node is not there, which runs the second reader"),
]

AT_LEAST = {"accept": 355, "reject": 523, "firings": 31}
"""Cases of the corpus. They only grow in number: raise these where cases are added."""

CHANGES_OF_A_PAGE = 8
BITS = (
    *("#", " # x", " #x", " ", '"', ":", ",", ", 5", " 4 g", " %", "0", "1/2", " 1/2", "½", ".5", "-", "(a)"),
    *(
        " (b # c)",
        "é",
        "Ⅻ",
        "kg",
        " kg 3",
        "_",
        "=",
        "|",
        ";",
        "\u200d",
        "\u0301x",
        "³",
        " 3",
        "mesh",
        "/",
        "'",
    ),
    *(".", "A", "0.", "00", "12345678901", "\n    ", "\n", "glaze ", "base ", "by 25 %", "surface: x", "\t"),
    *("    surface: a\n", "    tin oxide  2\n", "\n    tin oxide  1, 2\n", '\nvariation "v":\n', "\nbase:\n"),
)
"""What is put into a page to change it: what a hand slips into, and what has a meaning somewhere on a page."""

CHANGES_OF_A_FIRING = 60
BITS_OF_FIRINGS = (
    *(
        "C",
        " F",
        " C/h",
        " at 100 C/h",
        ", hold 1 h",
        " 60 min",
        " 0 min",
        " freely",
        "in 2 h",
        "from ",
        "to ",
        "1501",
    ),
    *(
        "\n    to 600 C freely\n",
        "\n    from 20 C\n",
        "\nschedule:\n",
        '\ntile "1":\n',
        '\n    test: glaze "B"\n',
    ),
    *(
        "\nnotes:\n",
        "\nreached: 6\n",
        "\ndate: 2026-05-14\n",
        " mm",
        "../",
        ".batch",
        "batch: 2026-05-14T1-x",
    ),
)
"""What is put into the page of a firing besides."""


def second_reader(pages: Iterable[tuple[str, bytes]], *, firings: bool = False) -> dict[str, dict[str, Any]]:
    """What the other reader says of each page, by name."""
    given = {
        "materials": json.loads((CORPUS / "materials.json").read_text("utf-8"))["materials"],
        "beside": [path.read_text("utf-8") for path in sorted((CORPUS / "beside").glob("*.glost"))],
    }
    asked = [
        {"id": name, "page": base64.b64encode(data).decode("ascii"), "firing": firings}
        for name, data in pages
    ]
    done = subprocess.run(
        [str(NODE), str(Path(__file__).with_name("run.mjs"))],
        input="".join(f"{json.dumps(line)}\n" for line in (given, *asked)),
        capture_output=True,
        encoding="utf-8",
        timeout=HANG_S,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, "")
    answers = {said.pop("id"): said for said in map(json.loads, done.stdout.splitlines())}
    assert len(answers) == len(asked)
    return answers


def name_of(path: Path) -> str:
    return f"{path.parent.name}/{path.stem}"


@cache
def answers() -> dict[str, dict[str, Any]]:
    return second_reader((name_of(path), path.read_bytes()) for path in (*ACCEPT, *REJECT))


@pytest.mark.parametrize("path", ACCEPT, ids=name_of)
def test_it_takes_what_the_corpus_accepts_and_means_the_same(path: Path) -> None:
    _, expected = case(path)
    assert answers()[name_of(path)] == {
        "accepted": True,
        "usable": expected.get("usable", True),
        "recipe": expected["recipe"],
        "base total": expected["base total"],
        "tests": expected["tests"],
    }


@pytest.mark.parametrize("path", REJECT, ids=name_of)
def test_it_refuses_what_the_corpus_rejects_on_the_same_line(path: Path) -> None:
    _, expected = case(path)
    said = answers()[name_of(path)]
    assert (said["accepted"], said.get("line")) == (False, expected["findings"][0]["line"])


@cache
def answers_of_firings() -> dict[str, dict[str, Any]]:
    pages = (*of_firings.ACCEPT, *of_firings.REJECT)
    return second_reader(((name_of(path), path.read_bytes()) for path in pages), firings=True)


@pytest.mark.parametrize("path", of_firings.ACCEPT, ids=name_of)
def test_it_takes_the_firings_that_the_corpus_accepts_and_means_the_same(path: Path) -> None:
    _, expected = case(path)
    assert answers_of_firings()[name_of(path)] == {"accepted": True, "firing": expected["firing"]}


@pytest.mark.parametrize("path", of_firings.REJECT, ids=name_of)
def test_it_refuses_the_firings_that_the_corpus_rejects_on_the_same_line(path: Path) -> None:
    _, expected = case(path)
    said = answers_of_firings()[name_of(path)]
    assert (said["accepted"], said.get("line")) == (False, expected["findings"][0]["line"])


def test_the_corpus_only_grows() -> None:
    assert len(ACCEPT) >= AT_LEAST["accept"]
    assert len(REJECT) >= AT_LEAST["reject"]
    assert len(of_firings.ACCEPT) >= AT_LEAST["firings"]


@pytest.mark.slow
def test_both_readers_agree_on_pages_that_nobody_wrote() -> None:
    pages = {
        f"{path.stem} {at}": changed(path.read_text("utf-8"), random.Random(f"{path.stem} {at}"))
        for path in ACCEPT
        for at in range(CHANGES_OF_A_PAGE)
    }
    others = second_reader((name, page.encode()) for name, page in pages.items())
    ours = {name: first_reader(page.encode()) for name, page in pages.items()}
    differing = {
        name: (pages[name], ours[name], others[name]) for name in pages if ours[name] != others[name]
    }
    assert differing == {}
    # Neither all good nor all bad, or the changes would say nothing.
    taken = sum(said["accepted"] for said in ours.values())
    assert len(pages) / 4 < taken < len(pages) * 3 / 4


@pytest.mark.slow
def test_both_readers_agree_on_firings_that_nobody_wrote() -> None:
    pages = {
        f"{path.stem} {at}": changed(
            path.read_text("utf-8"), random.Random(f"{path.stem} {at}"), (*BITS, *BITS_OF_FIRINGS)
        )
        for path in of_firings.ACCEPT
        for at in range(CHANGES_OF_A_FIRING)
    }
    others = second_reader(((name, page.encode()) for name, page in pages.items()), firings=True)
    ours = {name: first_reader_of_firings(page.encode()) for name, page in pages.items()}
    differing = {
        name: (pages[name], ours[name], others[name]) for name in pages if ours[name] != others[name]
    }
    assert differing == {}
    taken = sum(said["accepted"] for said in ours.values())
    assert len(pages) / 6 < taken < len(pages) * 3 / 4


def first_reader_of_firings(data: bytes) -> dict[str, Any]:
    """What glost says of the page of a firing, in the form of the second reader."""
    found = of_firings.findings(data)
    if found:
        return {"accepted": False, "line": found[0]["line"]}
    return {"accepted": True, "firing": of_firings.meaning(of_firings.read(data))}


def first_reader(data: bytes) -> dict[str, Any]:
    """What glost says of a page, in the form of the second reader."""
    found = findings(data)
    if found:
        return {"accepted": False, "line": found[0]["line"]}
    resolved = read(data)
    return {
        "accepted": True,
        "usable": resolved.complete,
        "recipe": meaning(resolved),
        "base total": figure(resolved.recipe.base_total),
        "tests": weighed(resolved.recipe),
    }


def changed(page: str, chance: random.Random, bits: Sequence[str] = BITS) -> str:
    """The page with one to three small changes."""
    for _ in range(chance.choice((1, 1, 2, 3))):
        lines = page.split("\n")
        at, other = chance.randrange(len(lines)), chance.randrange(len(lines))
        place = chance.randrange(len(page) + 1)
        match chance.choice(("put", "put", "behind", "cut", "repeat", "drop", "swap", "indent", "outdent")):
            case "put":
                page = page[:place] + chance.choice(bits) + page[place:]
                continue
            case "cut":
                page = page[:place] + page[place + chance.choice((1, 1, 2, 5)) :]
                continue
            case "behind":
                lines[at] += chance.choice(bits)
            case "repeat":
                lines.insert(other, lines[at])
            case "drop":
                del lines[at]
            case "swap":
                lines[at], lines[other] = lines[other], lines[at]
            case "indent":
                lines[at] = f"    {lines[at]}"
            case "outdent":
                lines[at] = lines[at].lstrip(" ")
        page = "\n".join(lines)
    return page
