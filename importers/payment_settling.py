"""Book payments against what their orders owe."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from decimal import Decimal
from functools import partial

from offcut.importers.books import Books, Waiting, note_difference
from offcut.importers.open_amounts import Lines, OpenAmount, Refund, Settled, settle
from offcut.importers.open_orders import OpenOrder
from offcut.importers.order_postings import GIVEN_BACK, PLUG, REFUNDED
from offcut.importers.postings import Meta, WritePosting, contra_postings, payment_booking
from offcut.importers.records import Order, Payment
from offcut.importers.values import minor_unit

PAYING = ("sale", "gift-card-use", "deposit")
OF_ORDERS = (*PAYING, "refund", "tax-remitted")

DIFFER: Meta = (("note", "payment and order lines differ"),)
NOT_IMPORTED: Meta = (("note", "order lines not imported"),)


def book_payments(
    payments: Iterable[Payment],
    of: OpenOrder,
    write: WritePosting,
    books: Books,
    noted: Collection[str] = (),
) -> None:
    """Book payments and refunds of one order whose lines are not new, or are booked.

    Args:
      payments: The payments, the earliest first.
      of: What the books have of the order.
      write: Writes a posting.
      books: Takes what is booked.
      noted: Currencies in which the order's difference is noted elsewhere.
    """
    before: dict[str, Decimal] = {}
    paying: dict[str, Payment] = {}
    for payment in payments:
        currency = payment.currency
        amount = of.amount(currency)
        before.setdefault(currency, amount.total + amount.plug)
        settled = settle_payment(payment, amount)
        note = DIFFER if of.lines else NOT_IMPORTED
        moved = "" if payment.movement == "refund" else GIVEN_BACK
        contra = settling_postings(settled, payment, write, note, moved)
        if payment.movement == "tax-remitted":
            contra = [*contra_postings(payment, write), *contra]
        elif payment.movement != "refund" or settled.is_open:
            paying.setdefault(currency, payment)
        books.bookings.append(payment_booking(payment, contra, write))
    for currency, first in paying.items():
        amount = of.amount(currency)
        if currency in noted:
            continue
        if not of.all_lines:
            if amount.suspense:
                books.waiting.append(Waiting(first, -amount.suspense))
        else:
            paid = before[currency] - amount.total - amount.plug
            note_difference(first, paid, paid + amount.total, amount, books)


def paid_by(payment: Payment) -> Decimal:
    """Return what a payment pays of its order."""
    return payment.gross - payment.tip


def settle_payment(
    payment: Payment, amount: OpenAmount, lines: Lines | None = None
) -> Settled:
    """Bring what is open up to date by a payment or a refund; return what changes.

    Args:
      payment: The payment.
      amount: What was open before; it is changed.
      lines: New lines of its order that are booked with it.
    """
    settled = partial(
        settle,
        amount,
        payment.orders or (payment.order,),
        lines=lines,
        coin=minor_unit(payment.currency),
    )
    match payment.movement:
        case "tax-remitted":
            return settled(remitted=-payment.gross)
        case "refund":
            refund = Refund(-paid_by(payment), -payment.tax, -payment.remitted)
            return settled(refund=refund)
        case "deposit":
            return settled(deposit=paid_by(payment), remitted=payment.remitted)
        case _:
            return settled(paid=paid_by(payment), remitted=payment.remitted)


def settling_postings(
    settled: Settled, record: Order | Payment, write: WritePosting, note: Meta, moved: str
) -> list[str]:
    """Return the postings of what changes in what is open, and of refunds.

    Args:
      settled: The changes.
      record: What it is booked for.
      write: Writes a posting.
      note: What to note on a posting to suspense.
      moved: What to note on a posting to the account of refunds; "" for a refund's own.
    """
    accounts, currency = record.layout.accounts, record.currency
    postings = []
    if settled.receivable:
        postings.append(write(accounts.receivable, settled.receivable, currency, ()))
    if settled.deposits:
        postings.append(write(accounts.deposits, settled.deposits, currency, ()))
    if settled.suspense:
        postings.append(write(accounts.suspense, settled.suspense, currency, note))
    if settled.plug:
        plug: Meta = (("note", PLUG),)
        postings.append(write(accounts.tax_remitted, settled.plug, currency, plug))
    if settled.refunds:
        why: Meta = (("note", moved),) if moved else ()
        postings.append(write(accounts.refunds, settled.refunds, currency, why))
    of_tax: Meta = (("note", REFUNDED),)
    if settled.refund_tax:
        postings.append(write(accounts.tax, settled.refund_tax, currency, of_tax))
    if settled.refund_kept:
        postings.append(write(accounts.tax_remitted, settled.refund_kept, currency, of_tax))
    return postings
