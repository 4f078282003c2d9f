"""Book the lines of orders, and what changed in them."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

from offcut.importers.books import Books, EditedOrder, note_difference, where_open
from offcut.importers.line_postings import LinePostings, charges, lines_booking
from offcut.importers.open_amounts import Lines, settle
from offcut.importers.open_orders import OpenOrder
from offcut.importers.order_edits import Edit
from offcut.importers.order_postings import CANCELLED, GIVEN_BACK, TAKEN_OVER
from offcut.importers.payment_settling import (
    DIFFER,
    PAYING,
    book_payments,
    settle_payment,
    settling_postings,
)
from offcut.importers.postings import WritePosting, payment_booking
from offcut.importers.records import Order, OrderLine, Payment
from offcut.importers.values import ZERO, minor_unit

Poster = Callable[[OrderLine], LinePostings]


def book_order(
    order: Order,
    post: Poster,
    write: WritePosting,
    payments: list[Payment],
    of: OpenOrder | None,
    packing: str,
    books: Books,
) -> None:
    """Book the lines of an order, and the payments of it that are new too.

    Of an order that is cancelled it is booked that nothing is owed for it: what is paid
    for it, and an older file that has its lines, find that.

    Args:
      order: The order.
      post: Says what a line is booked to.
      write: Writes a posting.
      payments: The new payments of it, the earliest first.
      of: What the books have of it; None where they have nothing, and nothing is paid.
      packing: The packing list of the channel's orders.
      books: Takes what is booked.
    """
    currency = order.currency
    postings: list[str] = []
    owed = ZERO
    if order.is_cancelled:
        nothing = ZERO.quantize(minor_unit(currency))
        why = (("note", CANCELLED),)
        postings.append(write(order.layout.accounts.receivable, nothing, currency, why))
    for account, amount, meta in charges(order):
        postings.append(write(account, amount, currency, meta))
        owed -= amount
    returns, packed = order.is_cancelled, False
    for line in order.lines:
        of_line, owed_for_it, is_return, is_packed = post(line)
        postings.append(of_line)
        owed += owed_for_it
        returns = returns or is_return
        packed = packed or is_packed
    packing = packing if packed else ""

    if of is None:  # most orders are of this kind, and this is quick
        if owed:
            postings.insert(0, write(order.layout.accounts.receivable, owed, currency, ()))
        books.bookings.append(lines_booking(order, postings, packing))
        return
    ahead = [each for each in payments if each.movement == "deposit"]
    if ahead:
        book_payments(ahead, of, write, books, noted={each.currency for each in ahead})
        payments = [each for each in payments if each.movement != "deposit"]
    of.lines = True
    open_now = of.amount(currency)
    before = open_now.total
    start = before + open_now.plug
    returns = returns or of.returns(currency)
    matched = [
        payment
        for payment in payments
        if payment.currency == currency
        and (payment.movement in PAYING or (payment.movement == "refund" and returns))
    ]
    apart = order.buyer or order.is_cancelled
    joined = None if apart else _to_join(matched)
    lines = _lines(order, owed, order.tax, returns)
    if joined is None:
        settled = settle(open_now, (order.order,), lines=lines, coin=minor_unit(currency))
    else:
        settled = settle_payment(joined, open_now, lines)
    moved = TAKEN_OVER if returns else GIVEN_BACK
    settling = settling_postings(settled, order, write, DIFFER if joined else (), moved)
    if joined is None:
        postings[:0] = settling
        books.bookings.append(lines_booking(order, postings, packing))
    else:
        postings += settling
        books.bookings.append(payment_booking(joined, postings, write, order, packing))
        payments = [each for each in payments if each is not joined]
    if payments:
        noted = {currency} if matched or of.all_lines else ()
        book_payments(payments, of, write, books, noted=noted)
    if of.all_lines:
        paid = max(-before, ZERO) + start + owed - open_now.total - open_now.plug
        if matched or paid:
            note_difference(order, paid, paid + open_now.total, open_now, books)


def book_edit(edit: Edit, write: WritePosting, of: OpenOrder, books: Books) -> None:
    """Book what changed in an order."""
    order = edit.order
    currency = order.currency
    amount = of.amount(currency)
    lines = _lines(order, edit.owed, edit.tax, edit.returns)
    settled = settle(amount, (order.order,), lines=lines, coin=minor_unit(currency))
    moved = TAKEN_OVER if of.returns(currency) else GIVEN_BACK
    postings = [
        *settling_postings(settled, order, write, (), moved),
        *[write(*each[:2], currency, each[2]) for each in edit.postings],
    ]
    dated = order._replace(date=edit.day)
    books.bookings.append(lines_booking(dated, postings, "", edit.number))
    account = where_open(amount, order)
    books.edited.append(EditedOrder(edit, amount.total, account))


def _to_join(matched: list[Payment]) -> Payment | None:
    """Return the payment that is one transaction with its order's lines."""
    sale = next((each for each in matched if each.movement == "sale"), None)
    return sale or next((each for each in matched if each.movement == "refund"), None)


def _lines(order: Order, owed: Decimal, tax: Decimal, returns: bool) -> Lines:
    """Return new lines of an order as they count in what is open."""
    if order.layout.remits:
        return Lines(owed, charged=tax, returns=returns)
    return Lines(owed, tax=tax, returns=returns)
