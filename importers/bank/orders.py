"""Book rows of a bank that name orders against what is owed for them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal

from offcut.importers.bank.booking import BankBooks, Unmatched, row_booking
from offcut.importers.bank.receivables import (
    Receivable,
    Settlement,
    find_receivables,
    order_keys,
    settle,
)
from offcut.importers.bank.state import BankAccounts, WaitingRow
from offcut.importers.layout import Layout
from offcut.importers.postings import Booking, Meta, WritePosting
from offcut.importers.records import Payment
from offcut.importers.values import ZERO

NOT_MATCHED = "not matched"


def settle_orders(
    rows: Sequence[WaitingRow],
    new: Mapping[str, Payment],
    contents: Sequence[bytes],
    layouts: Iterable[Layout],
    accounts: BankAccounts,
    write: WritePosting,
    books: BankBooks,
) -> None:
    """Book rows that are in suspense against the orders that they name, if they do.

    Args:
      rows: The rows, the earliest first.
      new: The same where they are new, by their links.
      contents: The bytes of the ledger's files, and of what else is written now.
      layouts: The layouts there are.
      accounts: The accounts that tell what is owed.
      write: Writes a posting.
      books: Takes what is booked, what waits, and notes.
    """
    prefixes = {layout.prefix for layout in layouts}
    keys = {
        row: order_keys((row.payee, row.text, row.reference), prefixes)
        for row in rows
        if row.amount > 0
    }
    named = {key for of_row in keys.values() for key in of_row}
    receivables = find_receivables(contents, named, accounts)
    for row in rows:
        settlement = settle(row.amount, row.currency, keys.get(row, ()), receivables)
        rest = row.amount - sum([each.amount for each in settlement.paid], ZERO)
        books.bookings.extend(
            _of_orders(row, new.get(row.link), settlement.paid, rest, write)
        )
        if rest:
            row = row._replace(amount=rest)
            books.unmatched.append(Unmatched(row, settlement.reason))
        _note_short(row, settlement, receivables, books)


def _of_orders(
    row: WaitingRow,
    payment: Payment | None,
    paid: Sequence[Receivable],
    rest: Decimal,
    write: WritePosting,
) -> Iterator[Booking]:
    """Yield the transactions of a row that pays orders, or may be none.

    Args:
      row: The row.
      payment: The same where it is new; None where the ledger has it.
      paid: What it pays.
      rest: What is left of it, and waits.
      write: Writes a posting.
    """
    if payment is None:
        # One for each order: a transaction with the links of several is a payment that
        # they share, with its own id.
        for each in paid:
            contra = write(each.account, -each.amount, row.currency, ())
            links = [f"order-{each.order}"]
            yield row_booking(row, None, each.amount, contra, links, write)
        return
    contra = ""
    for each in paid:
        of_one: Meta = (("order", each.order),) if len(paid) > 1 else ()
        contra += write(each.account, -each.amount, row.currency, of_one)
    links = [f"order-{each.order}" for each in paid]
    if rest:
        contra += write(row.account, -rest, row.currency, (("note", NOT_MATCHED),))
        links.append(row.link)
    yield row_booking(row, payment, row.amount, contra, links, write)


def _note_short(
    row: WaitingRow,
    settlement: Settlement,
    receivables: Mapping[str, Sequence[Receivable]],
    books: BankBooks,
) -> None:
    """Note what is still owed for an order that a row paid a part of."""
    for paid in settlement.paid:
        for left in receivables[paid.order.casefold()]:
            if left._replace(amount=ZERO) == paid._replace(amount=ZERO):
                books.notes.append(
                    f"order {paid.order}: paid {paid.amount} {paid.currency} by the bank "
                    f"on {row.date}; {left.amount} stays in {left.account}"
                )
