"""What must hold of a page as a whole: its title and base, its units, its blends, and the names of its tests."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from glost.language import tree
from glost.language.diagnostics import Diagnostic
from glost.language.source import Edit, Span
from glost.language.tables import lexicon
from glost.recipe.blends import SHAPES, divisions, steps_near
from glost.recipe.names import called, folded
from glost.recipe.recipe import Recipe, labels_and_blocks

ROLES: Final = ("variation", "series", "blend", "base_variation", "base_series", "base_blend")
"""Of the blocks that have a name."""
NO_BASE_NEEDED: Final = ("base_series", "base_blend")
"""Of the blocks that may say the whole base themselves."""


class Held:
    """What a page holds, sorted by what it is: filled block by block, then checked. ``blocks``: those that have a name,
    by role. ``told_of_a_head``: the title cannot be taken, which is told already. ``told``: lines that are told of; one
    is told of once."""

    def __init__(self, page: tree.Page) -> None:
        self.page = page
        self.title: tree.Title | None = None
        self.heads: dict[str, tree.Head] = {}
        self.unknown: list[tree.Text] = []
        self.items: dict[str, list[tree.Item]] = {"base": [], "additions": []}
        self.blocks: dict[str, list[tuple[tree.Head, list[tree.Item]]]] = {role: [] for role in ROLES}
        self.told_of_a_head = False
        self.told: set[Span] = set()


def missing_parts(held: Held) -> Iterator[Diagnostic]:
    """The title and the base. Where a line cannot be read, that may be why they are missed."""
    blocks = held.page.blocks
    if held.page.diagnostics or held.told_of_a_head:
        return
    if not blocks:
        comments = (line.span for line in held.page.lead if isinstance(line, tree.Remark))
        yield Diagnostic(
            next(comments, Span(0, 0)),
            "this file holds only comments, and no recipe",
            'write the kind and the name, such as  glaze "Harbour Mist"  and base: and its materials below',
        )
    elif held.title is None:
        first = blocks[0].head.span
        yield Diagnostic(
            Span(first.start, first.start + 1),
            "the page does not begin with the kind and the name of the recipe",
            'write a first line such as  glaze "Harbour Mist"',
        )
    elif "base" not in held.heads and any(held.blocks[role] for role in NO_BASE_NEEDED):
        yield from _blocks_without_a_base(held)
    elif "base" not in held.heads and not any(
        isinstance(block.head, tree.Head) and block.head.word in held.unknown for block in blocks
    ):
        blends = "; a blend of whole recipes is a  base blend" if held.blocks["blend"] else ""
        yield Diagnostic(
            held.title.span,
            "the recipe has no base",
            f"write  base:  and its materials on indented lines below{blends}",
        )


def _blocks_without_a_base(held: Held) -> Iterator[Diagnostic]:
    """On a page whose base blocks say the whole base, every test is one of theirs."""
    whole = {
        role.removeprefix("base_"): {folded(called(head)) for head, _ in held.blocks[role]}
        for role in NO_BASE_NEEDED
    }
    for role in ROLES:
        for head, _ in held.blocks[role] if role not in NO_BASE_NEEDED else ():
            kind = head.word.text
            if folded(called(head)) in whole.get(role, ()):
                continue
            pair = f"; a {kind} of the same name as a base {kind} is one with it" if role in whole else ""
            yield Diagnostic(
                head.span,
                f"this page has no base that a {kind} could stand on",
                f"write  base:  and its materials above it{pair}",
            )


def mixed_units(held: Held) -> Iterator[Diagnostic]:
    """Parts among masses, masses among parts, and per cent in a base. The lines are noted as told of."""
    base = held.items["base"]
    anew = [items for role in ROLES if role.startswith("base_") for _, items in held.blocks[role]]
    units = lexicon().masses
    first = base[0].amounts[0].unit if base else _first_unit(anew)
    masses = first in units
    for item in base:
        yield from _base_amount(held.page, item.amounts[0], masses)
    for item in (item for items in anew for item in items):
        wrong = [one for one in item.amounts if one.unit == "%" or (one.unit in units) != masses]
        wrong = [one for one in wrong if one.value or one.unit]  # nothing of anything is nothing
        for amount in wrong[:1] if not all(one.unit == "%" for one in wrong) else wrong:
            held.told.add(item.span)
            yield from _base_amount(held.page, amount, masses)
    for items in (
        held.items["additions"],
        *(items for role in ROLES if not role.startswith("base_") for _, items in held.blocks[role]),
    ):
        for item in items:
            mass = next((amount for amount in item.amounts if amount.unit in units), None)
            if mass is not None and not masses:
                held.told.add(item.span)
                yield Diagnostic(
                    mass.span,
                    "a mass is added here to a base in parts",
                    "write parts, or a percentage such as 2 %",
                )


def _first_unit(blocks: Sequence[list[tree.Item]]) -> str:
    """The unit that the base blocks of a page without a base are written in: that of the first amount above 0."""
    amounts = (amount for items in blocks for item in items for amount in item.amounts)
    return next((amount.unit for amount in amounts if amount.value and amount.unit != "%"), "")


def _base_amount(page: tree.Page, amount: tree.Amount, masses: bool) -> Iterator[Diagnostic]:
    """What is wrong with an amount of a base in masses, or in parts."""
    if amount.unit == "%":
        sign = page.source.text[amount.span.start : amount.span.end].rstrip("%").rstrip(" ")
        yield Diagnostic(
            amount.span,
            "the base is written in parts, not in per cent",
            f"write {sign}; parts of a base that totals 100 are per cent",
            (Edit(amount.span, sign),),
        )
    elif (amount.unit in lexicon().masses) != masses:
        message = "a mass stands among parts here" if amount.unit else "parts stand among masses here"
        yield Diagnostic(amount.span, message, "give every line of the base a mass, or none")


def wrong_blends(held: Held) -> Iterator[Diagnostic]:
    """Blends whose steps do not meet the corners, or that have more corners than a board."""
    for role in ("blend", "base_blend"):
        for head, items in held.blocks[role]:
            yield from _wrong_blend(head, items)


def _wrong_blend(head: tree.Head, items: Sequence[tree.Item]) -> Iterator[Diagnostic]:
    """The step of a blend, and how many corners it has."""
    step = head.step
    if step is not None and divisions(step.value) is None:
        near = " or ".join(f"{one} %" for one in steps_near(step.value)) or "25 %"
        yield Diagnostic(
            step.span,
            f"a step of {step.value:f} % does not divide 100",
            f"write {near}; points that do not lie evenly are written out in a series",
        )
    corners = max((len(item.amounts) for item in items), default=0)
    if corners and corners not in SHAPES:
        corner = "one corner" if corners == 1 else f"{corners} corners"
        yield Diagnostic(
            head.name.span if head.name else head.span,
            f"this blend has {corner}; a blend has 2, 3 or 4",
            "write an amount for each corner, with commas between, such as  silica  20, 30, 40",
        )


def unequal_pairs(held: Held) -> Iterator[Diagnostic]:
    """A block and a base block of one name are one, and so must have the same tests."""
    for role in ("series", "blend"):
        based = {folded(called(head)): (head, items) for head, items in held.blocks[f"base_{role}"]}
        for head, items in held.blocks[role]:
            other, theirs = based.get(folded(called(head)), (None, []))
            if other is None:
                continue
            late = max(head, other, key=lambda one: one.span)
            line = held.page.source.position(min(head, other, key=lambda one: one.span).span.start).line
            if head.step is not None and other.step is not None and head.step.value != other.step.value:
                yield Diagnostic(
                    (late.step or head.step).span,
                    f"'{called(head)}' has another step on line {line}",
                    "give both the same step: they are one blend",
                )
            mine, their = (max((len(i.amounts) for i in one), default=0) for one in (items, theirs))
            if mine != their and mine and their:
                what = "corners" if role == "blend" else "tests"
                few, many = sorted((mine, their))
                yield Diagnostic(
                    late.name.span if late.name else late.span,
                    f"'{called(head)}' has {few} and {many} {what} in its two blocks (the other on line {line})",
                    f"give every line of both as many amounts: they are one {role}",
                )


def doubled_tests(held: Held, recipe: Recipe) -> Iterator[Diagnostic]:
    """No two tests of a page have one name, whichever blocks they come from."""
    places: dict[tuple[str, str], tree.Head] = {}
    for role in ROLES:
        for head, _ in held.blocks[role]:
            key = (role.removeprefix("base_"), folded(called(head)))
            if key not in places or head.span < places[key].span:
                places[key] = head
    met: dict[str, tree.Head] = {}
    for label, block, name in labels_and_blocks(recipe):
        if not label:
            continue
        head = places[(block, folded(name))]
        first = met.setdefault(folded(label), head)
        if first is not head and head.name is not None:
            line = held.page.source.position(first.span.start).line
            yield Diagnostic(
                head.name.span,
                f"'{label}' is the name of two tests (the other on line {line})",
                "give this block another name",
            )
            return
