"""One material on two lines of a block."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from glost.language import tree
from glost.language.diagnostics import Diagnostic
from glost.linter.rule import Checked, Expected, Rule


def check(checked: Checked) -> Iterator[Diagnostic]:
    resolved = checked.resolved
    yield from _twice(checked, "base", [(p.item, p.ingredient.called) for p in resolved.base])
    yield from _twice(checked, "additions", [(p.item, p.ingredient.called) for p in resolved.additions])
    for _, lines in resolved.variations:
        yield from _twice(checked, "variation", [(p.item, p.ingredient.called) for p in lines])
    for _, steps in resolved.series:
        yield from _twice(checked, "series", [(item, step.material or step.name) for item, step in steps])


def _twice(checked: Checked, block: str, lines: Sequence[tuple[tree.Item, str]]) -> Iterator[Diagnostic]:
    first: dict[str, tree.Item] = {}
    for item, name in lines:
        if name not in first:
            first[name] = item
            continue
        other = checked.resolved.page.source.position(first[name].span.start).line
        written = first[name].name.text
        called = f" (there as '{written}')" if written != item.name.text else ""
        yield Diagnostic(
            item.name.span,
            f"{name} stands a second time in this {block}, first on line {other}{called}"
            if block != "additions"
            else f"{name} stands a second time among the additions, first on line {other}{called}",
            "put the two amounts on one line, or correct the name of one; two sorts of one material are told apart "
            "by an entry of their own in materials.yaml",
        )


RULE = Rule(
    name="duplicate-material",
    level="warning",
    summary="One material on two lines of a block.",
    why="""\
The second line is often a slip: a line copied and not changed, or a second name for a powder that is already in the
bucket. At the bench it is worse. Whoever ticks off materials by name sees the silica ticked and passes over the
second one. Names are compared by the material they mean, so `flint` and `silica` are found too. Base and additions
are looked at apart: what comes on top of a material of the base is for the rule added-to-base to find.""",
    how_to_fix="""\
Add the two amounts up on one line. If two sorts are meant, a fine and a coarse silica, give one of them an entry of
its own in materials.yaml.""",
    bad="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      40
    whiting                30
    kaolin                 20
    whiting                10
""",
    expected=(Expected(10, 5, "whiting stands a second time in this base, first on line 8"),),
    good="""\
glaze "Harbour Mist"
cone: 6
atmosphere: oxidation
origin: own test

base:
    nepheline syenite      40
    whiting                40
    kaolin                 20
""",
    check=check,
    doubtful=True,
)
