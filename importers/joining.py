"""Join payments and orders on the order's number, and decide what to book.

Files come in any order and overlap, so each half of an order must find the other one
wherever it is:

- lines and a payment together make one transaction;
- lines alone are owed by the buyer: the receivable account holds their total;
- a payment closes what its order owes; a payment whose lines are not known waits in
  the suspense account, a deposit in that of deposits;
- lines that come after their payment take it from there;
- a payment of less leaves the rest receivable; what is paid beyond what the lines come to
  stays in suspense.

All of it is the one rule of `open_amounts`: whatever the order of the imports, every
account comes to the same balance. A refund is booked as a refund, with the tax in it, but
for what it gives back of a deposit or of what was paid too much (`refund_shares`); where
the order's own lines say what was cancelled, they are the refund, and the money is matched
with them as a payment is.

An invoice (an order with a buyer) is booked on its own day, and its payment weeks later
on its: they are never one transaction. A payment for several orders is one transaction
with the links of them all.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence

from offcut.importers.books import Books
from offcut.importers.conversion_sides import NO_CONVERSIONS, KnownConversions
from offcut.importers.conversions import book_conversions
from offcut.importers.layout import Layout
from offcut.importers.line_postings import Match, line_poster
from offcut.importers.open_orders import Key, OpenOrders, find_states
from offcut.importers.order_booking import Poster, book_edit, book_order
from offcut.importers.order_edits import find_edits
from offcut.importers.order_states import OrderState
from offcut.importers.payment_settling import OF_ORDERS, PAYING, book_payments
from offcut.importers.postings import (
    WritePosting,
    contra_postings,
    payment_booking,
    posting_writer,
)
from offcut.importers.records import Order, Payment


def join(
    payments: Sequence[Payment],
    orders: Sequence[Order],
    states: Mapping[Key, OrderState],
    match: Match,
    packing: Mapping[str, str],
    known_orders: Iterable[tuple[Order, Sequence[str]]] = (),
    texts: Mapping[str, list[str]] | None = None,
    age: Callable[[Order], int] = lambda order: 0,
    known_conversions: KnownConversions = NO_CONVERSIONS,
) -> Books:
    """Return what to write for new payments and orders.

    Args:
      payments: Payments that the ledger does not have.
      orders: Orders whose lines the ledger does not have, each once.
      states: What the ledger has of the orders of all of them.
      match: Says what an item text means.
      packing: The packing list of each channel's orders.
      known_orders: Orders whose lines the ledger has, with the texts of the transactions
        that have the order's link: they may have been edited since.
      texts: The texts of the ledger's transactions by the order that they are linked
        with: where orders were edited, what the ledger has of them is read there.
      age: Compares the age of an order's file with that of what the ledger has of its
        source: 1 where the file is newer by its days, -1 where it is older, else 0.
      known_conversions: What the ledger has of conversions.

    Raises:
      ImportRefused: Two files have an order edited in different ways.
    """
    books = Books([], [], [], set(), [], [])
    write = posting_writer(books.accounts)
    of_orders: dict[Key, list[Payment]] = defaultdict(list)
    of_several: list[Payment] = []
    conversions: list[Payment] = []
    for payment in payments:
        joins = not payment.account  # where a rule of the layout says it, it is said
        if joins and payment.order and payment.movement in OF_ORDERS:
            of_orders[payment.layout.channel, payment.order].append(payment)
        elif joins and payment.orders and payment.movement in PAYING:
            of_several.append(payment)
        elif payment.movement == "conversion":
            conversions.append(payment)
        else:
            contra = contra_postings(payment, write)
            books.bookings.append(payment_booking(payment, contra, write))
    books.bookings.extend(book_conversions(conversions, write, known_conversions))

    # What is only looked at opens no accounts.
    aside = posting_writer(set())
    edits = find_edits(known_orders, _posters(match, aside), match, aside, age)
    poster = _posters(match, write)
    if edits.edits:
        edited = [edit.order for edit in edits.edits]
        states = find_states(texts or {}, [*payments, *orders, *edited])
    open_orders = OpenOrders(states, of_several)
    books.changed.extend(edits.changed)
    for edit in edits.edits:
        key = (edit.order.layout.channel, edit.order.order)
        book_edit(edit, write, open_orders[key], books)
    for order in orders:
        key = (order.layout.channel, order.order)
        paid = sorted(of_orders.pop(key), key=_when) if key in of_orders else []
        packed = packing.get(order.layout.channel, "")
        of = open_orders[key] if paid or key in open_orders else None
        book_order(order, poster(order), write, paid, of, packed, books)
    for key, paid in of_orders.items():
        book_payments(sorted(paid, key=_when), open_orders[key], write, books)
    for payment in sorted(of_several, key=_when):
        key = (payment.layout.channel, payment.orders[0])
        book_payments([payment], open_orders[key], write, books)
    return books


def _posters(match: Match, write: WritePosting) -> Callable[[Order], Poster]:
    """Return a function that gives what says what an order's lines are booked to."""
    posters: dict[tuple[Layout, str], Poster] = {}

    def poster(order: Order) -> Poster:
        layout = order.layout
        found = posters.get((layout, order.currency))
        if found is None:
            found = line_poster(match, layout.accounts, order.currency, write)
            posters[layout, order.currency] = found
        return found

    return poster


def _when(payment: Payment) -> tuple[object, ...]:
    return payment.date, payment.file, payment.row
