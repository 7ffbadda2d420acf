"""A handling note for a material that is not in the recipe."""

from __future__ import annotations

from collections.abc import Iterator

from glost.language import tree
from glost.language.diagnostics import Diagnostic
from glost.language.source import Span
from glost.linter.rule import Checked, Expected, Rule


def check(checked: Checked) -> Iterator[Diagnostic]:
    resolved = checked.resolved
    if not resolved.complete:
        return
    used = {one.called for one in checked.weighed} | {"all"}
    for instruction in resolved.handling:
        idle = [name for name in instruction.names if checked.catalogue.called(name.text) not in used]
        if idle:
            yield _told(idle, used, checked)


_MOST_NAMED = 3


def _told(idle: list[tree.Name], used: set[str], checked: Checked) -> Diagnostic:
    """One diagnostic for a line, however many names it holds."""
    named = [checked.catalogue.called(name.text) for name in idle[:_MOST_NAMED]]
    more = len(idle) - len(named)
    last = idle[len(named) - 1]
    if more:
        named.append(f"{more} more")
    listed = f"{', '.join(named[:-1])} and {named[-1]}" if len(named) > 1 else named[0]
    first = idle[0]
    from glost.recipe.materials.meant import NOTHING, meant, question  # only a finding needs it

    found = NOTHING if checked.catalogue.find(first.text) else meant(first.text, checked.catalogue)
    here = tuple(one for one in found.candidates if one.name in used)
    asked = question(found._replace(candidates=here or found.candidates))
    correct = f"{asked} Correct" if asked and len(idle) == 1 else "correct"
    return Diagnostic(
        Span(first.span.start, last.span.end),
        f"the note is for {listed}, which {'is' if len(idle) == 1 else 'are'} not in the recipe",
        f"{correct} the name{'s' if len(idle) > 1 else ''}, take {'them out' if len(idle) > 1 else 'the note away'}, "
        "or write  all:  where it holds for every material",
    )


RULE = Rule(
    name="idle-handling-note",
    level="warning",
    summary="A handling note for a material that is not in the recipe.",
    why="""\
The note was written for something that has been taken out or renamed since, or its name is misspelt. In the second
case the material that can harm stands on the sheet without its note, and everybody believes that there is one.""",
    how_to_fix="""\
Correct the name. If the material is gone, let the note go with it; if the note holds for everything on the page, write
it for `all`.""",
    bad="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      60
    whiting                40

handling:
    barium carbonate: P100 respirator and gloves.
""",
    expected=(Expected(11, 5, "the note is for barium carbonate, which is not in the recipe"),),
    good="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      60
    whiting                40

handling:
    all: P100 respirator and gloves.
""",
    check=check,
)
