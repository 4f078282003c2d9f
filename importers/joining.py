"""Join payments and orders on the order's number, and decide what to book.

Files come in any order and overlap, so each half of an order must find the other one
wherever it is:

- lines and a payment together make one transaction;
- lines alone are owed by the buyer: the receivable account holds their total;
- a payment closes what its order owes; a payment whose lines are not known waits in
  the suspense account;
- lines that come after their payment take it from the suspense account;
- what a payment and its lines differ by stays in the suspense account.

Whatever the order of the imports, every account comes to the same balance. A refund is
booked as a refund; where the order's own lines say what was cancelled, they are the
refund, and the money is matched with them as a payment is.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from decimal import Decimal
from typing import NamedTuple

from offcut.importers.layout import Layout
from offcut.importers.order_states import NOTHING, OrderState
from offcut.importers.postings import (
    Booking,
    LinePostings,
    Match,
    WritePosting,
    contra_postings,
    line_poster,
    lines_booking,
    payment_booking,
    posting_writer,
)
from offcut.importers.records import Order, OrderLine, Payment
from offcut.importers.values import ZERO

Key = tuple[str, str]
"""A channel and the key of an order."""

Poster = Callable[[OrderLine], LinePostings]

DIFFER = (("note", "payment and order lines differ"),)


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


class Books(NamedTuple):
    """What there is to write.

    Attributes:
      bookings: The transactions, not sorted.
      differences: Orders whose payments and lines differ.
      waiting: Payments that wait in suspense for the lines of their order.
      accounts: The accounts that the transactions post to.
    """

    bookings: list[Booking]
    differences: list[Difference]
    waiting: list[Payment]
    accounts: set[str]


def join(
    payments: Iterable[Payment],
    orders: Iterable[Order],
    states: Mapping[Key, OrderState],
    match: Match,
    packing: Mapping[str, str],
) -> Books:
    """Return what to write for new payments and orders.

    Args:
      payments: Payments that the ledger does not have.
      orders: Orders whose lines the ledger does not have, each once.
      states: What the ledger has of the orders of both.
      match: Says what an item text means.
      packing: The packing list of each channel's orders.
    """
    books = Books([], [], [], set())
    write = posting_writer(books.accounts)
    of_orders: dict[Key, list[Payment]] = defaultdict(list)
    for payment in payments:
        if payment.order and payment.movement in ("sale", "refund"):
            of_orders[payment.layout.channel, payment.order].append(payment)
        else:
            contra = contra_postings(payment, write)
            books.bookings.append(payment_booking(payment, contra, write))
    posters: dict[tuple[Layout, str], Poster] = {}
    for order in orders:
        layout = order.layout
        poster = posters.get((layout, order.currency))
        if poster is None:
            poster = line_poster(match, layout.accounts, order.currency, write)
            posters[layout, order.currency] = poster
        key = (layout.channel, order.order)
        paid = sorted(of_orders.pop(key), key=_when) if key in of_orders else []
        state = states.get(key, NOTHING)
        packed = packing.get(layout.channel, "")
        _book_order(order, poster, write, paid, state, packed, books)
    for key, paid in of_orders.items():
        _book_payments(sorted(paid, key=_when), states.get(key, NOTHING), write, books)
    return books


def _when(payment: Payment) -> tuple[object, ...]:
    return payment.date, payment.file, payment.row


def _book_order(
    order: Order,
    post: Poster,
    write: WritePosting,
    payments: list[Payment],
    state: OrderState,
    packing: str,
    books: Books,
) -> None:
    """Book the lines of an order, and the payments of it that are new too."""
    accounts, currency = order.layout.accounts, order.currency
    postings: list[str] = []
    owed = order.tax + order.shipping
    returns = packed = False
    if order.tax:
        postings.append(write(accounts.tax, -order.tax, currency, ()))
    if order.shipping:
        postings.append(write(accounts.shipping, -order.shipping, currency, ()))
    for line in order.lines:
        of_line, owed_for_it, is_return, is_packed = post(line)
        postings.append(of_line)
        owed += owed_for_it
        returns = returns or is_return
        packed = packed or is_packed
    packing = packing if packed else ""

    if returns and (refunded := state.refunds.get(currency, ZERO)):
        # The refund was booked before its items were known: the lines take its place.
        note = (("note", "booked before, without its items"),)
        postings.insert(0, write(accounts.refunds, -refunded, currency, note))
        owed += refunded

    matched = [
        payment
        for payment in payments
        if payment.currency == currency and (payment.movement == "sale" or returns)
    ]
    if not matched:
        met = state.sold or (returns and state.refunded)
        account = accounts.suspense if met else accounts.receivable
        if owed:
            postings.insert(0, write(account, owed, currency, ()))
        books.bookings.append(lines_booking(order, postings, packing))
        if met:
            _note_difference(order, -state.suspense.get(currency, ZERO), owed, books)
    else:
        first = next((each for each in matched if each.movement == "sale"), matched[0])
        if rest := owed - first.gross:
            postings.append(write(accounts.suspense, rest, currency, DIFFER))
        paid = sum([each.gross for each in matched], -state.suspense.get(currency, ZERO))
        _note_difference(order, paid, owed, books)
        books.bookings.append(payment_booking(first, postings, write, order, packing))
        payments = [each for each in payments if each is not first]
    if payments:
        now = NOTHING._replace(lines=True, returns=returns)
        _book_payments(payments, now, write, books, noted=bool(matched))


def _book_payments(
    payments: Iterable[Payment],
    state: OrderState,
    write: WritePosting,
    books: Books,
    noted: bool = False,
) -> None:
    """Book payments and refunds of one order whose lines are not new, or are booked.

    Args:
      payments: The payments, the earliest first.
      state: What the books have of the order.
      write: Writes a posting.
      books: Takes what is booked.
      noted: Whether the order's difference is among the books' already.
    """
    receivable = dict(state.receivable)
    for payment in payments:
        if payment.movement == "refund" and not state.returns:
            contra = contra_postings(payment, write)
        elif not state.lines:
            contra = contra_postings(payment, write)
            books.waiting.append(payment)
        else:
            owed = receivable.pop(payment.currency, ZERO)
            contra = _settling(payment, owed, write)
            if not noted:
                _note_difference(payment, payment.gross, owed, books)
        books.bookings.append(payment_booking(payment, contra, write))


def _note_difference(
    record: Order | Payment, paid: Decimal, owed: Decimal, books: Books
) -> None:
    """Note what was paid for an order and what was owed for it, where they differ."""
    if paid != owed:
        layout = record.layout
        books.differences.append(
            Difference(
                f"{layout.channel} order {record.number}",
                paid,
                owed,
                record.currency,
                layout.accounts.suspense,
            )
        )


def _settling(payment: Payment, owed: Decimal, write: WritePosting) -> tuple[str, ...]:
    """Return the postings that close what an order owes, the rest in suspense."""
    accounts, currency = payment.layout.accounts, payment.currency
    postings = []
    if owed:
        postings.append(write(accounts.receivable, -owed, currency, ()))
    if rest := payment.gross - owed:
        postings.append(write(accounts.suspense, -rest, currency, DIFFER))
    return tuple(postings)
