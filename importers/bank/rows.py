"""Book the rows of a bank's statement against what they meet.

A row is, in this order,

- the arrival of a payout, by its amount and days (`payout_matching`): both sides meet in
  the payouts' account, which ends at zero;
- what a rule says, of `[[bank]]` in the settings or `[[book-to]]` in the layout. A rule
  is the user's word: what it booked stays there, whatever comes later. A rule that
  names the payouts' account books an arrival before its payout is known;
- the payment of an order that its text names (`receivables`);
- else it waits in the suspense account, with a link `^bank-…` of its own.

What the ledger has of the other side may come later than the row. So every import looks
at the rows that wait as at new ones, and moves what it can out of suspense by a
transaction of the row's day, with the links of both sides: whatever the order of the
imports, all accounts come to the same balance on every day.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Collection, Iterable, Sequence

from offcut.importers.bank.booking import BankBooks, Unmatched, row_booking
from offcut.importers.bank.orders import settle_orders
from offcut.importers.bank.payout_matching import DAYS, find_arrivals
from offcut.importers.bank.rules import BankRule
from offcut.importers.bank.state import (
    WAITING,
    WaitingRow,
    bank_accounts,
    find_payouts,
    find_waiting,
)
from offcut.importers.items import text_pattern
from offcut.importers.layout import Layout
from offcut.importers.postings import WritePosting, source_id
from offcut.importers.records import Payment, order_key

LOOKED_BACK = 60


def rows_wait(contents: Iterable[bytes]) -> bool:
    """Return whether any row may wait by the texts of a ledger's files."""
    return any(WAITING in each for each in contents)


def book_bank(
    rows: Iterable[Payment],
    contents: Sequence[bytes],
    layouts: Collection[Layout],
    rules: Sequence[BankRule],
    write: WritePosting,
    newest: datetime.date | None,
) -> BankBooks:
    """Return what to write for the rows of banks, new ones and those that wait.

    Args:
      rows: Rows that the ledger does not have.
      contents: The bytes of the ledger's files, and of what else is written now.
      layouts: The layouts there are; they say which account is what.
      rules: The user's rules.
      write: Writes a posting.
      newest: The day of the newest row in the bank's files, which payouts should have
        arrived by; None where there is no such file.
    """
    accounts = bank_accounts(layouts)
    books = BankBooks([], [], [], [])
    new = {_link(row): row for row in rows}
    all_rows = find_waiting(contents, accounts)
    all_rows += [_as_waiting(link, row) for link, row in new.items()]
    all_rows.sort(key=lambda row: (row.date, row.link))

    payouts = find_payouts(contents, accounts)
    arrivals = find_arrivals(all_rows, payouts, accounts)
    book_to = _rule_finder(rules)
    in_suspense: list[WaitingRow] = []
    for row in all_rows:
        payment = new.get(row.link)
        if (payout := arrivals.get(row)) is not None:
            if row.account != payout.account:
                contra = write(payout.account, -row.amount, row.currency, ())
                links = [payout.link]
                books.bookings.append(
                    row_booking(row, payment, row.amount, contra, links, write)
                )
        elif payment and (account := payment.account or book_to(row)):
            contra = write(account, -row.amount, row.currency, ())
            waits = account in accounts.payouts
            links = [row.link] if waits else []
            books.bookings.append(
                row_booking(row, payment, row.amount, contra, links, write)
            )
            if waits:
                row = row._replace(account=account)
                books.unmatched.append(Unmatched(row, "no payout of it is known"))
        elif row.account in accounts.payouts:
            books.unmatched.append(Unmatched(row, "no payout of it is known"))
        else:
            in_suspense.append(row)
    settle_orders(in_suspense, new, contents, layouts, accounts, write, books)
    books.unmatched.sort()
    if newest is not None:
        met = set(arrivals.values())
        books.not_arrived.extend(
            payout
            for payout in sorted(payouts.sent)
            if payout not in met and DAYS < (newest - payout.date).days <= LOOKED_BACK
        )
    return books


def _link(payment: Payment) -> str:
    return f"bank-{order_key(source_id(payment))}"


def _as_waiting(link: str, payment: Payment) -> WaitingRow:
    """Return a new row as one that waits in the suspense account."""
    return WaitingRow(
        payment.date,
        link,
        payment.layout.source,
        payment.payee,
        payment.text,
        payment.reference,
        payment.layout.accounts.suspense,
        payment.gross,
        payment.currency,
        whole=True,
    )


def _rule_finder(rules: Sequence[BankRule]) -> Callable[[WaitingRow], str]:
    """Return a function that gives the account of the first rule that fits a row."""
    patterns = [(text_pattern(rule.text), rule) for rule in rules]

    def find(row: WaitingRow) -> str:
        texts = [row.payee.casefold(), row.text.casefold()]
        direction = "out" if row.amount < 0 else "in"
        for pattern, rule in patterns:
            if rule.direction in ("", direction) and any(map(pattern.fullmatch, texts)):
                return rule.account
        return ""

    return find
