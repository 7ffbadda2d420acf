"""Pages whose ingredients are recipes, made up at random: every output has the figures of the page in raw materials,
which is worked out here by itself, in fractions."""

from __future__ import annotations

import csv as csv_of_python
import io
import json as json_of_python
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from itertools import combinations
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from glost.chemistry.firing import Calculator
from glost.output.batch import data as batch_data
from glost.output.batch.amount import BaseMass
from glost.output.batch.plan import bench_plan
from glost.output.batch_sheet import batch_sheets
from glost.output.format import Job
from glost.output.formats import csv, html, json, jsonl, labels, markdown, sheet
from glost.output.session import data as session_data
from glost.output.session.session import bench_session
from glost.recipe.materials.catalogue import shipped_catalogue
from glost.recipe.recipe import tests as every_test
from glost.recipe.settings import Settings
from tests.outside.test_blends import mix, recipe_of

MATERIALS = ("silica", "kaolin", "whiting", "nepheline syenite", "talc", "zinc oxide")
COLOURS = ("cobalt carbonate", "red iron oxide", "rutile")
CATALOGUE = shipped_catalogue()
few = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])

Mix = Mapping[str, Fraction]
Grams = dict[tuple[object, str], Fraction]
DIVISION = Fraction(1, 10)  # of the balance that is taken where a collection lists none


@dataclass(frozen=True)
class Made:
    """A page that uses others, those, the same page in raw materials, and with some of the others taken apart."""

    using: str
    others: tuple[str, ...]
    flat: str
    partly: tuple[str, ...]


def lines(amounts: Iterable[tuple[str, object]]) -> str:
    return "".join(f"    {name}  {amount}\n" for name, amount in amounts)


def decimal(value: Fraction) -> str:
    """A fraction that ends; one whose denominator holds other primes than 2 and 5 has no place on a page."""
    text = f"{Decimal(value.numerator) / Decimal(value.denominator):f}"
    assert Fraction(text) == value
    return text


def taken_apart(parts: Mapping[str, Fraction], inner: Mapping[str, Mix]) -> dict[str, Fraction]:
    """Each recipe by the shares of its whole mix; materials by first appearance."""
    found: dict[str, Fraction] = {}
    for name, amount in parts.items():
        for material, share in inner.get(name, {name: Fraction(1)}).items():
            found[material] = found.get(material, Fraction(0)) + amount * share
    return found


@st.composite
def hundreds(draw: st.DrawFn, names: tuple[str, ...]) -> dict[str, Fraction]:
    """Some materials whose parts add up to 100, so that a share of each is a decimal that ends."""
    chosen = draw(st.lists(st.sampled_from(names), min_size=2, max_size=4, unique=True))
    cuts = sorted(draw(st.sets(st.integers(1, 99), min_size=len(chosen) - 1, max_size=len(chosen) - 1)))
    ends = [0, *cuts, 100]
    return {name: Fraction(b - a) for name, a, b in zip(chosen, ends, ends[1:], strict=False)}


@st.composite
def pages(draw: st.DrawFn) -> Made:
    one, two = draw(hundreds(MATERIALS)), draw(hundreds(MATERIALS))
    inner: dict[str, Mix] = {
        'glaze "One"': {name: parts / 100 for name, parts in one.items()},
        'glaze "Two"': {name: parts / 100 for name, parts in two.items()},
    }
    # The third uses the first: recipes in recipes in recipes.
    nested = draw(hundreds(('glaze "One"', "silica", "talc")))
    inner['glaze "Three"'] = {n: p / 100 for n, p in taken_apart(nested, inner).items()}
    others = tuple(
        f'glaze "{name}"\nbase:\n{lines((n, p) for n, p in parts.items())}'
        for name, parts in (("One", one), ("Two", two), ("Three", nested))
    )
    names = (*inner, *MATERIALS[:3])
    base, soft = draw(hundreds(names)), draw(hundreds(names))
    left, right = draw(hundreds(names)), draw(hundreds(names))
    added = {
        name: Fraction(draw(st.integers(1, 8))) for name in draw(st.sampled_from([COLOURS[:1], COLOURS]))
    }
    step = draw(st.sampled_from(["50", "25"]))

    def page(shown: Any) -> str:
        first = shown(base)
        # A base that is set anew as a whole takes out what it does not name.
        anew = {**dict.fromkeys(first, Fraction(0)), **shown(soft)}
        every = dict.fromkeys([*first, *shown(left), *shown(right)])
        columns = [
            (n, f"{decimal(shown(left).get(n, Fraction(0)))}, {decimal(shown(right).get(n, Fraction(0)))}")
            for n in every
        ]
        return (
            'glaze "Page"\ncone: 6\natmosphere: oxidation\nbatch: 400 g\nwater: 80 %\n'
            f"base:\n{lines((n, decimal(p)) for n, p in first.items())}"
            f"additions:\n{lines((n, f'{p} %') for n, p in added.items())}"
            f'base variation "soft":\n{lines((n, decimal(p)) for n, p in anew.items())}'
            f'base blend "line" by {step} %:\n{lines(columns)}'
        )

    def apart(*some: str) -> str:
        return page(lambda parts: taken_apart(parts, {name: inner[name] for name in some}))

    every = list(inner)
    partly = [some for count in (1, 2) for some in combinations(every, count)]
    return Made(page(dict), others, apart(*every), tuple(apart(*some) for some in partly))


def jobs(made: Made) -> tuple[Job, Job]:
    using, flat = recipe_of(made.using, *made.others), recipe_of(made.flat)
    return tuple(Job("page.glost", one, Settings(), CATALOGUE) for one in (using, flat))  # type: ignore[return-value]


def grams(rows: Iterable[tuple[object, str, object]]) -> Grams:
    found: Grams = {}
    for base, material, amount in rows:
        found[base, material] = found.get((base, material), Fraction(0)) + Fraction(str(amount))
    return {at: one for at, one in found.items() if one}


def near(one: Grams, other: Grams) -> bool:
    """Whether the same is weighed to a division: which of two equal remainders is rounded up goes by the order of the
    lines, and that is the order of first appearance."""
    return one.keys() == other.keys() and all(abs(one[at] - other[at]) <= DIVISION for at in one)


@few
@given(pages())
def test_every_test_weighs_the_same(made: Made) -> None:
    using, flat = jobs(made)
    assert [test.label for test in every_test(using.recipe)] == [
        test.label for test in every_test(flat.recipe)
    ]
    assert [mix(test) for test in every_test(using.recipe)] == [mix(test) for test in every_test(flat.recipe)]


@few
@given(pages())
def test_recipes_may_be_taken_apart_in_any_order(made: Made) -> None:
    """One of them, or two, on the page itself, and the others when it is read."""
    flat = [mix(test) for test in every_test(recipe_of(made.flat))]
    for page in made.partly:
        assert [mix(test) for test in every_test(recipe_of(page, *made.others))] == flat


@few
@given(pages())
def test_sheets_and_labels_have_the_same_masses_and_the_same_care(made: Made) -> None:
    using, flat = (batch_sheets(job) for job in jobs(made))
    for one, other in zip(using, flat, strict=True):
        assert one.plan is not None
        assert other.plan is not None
        exact, shown = (
            [
                grams((line.base, line.material, getattr(line, which)) for line in plan.lines)
                for plan in (one.plan, other.plan)
            ]
            for which in ("exact_g", "target_g")
        )
        assert exact[0] == exact[1]
        assert near(*shown)
        assert (one.total, one.water, one.mass) == (other.total, other.water, other.mass)
        assert set(one.hazards.listed) == set(other.hazards.listed)
        assert {(c.text, frozenset(c.materials)) for c in one.cautions} == {
            (c.text, frozenset(c.materials)) for c in other.cautions
        }
        words = [
            {frozenset(line.replace(":", ",").split(",")) for line in labels.hazard_words(s)}
            for s in (one, other)
        ]
        assert len(words[0]) == len(words[1])


@few
@given(pages())
def test_plans_for_programs_have_the_same_masses(made: Made) -> None:
    found = []
    for job in jobs(made):
        plans = [bench_plan(job, test, BaseMass(Decimal(400))) for test in every_test(job.recipe)]
        document = json_of_python.loads(batch_data.as_json(plans), parse_float=str, parse_int=str)
        found.append(
            [
                grams((line["base"], line["material"], line["target_g"]) for line in test["lines"])
                for test in document["tests"]
            ]
        )
    assert all(near(one, other) for one, other in zip(*found, strict=True))


@few
@given(pages())
def test_sessions_pour_the_same(made: Made) -> None:
    found = []
    for job in jobs(made):
        planned = bench_session([(job, test) for test in every_test(job.recipe)], Decimal(100))
        rows = list(csv_of_python.DictReader(io.StringIO(session_data.as_csv(planned))))
        found.append(
            (
                grams((row["cup"], row["material"], row["target_g"]) for row in rows),
                {jar.pull.material: Fraction(jar.pull.total_g) for jar in planned.jars},
            )
        )
    assert near(found[0][0], found[1][0])
    assert found[0][1].keys() == found[1][1].keys()
    assert all(abs(one - found[1][1][name]) <= 9 * DIVISION for name, one in found[0][1].items())


@few
@given(pages())
def test_formulas_are_the_same(made: Made) -> None:
    kiln = Calculator(CATALOGUE)
    using, flat = ([kiln.fire(test) for test in every_test(job.recipe)] for job in jobs(made))
    for one, other in zip(using, flat, strict=True):
        assert (one.unity is None) == (other.unity is None)
        if one.unity is not None and other.unity is not None:
            for oxide in ("SiO2", "Al2O3", "CaO", "MgO", "ZnO", "Na2O", "K2O", "Fe2O3"):
                assert abs(one.unity.of(oxide) - other.unity.of(oxide)) < Decimal("1e-12"), oxide


@pytest.mark.parametrize("form", [csv, json, jsonl], ids=lambda form: form.FORMAT.name)
@few
@given(made=pages())
def test_what_comes_back_from_a_form_weighs_what_the_raw_materials_weigh(form: Any, made: Made) -> None:
    using, flat = jobs(made)
    assert form.FORMAT.read is not None
    (back,) = form.FORMAT.read(form.write([using]))
    # A table holds the page itself; what its recipes are is looked up again where it is read.
    if form is csv:
        back = replace(back, uses=using.recipe.uses)
    assert back == using.recipe
    assert [mix(test) for test in every_test(back)] == [mix(test) for test in every_test(flat.recipe)]


@settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(pages())
def test_printed_forms_show_the_same_totals(made: Made) -> None:
    using, flat = jobs(made)
    for form in (sheet, markdown, html):
        texts = [form.write([job]) for job in (using, flat)]
        for word in ("g on the balance", "% of "):
            counts = [[line.strip() for line in text.splitlines() if word in line] for text in texts]
            shown = [sorted(line for line in lines if "map" not in line) for lines in counts]
            assert len(shown[0]) == len(shown[1])
            assert [only_figures(line) for line in shown[0]] == [only_figures(line) for line in shown[1]]


def only_figures(line: str) -> str:
    return "".join(sign for sign in line if sign.isdigit() or sign == ".")
