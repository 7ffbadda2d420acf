"""A recipe as git's diff should see it: what it means above, and below that how it is written.

Materials stand under their canonical names, in one order. A base whose total is near 100 keeps its amounts, so that a
change of one material is a change of one line; any other is brought to a base of 100. Another spelling, order or scale
changes only the lower part, where it is named as such.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from fractions import Fraction
from typing import Final

from glost.changes.meaning import SECTIONS, WEIGHED, Place, Section, Told, Weighed, fact_text, rounded
from glost.language import tree
from glost.linter.allowances import allowances
from glost.recipe.fields import FIELDS, Quantity
from glost.weighing.rounding import trimmed

_HEADS: Final[dict[Section, str]] = {
    "base": "base:",
    "additions": "additions:",
    "handling": "handling:",
    "notes": "notes:",
}
_NAME: Final = 28
_DECIMALS: Final = 6
_NEAR_100: Final = (80, 125)
"""Totals of a base that is meant to be 100 and is being changed."""


def canonical_text(one: Told, page: tree.Page) -> str:
    """``one`` is the recipe of ``page``, whose comments are kept."""
    return "".join(f"{line}\n" for line in _lines(one, page))


def _lines(one: Told, page: tree.Page) -> Iterator[str]:
    yield f'{one.kind} "{one.name}"'
    places = sorted(one.meaning, key=_order)
    for section in SECTIONS[2:]:
        here = [place for place in places if place.section == section]
        within: str | None = None
        for place in here:
            if section != "field" and place.within != within:
                within = place.within
                yield ""
                yield _HEADS.get(section) or f'{section} "{within}":'
            yield from _place(one, place)
    allowed = sorted(place for place in one.around if place.section == "allowances")
    if allowed:
        yield from ("", "allows:")
        for place in allowed:
            where = f" ({place.within})" if place.within else ""
            yield f"    {place.what}{where}: {' '.join(fact_text(one.around[place]).split())}"
    yield from ("", "as written:")
    yield from _as_written(one)
    comments = list(_other_comments(page))
    if comments:
        yield from ("", "comments:")
        yield from (f"    {comment}" for comment in comments)


def _order(place: Place) -> tuple[int, int, str, str]:
    """Fields in the order of their list, all else by name."""
    section, within, what = place.order
    return section, list(FIELDS).index(what) if place.section == "field" else 0, within, what


def _place(one: Told, place: Place) -> Iterator[str]:
    fact = one.meaning[place]
    if place.section == "field":
        # In its own unit; one of mass is in grams, so that 200 g and 0.2 kg are one.
        first, *others = fact_text(fact).split("\n") if not isinstance(fact, tuple) else [_listed(fact)]
        yield f"{place.what}: {first}"
        yield from (f"    {line}" for line in others)
    elif isinstance(fact, Weighed):
        note = f"  ({fact.note})" if fact.note else ""
        amounts = (amount / _scale(one) for amount in one.written[place].parts)
        yield f"    {place.what:<{_NAME}}  {', '.join(map(_exact, amounts))}{note}"
    elif place.what.endswith(":") and place.section in WEIGHED:
        yield f"    {place.what} {fact}"
    elif place.section == "handling":
        yield from (f"    {place.what}: {line}" for line in fact_text(fact).split("\n"))
    elif place.section == "notes":
        yield from (f"    {line}".rstrip() for line in fact_text(fact).split("\n"))


def _scale(one: Told) -> Fraction:
    low, high = _NEAR_100
    if not one.total or (not one.in_masses and low <= one.total <= high):
        return Fraction(1)
    return one.total / 100


def _listed(fact: tuple[object, ...]) -> str:
    if isinstance(fact, Quantity):
        return f"{trimmed(f'{fact.amount:f}')} {fact.unit}".rstrip()
    return ", ".join(map(str, fact))


def _exact(amount: Fraction) -> str:
    """Up to six decimals; one that goes on has a tilde."""
    shown = trimmed(rounded(amount, _DECIMALS))
    return shown if (amount * 10**_DECIMALS).denominator == 1 else f"{shown}~"


def _as_written(one: Told) -> Iterator[str]:
    """The scale, the order, and every name and value that is written another way than it stands above. How amounts
    are written follows from the scale, but for their units."""
    total = _exact(one.total)
    yield f"    base total: {total} {'g' if one.in_masses else 'parts'}"
    for section, within in dict.fromkeys((place.section, place.within) for place in one.written):
        names = [place.what for place in one.written if (place.section, place.within) == (section, within)]
        what = f'{section} "{within}"' if within else section
        usual = [name for name in FIELDS if name in names] if section == "field" else sorted(names)
        if names != usual:
            yield f"    order of {what}: {', '.join(names)}"
    for place, written in sorted(one.written.items(), key=lambda item: item[0].order):
        what = f'{place.section} "{place.within}"' if place.within else place.section
        if written.names and written.names != (place.what,):
            yield f"    {what}, {place.what}: {' + '.join(written.names)}"
        if place.section == "field":
            value = written.amounts[0]
            if "\n" not in value and f"{place.what}: {value}" != next(_place(one, place)):
                yield f"    {place.what}: {value}"
        elif not place.what.endswith(":") and _otherwise(place, written.amounts):
            yield f"    {what}, {place.what}: {', '.join(written.amounts)}"
    groups = [", ".join(group) for group in one.handling if len(group) > 1]
    yield from (f"    handling for: {group}" for group in groups)


def _otherwise(place: Place, amounts: tuple[str, ...]) -> bool:
    """Whether an amount has a unit, or is the sum of two lines."""
    summed = len(amounts) > 1 and place.section in ("base", "additions")
    return place.section in WEIGHED and (summed or any(" " in amount for amount in amounts))


def _other_comments(page: tree.Page) -> Iterator[str]:
    """The comments but for allowances that let something stand, which are told as such."""
    told = Counter(
        page.source.text[one.span.start : one.span.end]
        for one in allowances(page)
        if one.reason and one.line >= 0
    )
    for shown, comment in _comments(page):
        if told[comment]:
            told[comment] -= 1
        else:
            yield shown


def _comments(page: tree.Page) -> Iterator[tuple[str, str]]:
    """Each comment as it is shown, and as it is written."""
    for line in page.lead:
        if isinstance(line, tree.Remark):
            yield line.text, line.text
    for block in page.blocks:
        if not isinstance(block.head, tree.Unread) and block.head.comment is not None:
            yield block.head.comment.text, block.head.comment.text
        for line in block.lines:
            if isinstance(line, tree.Remark):
                yield line.text, line.text
            elif isinstance(line, (tree.Item, tree.Instruction, tree.Own)) and line.comment is not None:
                name = (
                    line.name.text
                    if isinstance(line, tree.Item)
                    else line.key.text
                    if isinstance(line, tree.Own)
                    else line.names[0].text
                )
                yield f"{name}: {line.comment.text}", line.comment.text
