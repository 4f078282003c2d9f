"""Book what an import brings for banks, and say what could not be matched."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Sequence
from typing import NamedTuple

from offcut.importers.bank.booking import BankBooks
from offcut.importers.bank.likeness import Precedent, find_precedents, nearest, words_of
from offcut.importers.bank.rows import book_bank, rows_wait
from offcut.importers.bank.rules import BankRule
from offcut.importers.bank.state import WAITING, Payout, WaitingRow, bank_accounts
from offcut.importers.books import Books
from offcut.importers.layout import Layout
from offcut.importers.ledger_files import LedgerFiles
from offcut.importers.novelty import Sorted
from offcut.importers.postings import posting_writer

_DIGITS = re.compile(r"\d[\d.,:/-]*")


class Proposal(NamedTuple):
    """A row that waits, and what it may be.

    Attributes:
      row: The row; its amount is what waits of it.
      reason: Why, as far as there is more to say than that nothing is known of it.
      like: The earlier transaction that it is like; None where there is none.
      rule: The rule that would book such rows as that one; None likewise.
    """

    row: WaitingRow
    reason: str
    like: Precedent | None
    rule: BankRule | None


class BankReport(NamedTuple):
    """What an import says of banks.

    Attributes:
      unmatched: The rows that wait; only listed where a bank's file was imported.
      not_arrived: Payouts that should have arrived and did not, likewise.
      moved: How many transactions take out of suspense what waited there before.
      notes: What else to look at, a sentence each.
    """

    unmatched: tuple[Proposal, ...] = ()
    not_arrived: tuple[Payout, ...] = ()
    moved: int = 0
    notes: tuple[str, ...] = ()


def book_statements(
    files: Iterable[Sorted],
    ledger: LedgerFiles,
    books: Books,
    layouts: Collection[Layout],
    rules: Sequence[BankRule],
) -> BankReport:
    """Book the rows of banks that are new, and those that waited for what is new.

    Args:
      files: The files of the import, sorted.
      ledger: The files of the ledger.
      books: What else there is to write; takes the transactions.
      layouts: The layouts there are.
      rules: The user's rules.
    """
    statements = [file for file in files if file.read.layout.kind == "bank"]
    if not statements and not rows_wait(ledger.with_marks(WAITING)):
        return BankReport()
    contents = [*ledger.values(), "".join([each.text for each in books.bookings]).encode()]
    days = [row.date for file in statements for row in file.read.payments]
    rows = [row for file in statements for row in file.payments]
    bank = book_bank(
        rows,
        contents,
        layouts,
        rules,
        posting_writer(books.accounts),
        max(days, default=None),
    )
    books.bookings.extend(bank.bookings)
    moved = len(bank.bookings) - len(rows)
    if not statements:
        return BankReport(moved=moved, notes=tuple(bank.notes))
    return BankReport(
        tuple(propose(bank, contents, layouts)),
        tuple(bank.not_arrived),
        moved,
        tuple(bank.notes),
    )


def propose(
    bank: BankBooks, contents: Collection[bytes], layouts: Iterable[Layout]
) -> list[Proposal]:
    """Return the rows that wait, each with what it may be by earlier ones.

    Nothing of this is booked: the user says so by a rule.

    Args:
      bank: What was found out of the rows.
      contents: The bytes of the ledger's files.
      layouts: The layouts there are.
    """
    accounts = bank_accounts(layouts)
    unknown = [row for row, reason in bank.unmatched if not reason]
    precedents = find_precedents(contents, accounts) if unknown else []
    proposals = []
    for row, reason in bank.unmatched:
        like = rule = None
        if not reason:
            words = words_of(row.payee, row.text)
            like = nearest(words, row.amount > 0, row.date, precedents)
        if like:
            rule = BankRule(rule_text(row), like.account, "")
        proposals.append(Proposal(row, reason, like, rule))
    return proposals


def rule_text(row: WaitingRow) -> str:
    """Return a pattern for rows such as one: its payee, or its text without numbers."""
    text = _DIGITS.sub("*", row.text)
    return row.payee or (text if any(map(str.isalpha, text)) else row.text)
