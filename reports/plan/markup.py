"""Set a cost and a price side by side: markup on the cost, margin on the price.

A markup of all of the cost is a margin of half of the price: `margin = m / (1 + m)`.
"""

from __future__ import annotations

import decimal
from decimal import Decimal

from offcut.importers.splitting import EXACT
from offcut.reports.plan.inputs import ONE, above_zero, not_negative
from offcut.reports.plan.newest_costs import fine


def markup(cost: Decimal, price: Decimal) -> Decimal:
    """Return what a price adds to a cost, as a share of the cost.

    Args:
      cost: A cost.
      price: A price.

    Raises:
      ValueError: The cost is not more than zero.
    """
    above_zero(cost, "A cost to mark up")
    return _share(price - cost, cost)


def margin(cost: Decimal, price: Decimal) -> Decimal:
    """Return what is left of a price after a cost, as a share of the price.

    Args:
      cost: A cost.
      price: A price.

    Raises:
      ValueError: The price is not more than zero.
    """
    above_zero(price, "A price")
    return _share(price - cost, price)


def marked_up(cost: Decimal, by: Decimal) -> Decimal:
    """Return the price that adds a share of a cost to it, not rounded.

    Args:
      cost: A cost.
      by: The markup: 0.15 for 15 %.

    Raises:
      ValueError: The cost or the markup is below zero.
    """
    not_negative(cost, "A cost to mark up")
    not_negative(by, "A markup")
    return EXACT.multiply(cost, EXACT.add(ONE, by))


def cost_within(price: Decimal, by: Decimal) -> Decimal:
    """Return the most that a piece may cost so that a price holds a markup.

    Args:
      price: A price.
      by: The markup: 0.15 for 15 %.

    Raises:
      ValueError: The price is not more than zero, or the markup below it.
    """
    above_zero(price, "A price")
    not_negative(by, "A markup")
    with decimal.localcontext(EXACT):
        return fine(price / (ONE + by))


def _share(part: Decimal, whole: Decimal) -> Decimal:
    return fine(EXACT.divide(part, whole))
