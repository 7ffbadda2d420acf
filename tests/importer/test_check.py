"""Nonsense is refused and told, what may be two recipes is told, and each name is told once."""

from __future__ import annotations

import pytest

from glost.importer import report
from glost.importer.import_file import Brought, Form, bring
from glost.importer.materials import Names
from tests.importer.bench import CATALOGUE, read

NAMES = Names(CATALOGUE)


def of(text: str, form: Form = "csv") -> Brought:
    return bring("x", text, form, NAMES, set())


def long(*rows: str) -> str:
    return "\n".join(("Recipe,Material,Amount", *rows)) + "\n"


GOOD = ("Ouzel,silica,40", "Ouzel,whiting,60")


@pytest.mark.parametrize(
    ("rows", "why"),
    [
        (("Amt (%),silica,50", "Amt (%),kaolin,50"), "the head of a column"),
        (("Additions,silica,50", "Additions,,"), "no line of its base"),
        (("Gravel,gravel,50", "Gravel,paper,50"), "none of its materials is known"),
        (("Much,silica,40000000", "Much,kaolin,1"), "no amount of a recipe"),
        (tuple(f"Often,silica,{n}" for n in range(1, 6)), "'silica' would stand in its base 5 times"),
        (("Deep,silica,60", "Deep,kaolin,40", "Deep,+ rutile,900"), "900 would be added to a base of 100"),
        (("Vague,silica,some", "Vague,kaolin,1-2"), "no line of its base"),
    ],
)
def test_nonsense_is_not_written(rows: tuple[str, ...], why: str) -> None:
    done = of(long(*GOOD, *rows))
    assert [page.name for page in done.pages] == ["Ouzel"]
    if not any("Additions" in row for row in rows):  # that row is the head of a block of the recipe above
        assert why in next(remark.said for remark in done.remarks if remark.kind == "unwritten")


def test_recipe_of_many_lines_is_not_written() -> None:
    rows = (f"Long,{material.name},1" for material in list(CATALOGUE)[:60])
    done = of(long(*GOOD, *(row for row in rows if row.count(",") == 2)))
    assert "more than a recipe has" in next(
        remark.said for remark in done.remarks if remark.kind == "unwritten"
    )


def test_table_that_is_mostly_nonsense_is_refused() -> None:
    done = of(long("a,silica,70000000", "b,kaolin,80000000", *GOOD))
    assert done.pages == ()
    assert "most of this table is no recipe" in done.refused
    assert "--columns" in done.refused


@pytest.mark.parametrize(
    ("lines", "kind", "said"),
    [
        (
            "silica 60\nkaolin 40\nthe next has no name, sadly,\nsilica 50\nwhiting 50\n",
            "wrong",
            "may be a second recipe",
        ),
        ("silica 60\nkaolin 40\nsilica 55\nwhiting 45\n", "wrong", "may be a second recipe"),
        ("silica 60\nkaolin 40\nAdd:\nwhiting 70\ndolomite 30\n", "wrong", "they may be a second recipe"),
        (
            "silica 60\nkaolin 40\nwhiting 20\nadd:\ntin oxide 4\n",
            "guessed",
            "what stands there may be additions",
        ),
    ],
)
def test_two_recipes_in_one_are_told(lines: str, kind: str, said: str) -> None:
    done = of(f"Ouzel\n{lines}", "text")
    assert [remark.kind for remark in done.remarks if said in remark.said] == [kind]


def test_unknown_material_is_told_once_with_its_count() -> None:
    done = of(
        long(
            *(
                f"R{n},{name},50\nR{n},silica,50"
                for n, name in enumerate(("Quarry spar", "quarry spar", "QUARRY  SPAR"))
            )
        )
    )
    assert [(one.line, one.said) for one in done.remarks if one.kind == "unknown"] == [
        (
            2,
            (
                "'Quarry spar' (3 times) is no material that is known; near it: potash feldspar, soda feldspar,"
                " nepheline syenite"
            ),
        )
    ]


def test_what_is_said_of_many_lines_is_said_once() -> None:
    rows = [row for n in range(5) for row in (f"R{n},silica,60", f"R{n},kaolin,40", f"R{n},rutile,{n + 1}")]
    told = report.text([of(long(*rows))], {page: page.file for page in of(long(*rows)).pages})
    assert told.count("what stands behind a base of 100 is taken for additions") == 1
    assert told.count("        line 4  | rutile  1\n") == 1
    assert max(map(len, told.splitlines())) <= 120


def test_long_list_is_wrapped() -> None:
    heads = [material.name for material in list(CATALOGUE)[:40] if "," not in material.name]
    text = f"Glaze,{','.join(heads)}\nOuzel,50,50\n"
    done = of(text)
    told = report.text([done], {page: page.file for page in done.pages})
    assert max(map(len, told.splitlines())) <= 120


def test_cone_without_a_zero_is_asked_about_once() -> None:
    rows = [f"R{n},4,silica,60\nR{n},4,kaolin,40" for n in range(9)]
    done = of("Recipe,Cone,Material,Amount\n" + "\n".join(rows))
    asked = [remark for remark in done.remarks if "may have been 04" in remark.said]
    assert [(remark.kind, remark.line) for remark in asked] == [("guessed", 2)]
    assert "'R0', 'R1', 'R2' and 6 more" in asked[0].said


@pytest.mark.parametrize("kept", ["04", "'06"])
def test_zero_that_was_kept_answers_for_the_table(kept: str) -> None:
    done = of(f"Recipe,Cone,Material,Amount\nA,6,silica,100\nB,{kept},silica,100\n")
    assert [remark for remark in done.remarks if "may have been" in remark.said] == []
    assert str(read(done.pages[1].text).fields["cone"]) == kept.strip("'")


def own(cone: str, separator: str = ",") -> str:
    rows = [
        "recipe,kind,cone,section,name,amount,unit",
        f"Ouzel,glaze,{cone},base,silica,60,",
        f"Ouzel,glaze,{cone},base,kaolin,40,",
        f"Ouzel,glaze,{cone},additions,rutile,2,%",
    ]
    return "\r\n".join(rows).replace(",", separator) + "\r\n"


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_own_table_that_a_spreadsheet_saved_is_asked_about(separator: str) -> None:
    done = of(own("4", separator))
    assert [(remark.kind, remark.line) for remark in done.remarks] == [("guessed", 2)]
    assert "cone 4 of 'Ouzel' may have been 04" in done.remarks[0].said
    assert str(read(done.pages[0].text).fields["cone"]) == "4"
    assert len(read(done.pages[0].text).additions) == 1


@pytest.mark.parametrize("cone", ["04", "10", "5-6", ""])
def test_own_table_with_a_sure_cone_is_silent(cone: str) -> None:
    assert of(own(cone)).remarks == ()


def test_unit_that_cannot_be_weighed_is_told() -> None:
    done = of("Ouzel\nsilica 60\nkaolin 40\n\nCMC 1 tsp\n", "text")
    assert [(one.kind, one.line, "'tsp' is no unit of mass" in one.said) for one in done.remarks] == [
        ("left", 5, True)
    ]
    assert "# CMC 1 tsp" in done.pages[0].text
