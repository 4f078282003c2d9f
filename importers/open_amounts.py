"""What orders owe, or are owed, and which account it stands in: one rule for all cases.

The rule looks at totals only, and not at what came first, so that files may be imported
in any order. For one order, in one currency, with the lines of the order that are known
and the payments that are known:

- what the lines come to and is not paid yet is in the *receivable* account (where the
  lines come to less than nothing, as those of a cancelled order do, what the buyer is to
  get back);
- what is paid beyond that is in *suspense*: the lines are not there yet, or differ;
- a *deposit* is a liability, and no suspense, until the order's lines come: they take it;
- sales tax that a marketplace has kept back, of an order whose lines do not say any tax,
  is taken for a charge of the order of its own (the *plug*), and leaves nothing open;
- what a refund gives back of it is no refund of the sale, and stands where that stood:
  `refund_shares` says how much that is, and what tax is in the rest.

Orders that were paid together are one in this: what one of them owes, the payment that
they share may have paid.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from decimal import Decimal
from typing import NamedTuple

from offcut.importers.refund_shares import NOTHING, OrderTotals, Shares, refund_shares
from offcut.importers.splitting import CENT
from offcut.importers.values import ZERO


@dataclasses.dataclass(slots=True)
class OpenAmount:
    """What an order, or orders that were paid together, have open in one currency.

    Attributes:
      receivable: The balance of the receivable account.
      suspense: The balance of the suspense account, unknown items aside.
      deposits: The balance of the account of deposits.
      remitted: What payments say that the marketplace kept back of them as tax.
      plug: What the account of remitted tax has of it for want of a tax in the lines.
      ahead: What was paid ahead of delivery, taken or not.
      refunds: What the account of refunds has of refunds that name no item.
      refund_tax: What the account of sales tax has of them.
      refund_kept: What the account of remitted tax has of them.
      orders: What each order comes to.
    """

    receivable: Decimal = ZERO
    suspense: Decimal = ZERO
    deposits: Decimal = ZERO
    remitted: Decimal = ZERO
    plug: Decimal = ZERO
    ahead: Decimal = ZERO
    refunds: Decimal = ZERO
    refund_tax: Decimal = ZERO
    refund_kept: Decimal = ZERO
    orders: dict[str, OrderTotals] = dataclasses.field(default_factory=dict)

    @property
    def total(self) -> Decimal:
        """What is owed; negative where more was paid than is owed."""
        return self.receivable + self.suspense + self.deposits

    @property
    def lines(self) -> Decimal | None:
        """What the lines come to, tax and shipping included; None before any come."""
        known = [each.lines for each in self.orders.values() if each.lines is not None]
        return sum(known, ZERO) if known else None

    @property
    def tax(self) -> Decimal:
        """The sales tax among the lines."""
        return sum([each.tax + each.charged for each in self.orders.values()], ZERO)

    @property
    def has_refunds(self) -> bool:
        """Whether there are refunds that name no item, or postings about them."""
        if self.refunds or self.refund_tax or self.refund_kept:
            return True
        return any(each.refunds for each in self.orders.values())

    @property
    def given_back(self) -> Decimal:
        """What refunds gave back that is not booked as one of the sale."""
        refunded = sum([each.refunds for each in self.orders.values()], ZERO)
        return refunded - self.refunds - self.refund_tax - self.refund_kept

    def of(self, order: str) -> OrderTotals:
        """Return what an order comes to."""
        if order not in self.orders:
            self.orders[order] = OrderTotals()
        return self.orders[order]

    def add(self, other: OpenAmount) -> None:
        """Take in what other orders have open."""
        for field in dataclasses.fields(self):
            if field.name != "orders":
                both = getattr(self, field.name) + getattr(other, field.name)
                setattr(self, field.name, both)
        self.orders.update(other.orders)

    def copy(self) -> OpenAmount:
        """Return one that can be changed apart from this one."""
        orders = {key: dataclasses.replace(each) for key, each in self.orders.items()}
        return dataclasses.replace(self, orders=orders)


class Lines(NamedTuple):
    """New lines of an order.

    Attributes:
      owed: What they come to.
      tax: The sales tax among them that the maker owes.
      charged: The sales tax among them that the marketplace pays over.
      returns: Whether cancelled ones are among them, or they make the order less.
    """

    owed: Decimal
    tax: Decimal = ZERO
    charged: Decimal = ZERO
    returns: bool = False


class Refund(NamedTuple):
    """Money that went back to a buyer.

    Attributes:
      amount: How much, the tax in it included.
      tax: The tax in it that its row says and the maker owed.
      kept: The tax in it that its row says and the marketplace gave back.
    """

    amount: Decimal
    tax: Decimal = ZERO
    kept: Decimal = ZERO


class Settled(NamedTuple):
    """What a transaction posts to the accounts of what is open, and of refunds."""

    receivable: Decimal
    suspense: Decimal
    deposits: Decimal
    plug: Decimal
    refunds: Decimal = ZERO
    refund_tax: Decimal = ZERO
    refund_kept: Decimal = ZERO

    @property
    def is_open(self) -> bool:
        """Whether it changes what is owed or was paid beyond that."""
        return bool(self.receivable or self.suspense or self.deposits)


def settle(
    amount: OpenAmount,
    orders: Sequence[str] = ("",),
    *,
    lines: Lines | None = None,
    paid: Decimal = ZERO,
    remitted: Decimal = ZERO,
    deposit: Decimal = ZERO,
    refund: Refund | None = None,
    coin: Decimal = CENT,
) -> Settled:
    """Bring what is open up to date, and return what changes in each account.

    The changes balance the transaction: they come to what new lines come to, less `paid`
    and `deposit`, and to what was refunded.

    Args:
      amount: What was open before; it is changed.
      orders: The keys of the orders that it is about; of lines and a refund, of one.
      lines: New lines.
      paid: What was paid.
      remitted: What the marketplace kept back of it, or gave back, as tax.
      deposit: What was paid ahead of delivery.
      refund: What was refunded.
      coin: The smallest coin of the currency.
    """
    given_back = amount.given_back if amount.has_refunds else ZERO
    owed = amount.total - given_back
    first, *_ = [amount.of(order) for order in orders]
    if lines:
        first.lines = (first.lines or ZERO) + lines.owed
        first.tax += lines.tax
        first.charged += lines.charged
        first.returns = first.returns or lines.returns
        owed += lines.owed
    if refund:
        first.refund(*refund)
    amount.remitted += remitted
    amount.ahead += deposit
    known = amount.lines
    is_plugged = known is not None and not amount.tax
    plug = ZERO - amount.remitted if is_plugged else ZERO
    shares = NOTHING
    if amount.has_refunds:
        returned = [each for each in amount.orders.values() if each.returns]
        if is_plugged:
            plug += sum([each.said_kept for each in returned], ZERO)
        with_returns = owed - paid - deposit - plug + amount.plug
        with_returns += sum([each.refunds for each in returned], ZERO)
        orders_now = amount.orders
        shares = refund_shares(orders_now, with_returns, amount.ahead, is_plugged, coin)
    of_refunds = Shares(
        shares.refunds - amount.refunds,
        shares.tax - amount.refund_tax,
        shares.kept - amount.refund_kept,
    )
    amount.refunds, amount.refund_tax, amount.refund_kept = shares
    given_back_now = amount.given_back if amount.has_refunds else ZERO

    total = owed - paid - deposit - plug + amount.plug + given_back_now
    deposits = ZERO
    if known is None:
        deposits = amount.deposits + given_back_now - given_back - deposit
    rest = total - deposits
    owed_back = known is not None and known < 0
    receivable = min(rest, ZERO) if owed_back else max(rest, ZERO)
    suspense = rest - receivable
    changes = Settled(
        receivable - amount.receivable,
        suspense - amount.suspense,
        deposits - amount.deposits,
        plug - amount.plug,
        *of_refunds,
    )
    amount.receivable, amount.suspense = receivable, suspense
    amount.deposits, amount.plug = deposits, plug
    return changes
