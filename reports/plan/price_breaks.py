"""Read a manufacturer's price table: what a number of pieces costs to order.

    from   1 piece    1.20 each
    from 100 pieces   0.80 each
    from 500 pieces   0.55 each, set-up 25.00, freight 18.00

The first line's pieces are the minimum: who needs fewer orders as many. Who needs 90
orders 100, where that costs less.
"""

from __future__ import annotations

import decimal
from dataclasses import dataclass
from decimal import Decimal
from typing import NamedTuple

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.plan.inputs import above_zero, not_negative, whole_above_zero


class PriceBreak(NamedTuple):
    """A line of a price table.

    Attributes:
      minimum: The pieces from which on it holds.
      unit_price: What each of all the pieces of an order costs.
      setup: What an order costs besides, whatever its size.
      freight: What its carriage costs.
    """

    minimum: Decimal
    unit_price: Decimal
    setup: Decimal = ZERO
    freight: Decimal = ZERO

    @property
    def fixed(self) -> Decimal:
        """What an order costs besides its pieces."""
        return self.setup + self.freight

    def cost(self, pieces: Decimal) -> Decimal:
        """Return what an order of pieces costs by this line."""
        return EXACT.add(self.fixed, EXACT.multiply(self.unit_price, pieces))


@dataclass(frozen=True)
class PriceTable:
    """A manufacturer's prices for one product.

    Attributes:
      breaks: Its lines, by pieces.

    Raises:
      ValueError: There are no lines, their pieces do not increase, or a price is none.
    """

    breaks: tuple[PriceBreak, ...]

    def __post_init__(self) -> None:
        if not self.breaks:
            raise ValueError(
                "The price table is empty; it needs a minimum and a unit price at least"
            )
        before = ZERO
        for line in self.breaks:
            whole_above_zero(line.minimum, "The pieces of a line of the price table")
            if line.minimum <= before:
                raise ValueError(
                    "The pieces of a price table must increase from line to line, but "
                    f"{line.minimum} comes after {before}"
                )
            before = line.minimum
            above_zero(line.unit_price, f"The unit price from {line.minimum} pieces on")
            not_negative(line.setup, f"The set-up from {line.minimum} pieces on")
            not_negative(line.freight, f"The freight from {line.minimum} pieces on")

    @property
    def minimum(self) -> Decimal:
        """The fewest pieces that can be ordered."""
        return self.breaks[0].minimum

    def upper_end(self, at: int) -> Decimal | None:
        """Return the pieces from which on the line after one holds; None for the last."""
        return self.breaks[at + 1].minimum if at + 1 < len(self.breaks) else None


@dataclass(frozen=True)
class Purchase:
    """The cheapest order that brings a number of pieces.

    Attributes:
      wanted: The pieces that are needed.
      ordered: The pieces that are ordered; more, for the minimum or a better price.
      line: The line of the price table that it is ordered by.
      goods: What the pieces cost.
      total: That, with set-up and freight.
    """

    wanted: Decimal
    ordered: Decimal
    line: PriceBreak
    goods: Decimal
    total: Decimal

    @property
    def beyond(self) -> Decimal:
        """The pieces that nobody asked for."""
        return self.ordered - self.wanted

    @property
    def for_each_ordered(self) -> Decimal:
        """What a piece of the order costs, set-up and freight included."""
        return self.total / self.ordered

    @property
    def for_each_wanted(self) -> Decimal:
        """What a piece that is needed costs, if the others are worth nothing."""
        return self.total / self.wanted


def purchase(prices: PriceTable, wanted: Decimal) -> Purchase:
    """Return the cheapest order that brings a number of pieces at least.

    Args:
      prices: The price table.
      wanted: The pieces that are needed.

    Returns:
      The order; of several that cost the same, the smallest.

    Raises:
      ValueError: The pieces are not a whole number of one or more.
    """
    whole_above_zero(wanted, "The pieces to order")
    with decimal.localcontext(EXACT):
        orders = []
        for at, line in enumerate(prices.breaks):
            end = prices.upper_end(at)
            if end is None or wanted < end:
                orders.append((line, max(wanted, line.minimum)))
        line, ordered = min(orders, key=lambda order: (order[0].cost(order[1]), order[1]))
        return Purchase(
            wanted, ordered, line, line.unit_price * ordered, line.cost(ordered)
        )
