"""What refunds that name no item give back: a sale, what was paid ahead, or too much.

A file says how much was refunded of an order, and mostly no more. What it is a refund of
follows from totals only, and not from what came first, so that files may be imported in
any order. Of the refunds of an order, or of orders that were paid together:

- where all lines are known and paid in full without counting the refunds, what was paid
  too much goes back first; the rest is a refund of the sale;
- before the lines are known, and while they are not paid in full, what was paid ahead of
  delivery goes back first, up to all of it; the rest is a refund of the sale;
- where the order's own lines say what was cancelled, they are the refund.

The sales tax in a refund of a sale goes back to the account that has it:

- what the row itself says is taken as it is; of tax that the maker owes at most what the
  order's lines have, once they are known. A row that says nothing, or nought, says none;
- of the other rows it is the part of the lines' tax that the refund is of the lines'
  total, rounded to the coin (halves up). It is worked out from the sum of all refunds, so
  that the last one takes the rest, and a refund of the whole order gives back all tax;
- without lines that have tax there is none, but for what the row says.

Where a refund is in part of the sale, the rows that do not say their tax are first of
what was paid ahead or too much.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from decimal import ROUND_HALF_UP, Decimal
from typing import NamedTuple

from offcut.importers.values import ZERO


@dataclasses.dataclass(slots=True)
class OrderTotals:
    """What one order comes to in one currency.

    Attributes:
      lines: What its lines come to, tax and shipping included; None before they come.
      tax: The sales tax among them that the maker owes.
      charged: The sales tax among them that the marketplace pays over.
      refunds: What was refunded without saying for which item.
      saying: The refunds among them whose rows say their tax.
      said_tax: The tax that these rows say, as the maker owes it.
      said_kept: The tax that they say the marketplace gave back.
      returns: Whether cancelled lines, or an edit that made it less, are the refund.
    """

    lines: Decimal | None = None
    tax: Decimal = ZERO
    charged: Decimal = ZERO
    refunds: Decimal = ZERO
    saying: Decimal = ZERO
    said_tax: Decimal = ZERO
    said_kept: Decimal = ZERO
    returns: bool = False

    def refund(self, amount: Decimal, tax: Decimal, kept: Decimal) -> None:
        """Take in a refund, with the tax that its row says is in it."""
        self.refunds += amount
        if tax or kept:
            self.saying += amount
            self.said_tax += tax
            self.said_kept += kept


class Shares(NamedTuple):
    """What of the refunds is of the sale, by the account that it stands in.

    Attributes:
      refunds: In the account of refunds.
      tax: In that of the sales tax that the maker owes.
      kept: In that of the sales tax that the marketplace pays over.
    """

    refunds: Decimal
    tax: Decimal
    kept: Decimal


NOTHING = Shares(ZERO, ZERO, ZERO)


def refund_shares(
    orders: Mapping[str, OrderTotals],
    owed: Decimal,
    ahead: Decimal,
    is_plugged: bool,
    coin: Decimal,
) -> Shares:
    """Return what of refunds is of the sale.

    Args:
      orders: The orders that were paid together, or the one, by their keys.
      owed: What is owed without these refunds; negative where more was paid.
      ahead: What was paid ahead of delivery.
      is_plugged: Whether the lines do not say the tax that the marketplace kept back:
        then it is neither paid nor refunded.
      coin: The smallest coin of the currency.
    """
    loose = [
        each for _, each in sorted(orders.items()) if each.refunds and not each.returns
    ]
    if not loose:
        return NOTHING
    amounts = [each.refunds - (each.said_kept if is_plugged else ZERO) for each in loose]
    complete = all(each.lines is not None for each in orders.values())
    left = max(-owed if complete and owed <= 0 else ahead, ZERO)
    shares = []
    for order, amount in zip(loose, amounts, strict=True):
        elsewhere = min(max(amount, ZERO), left)
        left -= elsewhere
        shares.append(_of_order(order, amount, elsewhere, is_plugged, coin))
    refunds, tax, kept = map(sum, zip(*shares, strict=True))
    return Shares(Decimal(refunds), Decimal(tax), Decimal(kept))


def _of_order(
    order: OrderTotals, amount: Decimal, elsewhere: Decimal, is_plugged: bool, coin: Decimal
) -> Shares:
    """Return what of one order's refunds is of the sale.

    Args:
      order: The order.
      amount: What was refunded.
      elsewhere: The part of it that goes against what was paid ahead or too much.
      is_plugged: As in `refund_shares`.
      coin: Likewise.
    """
    of_sale = amount - elsewhere
    said = order.saying - (order.said_kept if is_plugged else ZERO)
    unsaid = amount - said
    of_unsaid = min(elsewhere, max(unsaid, ZERO))
    said_tax, said_kept = order.said_tax, order.said_kept
    if of_said := elsewhere - of_unsaid:
        rest = (said - of_said) / said
        said_tax = _rounded(said_tax * rest, coin)
        said_kept = said_kept if is_plugged else _rounded(said_kept * rest, coin)
    unsaid -= of_unsaid
    if order.lines is not None and said_tax > 0:
        said_tax = min(said_tax, max(order.tax, ZERO))
    parts = (order.lines, unsaid, of_sale, coin)
    tax = said_tax + _in_proportion(order.tax - said_tax, order.tax, *parts)
    kept = said_kept
    if not is_plugged:
        kept += _in_proportion(order.charged - said_kept, order.charged, *parts)
    return Shares(of_sale - tax - (ZERO if is_plugged else kept), tax, kept)


def _in_proportion(
    rest: Decimal,
    tax: Decimal,
    lines: Decimal | None,
    unsaid: Decimal,
    of_sale: Decimal,
    coin: Decimal,
) -> Decimal:
    """Return the tax in refunds whose rows do not say it.

    Args:
      rest: The lines' tax without what other refunds say of it.
      tax: The lines' tax.
      lines: What the lines come to.
      unsaid: These refunds.
      of_sale: All refunds.
      coin: The smallest coin of the currency.
    """
    if lines is None or lines <= 0 or unsaid <= 0 or rest <= 0:
        return ZERO
    if of_sale >= lines:
        return rest
    return min(rest, _rounded(tax * unsaid / lines, coin))


def _rounded(amount: Decimal, coin: Decimal) -> Decimal:
    return amount.quantize(coin, ROUND_HALF_UP)
