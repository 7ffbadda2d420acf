"""Brings a base to 100 where that is asked for: proportions stay, and so does what is weighed.

It is refused on a page that gives any reason to doubt its amounts, and where it would spoil steps that were chosen.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import NamedTuple

from glost.language import tree
from glost.language.parse import parse
from glost.language.source import Edit, Source, apply
from glost.linter.engine import LintContext, examine_resolved
from glost.linter.finding import SYNTAX, Finding
from glost.linter.report import Report
from glost.linter.rule import find_rule, rule_names
from glost.recipe.analysed import AnalysedRecipe
from glost.recipe.resolve import resolve
from glost.weighing.rounding import largest_remainder, plain, round_to

ASKED_BY = "base-total"
"""The rule whose finding it answers."""
_WHOLE = Decimal(100)
_FEWEST_DECIMALS = 2
_MOST_DECIMALS = 6
"""What an amount may be written with."""
_MOST_OFF = Decimal("0.005")
"""Of its own amount, how much rounding may move a line; less where the collection weighs finer."""


class Line(NamedTuple):
    """A line that is rescaled: its number, its material, the amount before and after."""

    number: int
    name: str
    before: str
    after: str


class Rescaled(NamedTuple):
    """A page whose base was brought to 100: its text, what the rules say of it, the line of the base's head, the total
    before, and every line that changed."""

    text: str
    report: Report
    head: int
    total: Decimal
    lines: tuple[Line, ...]


class NotRescaled(NamedTuple):
    """Why a base is left as it is: the line that shows it, what stands in the way, and what to do."""

    line: int
    message: str
    hint: str


def rescale(source: Source, context: LintContext, left: Report, was: Source) -> Rescaled | NotRescaled | None:
    """Brings the base of a page to 100, where ``left``, the report on it, finds that it is off; None where it does not.
    ``was`` is the page before anything was fixed in this run: what made it doubtful then does so still."""
    if not any(finding.rule == ASKED_BY for finding in left.findings):
        return None
    doubt = _doubt(was, context)
    if doubt is not None:
        return NotRescaled(
            doubt.line,
            f"not while the amounts are in doubt: {doubt.message} ({doubt.rule})",
            "look at the page first, then run the command again",
        )
    resolved = resolve(parse(source), context.catalogue, context.finder)
    assert resolved.base_head is not None, "the rule finds it on the head of the base"
    total = resolved.recipe.base_total
    anew = next((head for head, *_ in resolved.in_base()), None)
    if anew is not None:
        return NotRescaled(
            source.position(anew.span.start).line,
            f"'{anew.word.text}' sets lines of this base, and would then set them on another scale",
            "bring the base and what sets it to 100 by hand",
        )
    steps = _unround(resolved, total)
    if steps is not None:
        return steps
    most = min(_MOST_OFF, context.settings.weighing_tolerance)
    base, additions = _base(resolved, most), _additions(resolved, most)
    if base is None or additions is None:
        return NotRescaled(
            source.position(resolved.base_head.span.start).line,
            f"an amount is too small beside the others to be written in {_MOST_DECIMALS} decimals",
            "write it as a premix, or the base in grams",
        )
    edits = base + additions
    lines = tuple(
        Line(
            source.position(amount.span.start).line,
            name,
            source.text[amount.span.start : amount.span.end],
            text,
        )
        for name, amount, text in edits
    )
    text = apply(source.text, (Edit(amount.span, text) for _, amount, text in edits))
    after = examine_resolved(
        resolve(parse(Source(source.path, text)), context.catalogue, context.finder), context
    )
    return Rescaled(text, after, source.position(resolved.base_head.span.start).line, total, lines)


def _doubt(source: Source, context: LintContext) -> Finding | None:
    """The first finding that puts the amounts of a page in doubt, whatever this run leaves out."""
    all_rules = context._replace(select=frozenset(), ignore=frozenset())
    report = examine_resolved(resolve(parse(source), context.catalogue, context.finder), all_rules)
    doubtful = {name for name in rule_names() if find_rule(name).doubtful} | {SYNTAX}
    return next((finding for finding in report.findings if finding.rule in doubtful), None)


def _unround(resolved: AnalysedRecipe, total: Decimal) -> NotRescaled | None:
    """Steps of a series, or an amount of a variation, that would no longer be round."""
    for item in _chosen(resolved):
        bare = _bare(item)
        if all(_exact(amount, total) is not None for amount in bare):
            continue
        first = item.amounts[0].span.start
        written = resolved.page.source.text[first : item.amounts[-1].span.end]
        as_percent = ", ".join(f"{plain(amount.value):f} %" for amount in bare)
        return NotRescaled(
            resolved.page.source.position(first).line,
            f"{item.name.text} {written} would no longer be as it was chosen",
            f"write {as_percent} if it is meant in per cent of the base; then it stays",
        )
    return None


def _chosen(resolved: AnalysedRecipe) -> list[tree.Item]:
    """The lines of variations and series, whose amounts somebody chose to compare them."""
    items = [placed.item for _, lines in resolved.variations for placed in lines]
    return items + [item for _, steps in (*resolved.series, *resolved.blends) for item, _ in steps]


def _bare(item: tree.Item) -> list[tree.Amount]:
    """The amounts of a line that count in the parts of the base."""
    return [amount for amount in item.amounts if amount.unit == "" and amount.value]


def _exact(amount: tree.Amount, total: Decimal) -> Decimal | None:
    """An amount rescaled, where it takes no more decimals than it is written with."""
    division = Decimal(1).scaleb(-_decimals(amount.value))
    exact = Fraction(amount.value) * 100 / Fraction(total)
    rounded = round_to(exact, division)
    return rounded if Fraction(rounded) == exact else None


Written = list[tuple[str, tree.Amount, str]]
"""Materials, each with its amount as it stands and as it is to be written."""


def _base(resolved: AnalysedRecipe, most: Decimal) -> Written | None:
    """The base, shared out so that its printed parts add up to exactly 100, with as many decimals as the smallest line
    needs to keep its own amount; None where an amount cannot have as many."""
    values = [placed.ingredient.quantity.amount for placed in resolved.base]
    total = sum(map(Fraction, values), Fraction(0))
    fewest = max(_FEWEST_DECIMALS, *map(_decimals, values))
    for decimals in range(fewest, _MOST_DECIMALS + 1):
        shares = largest_remainder(values, _WHOLE, Decimal(1).scaleb(-decimals))
        if all(
            _kept(share, Fraction(value) * 100 / total, most)
            for value, share in zip(values, shares, strict=True)
        ):
            return [
                (placed.item.name.text, placed.item.amounts[0], f"{plain(share):f}")
                for placed, share in zip(resolved.base, shares, strict=True)
            ]
    return None


def _additions(resolved: AnalysedRecipe, most: Decimal) -> Written | None:
    """Every bare number that counts in the parts of the base, so that as much is added as before; None where an amount
    cannot have as many decimals as that takes."""
    total = Fraction(resolved.recipe.base_total)
    written: Written = []
    for item in (*(placed.item for placed in resolved.additions), *_chosen(resolved)):
        for amount in _bare(item):
            exact = Fraction(amount.value) * 100 / total
            for decimals in range(min(_decimals(amount.value) + 2, _MOST_DECIMALS), _MOST_DECIMALS + 1):
                rounded = round_to(exact, Decimal(1).scaleb(-decimals))
                if _kept(rounded, exact, most):
                    written.append((item.name.text, amount, f"{plain(rounded):f}"))
                    break
            else:
                return None
    return written


def _kept(rounded: Decimal, exact: Fraction, most: Decimal) -> bool:
    return abs(Fraction(rounded) - exact) <= Fraction(most) * exact


def _decimals(value: Decimal) -> int:
    return max(-int(value.as_tuple().exponent), 0)
