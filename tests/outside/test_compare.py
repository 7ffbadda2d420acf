"""Comparing and merging against tools of others: a general library that compares nested data, and git's own merge."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import dictdiffer
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.conftest import STUDIO
from tests.output.convert.bench import studio_catalogue, studio_jobs

from glost.changes.comparison import compare
from glost.changes.meaning import WEIGHED, Told, Weighed, fact_text, told
from glost.changes.merge import MergeError, merged
from glost.language.parse import parse
from glost.language.source import Source
from glost.recipe.fields import Quantity
from glost.recipe.recipe import Ingredient, Recipe
from glost.recipe.resolve import resolve
from glost.workspace.git.revisions import merged_by_lines

RECIPES: list[Recipe] = [job.recipe for job in studio_jobs()]


def nested(one: Told) -> dict[str, dict[str, str]]:
    """A recipe on a base of 100 as plain nested data, for a library that knows nothing of recipes."""
    out: dict[str, dict[str, str]] = {}
    for place, fact in one.meaning.items():
        said = (
            f"{[str(a) for a in fact.on_100]} {fact.note}" if isinstance(fact, Weighed) else fact_text(fact)
        )
        out.setdefault(f"{place.section}|{place.within}", {})[place.what] = said
    return out


def named_by_dictdiffer(old: Told, new: Told) -> set[tuple[str, str]]:
    """(section|within, what) of all that the library calls added, removed or changed."""
    found = set()
    for _, path, values in dictdiffer.diff(nested(old), nested(new), dot_notation=False):
        if len(path) == 2:
            found.add((path[0], path[1]))
            continue
        for key, inner in values:
            found |= {(path[0], key)} if path else {(key, what) for what in inner}
    return found


# Source: the PyPI package dictdiffer, a general library for differences of nested data.
@settings(max_examples=150, deadline=None)
@given(st.sampled_from(RECIPES), st.sampled_from(RECIPES))
def test_a_general_library_names_the_same_places(one: Recipe, other: Recipe) -> None:
    sides = told(one, studio_catalogue()), told(other, studio_catalogue())
    ours = {
        (f"{change.place.section}|{change.place.within}", change.place.what)
        for change in compare(*sides).changes
    }
    assert ours == named_by_dictdiffer(*sides)


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(RECIPES), st.data())
def test_and_so_for_one_recipe_with_some_materials_changed(recipe: Recipe, data: st.DataObject) -> None:
    base = list(recipe.base)
    for at in data.draw(st.sets(st.integers(0, len(base) - 1), max_size=2)) if base else ():
        amount = data.draw(st.integers(1, 60))
        base[at] = base[at]._replace(quantity=Quantity(Decimal(amount), base[at].quantity.unit))
    if data.draw(st.booleans()):
        base.append(Ingredient("talc", "talc", Quantity(Decimal(3), base[0].quantity.unit if base else "")))
    sides = told(recipe, studio_catalogue()), told(replace(recipe, base=tuple(base)), studio_catalogue())
    ours = {
        (f"{change.place.section}|{change.place.within}", change.place.what)
        for change in compare(*sides).changes
    }
    assert ours == named_by_dictdiffer(*sides)
    assert {name.partition("|")[0] for name, _ in ours} <= set(WEIGHED)


# ---- git's merge -----------------------------------------------------------------------------------------

PAGES = [
    path.read_text("utf-8") for path in sorted(STUDIO.rglob("*.glost")) if "needs-work" not in path.parts
]


def edited(text: str, chance: random.Random) -> str:
    """A page with one to three lines changed, taken out or added, as people would."""
    lines = text.splitlines()
    for _ in range(chance.randint(1, 3)):
        at = chance.randrange(1, len(lines))
        line = lines[at]
        if chance.random() < 0.2:
            del lines[at]
        elif chance.random() < 0.2 and line.startswith("    "):
            lines.insert(at, f"    talc  {chance.randint(1, 9)}")
        else:
            words = line.rsplit(" ", 1)
            try:
                lines[at] = f"{words[0]} {Decimal(words[-1]) + chance.randint(1, 5)}"
            except ArithmeticError:
                lines[at] = f"{line} more" if line.strip() and not line.endswith(":") else line
    return "".join(f"{line}\n" for line in lines)


def pairs() -> Iterator[tuple[str, str, str]]:
    chance = random.Random(6)
    for _ in range(120):
        base = chance.choice(PAGES)
        yield base, edited(base, chance), edited(base, chance)


def glost_merge(folder: Path, sides: tuple[str, str, str]) -> tuple[int, str]:
    from click.testing import CliRunner

    from glost.cli.merge_command import command

    files = [folder / name for name in ("base", "ours", "theirs")]
    for file, text in zip(files, sides, strict=True):
        file.write_text(text, "utf-8")
    done = CliRunner().invoke(command, [*map(str, files), str(STUDIO / "x.glost")], standalone_mode=False)
    assert done.exception is None, done.exception
    return done.return_value, files[1].read_text("utf-8")


# Source: git merge-file, the merge that git does without a driver.
def test_wherever_git_merges_so_do_we_to_the_same_and_never_worse(tmp_path: Path) -> None:
    met = {"clean": 0, "ours alone": 0, "both conflict": 0}
    for base, ours, theirs in pairs():
        data, clean = merged_by_lines(ours.encode(), base.encode(), theirs.encode())
        status, text = glost_merge(tmp_path, (base, ours, theirs))
        if clean:
            met["clean"] += 1
            assert (status, text) == (0, data.decode())
        elif status == 0:
            met["ours alone"] += 1
            assert "<<<<<<<" not in text
        else:
            met["both conflict"] += 1
            assert status == 1
            assert "<<<<<<<" in text
    assert all(met.values()), met


# Source: git merge-file. Where it merges without a conflict, our own merge, left to itself, means the same or declines.
def test_our_own_merge_agrees_with_a_clean_merge_of_git() -> None:
    agreed = 0

    def by_lines(here: str, before: str, there: str) -> tuple[str, bool]:
        text, fine = merged_by_lines(here.encode(), before.encode(), there.encode())
        return text.decode(), fine

    for base, ours, theirs in pairs():
        data, clean = merged_by_lines(ours.encode(), base.encode(), theirs.encode())
        if not clean:
            continue
        try:
            result = merged(base, ours, theirs, studio_catalogue(), by_lines)
        except MergeError:
            continue
        by_git = resolve(parse(Source("x", data.decode())), studio_catalogue()).recipe
        if result.conflicts:
            # Both added one material, in two places: git keeps both lines.
            named = [ingredient.called for ingredient in (*by_git.base, *by_git.additions)]
            assert len(set(named)) < len(named)
            continue
        ours_alone = resolve(parse(Source("x", result.text)), studio_catalogue()).recipe
        sides = [told(recipe, studio_catalogue()) for recipe in (by_git, ours_alone)]
        assert compare(*sides).same
        agreed += 1
    assert agreed > 10
