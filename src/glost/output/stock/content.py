"""The stock as a report."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction

from glost.output.model import Column, Entries, Entry, Heading, Node, Paragraph, Row, Table
from glost.output.stock.report import Report
from glost.recipe.money import told_sums
from glost.records.stock import Held
from glost.weighing.rounding import exact_sum, plain, significant


def content(made: Report) -> Iterator[Node]:
    """The whole report."""
    stock = made.stock
    yield Heading(f"Stock at the end of {stock.day}{', the last day of the log' if stock.by_log else ''}", 1)
    yield from (Paragraph(text, "attention") for text in _wrong(made))
    if stock.since is not None:
        days = _many(stock.days, "day")
        yield Paragraph(
            f"A month is 30 days. Its use is taken from what was weighed from {stock.since} to {stock.day}, {days}."
            + (" So few days make it uncertain." if stock.days < 30 else "")
        )
    else:
        yield Paragraph("No batch was weighed up to that day, so that nothing is known of a month's use.")
    if stock.left_out:
        yield Paragraph(f"Left out: {_many(stock.left_out, 'record')} of later days.")
    counted = [one for one in stock.held if one.on_hand_g is not None]
    yield Heading("On hand")
    if not counted:
        yield Paragraph("Nothing was counted.")
    yield Table(
        [
            Column("material"),
            Column("on hand g", True, strong=True),
            Column("a month g", True),
            Column("lasts to"),
            Column("counted"),
            Column("since then g", True),
        ],
        [Row(_cells(one)) for one in counted],
    )
    yield from _uncounted(made)
    yield from _order(made)
    yield from _remarks(made)


def _wrong(made: Report) -> Iterator[str]:
    for one in made.wrong:
        if one.disagreement is not None:
            masses = " and ".join(f"{mass:f} g" for mass in one.disagreement.masses_g)
            yield (
                f"{one.material}: the counts of {one.disagreement.day} do not agree: {masses}; take the wrong one out"
                " of the log, or count it anew"
            )
        elif one.on_hand_g is not None:
            yield (
                f"{one.material}: {-one.on_hand_g:f} g more were weighed than there was; count it, or write down the"
                " delivery that is missing"
            )


def _cells(one: Held) -> tuple[str, ...]:
    assert one.on_hand_g is not None
    assert one.count is not None
    since = exact_sum((one.delivered_g, -one.used_g))
    return (
        one.material,
        _grams(one.on_hand_g),
        _about(one.month_g),
        _lasts(one),
        f"{one.count.day}",
        f"{plain(since):+f}" if since else "",
    )


def _lasts(one: Held) -> str:
    if one.on_hand_g is not None and one.on_hand_g <= 0:
        return "see above" if one.on_hand_g else "none left"
    if not one.month_g:
        return "not used"
    return f"{one.runs_out}" if one.runs_out else "years"


def _many(number: int | Decimal, word: str) -> str:
    return f"{number} {word}{'s' if number != 1 else ''}"


def _grams(mass: Decimal) -> str:
    return f"{plain(mass):f}"


def _about(mass: Fraction) -> str:
    return f"{significant(mass, 3):f}" if mass else ""


def _uncounted(made: Report) -> Iterator[Node]:
    rows = [one for one in made.stock.held if one.on_hand_g is None]
    if not rows:
        return
    yield Heading("Not known, since no count says")
    yield Entries([Entry(_known_of(one), one.material) for one in rows])


def _known_of(one: Held) -> str:
    if one.disagreement is not None:
        return "the counts of one day do not agree, see above"
    parts = []
    if one.delivered_g:
        parts.append(f"{_grams(one.delivered_g)} g came")
    if one.used_g:
        parts.append(f"{_grams(one.used_g)} g were weighed")
    told = " and ".join(parts) or "nothing came and nothing was weighed"
    missing = "" if one.known else "; not in the catalogue"
    return f"{told}{missing}"


def _order(made: Report) -> Iterator[Node]:
    months = made.stock.months
    yield Heading("To order")
    if not made.orders:
        yield Paragraph(f"What was counted lasts {_many(months, 'month')}, as far as this can say.")
        return
    yield Paragraph(
        f"So that it lasts {_many(months, 'month')}, and to the least that is to be kept; whole grams."
    )
    yield Table(
        [
            Column("material"),
            Column("order g", True, strong=True),
            Column("a kg"),
            Column("costs"),
            Column("price from"),
        ],
        [
            Row(
                (
                    one.material,
                    f"{one.grams:f}",
                    one.price.per_kg.told if one.price else "",
                    one.cost.told if one.cost else "no price",
                    one.price.source if one.price else "",
                )
            )
            for one in made.orders
        ],
    )
    told = told_sums(made.cost)
    if told:
        yield Paragraph(told, lead="Together without what has no price" if made.unpriced else "Together")
    if made.unpriced:
        yield Paragraph(f"No price is on record for {', '.join(made.unpriced)}.")


def _remarks(made: Report) -> Iterator[Node]:
    rows = []
    for one in made.stock.held:
        if one.count is not None and one.count.differs_g:
            differs = one.count.differs_g
            way = "above" if differs > 0 else "below"
            rows.append(
                Entry(
                    f"the count of {one.count.day} lies {_grams(abs(differs))} g {way} what the log made of the count"
                    " before it",
                    one.material,
                )
            )
        if one.planned_g:
            rows.append(
                Entry(
                    f"{_grams(one.planned_g)} g of its use are targets without a weighed mass", one.material
                )
            )
    if rows:
        yield Heading("To know")
        yield Entries(rows)
