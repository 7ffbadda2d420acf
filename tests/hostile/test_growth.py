"""Four times too much takes four times the work: what is counted grows with a page, a file of settings or a heap of
findings, never with its square."""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from typing import Any

import pytest

from glost.cli.linting import OUTPUTS
from glost.language.layout import FormatError, format_text
from glost.language.parse import parse
from glost.language.source import Source
from glost.language.yaml_tree import ConfigError
from glost.linter.engine import LintContext, check
from glost.linter.fixing import fix
from glost.linter.rule import rule_names
from glost.output.format import Job, find_format, format_names
from glost.output.formats.json import read_json
from glost.recipe.materials.catalogue import shipped_catalogue
from glost.recipe.materials.own import with_own_materials
from glost.recipe.resolve import resolve
from glost.recipe.settings import Settings, read_settings
from tests.hostile.pages import BASE, HEAD
from tests.work import steps_grow_in_proportion, time_grows_in_proportion

BENCH = LintContext(shipped_catalogue(), Settings())

LINES = {
    "a comma": "    silica,\n",
    "a decimal comma": "    silica 1,5\n",
    "a tab": "\tsilica 1\n",
    "a wide figure": "    silica \uff11\n",
    "an unknown field": "colr: x\n",
    "an unknown material": "    moon dust 1\n",
    "a material again": "    silica 1\n",
    "a head again": "additions:\n    tin oxide 1\n",
    "a variation": 'variation "{}":\n    tin oxide 1\n',
    "a comment": "# note\n",
    "an empty line": "\n",
}


def size_of(unit: str) -> int:
    """So many that what grows with the square would outweigh the rest; names to compare with all others take long."""
    return 8 if "dust" in unit else 150


def page(unit: str, count: int) -> Source:
    return Source("a.glost", HEAD + BASE + "".join(unit.format(number) for number in range(count)))


@pytest.mark.parametrize("unit", LINES.values(), ids=LINES)
def test_lines_of_a_page(unit: str) -> None:
    assert steps_grow_in_proportion(lambda size: check(page(unit, size), BENCH), size_of(unit))
    assert steps_grow_in_proportion(lambda size: fix(page(unit, size), BENCH), size_of(unit))


@pytest.mark.parametrize("unit", LINES.values(), ids=LINES)
def test_laying_out(unit: str) -> None:
    def format_file(size: int) -> None:
        with contextlib.suppress(FormatError):
            format_text(parse(page(unit, size)))

    assert steps_grow_in_proportion(format_file, size_of(unit))


@pytest.mark.parametrize(
    "unit", [" ", "#", '"', "(", "7", ",", "a", "1 ", "1, ", "a: ", "\t", "\u00e9 ", "\uff11"]
)
@pytest.mark.parametrize("head", ["base:\n    ", "handling:\n    ", "notes:\n    ", 'series "x":\n    ', ""])
def test_one_line_through_the_whole_linter(head: str, unit: str) -> None:
    def look(size: int) -> None:
        check(Source("a.glost", HEAD + head + unit * size + "\x07\n"), BENCH)

    assert steps_grow_in_proportion(look, 200)
    assert time_grows_in_proportion(look, 6_000)


@pytest.mark.parametrize("form", OUTPUTS)
def test_reports(form: str) -> None:
    report = OUTPUTS[form]()
    findings = check(page("    silica 1,5\n", 400), BENCH)
    assert len(findings) >= 400
    assert steps_grow_in_proportion(lambda size: list(report(findings[:size])), 100)


@pytest.mark.parametrize("name", sorted(format_names()))
def test_sheets_of_a_long_series(name: str) -> None:
    """Every test holds all of the base, so the text grows with tests times materials; of those, one is four times."""

    def job(steps: int) -> Job:
        amounts = ", ".join(["1"] * steps)
        source = Source("a.glost", f'{HEAD}{BASE}series "x":\n    tin oxide  {amounts}\n')
        return Job("a.glost", resolve(parse(source), BENCH.catalogue).recipe, BENCH.settings, BENCH.catalogue)

    jobs = {10: [job(10)], 40: [job(40)]}
    form = find_format(name)
    assert steps_grow_in_proportion(lambda size: form.write(jobs[size]), 10)


def nested(size: int) -> str:
    levels = size // 10
    return "a: &a0 [x, x]\n" + "".join(
        f"b{number}: &a{number} [{', '.join([f'*a{number - 1}'] * 9)}]\n" for number in range(1, levels)
    )


YAML: dict[str, Callable[[int], str]] = {
    "aliases of aliases": nested,
    "many keys": lambda size: "".join(f"key{number}: x\n" for number in range(size)),
    "many skips": lambda size: "skip: [" + "old, " * size + "x]\n",
    "many balances": lambda size: (
        "balances:\n"
        + "".join(f"  - {{name: b{n}, capacity: 1 kg, readability: 0.1 g}}\n" for n in range(size))
    ),
    "deep flow": lambda size: "skip: " + "[" * size,
    "deep block": lambda size: "".join(" " * number + "a:\n" for number in range(size // 4)),
    "a long word": lambda size: "name: " + "a " * size + "\n",
    "a quotation mark": lambda size: 'name: "' + "a" * size + "\n",
    "question marks": lambda size: "? " * size + "\n",
    "documents": lambda size: "---\n" * size,
    "a number": lambda size: "batch: " + "9" * size + " g\n",
}


@pytest.mark.parametrize("made", YAML.values(), ids=YAML)
def test_settings_and_materials(made: Callable[[int], str]) -> None:
    def read(size: int) -> None:
        source = Source("glost.yaml", made(size))
        with contextlib.suppress(ConfigError):
            read_settings(source, rule_names())
        with contextlib.suppress(ConfigError):
            with_own_materials(BENCH.catalogue, source)

    assert steps_grow_in_proportion(read, 120)


JSON: dict[str, Callable[[int], str]] = {
    "deep lists": lambda size: "[" * size,
    "deep objects": lambda size: '{"a":' * size,
    "a number": lambda size: '{"version": ' + "1" * size + "}",
    "backslashes": lambda size: '"' + "\\" * (2 * size + 1),
    "many recipes": lambda size: (
        '{"version": 1, "recipes": [' + ", ".join(['{"kind": "glaze"}'] * size) + "]}"
    ),
    "whole recipes": lambda size: (
        '{"version": 1, "recipes": ['
        + ", ".join(['{"kind": "glaze", "name": "A", "base": [{"name": "silica", "amount": 60}]}'] * size)
        + "]}"
    ),
}


@pytest.mark.parametrize("made", JSON.values(), ids=JSON)
def test_json(made: Callable[[int], str]) -> None:
    def read(size: int) -> Any:
        try:
            return read_json(made(size))
        except ValueError:
            return None

    assert steps_grow_in_proportion(read, 60)
    assert time_grows_in_proportion(read, 1_500)
