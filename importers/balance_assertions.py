"""Assert the balances that files say, and begin accounts with what was there before.

A file may be cut within its last day; what it says of the day's beginning is whole, and
`balance` asserts the beginning of a day. An assertion is written where the books come to
it now; where they do not, the user is told both figures.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from decimal import Decimal
from typing import NamedTuple

from offcut.importers.ledger_balances import LedgerBalances
from offcut.importers.novelty import Sorted
from offcut.importers.opening_balances import (
    DAY,
    Statement,
    assertion_booking,
    begun_in,
    correction_booking,
    opening_booking,
    statements,
    taken_out,
)
from offcut.importers.postings import Booking, WritePosting


class BalanceBooks(NamedTuple):
    """What there is to write of balances.

    Attributes:
      bookings: Opening balances, what is taken out of them, and assertions.
      notes: What to look at, a sentence each.
    """

    bookings: list[Booking]
    notes: list[str]


def book_balances(
    files: Sequence[Sorted],
    source_ids: Collection[str],
    contents: Iterable[bytes],
    write: WritePosting,
) -> BalanceBooks:
    """Return what to write of the balances that files say.

    Args:
      files: The files of an import.
      source_ids: The ids that the ledger has, as its text has them.
      contents: The bytes of the ledger's files, and of what else is written now.
      write: Writes a posting.
    """
    books = BalanceBooks([], [])
    if not any(file.read.payments for file in files):
        return books
    said = statements(files)
    begun = begun_in(source_ids)
    if not said and not begun:
        return books
    accounts = {each.layout.accounts.clearing for each in said}
    ledger = LedgerBalances(contents, accounts)
    opened: list[Statement] = []
    for each in said:
        currency, first, opening = each.balance[:3]
        account = each.layout.accounts.clearing
        points = [
            *begun.get((each.layout.source, currency), ()),
            *(other.begun for other in opened if other.is_of_account(each)),
        ]
        on_day = [point.row for point in points if point.first == first]
        if not ledger.has_before(account, currency, first) and each.later >= set(on_day):
            opened.append(each)
            ledger.add(account, currency, first - DAY, opening)
            books.bookings.append(opening_booking(each, write))
            books.notes.extend(_opening_note(each))
    for change in taken_out(files, opened, begun):
        books.bookings.append(correction_booking(change, write))
        account = change.layout.accounts.clearing
        ledger.add(account, change.currency, change.begun.first - DAY, -change.moved)
    done: set[str] = set()
    fresh = {file.read.file for file in files if file.payments}
    for each in said:
        balance = each.balance
        name = f"{each.layout.source}/balance-{balance.last}-{balance.currency}"
        if name in source_ids or name in done:
            continue
        account = each.layout.accounts.clearing
        there = ledger.before(account, balance.currency, balance.last)
        if there == balance.at_last:
            done.add(name)
            books.bookings.append(_assertion(each, name))
        elif balance.last > balance.first or (
            each.file in fresh and not _begins_within(ledger, each)
        ):
            books.notes.append(_difference_note(each, there))
    return books


def _begins_within(ledger: LedgerBalances, said: Statement) -> bool:
    """Return whether a file of one day may begin after other rows of that day.

    Then the books come to what it ends with, by the end of the day.
    """
    day, currency = said.balance.last, said.balance.currency
    at_end = ledger.before(said.layout.accounts.clearing, currency, day + DAY)
    return at_end is not None and at_end == said.balance.at_end


def _assertion(said: Statement, name: str) -> Booking:
    balance = said.balance
    return assertion_booking(
        said.layout, balance.last, balance.at_last, balance.currency, name
    )


def _opening_note(said: Statement) -> Iterator[str]:
    balance = said.balance
    if balance.opening:
        yield (
            f"{said.file}: begins with {balance.opening} {balance.currency} that the books "
            f"have no rows of; booked as opening balance on {balance.first - DAY}, out of "
            "which earlier files will take what they explain"
        )


def _difference_note(said: Statement, there: Decimal | None) -> str:
    balance, account = said.balance, said.layout.accounts.clearing
    beginning = (
        f"{said.file}: says {balance.at_last} {balance.currency} at the beginning of "
    )
    if there is None:
        return (
            f"{beginning}{balance.last}; what {account} has cannot be told from its text "
            "(pad, or a posting without an amount): nothing is asserted"
        )
    return (
        f"{beginning}{balance.last}, and {account} comes to {there}; rows are missing, or "
        "are there twice: nothing is asserted until they agree"
    )
