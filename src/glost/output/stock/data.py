"""The stock for programs: JSON as schema/stock.schema.json has it, and a table for a spreadsheet."""

from __future__ import annotations

from decimal import Decimal
from typing import Any, Final

from glost.language.csv_cells import guarded, record_of
from glost.language.exact_json import written
from glost.output.batch.figures import to_places
from glost.output.stock.report import Order, Report
from glost.recipe.money import Money
from glost.records.prices import Found
from glost.records.stock import Held

VERSION: Final = 1
KIND: Final = "glost stock"
_COLUMNS: Final = (
    "day",
    "material",
    "counted",
    "counted_g",
    "delivered_g",
    "used_g",
    "planned_g",
    "on_hand_g",
    "month_g",
    "runs_out",
    "order_below_g",
    "order_g",
    "order_cost",
    "currency",
)


def as_csv(made: Report) -> str:
    """A row a material. An empty cell is what is not known, never 0. Line ends are CR LF."""
    orders = {one.material: one for one in made.orders}
    rows = [record_of(_COLUMNS)]
    for one in made.stock.held:
        order = orders.get(one.material)
        cost = order.cost if order else None
        rows.append(
            record_of(
                (
                    f"{made.stock.day}",
                    guarded(one.material),
                    f"{one.count.day}" if one.count else "",
                    _cell(one.count.mass_g if one.count else None),
                    _cell(one.delivered_g),
                    _cell(one.used_g),
                    _cell(one.planned_g),
                    _cell(one.on_hand_g),
                    _cell(to_places(one.month_g, 6)),
                    f"{one.runs_out or ''}",
                    _cell(one.order_below_g),
                    _cell(one.order_g),
                    _cell(cost.rounded if cost else None),
                    cost.currency if cost else "",
                )
            )
        )
    return "".join(rows)


def _cell(mass: Decimal | None) -> str:
    return "" if mass is None else f"{mass:f}"


def as_json(made: Report) -> str:
    """One document."""
    stock = made.stock
    return (
        written(
            {
                "version": VERSION,
                "kind": KIND,
                "day": str(stock.day),
                "last_day_of_log": stock.by_log,
                "months": stock.months,
                "use_from": None if stock.since is None else str(stock.since),
                "use_days": stock.days,
                "records": stock.records - stock.left_out,
                "left_out": stock.left_out,
                "materials": [_held(one) for one in stock.held],
                "orders": [_order(one) for one in made.orders],
                "orders_cost": [money_data(one) for one in made.cost],
                "orders_unpriced": list(made.unpriced),
            }
        )
        + "\n"
    )


def money_data(money: Money) -> dict[str, Any]:
    """An amount rounded once, as every schema has it."""
    return {"amount": money.rounded, "currency": money.currency}


def price_data(found: Found | None) -> dict[str, Any] | None:
    """A price of a kilogram, as every schema has it: to six decimals, since it is no amount that is paid."""
    if found is None:
        return None
    per_kg = found.per_kg
    return {"per_kg": to_places(per_kg.amount, 6), "currency": per_kg.currency, "source": found.source}


def _held(one: Held) -> dict[str, Any]:
    count, disagreement = one.count, one.disagreement
    return {
        "material": one.material,
        "in_catalogue": one.known,
        "count": None
        if count is None
        else {"day": str(count.day), "mass_g": count.mass_g, "differs_g": count.differs_g},
        "disagreement": None
        if disagreement is None
        else {"day": str(disagreement.day), "masses_g": list(disagreement.masses_g)},
        "delivered_g": one.delivered_g,
        "used_g": one.used_g,
        "planned_g": one.planned_g,
        "on_hand_g": one.on_hand_g,
        "month_g": to_places(one.month_g, 6),
        "runs_out": None if one.runs_out is None else str(one.runs_out),
        "order_below_g": one.order_below_g,
        "order_g": one.order_g,
    }


def _order(one: Order) -> dict[str, Any]:
    return {
        "material": one.material,
        "mass_g": one.grams,
        "price": price_data(one.price),
        "cost": None if one.cost is None else money_data(one.cost),
    }
