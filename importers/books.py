"""What an import writes, and what of it the user is told."""

from __future__ import annotations

from decimal import Decimal
from typing import NamedTuple

from offcut.importers.open_amounts import OpenAmount
from offcut.importers.order_edits import ChangedOrder, Edit
from offcut.importers.postings import Booking
from offcut.importers.records import Order, Payment


class Difference(NamedTuple):
    """What was paid for an order and what was owed for it, which differ.

    Attributes:
      order: What to call the order: "Web order W1042".
      paid: What was paid.
      owed: What the lines came to, or what was still owed for them.
      currency: The currency of both.
      account: The account that has the difference.
    """

    order: str
    paid: Decimal
    owed: Decimal
    currency: str
    account: str


class Waiting(NamedTuple):
    """What waits in suspense for the lines of the orders that it paid."""

    payment: Payment
    amount: Decimal


class EditedOrder(NamedTuple):
    """An order whose lines changed, and of which the difference was booked.

    Attributes:
      edit: What changed.
      open: What the order has open now.
      account: Where that stands.
    """

    edit: Edit
    open: Decimal
    account: str


class Books(NamedTuple):
    """What there is to write.

    Attributes:
      bookings: The transactions, not sorted.
      differences: Orders whose payments and lines differ.
      waiting: Payments that wait in suspense for the lines of their order.
      accounts: The accounts that the transactions post to.
      edited: Orders whose edits are booked.
      changed: Orders that the ledger has otherwise, of which nothing is booked.
    """

    bookings: list[Booking]
    differences: list[Difference]
    waiting: list[Waiting]
    accounts: set[str]
    edited: list[EditedOrder]
    changed: list[ChangedOrder]


def where_open(amount: OpenAmount, record: Order | Payment) -> str:
    """Return the account in which what is open stands."""
    accounts = record.layout.accounts
    return accounts.suspense if amount.suspense else accounts.receivable


def note_difference(
    record: Order | Payment,
    paid: Decimal,
    owed: Decimal,
    amount: OpenAmount,
    books: Books,
) -> None:
    """Note what was paid for an order and what was owed for it, where they differ."""
    if paid == owed:
        return
    layout = record.layout
    several = isinstance(record, Payment) and len(record.orders) > 1
    books.differences.append(
        Difference(
            f"{layout.channel} {'orders' if several else 'order'} {record.number}",
            paid,
            owed,
            record.currency,
            where_open(amount, record),
        )
    )
