"""A field or head that the language does not know."""

from __future__ import annotations

from collections.abc import Iterator

from glost.language.diagnostics import Choice, Diagnostic
from glost.language.source import Edit
from glost.linter.rule import Checked, Expected, Rule
from glost.recipe.fields import FIELDS
from glost.recipe.heads import every_head, head_offer
from glost.recipe.resolve import nearest_key


def check(checked: Checked) -> Iterator[Diagnostic]:
    for key in checked.resolved.unknown_fields:
        offer = head_offer(checked.resolved.page, key)
        if offer.hint:
            yield Diagnostic(
                key.span,
                f"'{key.text}' is neither a field nor a head of a recipe",
                offer.hint,
                choices=offer.choices,
            )
            continue
        near = nearest_key(key.text)
        meant = f"did you mean '{near[0]}'? " if near else ""
        yield Diagnostic(
            key.span,
            f"'{key.text}' is neither a field nor a head of a recipe",
            f"{meant}The fields are {', '.join(sorted(FIELDS))}, the heads {every_head()}; what fits none of them is "
            "written below  notes:"
            if not near
            else f"{meant}What is no field is written below  notes:",
            choices=tuple(Choice(one, Edit(key.span, one)) for one in near[:1]),
        )


RULE = Rule(
    name="unknown-field",
    level="error",
    summary="A field or head that the language does not know.",
    why="""\
A field with a slip in its name would otherwise be passed over in silence: a sieve that nobody reads, a cone that
is not compared, a whole block of additions that is not weighed. So an unknown word in column one is never ignored.""",
    how_to_fix="""\
Take a name that is offered if it is the one you meant, or move the line below `notes:`, where anything may be written.
Nothing is changed by `glost lint --fix`: a `zone` is the kiln's, and no slip for `cone`.""",
    bad="""\
glaze "Harbour Mist"
cone: 6
origin: own test
atmosfere: oxidation

base:
    nepheline syenite      60
    whiting                40
""",
    expected=(Expected(4, 1, "'atmosfere' is neither a field nor a head of a recipe"),),
    good="""\
glaze "Harbour Mist"
cone: 6
origin: own test
atmosphere: oxidation

base:
    nepheline syenite      60
    whiting                40
""",
    check=check,
    doubtful=True,
)
