"""The studio's recipes, recipes of any kind, and jobs to write them out with."""

from __future__ import annotations

import functools
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path

from hypothesis import strategies as st

from glost.language.parse import parse
from glost.language.source import Source
from glost.output.format import Job, Revision, find_format
from glost.recipe.cone import read_cone
from glost.recipe.fields import ATMOSPHERES, OWN_FIELDS, USES, Quantity, Value
from glost.recipe.materials.catalogue import Catalogue, shipped_catalogue
from glost.recipe.materials.own import with_own_materials
from glost.recipe.recipe import Blend, Handling, Ingredient, Recipe, Series, Step, Variation
from glost.recipe.resolve import resolve
from glost.recipe.settings import Settings
from glost.weighing.balance import Balance

STUDIO = Path(__file__).parents[3] / "corpus" / "studio"
D = Decimal
FINE = Balance("fine", D(300), D("0.01"))
FLOOR = Balance("floor", D(6000), D("0.1"))


@functools.cache
def studio_catalogue() -> Catalogue:
    text = (STUDIO / "materials.yaml").read_text("utf-8")
    return with_own_materials(shipped_catalogue(), Source("materials.yaml", text))


PLAIN = Settings()


def recipe_of(text: str) -> Recipe:
    resolved = resolve(parse(Source("test.glost", text)), studio_catalogue())
    assert not resolved.page.diagnostics
    assert not resolved.diagnostics
    return resolved.recipe


def job_of(
    recipe: Recipe,
    settings: Settings = PLAIN,
    file: str = "test.glost",
    revision: Revision | None = None,
    batch_g: Decimal | None = None,
) -> Job:
    return Job(file, recipe, settings, studio_catalogue(), batch_g, revision)


def text_in(name: str, jobs: Sequence[Job]) -> str:
    """The jobs in a format that is text."""
    made = find_format(name).write(jobs)
    assert isinstance(made, str)
    return made


@functools.cache
def studio_jobs() -> tuple[Job, ...]:
    paths = sorted(STUDIO.rglob("*.glost"))
    assert len(paths) > 30
    return tuple(
        job_of(
            resolve(parse(Source(path.name, path.read_text("utf-8"))), studio_catalogue()).recipe,
            Settings(balances=(FINE, FLOOR)),
            path.relative_to(STUDIO).as_posix(),
        )
        for path in paths
    )


# ---- recipes of any kind -------------------------------------------------------------------------------

_SIGNS = "=+-@'\"\t\r,;: #|<>&*_`[]\\~$!()0123456789aé釉µ\u202e\u2028\x1b\x7f\uff1d"
texts = st.text(st.one_of(st.sampled_from(_SIGNS), st.characters(exclude_categories=["Cs"])), max_size=12)
"""Whatever a data file may hold, and often what a spreadsheet, a terminal or a page takes for a sign."""
names = texts.filter(bool)
notes = st.one_of(st.just(""), texts, st.lists(texts, min_size=1, max_size=3).map("\n".join))
amounts = st.decimals(min_value=0, max_value=999_999_999, places=6, allow_nan=False, allow_infinity=False)
masses = amounts.filter(bool)
materials = st.one_of(st.none(), st.sampled_from(["silica", "kaolin", "cobalt carbonate", "red lead"]))
units = st.sampled_from(["", "%", "g", "kg", "oz", "lb"])
quantities = st.builds(Quantity, amounts, units)
ingredients = st.builds(Ingredient, names, materials, quantities, texts)
lines = st.lists(ingredients, max_size=4).map(tuple)
tags = st.lists(
    texts.filter(lambda text: text.strip(" ") and "," not in text)
    .map(lambda text: " ".join(text.split()).strip())
    .filter(bool),
    max_size=3,
).map(tuple)
fields: st.SearchStrategy[dict[str, Value]] = st.fixed_dictionaries(
    {},
    optional={
        "cone": st.sampled_from(["06", "6", "6 1/2", "5-6", "04-02", "10"]).map(read_cone),
        "atmosphere": st.sampled_from(ATMOSPHERES),
        "surface": names,
        "origin": st.lists(names, min_size=1, max_size=3).map("\n".join),
        "date": st.dates().map(lambda date: date.isoformat()),
        "use": st.sampled_from(USES),
        "tags": tags,
        "batch": st.builds(Quantity, masses, st.sampled_from(["g", "kg", "oz", "lb"])),
        "water": st.builds(Quantity, amounts, st.just("%")),
        "gravity": st.builds(Quantity, st.decimals(1, 3, places=4), st.just("")),
        "sieve": st.builds(Quantity, st.integers(1, 999).map(Decimal), st.just("mesh")),
    },
)


def steps(columns: int) -> st.SearchStrategy[tuple[Step, ...]]:
    """Lines of a series of so many tests, or of a blend of so many corners."""
    amounts_each = st.lists(quantities, min_size=columns, max_size=columns).map(tuple)
    return st.lists(st.builds(Step, names, materials, amounts_each, texts), max_size=3).map(tuple)


@st.composite
def all_series(draw: st.DrawFn) -> Series:
    lines = steps(draw(st.integers(1, 3)))
    return Series(draw(texts), draw(lines), draw(lines))


@st.composite
def all_blends(draw: st.DrawFn) -> Blend:
    lines = steps(draw(st.integers(2, 4)))
    some, more = draw(st.one_of(st.tuples(lines.filter(bool), lines), st.tuples(lines, lines.filter(bool))))
    return Blend(draw(texts), D(draw(st.sampled_from(["50", "25", "20", "12.5"]))), some, more)


variations = st.builds(
    Variation,
    texts,
    lines,
    lines,
    st.lists(st.tuples(st.sampled_from(OWN_FIELDS), names), max_size=2, unique_by=lambda pair: pair[0]).map(
        tuple
    ),
)


recipes = st.builds(
    Recipe,
    kind=st.sampled_from(["glaze", "engobe", "slip", "wash", "body"]),
    name=texts,
    fields=fields,
    base=lines,
    additions=lines,
    handling=st.lists(st.builds(Handling, st.lists(texts, max_size=3).map(tuple), texts), max_size=3).map(
        tuple
    ),
    variations=st.lists(variations, max_size=3).map(tuple),
    series=st.lists(all_series(), max_size=2).map(tuple),
    blends=st.lists(all_blends(), max_size=2).map(tuple),
    notes=notes,
)
several = st.lists(recipes, max_size=4)
