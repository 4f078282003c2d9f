"""Propose an account for a row of a bank by its likeness to earlier ones.

What is proposed is shown and never booked.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Collection, Iterable
from fractions import Fraction
from typing import NamedTuple

from offcut.importers.bank.state import BankAccounts
from offcut.importers.transaction_texts import (
    TransactionText,
    find_transactions,
    read_transaction,
)

ENOUGH = Fraction(1, 2)
MOST = 1000

_WORD = re.compile(r"[^\W\d_]{2,}")


class Precedent(NamedTuple):
    """A transaction of a bank account that the ledger has.

    Attributes:
      date: Its day.
      what: Its payee, or its text where it has none.
      words: The words of both.
      account: What it was booked to.
      comes_in: Whether money came in.
    """

    date: datetime.date
    what: str
    words: frozenset[str]
    account: str
    comes_in: bool


def words_of(*texts: str) -> frozenset[str]:
    """Return the words of texts: two letters or more, digits dropped, in lower case."""
    return frozenset(word for text in texts for word in _WORD.findall(text.casefold()))


def find_precedents(contents: Collection[bytes], accounts: BankAccounts) -> list[Precedent]:
    """Return the transactions of a ledger's files that could be a model for others.

    They are those of a bank's account, also by hand, with one other account in the same
    currency; what waits, and what a buyer owed, is no model. Of each file the last
    thousand are enough.
    """
    found = []
    for account in sorted(accounts.banks):
        name = re.compile(re.escape(account).encode() + rb"[ \t\r\n]")
        for each in contents:
            for text in find_transactions(each, name, last=MOST):
                transaction = read_transaction(text)
                if transaction and (precedent := _precedent(transaction, accounts)):
                    found.append(precedent)
    return found


def _precedent(transaction: TransactionText, accounts: BankAccounts) -> Precedent | None:
    """Return a transaction as a model; None where it is none."""
    sums = transaction.sums(accounts.banks)
    others = {
        (each.account, each.currency)
        for each in transaction.postings
        if each.account not in accounts.banks
    }
    if len(sums) != 1 or len(others) != 1:
        return None
    ((bank_currency, amount),) = sums.items()
    ((account, currency),) = others
    if currency != bank_currency or account in accounts.suspense:
        return None
    if not amount or accounts.is_receivable(account):
        return None
    return Precedent(
        transaction.date,
        transaction.payee or transaction.narration,
        words_of(transaction.payee, transaction.narration),
        account,
        amount > 0,
    )


def nearest(
    words: frozenset[str], comes_in: bool, day: datetime.date, among: Iterable[Precedent]
) -> Precedent | None:
    """Return the earlier transaction most like a row, the latest of several.

    The likeness is twice the words that both have by the words of each, added up
    (Dice's coefficient). Below a half there is none, and there is none where the most
    like ones are booked to different accounts.

    Args:
      words: The words of the row's payee and text.
      comes_in: Whether money comes in by it.
      day: Its day; what is later is no precedent.
      among: What the ledger has.
    """
    best: list[Precedent] = []
    most = ENOUGH
    for each in among:
        if each.comes_in is not comes_in or each.date > day or not each.words & words:
            continue
        like = Fraction(2 * len(each.words & words), len(each.words) + len(words))
        if like > most:
            best, most = [each], like
        elif like == most:
            best.append(each)
    if len({each.account for each in best}) != 1:
        return None
    return max(best, key=lambda each: (each.date, each.what))
