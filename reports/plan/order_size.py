"""Find how much to order at a time: what ordering costs against what keeping costs.

The economic order quantity: with `d` pieces a year, `k` for each order and `h` for keeping
a piece for a year, ordering and keeping cost `k * d / q + h * q / 2`, which is least at
`q = sqrt(2 * d * k / h)`. Over a table of price breaks, with the goods at each price, the
least cost of each step is at that quantity, or at the end of the step that is nearest.
"""

from __future__ import annotations

import decimal
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_FLOOR, Decimal

from offcut.importers.splitting import EXACT
from offcut.reports.plan.inputs import ONE, above_zero, not_negative
from offcut.reports.plan.newest_costs import GRAIN_OF_A_PIECE
from offcut.reports.plan.price_breaks import PriceBreak, PriceTable

# A root has no end: 28 digits, as Decimal's default context gives them, are far more
# than any demand is known to.
ROOTS = decimal.Context(prec=28)
TWO = Decimal(2)


@dataclass(frozen=True)
class OrderSize:
    """What one size of orders costs in a year.

    Attributes:
      demand: Pieces a year.
      order_cost: What each order costs, whatever its size.
      holding: What keeping a piece for a year costs.
      exact: The quantity at which ordering and keeping cost least, with its fraction.
      quantity: The whole pieces of an order.
      orders: Orders a year.
      ordering: What they cost in a year.
      keeping: What the stock costs in a year, which is half an order on average.
      goods: What the pieces of a year cost; zero where their price is the same anyhow.
      total: The three together.
      line: The line of the price table; None without one.
    """

    demand: Decimal
    order_cost: Decimal
    holding: Decimal
    exact: Decimal
    quantity: Decimal
    orders: Decimal
    ordering: Decimal
    keeping: Decimal
    goods: Decimal
    total: Decimal
    line: PriceBreak | None = None


@dataclass(frozen=True)
class OrderSizes:
    """The best size of orders for each step of a price table.

    Attributes:
      steps: The best of each line of the table.
      best: The one that costs least in all; of several, the smallest.
    """

    steps: tuple[OrderSize, ...]
    best: OrderSize


def order_size(demand: Decimal, order_cost: Decimal, holding: Decimal) -> OrderSize | None:
    """Return the economic order quantity.

    Args:
      demand: Pieces a year.
      order_cost: What each order costs, whatever its size.
      holding: What keeping a piece for a year costs.

    Returns:
      The best size in whole pieces; None where there is no demand.

    Raises:
      ValueError: The demand is below zero, or a cost not above it.
    """
    not_negative(demand, "The demand")
    above_zero(order_cost, "What an order costs")
    above_zero(holding, "What keeping a piece for a year costs")
    if not demand:
        return None
    exact = _root(demand, order_cost, holding)
    return min(
        (
            _size(demand, order_cost, holding, exact, quantity)
            for quantity in _whole_near(exact)
        ),
        key=lambda size: (_rank(size), size.quantity),
    )


def order_size_over_breaks(
    demand: Decimal,
    order_cost: Decimal,
    holding_rate: Decimal,
    prices: PriceTable,
) -> OrderSizes | None:
    """Return the order quantity with the least total cost over price breaks.

    Args:
      demand: Pieces a year.
      order_cost: What each order costs the maker, set-up and freight of the price table
        apart; zero where that is nothing.
      holding_rate: What keeping a piece for a year costs, as a share of its unit price.
      prices: The price table; its prices are for all pieces of an order.

    Returns:
      The best sizes; None where there is no demand.

    Raises:
      ValueError: The demand or a cost is below zero, the rate not above it, or an order
        costs nothing at all.
    """
    not_negative(demand, "The demand")
    not_negative(order_cost, "What an order costs")
    above_zero(holding_rate, "What keeping a piece costs, as a share of its price,")
    if not demand:
        return None
    steps = []
    for at, line in enumerate(prices.breaks):
        holding = EXACT.multiply(holding_rate, line.unit_price)
        fixed = EXACT.add(order_cost, line.fixed)
        above_zero(fixed, f"What an order from {line.minimum} pieces on costs besides them")
        exact = _root(demand, fixed, holding)
        end = prices.upper_end(at)
        within = {
            max(quantity, line.minimum)
            if end is None
            else min(max(quantity, line.minimum), end - 1)
            for quantity in _whole_near(exact)
        }
        sizes = [
            _size(demand, fixed, holding, exact, quantity, line) for quantity in within
        ]
        steps.append(min(sizes, key=lambda size: (_rank(size), size.quantity)))
    best = min(steps, key=lambda size: (_rank(size), size.quantity))
    return OrderSizes(tuple(steps), best)


def _root(demand: Decimal, order_cost: Decimal, holding: Decimal) -> Decimal:
    """Return the quantity at which ordering and keeping cost the same, and least."""
    with decimal.localcontext(ROOTS):
        return (TWO * demand * order_cost / holding).sqrt()


def _whole_near(exact: Decimal) -> Iterator[Decimal]:
    """Yield the whole numbers of pieces on both sides of a quantity."""
    below = exact.quantize(ONE, ROUND_FLOOR, context=EXACT)
    yield max(below, ONE)
    yield below + 1


def _size(
    demand: Decimal,
    order_cost: Decimal,
    holding: Decimal,
    exact: Decimal,
    quantity: Decimal,
    line: PriceBreak | None = None,
) -> OrderSize:
    """Return what a size of orders costs."""
    with decimal.localcontext(EXACT):
        orders = (demand / quantity).quantize(GRAIN_OF_A_PIECE)
        ordering = (order_cost * demand / quantity).quantize(GRAIN_OF_A_PIECE)
        keeping = holding * quantity / TWO
        goods = demand * line.unit_price if line else Decimal(0)
        return OrderSize(
            demand=demand,
            order_cost=order_cost,
            holding=holding,
            exact=exact,
            quantity=quantity,
            orders=orders,
            ordering=ordering,
            keeping=keeping,
            goods=goods,
            total=ordering + keeping + goods,
            line=line,
        )


def _rank(size: OrderSize) -> Decimal:
    """Return what a size costs, with nothing rounded, to compare sizes by."""
    with decimal.localcontext(EXACT):
        ordering = size.order_cost * size.demand / size.quantity
        return ordering + size.keeping + size.goods
