"""Which recipe of one side is which of the other."""

from __future__ import annotations

from glost.changes.meaning import told
from glost.changes.pairs import Page, paired
from tests.output.convert.bench import recipe_of, studio_catalogue


def page(path: str, name: str = "Dune", silica: int = 50) -> Page:
    text = f'glaze "{name}"\nbase:\n    silica  {silica}\n    kaolin  {100 - silica}\n'
    return Page(path, path, told(recipe_of(text), studio_catalogue()))


def paths(old: list[Page], new: list[Page]) -> list[tuple[str | None, str | None]]:
    return [(one.old and one.old.path, one.new and one.new.path) for one in paired(old, new)]


KEPT = page("kept.glost", "Kept", 1)


def test_two_single_pages_are_a_pair() -> None:
    assert paths([page("a")], [page("b", "Other", 3)]) == [("a", "b")]


def test_by_path_whatever_they_say() -> None:
    assert paths([page("a"), KEPT], [page("a", "Other", 3), KEPT]) == [
        ("a", "a"),
        ("kept.glost", "kept.glost"),
    ]


def test_two_files_that_changed_names_are_paired_by_what_they_are() -> None:
    one, other = page("a", "One", 30), page("b", "Other", 70)
    across = [("a", "b"), ("b", "a")]
    assert set(paths([one, other], [page("b", "One", 30), page("a", "Other", 70)])) == set(across)
    # Changed a little as well: the names, and the mixes, prove it.
    assert set(paths([one, other], [page("b", "One", 35), page("a", "Other", 66)])) == set(across)
    # One name for both: the mixes prove it.
    same = [page("a", "Dune", 30), page("b", "Dune", 70)]
    assert set(paths(same, [page("b", "Dune", 30), page("a", "Dune", 70)])) == set(across)


def test_three_files_that_went_round_and_a_row_that_moved_up() -> None:
    three = [page("a", "A", 20), page("b", "B", 50), page("c", "C", 80)]
    round_ = [page("b", "A", 20), page("c", "B", 50), page("a", "C", 81)]
    assert set(paths(three, round_)) == {("a", "b"), ("b", "c"), ("c", "a")}
    row = [page("b", "A", 20), page("c", "B", 52), page("d", "C", 80)]
    assert set(paths(three, row)) == {("a", "b"), ("b", "c"), ("c", "d")}
    assert set(paths(row, three)) == {("b", "a"), ("c", "b"), ("d", "c")}


def test_two_recipes_that_changed_names_are_paired_by_path() -> None:
    old = [page("a", "One", 30), page("b", "Other", 70)]
    assert set(paths(old, [page("a", "Other", 30), page("b", "One", 70)])) == {("a", "a"), ("b", "b")}
    assert set(paths(old, [page("a", "Other", 33), page("b", "One", 68)])) == {("a", "a"), ("b", "b")}


def test_what_one_side_alone_would_prove_is_paired_by_path() -> None:
    old = [page("a", "One", 30), page("b", "Other", 70)]
    # The first has gone to the place of the second, which nobody has seen again.
    new = [page("a", "New", 50), page("b", "One", 30)]
    assert set(paths(old, new)) == {("a", "a"), ("b", "b")}
    assert set(paths(new, old)) == {("a", "a"), ("b", "b")}
    # A copy was kept, and the first went on under its name, or under another.
    assert ("a", "a") in paths([old[0], KEPT], [page("a", "One", 33), page("c", "One", 30), KEPT])
    assert ("a", "a") in paths([old[0], KEPT], [page("a", "One Two", 33), page("c", "One", 30), KEPT])


def test_names_that_stand_twice_prove_nothing() -> None:
    old = [page("a", "Dune", 30), page("b", "Other", 70), page("c", "Dune", 50)]
    new = [page("b", "Dune", 31), page("a", "Other", 71), page("c", "Dune", 52)]
    assert set(paths(old, new)) == {("a", "a"), ("b", "b"), ("c", "c")}


def test_a_renamed_file_is_found_by_what_it_means() -> None:
    assert ("a", "b") in paths([page("a"), KEPT], [page("b"), KEPT])


def test_so_is_a_renamed_recipe_in_a_renamed_file() -> None:
    assert ("a", "b") in paths([page("a"), KEPT], [page("b", "Dune Two"), KEPT])


def test_and_one_that_was_moved_and_changed() -> None:
    assert ("a", "x/a") in paths([page("a"), KEPT], [page("x/a", silica=60), KEPT])


def test_and_one_that_has_another_file_and_name_and_was_changed_a_little() -> None:
    assert ("a", "b") in paths([page("a"), KEPT], [page("b", "Dune Two", silica=54), KEPT])


def test_but_not_one_that_was_changed_much() -> None:
    """Of 100 parts 89 agree, where 90 are asked."""
    found = paths([page("a"), KEPT], [page("b", "Other", silica=61), KEPT])
    assert found[:2] == [("a", None), (None, "b")]
    assert ("a", "b") in paths([page("a"), KEPT], [page("b", "Other", silica=60), KEPT])


def test_the_most_alike_first_and_the_same_from_both_sides() -> None:
    old = [page("a", "A", 50), page("b", "B", 57), KEPT]
    new = [page("c", "C", 58), page("d", "D", 51), KEPT]
    assert set(paths(old, new)) == {("a", "d"), ("b", "c"), ("kept.glost", "kept.glost")}
    assert {(there, here) for here, there in paths(old, new)} == set(paths(new, old))


def test_of_two_that_are_alike_neither_is_taken_for_the_other() -> None:
    assert paths([page("a"), KEPT], [page("b"), page("c"), KEPT]) == [
        ("a", None),
        (None, "b"),
        (None, "c"),
        ("kept.glost", "kept.glost"),
    ]


def test_what_cannot_be_read_is_paired_by_path_alone() -> None:
    broken = Page("a", "a", None)
    assert paths([broken, KEPT], [broken, KEPT])[0] == ("a", "a")
    assert ("a", None) in paths([broken, KEPT], [page("b"), KEPT])
