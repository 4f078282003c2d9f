"""Book payments against what their orders owe."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from decimal import Decimal

from offcut.importers.books import Books, Waiting, note_difference
from offcut.importers.open_amounts import OpenAmount, Settled, settle
from offcut.importers.open_orders import OpenOrder
from offcut.importers.order_states import PLUG, REFUNDED
from offcut.importers.postings import Meta, WritePosting, contra_postings, payment_booking
from offcut.importers.records import Order, Payment
from offcut.importers.values import ZERO

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
    paying: dict[str, list[Payment]] = defaultdict(list)
    for payment in payments:
        if payment.movement == "refund" and not of.returns:
            contra = _refund_contra(payment, write)
        else:
            amount = of.amount(payment.currency)
            before.setdefault(payment.currency, amount.total)
            contra = _paying_contra(payment, of, amount, write)
            if payment.movement != "tax-remitted":
                paying[payment.currency].append(payment)
        books.bookings.append(payment_booking(payment, contra, write))
    for currency, of_currency in paying.items():
        amount, first = of.amount(currency), of_currency[0]
        if currency in noted:
            continue
        if not of.all_lines:
            if amount.suspense:
                books.waiting.append(Waiting(first, -amount.suspense))
        else:
            paid = sum([paid_by(each) for each in of_currency], ZERO)
            note_difference(first, paid, paid + amount.total, amount, books)


def paid_by(payment: Payment) -> Decimal:
    """Return what a payment pays of its order."""
    return payment.gross - payment.tip


def settling_postings(
    settled: Settled, record: Order | Payment, write: WritePosting, note: Meta
) -> list[str]:
    """Return the postings of what changes in what is open.

    Args:
      settled: The changes.
      record: What it is booked for.
      write: Writes a posting.
      note: What to note on a posting to suspense.
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
    return postings


def _refund_contra(payment: Payment, write: WritePosting) -> tuple[str, ...]:
    """Return what balances a refund whose items are not known."""
    if not payment.remitted:
        return contra_postings(payment, write)
    accounts, currency = payment.layout.accounts, payment.currency
    note: Meta = (("note", REFUNDED),)
    return (
        write(accounts.refunds, payment.remitted - paid_by(payment), currency, ()),
        write(accounts.tax_remitted, -payment.remitted, currency, note),
    )


def _paying_contra(
    payment: Payment, of: OpenOrder, amount: OpenAmount, write: WritePosting
) -> tuple[str, ...]:
    """Return the postings that close what an order owes, the rest in suspense."""
    note = DIFFER if of.lines else NOT_IMPORTED
    if payment.movement == "tax-remitted":
        kept = settle(amount, remitted=-payment.gross)
        return (
            *contra_postings(payment, write),
            *settling_postings(kept, payment, write, note),
        )
    is_deposit = payment.movement == "deposit"
    settled = settle(
        amount,
        paid=ZERO if is_deposit else paid_by(payment),
        remitted=payment.remitted,
        deposit=paid_by(payment) if is_deposit else ZERO,
    )
    return tuple(settling_postings(settled, payment, write, note))
