"""How fast a collection is linted, against general tools in the same run on the same machine.

    python -m tests.benchmark [--sizes 2000,20000] [--kinds "demo;small"] [--runs 3]
                              [--findings 50000] [--compare 20000]

It writes so many recipes of three kinds, and the same recipes as YAML, into a temporary folder: "demo", made from the
demo collection (33 lines on average), "small" (18 lines, nothing found) and "small, found" (the same, two findings a
page). It then times, as whole processes: `glost lint` with all default rules, its cache empty, then full; `glost format
--check` of known pages; reading the files; PyYAML's C loader with jsonschema; of the demo pages up to 5,000 also
yamllint and check-jsonschema; beside a cold lint of the fewest of each kind, sheets and formulas, and beside these the
plot. Last the start of glost on one page: of one that is new, against `python -c "import lark"`, and of one that is
known, against `python -c "import click"`.

With `--findings` so many known small pages are linted with two findings on each and with none; with `--compare` two
revisions of so many small pages, of which 500 differ, beside these 500 alone. The memory of 100,000 pages is told where
that is among the sizes.

What is compared is processor time, of a process and all that it started; wall time stands beside it, and what is aimed
at. It prints tables and never fails on a time. Needs the extra 'bench'; a general tool that is not installed is left
out, and named below the table.
"""

from __future__ import annotations

import argparse
import functools
import importlib.util
import os
import random
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

from glost.output.format import Job, find_format
from glost.workspace.collection import Collections, find
from glost.workspace.load import load

TOP = Path(__file__).parents[2]
STUDIO = TOP / "corpus" / "studio"
SCHEMA = TOP / "schema" / "recipe.schema.json"

READ = "import pathlib, sys\nfor p in sorted(pathlib.Path(sys.argv[1]).rglob('*.glost')): p.read_bytes()"
BOTH = """
import json, pathlib, sys, yaml, jsonschema
schema = json.load(open(sys.argv[2]))
validator = jsonschema.Draft202012Validator(schema)
for p in sorted(pathlib.Path(sys.argv[1]).rglob('*.yaml')):
    if p.name not in ('glost.yaml', 'materials.yaml'):
        for error in validator.iter_errors(yaml.load(p.read_bytes(), Loader=yaml.CSafeLoader)):
            print(p, error.message)
"""
SLOW_TOOLS = ("yamllint", "check-jsonschema")
SLOW_TOOLS_UP_TO = 5_000
"""Recipes; more would take them minutes."""
QUIET_YAML = "{extends: default, rules: {line-length: disable, document-start: disable}}"


def make(folder: Path, count: int) -> tuple[Path, Path]:
    """``count`` recipes as pages and, in a second folder, as YAML; a seeded choice, so every run sees the same."""
    import json

    import yaml

    chance = random.Random(2026)
    collections = Collections()
    entries = [load(path, collections) for path in find([str(STUDIO)], collections)]
    # A page that mixes others would find none of them under its name.
    entries = [entry for entry in entries if not entry.resolved.recipe.uses]
    recipes, yamls = folder / f"recipes-{count}", folder / f"yaml-{count}"
    for target in (recipes, yamls):
        target.mkdir(parents=True)
    for name in ("glost.yaml", "materials.yaml"):
        shutil.copy(STUDIO / name, recipes / name)
    write = find_format("json").write
    plain = {}
    for entry in entries:
        job = Job(entry.file, entry.resolved.recipe, entry.collection.settings, entry.collection.catalogue)
        plain[entry.file] = json.loads(write([job]))
    for number in range(count):
        entry = chance.choice(entries)
        text = entry.resolved.page.source.text
        old = entry.resolved.recipe.name
        new = f"{old} {number}"
        # A comment and a name of its own, and one amount moved to another line: no two pages are the same.
        page = f"# copy {number}\n" + text.replace(f'"{old}"', f'"{new}"', 1)
        page += (
            f'\nvariation "own {number}":\n    tin oxide  {1 + number % 89 / 10 + number / 1_000_000:.6f}\n'
        )
        below = recipes / f"{number % 40:02}"
        below.mkdir(exist_ok=True)
        (below / f"{new.lower().replace(' ', '-')}.glost").write_text(page, "utf-8")
        data = plain[entry.file]
        data["recipes"][0]["name"] = new
        (yamls / f"{number}.yaml").write_text(
            yaml.dump(data, Dumper=yaml.CSafeDumper, sort_keys=False, allow_unicode=True), "utf-8"
        )
    return recipes, yamls


SMALL = ("potash feldspar", "whiting", "kaolin", "silica", "talc", "zinc oxide")
QUIET = "batch: 500 g\nhandling:\n  all: P100 respirator and gloves; wet-clean spills.\n"
FOUND = "batch: 500 g\n"
"""Without a house note silica and talc are found on every page."""


def make_small(folder: Path, count: int, settings: str, as_yaml: bool = True) -> tuple[Path, Path]:
    """``count`` recipes of 18 lines as pages and, in a second folder, as YAML, which takes most of the time: six
    materials, two additions, cone, atmosphere, surface and origin; the same in every run."""
    import json

    import yaml

    recipes, yamls = folder / "recipes", folder / "yaml"
    yamls.mkdir(parents=True)
    recipes.mkdir()
    (recipes / "glost.yaml").write_text(settings, "utf-8")
    write = find_format("json").write
    collections = Collections()
    for number, text in enumerate(small_pages(count)):
        file = recipes / f"{number % 40:02}" / f"quay-{number}.glost"
        file.parent.mkdir(exist_ok=True)
        file.write_text(text, "utf-8")
        if not as_yaml:
            continue
        entry = load(file, collections)
        job = Job(entry.file, entry.resolved.recipe, entry.collection.settings, entry.collection.catalogue)
        data = yaml.dump(
            json.loads(write([job])), Dumper=yaml.CSafeDumper, sort_keys=False, allow_unicode=True
        )
        (yamls / f"{number}.yaml").write_text(data, "utf-8")
    return recipes, yamls


def small_pages(count: int) -> Iterator[str]:
    """The texts of so many small pages, laid out; no two of them are the same mix."""
    chance = random.Random(2026)
    for number in range(count):
        others = [chance.randint(50, 150) for _ in SMALL[1:]]
        amounts = [1000 - sum(others), *others]
        lines = [f"    {name:<19}{amount / 10:>8.1f}" for name, amount in zip(SMALL, amounts, strict=True)]
        page = [
            f"# copy {number}",
            f'glaze "Quay {number}"',
            *("cone: 6", "atmosphere: oxidation", "surface: satin", f"origin: own test {number}", ""),
            *("base:", *lines, ""),
            *("additions:", f"    tin oxide          {chance.randint(30, 80) / 10:>8.1f}"),
            f"    bentonite          {2.0:>8.1f}",
        ]
        yield "\n".join([*page, ""])


class Taken(NamedTuple):
    """What a command took: processor seconds of it and all that it started, wall seconds, and the memory of the
    first process in MB, never shown as less than this one holds."""

    processor: float
    wall: float
    memory: int


def timed(
    command: Sequence[str],
    runs: int,
    before: Callable[[], object] = int,
    standard_input: Path = Path(os.devnull),
    **environment: str,
) -> Taken:
    """What a command takes: medians over some runs. ``before`` is done before each run, and is not timed."""
    taken = []
    for _ in range(runs):
        before()
        begun = time.perf_counter()
        with standard_input.open("rb") as opened:
            process = subprocess.Popen(
                command,
                stdin=opened,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                env={**os.environ, **environment},
            )
            _, process.returncode, used = os.wait4(process.pid, 0)
        wall = time.perf_counter() - begun
        taken.append(Taken(used.ru_utime + used.ru_stime, wall, used.ru_maxrss // 1024))
    return Taken(
        statistics.median(one.processor for one in taken),
        statistics.median(one.wall for one in taken),
        max(one.memory for one in taken),
    )


KINDS: dict[str, Callable[[Path, int], tuple[Path, Path]]] = {
    "demo": make,
    "small": functools.partial(make_small, settings=QUIET),
    "small, found": functools.partial(make_small, settings=FOUND),
}


class Aimed(NamedTuple):
    """What is aimed at, at the most, as a share of something else measured in the same run."""

    processor: float
    wall: float | None = None

    def __str__(self) -> str:
        return f"{self.processor:.2f} x" + (f", wall {self.wall:.2f} x" if self.wall else "")


COLD = Aimed(1.0, 0.5)
"""Of the general tools; wall time on two cores that have nothing else to do."""
KNOWN = {"demo": Aimed(0.08)}
KNOWN_SMALL = Aimed(0.15)
LAID_OUT = Aimed(0.10)
SHEETS, FORMULA, PLOT = Aimed(2.0), Aimed(1.5), Aimed(3.0)
NEW_PAGE, KNOWN_PAGE = Aimed(1.6), Aimed(1.2)
DIFFERENT = Aimed(1.5)
MOST_MB, MANY = 250, 100_000
FINDINGS_S = 2.0
"""Processor seconds for 100,000 findings."""
DIFFER = 500

HEADER = """\
| pages | recipes | what | processor seconds | wall seconds | processor time | wall time | aimed at | MB |
| --- | --- | --- | --- | --- | --- | --- | --- | --- |"""


def row(kind: str, count: int, what: str, taken: Taken, beside: Taken, aimed: Aimed | str = "") -> None:
    """Prints what a command took, and how many times what stands ``beside`` it took that is."""
    cells = (
        kind,
        f"{count:,}",
        what,
        f"{taken.processor:.2f}",
        f"{taken.wall:.2f}",
        f"{taken.processor / beside.processor:.2f} x",
        f"{taken.wall / beside.wall:.2f} x",
        str(aimed),
        str(taken.memory),
    )
    print(f"| {' | '.join(cells)} |", flush=True)


def is_installed(tool: str) -> bool:
    """Whether a general tool can be run here: how long it takes to say that it is not there is no figure."""
    return importlib.util.find_spec(tool.replace("-", "_")) is not None


GLOST: Sequence[str] = [sys.executable, "-m", "glost"]


def compare(kind: str, size: int, runs: int, place: Path) -> tuple[Path, Taken, Taken]:
    """Prints a row for each command over so many pages of a kind; the pages, and what lint took, cold and known."""
    python = sys.executable
    recipes, yamls = KINDS[kind](place / kind / str(size), size)
    cache = place / "cache"

    def empty() -> None:
        shutil.rmtree(cache, ignore_errors=True)

    lint = [*GLOST, "lint", str(recipes)]
    lay_out = [*GLOST, "format", str(recipes)]
    general = timed([python, "-c", BOTH, str(yamls), str(SCHEMA)], runs)
    subprocess.run(lay_out, check=False, capture_output=True, env={**os.environ, "GLOST_CACHE": str(cache)})
    timed([*lay_out, "--check"], 1, GLOST_CACHE=str(cache))
    known_layout = timed([*lay_out, "--check"], runs, GLOST_CACHE=str(cache))
    cold = timed(lint, runs, empty, GLOST_CACHE=str(cache))
    known = timed(lint, runs, GLOST_CACHE=str(cache))
    row(kind, size, "PyYAML C loader and jsonschema", general, general)
    row(kind, size, "glost lint, cold", cold, general, COLD)
    row(kind, size, "glost lint, known pages", known, general, KNOWN.get(kind, KNOWN_SMALL))
    row(kind, size, "glost format --check, known pages", known_layout, general, LAID_OUT)
    row(kind, size, "reading the files", timed([python, "-c", READ, str(recipes)], runs), general)
    if kind == "demo" and size <= SLOW_TOOLS_UP_TO:
        files = [str(path) for path in sorted(yamls.glob("*.yaml"))]
        tools = {
            "yamllint": [python, "-m", "yamllint", "-d", QUIET_YAML, str(yamls)],
            "check-jsonschema": [python, "-m", "check_jsonschema", "--schemafile", str(SCHEMA), *files],
        }
        for tool, command in tools.items():
            if is_installed(tool):
                row(kind, size, tool, timed(command, 1), general)
    return recipes, cold, known


def compare_outputs(kind: str, recipes: Path, lint: Taken, runs: int, place: Path) -> None:
    """Prints what it takes to write these pages out and to calculate from them, beside a cold lint of them."""
    sheets = place / "sheets"
    count = sum(1 for _ in recipes.rglob("*.glost"))

    def take_away() -> None:
        shutil.rmtree(sheets, ignore_errors=True)

    def take(*words: str) -> Taken:
        return timed([*GLOST, words[0], str(recipes), *words[1:]], runs, take_away, GLOST_CACHE="off")

    new = take("convert", "--to", "sheet", "--out", str(sheets))
    row(kind, count, "glost convert --to sheet, all new, beside lint", new, lint, SHEETS)
    formula = take("formula", "--output", "json")
    row(kind, count, "glost formula --output json, beside lint", formula, lint, FORMULA)
    plot = take("plot", "--out", str(place / "plot.html"), "--force")
    row(kind, count, "glost plot, beside formula", plot, formula, PLOT)


def compare_findings(pages: int, runs: int, place: Path) -> None:
    """Prints what a lint of known pages takes with two findings on each, and with none."""
    took = {}
    for what, settings in (("none", QUIET), ("two a page", FOUND)):
        recipes, _ = make_small(place / "findings" / what, pages, settings, as_yaml=False)
        cache = str(place / "findings-cache")
        timed([*GLOST, "lint", str(recipes)], 1, GLOST_CACHE=cache)
        for form in ("text", "json", "sarif"):
            command = [*GLOST, "lint", str(recipes), "--output", form]
            taken = took[what, form] = timed(command, runs, GLOST_CACHE=cache)
            name = f"glost lint --output {form}, known, {what}, beside none"
            aimed = f"{FINDINGS_S * pages * 2 / MANY:.1f} s more than none" if what != "none" else ""
            row("small", pages, name, taken, took["none", form], aimed)
    shutil.rmtree(place / "findings")


def compare_revisions(pages: int, runs: int, place: Path) -> None:
    """Prints what `glost compare` of two revisions takes, of which DIFFER pages differ, beside these pages alone and
    what git itself takes for both."""
    took = {}
    for count in (DIFFER, pages):
        folder = place / "revisions" / str(count)
        recipes, _ = make_small(folder, count, QUIET, as_yaml=False)
        git = ["git", "-C", str(recipes), "-c", "user.name=a", "-c", "user.email=a@example.org"]

        def commit(git: Sequence[str] = git) -> None:
            subprocess.run([*git, "add", "-A"], check=True)
            subprocess.run([*git, "commit", "-q", "-m", "a"], check=True)

        subprocess.run([*git, "init", "-q", "-b", "main"], check=True)
        commit()
        for file in sorted(recipes.rglob("*.glost"))[:: max(1, count // DIFFER)][:DIFFER]:
            file.write_text(file.read_text("utf-8").removesuffix("2.0\n") + "3.0\n", "utf-8")
        commit()
        own = timed([*git, "diff", "--stat", "HEAD~1", "HEAD"], runs)
        here = Path.cwd()
        os.chdir(recipes)
        taken = timed([*GLOST, "compare", "HEAD~1", "HEAD"], runs, GLOST_CACHE="off")
        os.chdir(here)
        took[count] = taken
        alone = took[DIFFER]
        beside = alone._replace(processor=alone.processor + own.processor, wall=alone.wall + own.wall)
        row(
            "small", count, f"glost compare, {DIFFER} differ, beside {DIFFER} alone", taken, beside, DIFFERENT
        )
    shutil.rmtree(place / "revisions")


def compare_starts(one: Path, cache: Path, runs: int) -> None:
    """Prints what one page takes, new and known, against the import of general libraries."""
    python = sys.executable
    text = one.read_text("utf-8")
    glost = str(Path(python).parent / "glost")

    def change() -> None:
        one.write_text(f"# {time.monotonic_ns()}\n{text}", "utf-8")

    lark = timed([python, "-c", "import lark"], runs)
    click = timed([python, "-c", "import click"], runs)
    lint = [glost, "lint", str(one)]
    new = timed(lint, runs, change, GLOST_CACHE=str(cache))
    row("one", 1, "glost lint, a new page, beside import lark", new, lark, NEW_PAGE)
    read = timed([glost, "format", "-"], runs, standard_input=one)
    row("one", 1, "glost format -, a new page, beside import lark", read, lark, NEW_PAGE)
    known = timed(lint, runs, GLOST_CACHE=str(cache))
    row("one", 1, "glost lint, a known page, beside import click", known, click, KNOWN_PAGE)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--sizes", default="2000,20000")
    parser.add_argument("--kinds", default=";".join(KINDS), help="some of them, with ; between")
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--findings", type=int, default=0, help="pages with two findings each; 0 for none")
    parser.add_argument("--compare", type=int, default=0, help="pages of two revisions; 0 for none")
    asked = parser.parse_args()
    sizes = [int(size) for size in asked.sizes.split(",")]
    print(f"{os.cpu_count()} cores, Python {sys.version.split()[0]}; medians of {asked.runs} runs\n")
    print(HEADER)
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        below: list[str] = []
        for kind in asked.kinds.split(";"):
            at = [compare(kind, size, asked.runs, place) for size in sizes]
            pages, lint, _ = at[0]
            compare_outputs(kind, pages, lint, asked.runs, place)
            below += growth(kind, sizes, [(cold, known) for _, cold, known in at])
        if asked.findings:
            compare_findings(asked.findings, asked.runs, place)
        if asked.compare:
            compare_revisions(asked.compare, asked.runs, place)
        compare_starts(min(pages.rglob("*.glost")), place / "cache", 21)
    below += [f"{tool} is not installed, and was left out" for tool in SLOW_TOOLS if not is_installed(tool)]
    print("", *below, sep="\n")


def growth(kind: str, sizes: Sequence[int], lint: Sequence[tuple[Taken, Taken]]) -> Iterator[str]:
    """How much more the largest collection takes than the smallest, and the memory of the largest."""
    (cold, known), (most_cold, most_known) = lint[0], lint[-1]
    if len(sizes) > 1:
        times = [
            f"{name} {most.processor / least.processor:.1f} x"
            for name, least, most in (("cold", cold, most_cold), ("known", known, most_known))
        ]
        yield f"{kind}: from {sizes[0]:,} to {sizes[-1]:,} recipes lint takes {', '.join(times)}"
    for size, taken in zip(sizes, lint, strict=True):
        if size >= MANY:
            most = max(one.memory for one in taken)
            yield f"{kind}: lint of {size:,} recipes holds {most} MB; aimed at: {MOST_MB} MB"


if __name__ == "__main__":
    main()
