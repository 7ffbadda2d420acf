"""Two changes of one recipe put together."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from glost.changes.comparison import compare
from glost.changes.meaning import told
from glost.changes.merge import Marks, Merged, MergeError, Totals, merged
from glost.language.layout import format_text
from glost.language.parse import parse
from glost.language.source import Source
from glost.workspace.git.revisions import merged_by_lines
from tests.output.convert.bench import recipe_of, studio_catalogue

PAGE = format_text(
    parse(
        Source(
            "a",
            """# kept for May
glaze "Dune"
cone: 6
origin: own test
base:
    # from the new sack
    silica      50
    kaolin      30
    whiting     20
additions:
    tin oxide   4
    rutile      2 %
handling:
    silica, kaolin: wet
variation "storm":
    rutile      0
series "steps":
    tin oxide   1, 2
notes:
    one
    two
    three
""",
        )
    )
)


def by_lines(ours: str, base: str, theirs: str) -> tuple[str, bool]:
    data, clean = merged_by_lines(ours.encode(), base.encode(), theirs.encode())
    return data.decode(), clean


def changed(*swaps: tuple[str, str]) -> str:
    page = PAGE
    for old, new in swaps:
        assert old in page, old
        page = page.replace(old, new)
    return format_text(parse(Source("a", page)))


def merge(ours: str, theirs: str) -> Merged:
    return merged(PAGE, ours, theirs, studio_catalogue(), by_lines)


SILICA = ("silica                 50", "silica                 52")
KAOLIN = ("kaolin                 30", "kaolin                 28")
WHITING = ("whiting                20", "whiting                18")


@pytest.mark.parametrize(
    ("ours", "theirs"),
    [
        ([SILICA], [KAOLIN]),
        ([SILICA], [("kaolin                 30\n", "kaolin                 30\n    talc 3\n")]),
        ([SILICA], [("    kaolin                 30\n", "")]),
        ([("kaolin  ", "china clay  ")], [SILICA]),
        ([("cone: 6", "cone: 7")], [("origin: own test", "origin: another test")]),
        ([("cone: 6", "cone: 7")], [("origin: own", "surface: matt\norigin: own")]),
        (
            [("tin oxide               4", "tin oxide               5")],
            [("rutile                  2 %", "rutile  3 %")],
        ),
        ([("1, 2", "1, 3")], [("rutile                  0", "rutile  1")]),
        ([("from the new sack", "from the old sack")], [KAOLIN]),
        ([SILICA], [("notes:", 'variation "calm":\n    tin oxide  2\n\nnotes:')]),
        ([("    one\n", "    uno\n")], [("    three\n", "    tres\n")]),
        ([SILICA], [SILICA, KAOLIN]),
    ],
)
def test_what_does_not_touch_is_put_together(
    ours: list[tuple[str, str]], theirs: list[tuple[str, str]]
) -> None:
    both = dict.fromkeys([*ours, *theirs])
    result = merge(changed(*ours), changed(*theirs))
    assert result.conflicts == ()
    assert result.text == changed(*both)
    assert merge(changed(*theirs), changed(*ours)).conflicts == ()


def test_a_new_spelling_and_a_new_amount_of_one_material_are_both_kept() -> None:
    result = merge(changed(("kaolin                 30", "china clay  30")), changed(KAOLIN))
    assert result.conflicts == ()
    assert "china clay             28" in result.text
    other = merge(changed(KAOLIN), changed(("kaolin                 30", "china clay  30")))
    assert other.text == result.text


def test_one_material_changed_by_both_is_a_conflict_that_names_it() -> None:
    result = merge(changed(SILICA, WHITING), changed((SILICA[0], "silica  53"), KAOLIN))
    assert [(one.where, one.what) for one in result.conflicts] == [("base", "silica")]
    assert [(one.ours, one.theirs) for one in result.conflicts] == [("silica 52", "silica 53")]
    lines = result.text.splitlines()
    # The comment above both stands once, and each mark says what the base totals with it.
    at = lines.index("<<<<<<< ours: base, silica (base totals 98)")
    assert lines[at - 1] == "    # from the new sack"
    assert lines[at + 2] == "======="
    assert lines[at + 4] == ">>>>>>> theirs: base, silica (base totals 99)"
    # The rest is put together around it.
    assert "    kaolin                 28" in lines
    assert "    whiting                18" in lines


def test_with_what_both_come_from_between_the_marks() -> None:
    marks = Marks(7, "main", "1a2b3c4", "trial", with_base=True)
    theirs = changed((SILICA[0], "silica  53"), ("tin oxide               4", "tin oxide 5"))
    ours = changed(SILICA, ("tin oxide               4", "tin oxide 6"))
    result = merged(PAGE, ours, theirs, studio_catalogue(), by_lines, marks)
    assert result.totals == Totals(Fraction(102), Fraction(103), Fraction(100))
    assert (
        """    # from the new sack
<<<<<<< main: base, silica (base totals 102)
    silica                 52
||||||| 1a2b3c4: base, silica (base totals 100)
    silica                 50
=======
    silica                 53
>>>>>>> trial: base, silica (base totals 103)
"""
        in result.text
    )
    # What is no part of the base says no total.
    assert "<<<<<<< main: additions, tin oxide\n" in result.text
    assert [one.base for one in result.conflicts] == ["silica 50", "tin oxide 4"]


def test_a_total_in_grams_says_so() -> None:
    grams = re.sub(r"([0-9]) %|([0-9]+)(?=[,\n])", r"\1\2 g", PAGE).replace("cone: 6 g", "cone: 6")
    sides = [
        format_text(parse(Source("a", grams.replace("50 g", f"{amount} g")))) for amount in ("50.5", "51.25")
    ]
    result = merged(grams, sides[0], sides[1], studio_catalogue(), by_lines)
    assert "ours: base, silica (base totals 100.5 g)" in result.text
    assert "theirs: base, silica (base totals 101.25 g)" in result.text


K30 = "kaolin                 30"
K28 = "kaolin                 28"
WET = "silica, kaolin: wet"


@pytest.mark.parametrize(
    ("ours", "theirs", "line"),
    [
        ((K30, K28), (K30, f"{K30}  # the new sack"), f"{K28}  # the new sack"),
        ((K30, K28), (K30, f"{K30}  # allow idle-one: as fired"), f"{K28}  # allow idle-one: as fired"),
        ((K30, K28), (K30, f"{K30}  (sieve twice)"), f"{K28}  (sieve twice)"),
        (
            (K30, f"{K30}  (sieve)"),
            (K30, "china clay 30  # why"),
            "china clay             30  (sieve)  # why",
        ),
        (("cone: 6", "cone: 7"), ("cone: 6", "cone: 6  # as the packs said"), "cone: 7  # as the packs said"),
        ((WET, f"{WET}, P100"), (WET, f"{WET}  # since May"), f"{WET}, P100  # since May"),
        ((f"    {K30}", f"    # of the bank\n    {K30}"), (K30, K28), f"# of the bank\n    {K28}"),
    ],
    ids=["comment", "allowance", "note", "three", "field", "handling", "above"],
)
def test_what_is_said_of_an_amount_and_the_amount_are_two_things(
    ours: tuple[str, str], theirs: tuple[str, str], line: str
) -> None:
    for one, other in ((ours, theirs), (theirs, ours)):
        result = merge(changed(one), changed(other))
        assert result.conflicts == ()
        assert f"{line}\n" in result.text


@pytest.mark.parametrize(
    "pair",
    [
        [("kaolin                 30", f"kaolin                 30  # {word}") for word in ("dawn", "dusk")],
        [("kaolin                 30", f"kaolin                 30  ({word})") for word in ("dawn", "dusk")],
        [("# from the new sack", f"# {word}") for word in ("dawn", "dusk")],
        [("# kept for May", f"# {word}") for word in ("dawn", "dusk")],
    ],
    ids=["comment", "note", "above", "top"],
)
def test_two_comments_on_one_place_are_a_conflict(pair: list[tuple[str, str]]) -> None:
    result = merge(changed(pair[0]), changed(pair[1]))
    assert len(result.conflicts) == 1
    assert result.text.count("<<<<<<<") == result.text.count(">>>>>>>") == 1
    for word in ("dawn", "dusk"):
        assert result.text.count(word) == 1


def test_comments_above_the_title_are_told_as_such() -> None:
    pair = [("# kept for May", f"# {word}") for word in ("here", "there")]
    (conflict,) = merge(changed(pair[0]), changed(pair[1])).conflicts
    assert conflict.where == "title, the comments above it"
    assert (conflict.ours, conflict.theirs) == ("", "")  # never two equal texts


def test_taken_out_by_one_and_changed_by_the_other_is_a_conflict() -> None:
    result = merge(changed(("    kaolin                 30\n", "")), changed(KAOLIN))
    assert [(one.what, one.ours, one.theirs) for one in result.conflicts] == [("kaolin", "", "kaolin 28")]


@pytest.mark.parametrize(
    ("head", "ours", "theirs"),
    [
        ('variation "dawn"', "cobalt carbonate  1", "red iron oxide  3"),
        ('variation "dawn"', "cobalt carbonate  1", "cobalt carbonate  2"),
        ('series "more"', "cobalt carbonate  1, 2", "red iron oxide  3, 4, 5"),
        ('base variation "soft"', "talc  5", "whiting  25"),
    ],
)
def test_two_new_tests_of_one_name_make_no_third(head: str, ours: str, theirs: str) -> None:
    sides = [changed(("notes:", f"{head}:\n    {line}\n\nnotes:")) for line in (ours, theirs)]
    result = merge(*sides)
    kind = head.split(' "')[0].removeprefix("base ")
    assert [one.what for one in result.conflicts] == [
        f"two new {kind}{'' if kind == 'series' else 's'} of one name"
    ]
    for side, sign in ((sides[0], "<<<<<<<"), (sides[1], "=======")):
        block = side[side.index(head) : side.index("notes:")].split("\n\n")[0]
        lines = result.text[result.text.index(sign) :].split("\n")
        assert lines[1 : 1 + len(block.split("\n"))] == block.split("\n")


def test_one_new_test_of_both_is_one_and_keeps_both_comments() -> None:
    ours, theirs = (
        changed(("notes:", f'variation "dawn":{above}\n    rutile  3{behind}\n\nnotes:'))
        for above, behind in (("  # for the shop", ""), ("", "  # a little more"))
    )
    result = merge(ours, theirs)
    assert result.conflicts == ()
    assert "# for the shop" in result.text
    assert "# a little more" in result.text
    assert result.text.count("dawn") == 1


def test_one_test_of_what_one_adds_and_another_sets_of_the_base_is_left_to_git() -> None:
    ours = changed(("notes:", 'variation "dawn":\n    rutile  3\n\nnotes:'))
    theirs = changed(("notes:", 'base variation "dawn":\n    talc  5\n\nnotes:'))
    with pytest.raises(MergeError, match="both have a new"):
        merge(ours, theirs)


def test_a_number_that_was_only_written_otherwise_stays_so() -> None:
    ours, theirs = (
        changed(KAOLIN),
        changed(("silica                 50", "silica                 50.0  # dry")),
    )
    commented = changed(KAOLIN, ("silica                 50", "silica                 50    # wet"))
    for sides in ((ours, theirs), (theirs, ours)):
        assert merge(*sides).text == changed(
            KAOLIN, ("silica                 50", "silica                 50.0  # dry")
        )
    assert [one.what for one in merge(commented, theirs).conflicts] == ["silica"]


def test_marks_are_as_long_as_asked_for() -> None:
    theirs = changed((SILICA[0], "silica  53"))
    text = merged(PAGE, changed(SILICA), theirs, studio_catalogue(), by_lines, Marks(11)).text
    assert "\n<<<<<<<<<<< ours" in text
    assert "\n===========\n" in text


STORM = 'variation "storm":\n    rutile                  0\n'
TWICE = [("50\n", "100\n"), ("30\n", "60\n"), ("20\n", "40\n"), ("4\n", "8\n"), ("1, 2", "2, 4")]


@pytest.mark.parametrize(
    ("ours", "theirs"),
    [
        (changed(*TWICE), changed(("    kaolin                 30\n", "    kaolin  30\n    talc 3\n"))),
        (changed((STORM, "")), changed(("rutile                  0", "rutile 1"))),
        ("glaze", PAGE),
        (PAGE.replace("\n", "\r\n"), changed(SILICA)),
        # Both took two parts from another material and gave them to silica; put together, two parts are missing.
        (changed(SILICA, KAOLIN), changed(SILICA, WHITING)),
        (changed(("whiting                20\n", "whiting 20\n    whiting 1\n")), changed(SILICA)),
    ],
    ids=["another scale", "a block", "unreadable", "line ends", "total", "twice"],
)  # fmt: skip
def test_what_is_not_certain_is_left_to_git(ours: str, theirs: str) -> None:
    for sides in ((ours, theirs), (theirs, ours)):
        with pytest.raises(MergeError):
            merge(*sides)


# ---- random edits ----------------------------------------------------------------------------------------

MATERIALS = ["silica", "kaolin", "whiting", "talc", "dolomite", "zinc oxide", "potash feldspar", "tin oxide"]
edits = st.dictionaries(st.sampled_from(MATERIALS), st.one_of(st.none(), st.integers(1, 90)), max_size=3)


def page_of(amounts: dict[str, int]) -> str:
    lines = "".join(f"    {name:<20}  {amount:>3}\n" for name, amount in amounts.items())
    return f'glaze "Dune"\ncone: 6\n\nbase:\n{lines}'


def edited(amounts: dict[str, int], edit: dict[str, int | None]) -> dict[str, int]:
    out = {**amounts, **{name: amount for name, amount in edit.items() if amount is not None}}
    return {name: amount for name, amount in out.items() if edit.get(name, 0) is not None}


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.dictionaries(st.sampled_from(MATERIALS), st.integers(1, 90), min_size=3, max_size=6), edits, edits)
def test_random_edits_are_put_together_as_both_meant_them(
    base: dict[str, int], ours: dict[str, int | None], theirs: dict[str, int | None]
) -> None:
    pages = [page_of(one) for one in (base, edited(base, ours), edited(base, theirs))]
    apart = not ours.keys() & theirs.keys()
    try:
        result = merged(pages[0], pages[1], pages[2], studio_catalogue(), by_lines)
    except MergeError:
        return
    if apart:
        meant = edited(edited(base, ours), theirs)
        assert result.conflicts == ()
        sides = [told(recipe_of(text), studio_catalogue()) for text in (result.text, page_of(meant))]
        assert compare(*sides).same
    elif result.conflicts:
        assert {one.what for one in result.conflicts} <= ours.keys() & theirs.keys()
        assert result.text.count("<<<<<<<") == len(result.conflicts)
