"""A recipe with both sides of a merge still in it gets one finding for it, and none about what only stands twice."""

from __future__ import annotations

import pytest
from tests.work import steps_grow_in_proportion

from glost.language.layout import FormatError, format_text
from glost.language.parse import parse
from glost.language.source import Source
from glost.linter.engine import LintContext, check
from glost.recipe.materials.catalogue import shipped_catalogue
from glost.recipe.settings import Settings

HEAD = 'glaze "Dune"\ncone: 6\n\nbase:\n    kaolin  40\n'
SIDES = "<<<<<<< ours: base, silica\n    silica  20\n=======\n    silica  24\n>>>>>>> theirs: base, silica\n"
WITH_BASE = SIDES.replace("=======", "||||||| base\n    silica  22\n=======")


def found(text: str) -> list[tuple[int, str]]:
    bench = LintContext(shipped_catalogue(), Settings())
    return [(finding.line, finding.message) for finding in check(Source("a.glost", text), bench)]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (HEAD + SIDES, [(6, 10)]),
        (HEAD + SIDES.rstrip("\n"), [(6, 10)]),
        (HEAD + WITH_BASE + "    whiting  40\n", [(6, 12)]),
        (HEAD + SIDES + "    whiting  40\n" + SIDES, [(6, 10), (12, 16)]),
        (HEAD + SIDES.replace("<<<<<<<", "<" * 11), [(6, 10)]),
        ('<<<<<<< a\nglaze "Dune"\n=======\nglaze "Gull"\n>>>>>>> b\n' + HEAD.partition("\n")[2], [(1, 5)]),
        (HEAD + "    whiting  60\n\nnotes:\n    one\n" + SIDES, [(10, 14)]),
    ],
)
def test_each_merge_is_told_once(text: str, told: list[tuple[int, int]]) -> None:
    assert found(text) == [
        (first, f"a merge is not finished: lines {first} to {last} hold what both sides wrote")
        for first, last in told
    ]
    with pytest.raises(FormatError):
        format_text(parse(Source("a.glost", text)))


def test_other_mistakes_are_told_beside_it() -> None:
    told = found(HEAD + SIDES + "    whiting  4o\n")
    assert [line for line, _ in told] == [6, 11]
    assert "merge" not in told[1][1]


@pytest.mark.parametrize(
    "alone",
    ["=======\n", "<<<<<<< ours\n    silica  1\n", ">>>>>>> theirs\n", ">>>>>>> b\n=======\n<<<<<<< a\n"],
)
def test_a_mark_without_its_partners_is_a_line_that_cannot_be_read(alone: str) -> None:
    told = found(HEAD + alone)
    assert told
    assert not any("merge is not finished" in message for _, message in told)


@pytest.mark.parametrize("line", ["<<<<<<<\n", "=======\n", ">>>>>>>\n", "<<<<<<<\n=======\n"])
def test_marks_without_end_take_no_time(line: str) -> None:
    for head in (HEAD, HEAD + "<<<<<<<\n"):

        def read(size: int, head: str = head) -> object:
            return parse(Source("a.glost", head + line * size))

        assert steps_grow_in_proportion(read, 200)
