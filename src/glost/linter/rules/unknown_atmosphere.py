"""An atmosphere that is none of the known ones."""

from __future__ import annotations

from collections.abc import Iterator

from glost.language import tree
from glost.language.diagnostics import Choice, Diagnostic
from glost.language.nearest import nearest
from glost.language.source import Edit
from glost.linter.rule import Checked, Expected, Rule
from glost.recipe.fields import ATMOSPHERE_SPELLINGS, ATMOSPHERES, KILNS, atmospheres_in


def check(checked: Checked) -> Iterator[Diagnostic]:
    written = checked.resolved.recipe.fields.get("atmosphere")
    place = checked.resolved.fields.get("atmosphere")
    if not isinstance(written, str) or written in ATMOSPHERES or not isinstance(place, tree.Field):
        return
    lower = written.lower()
    right = lower if lower in ATMOSPHERES else ATMOSPHERE_SPELLINGS.get(lower)
    if right is not None:
        said = "is written in lower case" if right == lower else f"is another spelling of {right}"
        edit = Edit(place.value.span, right)
        yield Diagnostic(place.value.span, f"'{written}' {said}", f"write {right}", (edit,))
        return
    if lower in KILNS:
        yield Diagnostic(
            place.value.span,
            f"'{written}' is a kind of kiln, and no atmosphere",
            f"write {KILNS[lower]}; the kiln itself goes below  firing:",
        )
        return
    near = list(atmospheres_in(written)) or nearest(lower, ATMOSPHERES, 1)
    meant = f"did you mean {' or '.join(near)}? " if near else ""
    yield Diagnostic(
        place.value.span,
        f"'{written}' is no atmosphere that is known here",
        f"{meant}The known ones are {', '.join(ATMOSPHERES)}; more may be said in the field  firing:",
        choices=tuple(Choice(one, Edit(place.value.span, one)) for one in near),
    )


RULE = Rule(
    name="unknown-atmosphere",
    level="error",
    summary="An atmosphere that is none of the known ones.",
    why="""\
The word is what a collection is sorted and searched by, and what decides which kiln a test goes into. One spelling
for one atmosphere keeps the reduction tests together.""",
    how_to_fix="""\
Take one of the known words; say what is special about the firing, and which kiln it was, in the field `firing`. Another
letter case or a usual short form is written out by `glost lint --fix`; what is only near to a word is not.""",
    bad="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxydation
origin: own test

base:
    nepheline syenite      60
    whiting                40
""",
    expected=(Expected(3, 13, "'oxydation' is another spelling of oxidation"),),
    good="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      60
    whiting                40
""",
    fixed="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      60
    whiting                40
""",
    check=check,
)
