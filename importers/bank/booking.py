"""The transactions of a bank's rows, and what there is to say of them."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import NamedTuple

from offcut.importers.bank.state import Payout, WaitingRow
from offcut.importers.ledger_text import transaction_text
from offcut.importers.postings import Booking, WritePosting, source_id
from offcut.importers.records import Payment


class Unmatched(NamedTuple):
    """A row, or what is left of it, that waits.

    Attributes:
      row: The row; its account is where it waits, its amount what waits of it.
      reason: Why, as far as there is more to say than that nothing is known of it.
    """

    row: WaitingRow
    reason: str


class BankBooks(NamedTuple):
    """What there is to write of a bank's rows, and to say of them.

    Attributes:
      bookings: The transactions, not sorted.
      unmatched: All rows that wait now, the ledger's too, the earliest first.
      not_arrived: Payouts that should have arrived by the newest row, and did not.
      notes: What to look at, a sentence each.
    """

    bookings: list[Booking]
    unmatched: list[Unmatched]
    not_arrived: list[Payout]
    notes: list[str]


def row_booking(
    row: WaitingRow,
    payment: Payment | None,
    amount: Decimal,
    contra: str,
    links: Sequence[str],
    write: WritePosting,
) -> Booking:
    """Return the transaction of a row, or the one that takes it from where it waits.

    Args:
      row: The row.
      payment: The same where it is new; None where the ledger has it.
      amount: What `contra` balances.
      contra: The postings of what it meets.
      links: The links of what it meets, and its own if it is new and waits.
      write: Writes a posting.
    """
    day = row.date.isoformat()
    account, meta = row.account, [("movement", "bank")]
    if payment:
        account = payment.layout.accounts.clearing
        meta += [("source-id", source_id(payment)), ("reference", row.reference)]
    else:
        links = [row.link, *links]
    postings = write(account, amount, row.currency, ()) + contra
    text = row.text or row.reference
    return Booking(
        day,
        row.source,
        transaction_text(day, text, " ".join(links), meta, postings, row.payee),
    )
