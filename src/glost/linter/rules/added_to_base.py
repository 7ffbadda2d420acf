"""A material of the base that is weighed once more, on top of it."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from decimal import Decimal

from glost.language import tree
from glost.language.diagnostics import Diagnostic
from glost.linter.rule import Checked, Expected, Rule
from glost.recipe.fields import Quantity
from glost.recipe.on_top import words
from glost.recipe.recipe import parts


def check(checked: Checked) -> Iterator[Diagnostic]:
    resolved = checked.resolved
    base_total = checked.base_total
    in_base: dict[str, Decimal] = {}
    for placed in resolved.base:
        here = parts(placed.ingredient.quantity, base_total)
        in_base[placed.ingredient.called] = in_base.get(placed.ingredient.called, Decimal(0)) + here
    said_so = set()
    for placed in resolved.additions:
        name = placed.ingredient.called
        said_so.add(name)
        if name in in_base and placed.ingredient.quantity.amount:
            yield Diagnostic(
                placed.item.name.span,
                f"{name} stands in the base too: {_said(checked, in_base[name], [placed.ingredient.quantity])}",
                "put both amounts on the line of the base; if it is to come on top, say so behind this line:  "
                "# allow added-to-base: on top of the base",
            )
    lines: list[tuple[tree.Head, tree.Item, str, tuple[Quantity, ...]]] = [
        (head, placed.item, placed.ingredient.called, (placed.ingredient.quantity,))
        for head, placed_here in resolved.variations
        for placed in placed_here
    ]
    lines += [
        (head, item, step.material or step.name, step.quantities)
        for head, steps in (*resolved.series, *resolved.blends)
        for item, step in steps
    ]
    for head, item, name, quantities in lines:
        if name in in_base and name not in said_so:
            yield _set_on_top(checked, head, item, name, in_base[name], quantities)
    yield from _moved_into_the_base(checked, in_base, said_so)


def _moved_into_the_base(
    checked: Checked, in_base: Mapping[str, Decimal], added: Collection[str]
) -> Iterator[Diagnostic]:
    """A line that sets the base, and names what is an addition of the page: it would be weighed twice."""
    for head, item, line in checked.resolved.in_base():
        name = line.material or line.name
        if name not in added or name in in_base or not any(amount.value for amount in item.amounts):
            continue
        kind = head.word.text
        plain = kind.removeprefix("base ")
        called = head.name.text if head.name else ""
        by = f" by {head.step.value:f} %" if head.step else ""
        yield Diagnostic(
            item.name.span,
            f"{name} is an addition here, and a {kind} puts it into the base beside that",
            f'write it below  {plain} "{called}"{by}:  to set the addition; if it is to be in the base and on top, say '
            "so behind this line:  # allow added-to-base: why both",
        )


def _set_on_top(
    checked: Checked,
    head: tree.Head,
    item: tree.Item,
    name: str,
    in_base: Decimal,
    quantities: Sequence[Quantity],
) -> Diagnostic:
    kind = head.word.text
    called = head.name.text if head.name else ""
    by = f" by {head.step.value:f} %" if head.step else ""
    anew = f'write the line below  base {kind} "{called}"{by}:'
    if not any(quantity.amount for quantity in quantities):
        return Diagnostic(
            item.name.span,
            f"{name} stands in the base, which a {kind} leaves as it is: 0 takes nothing out",
            f"take the line away; to leave {name} out of the base, {anew}",
        )
    return Diagnostic(
        item.name.span,
        f"{name} stands in the base, which a {kind} leaves as it is: {_said(checked, in_base, quantities)}",
        f"if the base is to hold this much, {anew}; if it is to come on top, write below  additions:  the line  "
        f"{_written(checked, item.name)}  0",
    )


def _written(checked: Checked, name: tree.Name) -> str:
    return checked.resolved.page.source.text[name.span.start : name.span.end]


def _said(checked: Checked, in_base: Decimal, quantities: Sequence[Quantity]) -> str:
    """What is weighed now; of a series by its first amount that is not 0."""
    recipe = checked.resolved.recipe
    at, quantity = next((at, quantity) for at, quantity in enumerate(quantities, 1) if quantity.amount)
    added = parts(quantity, checked.base_total)
    each = f" in test {at}" if len(quantities) > 1 else ""
    return f"{quantity} comes {words(in_base, added, recipe.in_masses)}{each}"


RULE = Rule(
    name="added-to-base",
    level="error",
    summary="A material of the base that is weighed once more, on top of it.",
    why="""\
A variation, a series or a blend sets additions anew and leaves the base alone. Whoever writes `silica 25` below a
variation, on a base with 22 of silica, most often means a base with 25, and gets one with 22 and 25 more on top: 47.
Nothing on a tile shows it, and the next test is built on it. An addition that names a material of the base is weighed
on top as well; often it is a line that should have been part of the base. On sheet, label and plan such a line says
how much that makes.""",
    how_to_fix="""\
Where the base is to hold another amount, write the line below `base variation`, `base series` or `base blend`: what
stands there sets the base. Where the material is to come on top,
say so: put it below `additions:` with an amount of 0, and the variation or series then sets that addition. An addition
of the recipe itself that is meant to come on top has an allowance behind it.""",
    bad="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      60
    whiting                40

variation "more lime":
    whiting                 6
""",
    expected=(
        Expected(
            11,
            5,
            "whiting stands in the base, which a variation leaves as it is: 6 comes on top of the 40 in the base, "
            "46 in all",
        ),
    ),
    good="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      60
    whiting                40

additions:
    whiting                 0

variation "more lime":
    whiting                 6
""",
    check=check,
)
