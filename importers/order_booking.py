"""Book the lines of orders, and what changed in them."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

from offcut.importers.books import Books, EditedOrder, note_difference, where_open
from offcut.importers.line_postings import LinePostings, charges, lines_booking
from offcut.importers.open_amounts import settle
from offcut.importers.open_orders import OpenOrder
from offcut.importers.order_edits import Edit
from offcut.importers.order_states import TAKEN_OVER
from offcut.importers.payment_settling import (
    DIFFER,
    PAYING,
    book_payments,
    paid_by,
    settling_postings,
)
from offcut.importers.postings import Meta, WritePosting, payment_booking
from offcut.importers.records import Order, OrderLine, Payment
from offcut.importers.values import ZERO

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
    for account, amount, meta in charges(order):
        postings.append(write(account, amount, currency, meta))
        owed -= amount
    returns = packed = False
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
    taken, taken_over, taken_tax = _taken_over(order, of, returns, write)
    of.returns = of.returns or returns
    of.lines = True
    open_now = of.amount(currency)
    waited = max(-open_now.total, ZERO) - taken_over

    matched = [
        payment
        for payment in payments
        if payment.currency == currency
        and (payment.movement in PAYING or (payment.movement == "refund" and of.returns))
    ]
    joined = None if order.buyer else _to_join(matched)
    settled = settle(
        open_now,
        lines=owed,
        tax=order.tax,
        paid=(paid_by(joined) if joined else ZERO) - taken_over,
        remitted=(joined.remitted if joined else ZERO) - taken_tax,
    )
    if joined is None:
        postings[:0] = [*settling_postings(settled, order, write, ()), *taken]
        books.bookings.append(lines_booking(order, postings, packing))
    else:
        postings[:0] = taken
        postings += settling_postings(settled, order, write, DIFFER)
        books.bookings.append(payment_booking(joined, postings, write, order, packing))
        payments = [each for each in payments if each is not joined]
    if payments:
        book_payments(payments, of, write, books, noted={currency} if matched else ())
    if of.all_lines and (matched or waited):
        paid = sum([paid_by(each) for each in matched], waited)
        note_difference(order, paid, paid + open_now.total, open_now, books)


def book_edit(edit: Edit, write: WritePosting, of: OpenOrder, books: Books) -> None:
    """Book what changed in an order."""
    order = edit.order
    currency = order.currency
    taken, taken_over, taken_tax = _taken_over(order, of, edit.returns, write)
    of.returns = of.returns or edit.returns
    amount = of.amount(currency)
    settled = settle(
        amount, lines=edit.owed, tax=edit.tax, paid=-taken_over, remitted=-taken_tax
    )
    postings = [
        *settling_postings(settled, order, write, ()),
        *taken,
        *[write(*each[:2], currency, each[2]) for each in edit.postings],
    ]
    books.bookings.append(lines_booking(order, postings, "", edit.number))
    account = where_open(amount, order)
    books.edited.append(EditedOrder(edit, amount.total, account))


def _to_join(matched: list[Payment]) -> Payment | None:
    """Return the payment that is one transaction with its order's lines."""
    sale = next((each for each in matched if each.movement == "sale"), None)
    return sale or next((each for each in matched if each.movement == "refund"), None)


def _taken_over(
    order: Order, of: OpenOrder, returns: bool, write: WritePosting
) -> tuple[list[str], Decimal, Decimal]:
    """Take over refunds that were booked before the items that came back were known.

    Returns:
      The postings, what they come to, and the part of it that is remitted tax.
    """
    if not returns or of.returns:
        return [], ZERO, ZERO
    accounts, currency = order.layout.accounts, order.currency
    refunded = of.state.refunds.get(currency, ZERO)
    tax = of.state.refunded_tax.get(currency, ZERO)
    note: Meta = (("note", TAKEN_OVER),)
    postings = []
    if refunded:
        postings.append(write(accounts.refunds, -refunded, currency, note))
    if tax:
        postings.append(write(accounts.tax_remitted, -tax, currency, note))
    return postings, refunded + tax, tax
