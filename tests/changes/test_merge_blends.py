"""Two changes of blends, and of what sets the base anew, put together."""

from __future__ import annotations

import random

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from glost.changes.meaning import told
from glost.changes.merge import Merged, merged
from glost.language.layout import format_text
from glost.language.parse import parse
from glost.language.source import Source
from glost.recipe.materials.catalogue import shipped_catalogue
from glost.recipe.resolve import resolve_own
from tests.changes.test_merge import by_lines

BASE = ("silica", "kaolin", "whiting", "talc")
COLOURS = ("cobalt carbonate", "red iron oxide", "rutile", "tin oxide")
Lines = dict[str, tuple[int, ...]]
Page = dict[str, Lines]
"""What each block sets: a line's amounts by its material."""

HEADS = {
    "base": "base:",
    "base variation": 'base variation "soft":',
    "base series": 'base series "swap":',
    "blend": 'blend "colours" by {step} %:',
    "base blend": 'base blend "bodies" by {step} %:',
}
COLUMNS = {"base": 1, "base variation": 1, "base series": 2, "blend": 3, "base blend": 3}


def page(blocks: Page, step: str = "25") -> str:
    text = 'glaze "Dune"\ncone: 6\n'
    for name, lines in blocks.items():
        text += f"\n{HEADS[name].format(step=step)}\n"
        text += "".join(f"    {what}  {', '.join(map(str, one))}\n" for what, one in lines.items())
    return format_text(parse(Source("page.glost", text)))


def merge(base: str, ours: str, theirs: str) -> Merged:
    return merged(base, ours, theirs, shipped_catalogue(), by_lines)


def means(text: str) -> object:
    resolved = resolve_own(parse(Source("page.glost", text)), shipped_catalogue())
    assert resolved.complete, text
    return told(resolved.recipe, shipped_catalogue())


@st.composite
def pages(draw: st.DrawFn) -> Page:
    found: Page = {}
    for name, columns in COLUMNS.items():
        amounts = st.tuples(*[st.integers(1, 60)] * columns)
        materials = COLOURS if name == "blend" else BASE
        found[name] = {
            material: draw(amounts)
            for material in draw(st.lists(st.sampled_from(materials), min_size=2, max_size=4, unique=True))
        }
    return found


@st.composite
def changes(draw: st.DrawFn, blocks: Page) -> dict[tuple[str, str], tuple[int, ...]]:
    """New amounts of some lines that there are."""
    # The base itself: a change of all of it is another scale, which is told by itself.
    places = [(name, what) for name, lines in blocks.items() if name != "base" for what in lines]
    chosen = draw(st.lists(st.sampled_from(places), max_size=4, unique=True))
    return {place: draw(st.tuples(*[st.integers(1, 60)] * COLUMNS[place[0]])) for place in chosen}


def changed(blocks: Page, new: dict[tuple[str, str], tuple[int, ...]]) -> Page:
    return {
        name: {what: new.get((name, what), amounts) for what, amounts in lines.items()}
        for name, lines in blocks.items()
    }


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_changes_of_different_lines_are_put_together_and_of_one_line_are_a_conflict(
    data: st.DataObject,
) -> None:
    blocks = data.draw(pages())
    ours, theirs = data.draw(changes(blocks)), data.draw(changes(blocks))
    step = data.draw(st.sampled_from(["25", "20"]))
    old, left = page(blocks), page(changed(blocks, ours), step)
    made = merge(old, left, page(changed(blocks, theirs)))
    unlike = {
        place
        for place in ours.keys() & theirs.keys()
        if len({ours[place], theirs[place], blocks[place[0]][place[1]]}) == 3
    }
    assert {(one.where.replace("_", " ").split()[0], one.what) for one in made.conflicts} == {
        (name.split()[0], what) for name, what in unlike
    }
    if not unlike:
        both = changed(changed(blocks, ours), {
            place: new for place, new in theirs.items() if new != blocks[place[0]][place[1]]
        })  # fmt: skip
        assert means(made.text) == means(page(both, step))
        assert merge(old, page(changed(blocks, theirs)), left).text == made.text


PLAIN: Page = {
    "base": {"silica": (50,), "kaolin": (50,)},
    "blend": {"cobalt carbonate": (1, 0, 0), "rutile": (0, 4, 0), "tin oxide": (0, 0, 5)},
}


def test_another_step_and_other_amounts_are_put_together() -> None:
    other = {**PLAIN, "blend": {**PLAIN["blend"], "rutile": (0, 5, 0)}}
    assert means(merge(page(PLAIN), page(PLAIN, "12.5"), page(other)).text) == means(page(other, "12.5"))


def test_two_other_steps_are_a_conflict() -> None:
    made = merge(page(PLAIN), page(PLAIN, "12.5"), page(PLAIN, "50"))
    (conflict,) = made.conflicts
    assert (conflict.ours, conflict.theirs) == ('blend "colours" by 12.5 %:', 'blend "colours" by 50 %:')


def test_a_line_added_by_each_is_kept() -> None:
    ours = {**PLAIN, "blend": {**PLAIN["blend"], "chrome oxide": (1, 1, 1)}}
    theirs = {**PLAIN, "base": {**PLAIN["base"], "whiting": (10,)}}
    assert means(merge(page(PLAIN), page(ours), page(theirs)).text) == means(
        page({**theirs, "blend": ours["blend"]})
    )


def test_a_column_added_by_one_and_a_line_changed_by_the_other_are_put_together() -> None:
    wider: Page = {**PLAIN, "blend": {what: (*one, 0) for what, one in PLAIN["blend"].items()}}
    other = {**PLAIN, "blend": {**PLAIN["blend"], "rutile": (0, 5, 0)}}
    both = {**wider, "blend": {**wider["blend"], "rutile": (0, 5, 0, 0)}}
    for ours, theirs in ((wider, other), (other, wider)):
        made = merge(page(PLAIN), page(ours), page(theirs))
        assert made.conflicts == ()
        assert means(made.text) == means(page(both))


@pytest.mark.parametrize("taken", ["cobalt carbonate", "rutile", "tin oxide"])
def test_a_line_taken_out_stays_out(taken: str) -> None:
    less: Page = {**PLAIN, "blend": {what: one for what, one in PLAIN["blend"].items() if what != taken}}
    other: Page = {**PLAIN, "base": {"silica": (48,), "kaolin": (52,)}}
    assert means(merge(page(PLAIN), page(less), page(other)).text) == means(
        page({**less, "base": other["base"]})
    )


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(pages(), st.randoms(use_true_random=False))
def test_a_page_reads_back_however_it_is_written_and_is_laid_out_once(
    blocks: Page, chance: random.Random
) -> None:
    laid = page(blocks)
    ragged = []
    for line in laid.splitlines():
        if line.startswith(" "):
            indent, between = chance.choice(["  ", "    ", "      "]), chance.choice(["  ", "     "])
            line = indent + between.join(split_at_amounts(line.split()))
        ragged.append(line + chance.choice(["", "  ", "  # why"]))
    text = "\n".join(ragged) + "\n"
    assert means(text) == means(laid)
    again = format_text(parse(Source("page.glost", text)))
    assert means(again) == means(laid)
    assert format_text(parse(Source("page.glost", again))) == again


def split_at_amounts(words: list[str]) -> tuple[str, str]:
    at = next(at for at, word in enumerate(words) if word[0].isdigit())
    return " ".join(words[:at]), " ".join(words[at:])
