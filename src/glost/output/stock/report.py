"""What the report on the stock holds: the stock itself, and what it takes to fill it up."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import NamedTuple

from glost.recipe.money import Money, sums_of
from glost.records.prices import Found, Prices
from glost.records.stock import Held, Stock


class Order(NamedTuple):
    """What to order of a material; ``price`` None: there is none on record."""

    material: str
    grams: Decimal
    price: Found | None

    @property
    def cost(self) -> Money | None:
        return self.price and self.price.of(self.grams)


class Report(NamedTuple):
    """The stock, and the orders that it asks for. ``cost``: of those with a price, exact, a sum a currency."""

    stock: Stock
    orders: tuple[Order, ...]

    @property
    def cost(self) -> tuple[Money, ...]:
        return sums_of(one.cost for one in self.orders if one.cost is not None)

    @property
    def unpriced(self) -> tuple[str, ...]:
        return tuple(one.material for one in self.orders if one.price is None)

    @property
    def wrong(self) -> tuple[Held, ...]:
        """Those of which the log cannot be right: counts that do not agree, more weighed than there was."""
        return tuple(
            one
            for one in self.stock.held
            if one.disagreement is not None or (one.on_hand_g is not None and one.on_hand_g < 0)
        )


def report(stock: Stock, prices: Prices) -> Report:
    return Report(stock, tuple(_orders(stock.held, stock, prices)))


def _orders(held: Iterable[Held], stock: Stock, prices: Prices) -> Iterable[Order]:
    for one in held:
        if one.order_g:
            yield Order(one.material, one.order_g, prices.of(one.material, stock.day))
