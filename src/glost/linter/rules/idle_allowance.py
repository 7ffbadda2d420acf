"""An allowance that catches nothing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from glost.language.diagnostics import Diagnostic
from glost.linter.allowances import Allowance
from glost.linter.rule import Checked, Expected, Rule


def idle(_: Checked, allowances: Sequence[Allowance]) -> Iterator[Diagnostic]:
    for allowance in allowances:
        where = "on this page" if allowance.line == 0 else "on its line"
        yield Diagnostic(
            allowance.span,
            f"the allowance of {allowance.rule} catches nothing {where}",
            "take it away; what it allowed has been fixed or has moved",
        )


RULE = Rule(
    name="idle-allowance",
    level="warning",
    summary="An allowance that catches nothing.",
    why="""\
The finding that it let pass is gone, or stands on another line since the page was changed. An allowance that is left
behind lets the next mistake of its kind pass unseen. While a line of the page cannot be read, or where the rule that it
names is off, no allowance is called idle.""",
    how_to_fix="""\
Take the comment away, or put it on the line that it is meant for.""",
    bad="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      60
    whiting                32
    alkaline frit           8  # allow soluble-material: carbon trap, mixed fresh
""",
    expected=(Expected(9, 32, "the allowance of soluble-material catches nothing on its line"),),
    good="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      60
    whiting                32
    alkaline frit           8
""",
    idle=idle,
)
