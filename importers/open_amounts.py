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
  is taken for a charge of the order of its own (the *plug*), and leaves nothing open.

Orders that were paid together are one in this: what one of them owes, the payment that
they share may have paid.
"""

from __future__ import annotations

import dataclasses
from decimal import Decimal
from typing import NamedTuple

from offcut.importers.values import ZERO


@dataclasses.dataclass(slots=True)
class OpenAmount:
    """What an order, or orders that were paid together, have open in one currency.

    Attributes:
      receivable: The balance of the receivable account.
      suspense: The balance of the suspense account, unknown items aside.
      deposits: The balance of the account of deposits.
      lines: What the lines come to, tax and shipping included; None before they come.
      tax: The sales tax among them.
      remitted: What payments say that the marketplace kept back of them as tax.
      plug: What the account of remitted tax has of it for want of a tax in the lines.
    """

    receivable: Decimal = ZERO
    suspense: Decimal = ZERO
    deposits: Decimal = ZERO
    lines: Decimal | None = None
    tax: Decimal = ZERO
    remitted: Decimal = ZERO
    plug: Decimal = ZERO

    @property
    def total(self) -> Decimal:
        """What is owed; negative where more was paid than is owed."""
        return self.receivable + self.suspense + self.deposits

    def add(self, other: OpenAmount) -> None:
        """Take in what other orders have open."""
        self.receivable += other.receivable
        self.suspense += other.suspense
        self.deposits += other.deposits
        if other.lines is not None:
            self.lines = (self.lines or ZERO) + other.lines
        self.tax += other.tax
        self.remitted += other.remitted
        self.plug += other.plug


class Settled(NamedTuple):
    """What a transaction posts to the accounts of what is open."""

    receivable: Decimal
    suspense: Decimal
    deposits: Decimal
    plug: Decimal


def settle(
    amount: OpenAmount,
    *,
    lines: Decimal | None = None,
    tax: Decimal = ZERO,
    paid: Decimal = ZERO,
    remitted: Decimal = ZERO,
    deposit: Decimal = ZERO,
) -> Settled:
    """Bring what is open up to date, and return what changes in each account.

    The changes balance the transaction: they come to `lines` less `paid` and `deposit`.

    Args:
      amount: What was open before; it is changed.
      lines: What new lines come to; None where there are none.
      tax: The sales tax among them.
      paid: What was paid, or taken out for refunds that the lines stand for.
      remitted: The part of it that the marketplace kept back as tax.
      deposit: What was paid ahead of delivery.
    """
    if lines is not None:
        amount.lines = (amount.lines or ZERO) + lines
    amount.tax += tax
    amount.remitted += remitted
    known = amount.lines is not None
    plug = ZERO - amount.remitted if known and not amount.tax else ZERO
    total = amount.total + (lines or ZERO) - paid - deposit - (plug - amount.plug)
    deposits = ZERO if known else amount.deposits - deposit
    rest = total - deposits
    owed_back = amount.lines is not None and amount.lines < 0
    receivable = min(rest, ZERO) if owed_back else max(rest, ZERO)
    suspense = rest - receivable
    changes = Settled(
        receivable - amount.receivable,
        suspense - amount.suspense,
        deposits - amount.deposits,
        plug - amount.plug,
    )
    amount.receivable, amount.suspense = receivable, suspense
    amount.deposits, amount.plug = deposits, plug
    return changes
