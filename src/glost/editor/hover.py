"""What is told of the word under the pointer: a material, a test, a field, a rule."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final, NamedTuple

from glost.chemistry.firing import Calculator
from glost.editor.amounts import grams, weighed
from glost.editor.mentions import mentions, names_of
from glost.editor.page import Page, stand
from glost.language import tree
from glost.language.source import Span
from glost.language.width import padded
from glost.linter.allowances import allowances
from glost.linter.rule import find_rule, rule_names
from glost.output.batch_sheet import ERRORS_FIRST
from glost.output.escape import visible
from glost.output.formula.account import Choice, account
from glost.output.formula.text import part as formula_text
from glost.output.materials.page import page as material_page
from glost.output.materials.page import uses
from glost.output.materials.text import page_text
from glost.recipe.fields import FIELDS
from glost.recipe.materials.catalogue import key, shipped_catalogue
from glost.recipe.recipe import Test, tests
from glost.recipe.safety.cautions import PRECEDENCE
from glost.weighing.rounding import plain

MOST_USES: Final = 10
"""Recipes that are named where a material is used."""


class Told(NamedTuple):
    """A text of fixed width, and the stretch that it is about."""

    text: str
    span: Span


def told_at(page: Page, offset: int, pages: Iterable[Page]) -> Told | None:
    """What is told of the place at an offset. ``pages``: those of the collection."""
    every = list(pages)
    for allowance in allowances(page.tree):
        if allowance.span.start <= offset <= allowance.span.end and allowance.rule in rule_names():
            rule = find_rule(allowance.rule)
            return Told(f"{rule.name} ({rule.level})\n{rule.summary}\n\n{rule.why}\n", allowance.span)
    node = stand(page.tree, offset).node
    if isinstance(node, tree.Field) and offset <= node.key.span.end:
        return _of_field(node.key)
    if isinstance(node, tree.Item) and len(node.amounts) > 1:
        step = next((n for n, amount in enumerate(node.amounts) if _in(amount.span, offset)), None)
        if step is not None:
            return _of_step(page, node, step)
    for one in mentions(page, names_of(every)):
        if _in(one.span, offset):
            if one.kind == "material":
                return _of_material(page, one.name, one.span, every)
            if one.kind == "recipe":
                other = next((other for other in every if other.name == one.name), None)
                return None if other is None else Told(_of_test(other, ""), one.span)
            own = next((other for other in every if one.of and other.name == one.of), page)
            return Told(_of_test(page if page.name == one.of else own, one.name), one.span)
    if isinstance(node, tree.Head) and offset <= node.word.span.end and node.word.text in FIELDS:
        return _of_field(node.word)
    return None


def _in(span: Span, offset: int) -> bool:
    return span.start <= offset <= span.end


def _of_field(name: tree.Text) -> Told | None:
    field = FIELDS.get(name.text)
    if field is None:
        return None
    return Told(f"{field.key}: {field.says}\nfor example  {field.key}: {field.example}\n", name.span)


def _of_material(page: Page, name: str, span: Span, pages: list[Page]) -> Told:
    material = page.catalogue.find(name)
    if material is None:
        return Told(
            f"{visible(name)}: not in the catalogue, so that nothing is known of its hazards\n{PRECEDENCE}\n",
            span,
        )
    kiln = Calculator(page.catalogue)
    text = page_text(material_page(material, kiln, shipped_catalogue()))
    found = uses(material, ((one.file, one.recipe) for one in pages))
    lines = [f"used in {len(found)} recipe{'' if len(found) == 1 else 's'} of this collection"]
    lines += [f"  {visible(use.name)}  ({visible(use.file)})" for use in found[:MOST_USES]]
    if len(found) > MOST_USES:
        lines.append(f"  and {len(found) - MOST_USES} more: go to the references")
    return Told(text + "\n" + "\n".join(lines) + "\n", span)


def _of_test(page: Page, label: str) -> str:
    """What a test fires to and what is weighed of it; of a series, what its tests are. ``label``: of a variation or a
    series; "" for the recipe itself."""
    if not page.resolved.complete:
        return (
            f"{visible(page.recipe.name)}: this page cannot be read whole, so that nothing is calculated;"
            " fix what is marked first\n"
        )
    every = list(tests(page.recipe))
    found = next((test for test in every if key(test.label) == label), None)
    if found is not None:
        return _formula_and_batch(page, found)
    series = next((one for one in page.recipe.series if key(one.name) == label), None)
    steps = [test for test in every if series is not None and _is_step(test, series.name)]
    return "".join(
        f"{line}\n" for line in (f"{len(steps)} tests:", *(f"  {visible(one.name)}" for one in steps))
    )


def _is_step(test: Test, series: str) -> bool:
    before, _, number = test.label.rpartition(" ")
    return before == series and number.isdecimal()


def _of_step(page: Page, item: tree.Item, step: int) -> Told | None:
    """The test of one amount in a series."""
    at = 1 + len(page.recipe.variations)
    every = list(tests(page.recipe))
    for series, (_, steps) in zip(page.recipe.series, page.resolved.series, strict=False):
        if page.resolved.complete and any(one is item for one, _ in steps) and step < len(series):
            return Told(_formula_and_batch(page, every[at + step]), item.amounts[step].span)
        at += len(series)
    return None


def _formula_and_batch(page: Page, test: Test) -> str:
    kiln = Calculator(page.catalogue)
    return formula_text(account(page.file, test, kiln, Choice())) + "\n" + "".join(_batch(page, test))


def _batch(page: Page, test: Test) -> Iterator[str]:
    lines = weighed(page, test)
    if not lines:
        yield "  nothing to weigh\n"
        return
    if any(finding.level == "error" for finding in page.report.findings):
        yield f"  {ERRORS_FIRST}\n"
    yield f"  to weigh at {grams(plain(page.batch_g))} of base\n"
    shown = [(visible(line.material), line) for line in lines if line.parts]
    widest = max((len(name) for name, _ in shown), default=0)
    for name, line in shown:
        mark = "" if line.within else "  too small to weigh within tolerance"
        on_top = "" if line.base else "+ "
        yield f"    {on_top + padded(name, widest + 2 - len(on_top))}  {grams(line.target_g):>12}{mark}\n"
    yield f"  {PRECEDENCE}\n"
