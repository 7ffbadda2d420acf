"""Firings in git: shown by what they mean, and merged tile by tile, line by line."""

from __future__ import annotations

import pytest

from glost.changes.firing_text import firing_text
from glost.changes.merge import Merged, MergeError, merged
from glost.language.parse import parse
from glost.language.source import Source
from glost.recipe.firing import resolve_firing
from tests.changes.test_merge import by_lines
from tests.output.convert.bench import studio_catalogue

PAGE = """\
# the small one
firing "Kiln 7"
date: 2026-05-14
cone: 6
body: house stoneware

schedule:
    from 20 C
    to 600 C at 100 C/h
    to 1222 C at 150 C/h, hold 15 min

tile "1":
    test: glaze "Low Tide"
    place: top
    surface: satin

tile "2":
    test: glaze "Low Tide, storm"
    place: bottom

notes:
    one
    two
    three
"""


def changed(*swaps: tuple[str, str]) -> str:
    page = PAGE
    for old, new in swaps:
        assert old in page, old
        page = page.replace(old, new)
    return page


def put(ours: str, theirs: str, base: str = PAGE) -> Merged:
    return merged(base, ours, theirs, studio_catalogue(), by_lines)


def test_two_people_fill_in_one_tile() -> None:
    ours = changed(("    surface: satin\n", "    surface: satin\n    colour: blue\n"))
    theirs = changed(("    surface: satin\n", "    surface: matt\n"))
    assert put(ours, theirs).text == changed(
        ("    surface: satin\n", "    surface: matt\n    colour: blue\n")
    )


def test_two_people_add_a_tile_each() -> None:
    one, other = (f'tile "{n}":\n    test: glaze "Low Tide"\n    remarks: {n}\n\nnotes:' for n in ("3", "4"))
    done = put(changed(("notes:", one)), changed(("notes:", other)))
    assert done.conflicts == ()
    firing = resolve_firing(parse(Source("a", done.text))).firing
    assert sorted(tile.name for tile in firing.tiles) == ["1", "2", "3", "4"]
    assert {tile.name: tile.remarks for tile in firing.tiles}["4"] == "4"


def test_two_new_tiles_of_one_name_are_a_conflict() -> None:
    one, other = (
        f'tile "{name}":\n    test: glaze "Low Tide"\n    {said}\n\nnotes:'
        for name, said in (("A 3", "remarks: mine"), ("a 3", "colour: theirs"))
    )
    done = put(changed(("notes:", one)), changed(("notes:", other)))
    assert [conflict.what for conflict in done.conflicts] == ["two new tiles of one name"]
    assert "remarks: mine" in done.text
    assert "colour: theirs" in done.text
    assert done.text.index("<<<<<<<") < done.text.index("mine") < done.text.index("=======")


def test_one_thing_said_otherwise_by_both_is_a_conflict_that_keeps_both() -> None:
    done = put(changed(("satin", "matt")), changed(("satin", "glossy")))
    ((where, what, ours, theirs, _before),) = done.conflicts
    assert (where, what, ours, theirs) == ("tile 1", "surface:", "surface: matt", "surface: glossy")


def test_a_schedule_is_merged_line_by_line_and_notes_too() -> None:
    ours = changed(("from 20 C", "from 30 C"), ("    one", "    first"))
    theirs = changed(("hold 15 min", "hold 20 min"), ("three", "third"))
    done = put(ours, theirs)
    assert done.conflicts == ()
    assert done.text == changed(
        ("from 20 C", "from 30 C"),
        ("    one", "    first"),
        ("hold 15 min", "hold 20 min"),
        ("three", "third"),
    )
    both = put(changed(("hold 15", "hold 20")), changed(("hold 15", "hold 30")))
    assert both.conflicts
    assert "hold 20" in both.text
    assert "hold 30" in both.text


def test_what_one_takes_out_and_the_other_changes_is_not_guessed() -> None:
    without = PAGE[: PAGE.index('tile "2"')] + PAGE[PAGE.index("notes:") :]
    with pytest.raises(MergeError, match="took 'tile 2' out"):
        put(without, changed(("place: bottom", "place: middle")))
    assert put(without, changed(("place: top", "place: middle"))).text == without.replace("top", "middle")


def test_a_recipe_and_a_firing_are_not_put_together() -> None:
    with pytest.raises(MergeError):
        put(changed(("satin", "matt")), 'glaze "A"\nbase:\n    silica              100\n')


def test_the_shown_text_says_what_is_meant() -> None:
    def shown(text: str) -> str:
        return firing_text(resolve_firing(parse(Source("a", text))))

    assert shown(PAGE) == (
        'firing "Kiln 7"\ndate: 2026-05-14\ncone: 6\nbody: house stoneware\n\nschedule:\n    from 20 C\n'
        "    to 600 C at 100 C/h\n    to 1222 C at 150 C/h, hold 15 min\n    in all: 10 h 12 min\n\n"
        'tile "1"\n    test: glaze "Low Tide"\n    place: top\n    surface: satin\n\n'
        'tile "2"\n    test: glaze "Low Tide, storm"\n    place: bottom\n\n'
        "notes:\n    one\n    two\n    three\n\ncomments:\n    # the small one\n"
    )
    same = changed(
        ("    from 20 C\n", ""),
        ("hold 15 min", "hold 0 h 15 min"),
        ("    place: top\n    surface: satin\n", "    surface: satin\n    place: top\n"),
    )
    assert shown(same) == shown(PAGE)
