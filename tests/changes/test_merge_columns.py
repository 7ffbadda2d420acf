"""A column that one adds, or takes out, and what the other changes beside it."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from glost.changes.merge import MergeError
from tests.changes.test_merge_blends import means, merge

PAGE = """glaze "Dune"
cone: 6

base:
    silica            50
    kaolin            50

series "blues":
    cobalt carbonate  0.5, 1, 2  (sieved)
    rutile            0, 2, 4  # a remark
    tin oxide         3
"""


def page(*swaps: tuple[str, str]) -> str:
    text = PAGE
    for old, new in swaps:
        assert old in text
        text = text.replace(old, new, 1)
    return text


def wider(*swaps: tuple[str, str]) -> str:
    return page(("0.5, 1, 2", "0.5, 1, 2, 3"), ("0, 2, 4", "0, 2, 4, 6"), *swaps)


TIN = ("tin oxide         3", "tin oxide         4")
SILICA = ("silica            50", "silica            52")
WIDER = page(("0.5, 1, 2", "0.5, 1, 2, 3"), ("0, 2, 4", "0, 2, 4, 6"))


@pytest.mark.parametrize(
    ("ours", "theirs", "both"),
    [
        (WIDER, page(("1, 2", "1.5, 2")), page(("0.5, 1, 2", "0.5, 1.5, 2, 3"), ("0, 2, 4", "0, 2, 4, 6"))),
        (WIDER, page(("0, 2, 4", "1, 2, 5")), page(("0.5, 1, 2", "0.5, 1, 2, 3"), ("0, 2, 4", "1, 2, 5, 6"))),
        (WIDER, page(TIN), wider(TIN)),
        (WIDER, page(("(sieved)", "(sieved twice)")), WIDER.replace("(sieved)", "(sieved twice)")),
        (WIDER, page(("# a remark", "# another")), WIDER.replace("# a remark", "# another")),
        (WIDER, page(SILICA), wider(SILICA)),
        (
            WIDER,
            page(("0.5, 1, 2", "0.1, 0.5, 1, 2"), ("0, 2, 4", "9, 0, 2, 4")),
            page(("0.5, 1, 2", "0.1, 0.5, 1, 2, 3"), ("0, 2, 4", "9, 0, 2, 4, 6")),
        ),
        (WIDER, WIDER.replace("# a remark", ""), WIDER.replace("# a remark", "")),
        (
            page(("0.5, 1, 2", "0.5, 2"), ("0, 2, 4", "0, 4")),
            page(("4  #", "5  #")),
            page(("0.5, 1, 2", "0.5, 2"), ("0, 2, 4", "0, 5")),
        ),
        (
            page(("0.5, 1, 2", "0.5, 1.2, 1, 2"), ("0, 2, 4", "0, 3, 2, 4")),
            page(("0.5, 1, 2", "0.6, 1, 2.5")),
            page(("0.5, 1, 2", "0.6, 1.2, 1, 2.5"), ("0, 2, 4", "0, 3, 2, 4")),
        ),
    ],
    ids=["one amount", "two amounts", "one for all", "a note", "a comment", "the base", "two columns", "the same",
         "a column out", "in between"],
)  # fmt: skip
def test_what_is_independent_is_put_together(ours: str, theirs: str, both: str) -> None:
    for sides in ((ours, theirs), (theirs, ours)):
        made = merge(PAGE, *sides)
        assert made.conflicts == ()
        assert means(made.text) == means(both)
        assert ("# a remark" in made.text) == ("# a remark" in both)


def test_two_new_columns_behind_the_last_stand_both_ours_first() -> None:
    other = page(("0.5, 1, 2", "0.5, 1, 2, 8"), ("0, 2, 4", "0, 2, 4, 9"))
    assert means(merge(PAGE, WIDER, other).text) == means(
        page(("0.5, 1, 2", "0.5, 1, 2, 3, 8"), ("0, 2, 4", "0, 2, 4, 6, 9"))
    )


def test_the_same_amount_changed_twice_is_a_conflict_of_that_line_alone() -> None:
    ours = WIDER.replace("0.5, 1, 2, 3", "0.5, 1.1, 2, 3")
    made = merge(PAGE, ours, page(("1, 2", "1.2, 2"), ("2, 4", "2, 5")))
    (conflict,) = made.conflicts
    assert (conflict.where, conflict.what) == ("series blues", "cobalt carbonate")
    assert "0.5, 1.1, 2, 3" in conflict.ours
    assert "0.5, 1.2, 2, 3" in conflict.theirs
    assert "rutile            0, 2, 5, 6" in made.text or "0, 2, 5, 6" in made.text


@pytest.mark.parametrize(
    "theirs",
    [
        page(("    tin oxide         3\n", "    tin oxide         3\n    zinc oxide        1, 2, 3\n")),
        page(("    rutile            0, 2, 4  # a remark\n", "")).replace("0.5, 1, 2", "7, 8, 9"),
    ],
    ids=["a new line", "no line is left as it was"],
)
def test_what_nobody_can_know_is_not_put_together(theirs: str) -> None:
    try:
        made = merge(PAGE, WIDER, theirs)
    except MergeError:
        return
    assert means(made.text) == means(
        theirs.replace("7, 8, 9", "7, 8, 9, 3").replace("0.5, 1, 2", "0.5, 1, 2, 3")
    )
    assert "zinc" not in made.text


def test_a_taken_column_that_the_other_changed_is_not_put_together() -> None:
    with pytest.raises(MergeError, match="one side took a column out, and the other changed it"):
        merge(PAGE, page(("0.5, 1, 2", "0.5, 2"), ("0, 2, 4", "0, 4")), page(("1, 2", "1.2, 2")))


def test_a_corner_is_added_to_a_blend_and_its_base() -> None:
    blend = """glaze "Dune"

base blend "line" by 25 %:
    silica  60, 20
    kaolin  40, 80

blend "line" by 25 %:
    rutile  2, 0
"""
    wider = blend.replace("60, 20", "60, 20, 50").replace("40, 80", "40, 80, 50").replace("2, 0", "2, 0, 4")
    other = blend.replace("2, 0", "3, 0")
    assert means(merge(blend, wider, other).text) == means(wider.replace("2, 0, 4", "3, 0, 4"))


amounts = st.integers(1, 40)


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_a_column_anywhere_and_any_changed_amounts(data: st.DataObject) -> None:
    """Lines that no chance makes alike: the columns are told apart, wherever the new one stands."""
    count = data.draw(st.integers(2, 4))
    rows = {
        "cobalt carbonate": [str(100 + at) for at in range(count)],
        "rutile": [str(200 + at) for at in range(count)],
        "tin oxide": [str(300 + at) for at in range(count)],
    }
    place = data.draw(st.integers(0, count))
    new = {name: str(data.draw(amounts)) for name in rows}
    cells = data.draw(
        st.lists(st.tuples(st.sampled_from(sorted(rows)), st.integers(0, count - 1)), max_size=4, unique=True)
    )
    theirs = {name: list(row) for name, row in rows.items()}
    for name, at in cells:
        theirs[name][at] = str(400 + at)

    def written(lines: dict[str, list[str]]) -> str:
        head, _, _ = PAGE.partition("    cobalt")
        return head + "".join(f"    {name}  {', '.join(row)}\n" for name, row in lines.items())

    def widened(lines: dict[str, list[str]]) -> dict[str, list[str]]:
        return {name: [*row[:place], new[name], *row[place:]] for name, row in lines.items()}

    made = merge(written(rows), written(widened(rows)), written(theirs))
    assert made.conflicts == ()
    assert means(made.text) == means(written(widened(theirs)))
