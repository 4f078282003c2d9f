"""Find out what a ledger has for a bank's statement to meet, from its text.

A *payout* is a transaction with a link `^payout-…` that posts to the account where
payouts are on their way; the link's other transactions are its arrival. A row of a bank
*waits* as long as the transactions of its link `^bank-…` leave something of it in the
suspense account, or in the payouts' account without the link of a payout. What the user
books elsewhere by hand waits no longer.
"""

from __future__ import annotations

import datetime
import re
from collections import defaultdict
from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import NamedTuple

from offcut.importers.file_facts import BANK_LINK
from offcut.importers.layout import Layout
from offcut.importers.transaction_texts import (
    TransactionText,
    find_transactions,
    read_transaction,
)
from offcut.importers.values import ZERO

WAITING = BANK_LINK
RECEIVABLES = "Assets:Receivable:"  # where the usual layouts have them

_PAYOUT = re.compile(rb"\^payout-")
_WAITING = re.compile(re.escape(WAITING))


class BankAccounts(NamedTuple):
    """The accounts that tell what a transaction is, by the layouts there are.

    Attributes:
      banks: The accounts of banks.
      payouts: Where payouts are between a processor and a bank.
      suspense: Where rows wait that nothing is known of.
      receivables: What buyers owe, beside all below `Assets:Receivable`.
    """

    banks: frozenset[str]
    payouts: frozenset[str]
    suspense: frozenset[str]
    receivables: frozenset[str]

    def is_receivable(self, account: str) -> bool:
        """Return whether an account holds what buyers owe."""
        return account in self.receivables or account.startswith(RECEIVABLES)


class Payout(NamedTuple):
    """A payout, or the arrival of one.

    Attributes:
      date: Its day.
      link: Its link, without the mark.
      account: The account where it is on its way.
      amount: What arrives at the bank; negative where the bank pays.
      currency: The amount's currency.
    """

    date: datetime.date
    link: str
    account: str
    amount: Decimal
    currency: str


class WaitingRow(NamedTuple):
    """A row of a bank that the ledger has, and that waits.

    Attributes:
      date: Its day.
      link: Its link, without the mark.
      source: The source whose files it is in.
      payee: Who paid or was paid.
      text: What the bank says of it.
      reference: Its reference; empty where it has none.
      account: The account that it waits in.
      amount: What waits of it; negative where money went out.
      currency: The amount's currency.
      whole: Whether all of it waits.
    """

    date: datetime.date
    link: str
    source: str
    payee: str
    text: str
    reference: str
    account: str
    amount: Decimal
    currency: str
    whole: bool


class Payouts(NamedTuple):
    """The payouts of a ledger.

    Attributes:
      sent: Those that have not arrived.
      met: Those that have, with their arrivals.
    """

    sent: list[Payout]
    met: list[tuple[Payout, Payout]]


def bank_accounts(layouts: Iterable[Layout]) -> BankAccounts:
    """Return the accounts that layouts give."""
    layouts = list(layouts)
    banks = frozenset(each.accounts.clearing for each in layouts if each.kind == "bank")
    return BankAccounts(
        banks,
        frozenset(each.accounts.payout for each in layouts) - banks,
        frozenset(each.accounts.suspense for each in layouts if each.kind == "bank"),
        frozenset(each.accounts.receivable for each in layouts),
    )


def find_payouts(contents: Iterable[bytes], accounts: BankAccounts) -> Payouts:
    """Return the payouts in the texts of a ledger's files."""
    sent: dict[tuple[str, str, str], list[Payout]] = defaultdict(list)
    arrived: dict[tuple[str, str, str], list[Payout]] = defaultdict(list)
    for transaction in transactions_with(contents, _PAYOUT):
        movement = transaction.meta.get("movement")
        for link in links_of(transaction, "payout-"):
            for account in sorted(accounts.payouts):
                for currency, amount in transaction.sums([account]).items():
                    # What the user wrote by hand says its movement by its sign only.
                    is_sent = amount > 0 if movement is None else movement == "payout"
                    amount = amount if is_sent else -amount
                    payout = Payout(transaction.date, link, account, amount, currency)
                    (sent if is_sent else arrived)[link, account, currency].append(payout)
    found = Payouts([], [])
    for key, payouts in sent.items():
        _pair_off(payouts, arrived.get(key, []), found)
    return found


def _pair_off(payouts: Iterable[Payout], arrived: list[Payout], found: Payouts) -> None:
    """Find out which of the payouts of one link have arrived.

    There may be several: two processors can have the same number for a payout.
    """
    not_met = []
    for payout in payouts:
        same = next((each for each in arrived if each.amount == payout.amount), None)
        if same is None:
            not_met.append(payout)
        else:
            arrived.remove(same)
            found.met.append((payout, same))
    if not_met and arrived:  # a part of it came
        rest = sum([each.amount for each in not_met], ZERO)
        rest -= sum([each.amount for each in arrived], ZERO)
        not_met = [not_met[0]._replace(amount=rest)]
    found.sent.extend(each for each in not_met if each.amount)


def find_waiting(contents: Iterable[bytes], accounts: BankAccounts) -> list[WaitingRow]:
    """Return the rows that wait by the texts of a ledger's files, the earliest first."""
    of_link: dict[str, list[TransactionText]] = defaultdict(list)
    for transaction in transactions_with(contents, _WAITING):
        for link in links_of(transaction, "bank-"):
            of_link[link].append(transaction)
    found: list[WaitingRow] = []
    for link, transactions in of_link.items():
        rows = [each for each in transactions if "source-id" in each.meta]
        if len(rows) == 1:  # else the user took it out, or copied it
            found.extend(_what_waits(link, rows[0], transactions, accounts))
    return sorted(found)


def _what_waits(
    link: str,
    row: TransactionText,
    transactions: Iterable[TransactionText],
    accounts: BankAccounts,
) -> Iterator[WaitingRow]:
    """Yield what of a row waits, by account and currency: mostly nothing or one.

    Args:
      link: The row's link.
      row: The row's own transaction.
      transactions: All with the link.
      accounts: The accounts that tell what they are.
    """
    waits: dict[tuple[str, str], Decimal] = defaultdict(Decimal)
    for transaction in transactions:
        among = accounts.suspense
        if not links_of(transaction, "payout-"):
            among |= accounts.payouts
        for account in among:
            for currency, amount in transaction.sums([account]).items():
                waits[account, currency] -= amount
    for (account, currency), amount in waits.items():
        if amount:
            yield WaitingRow(
                row.date,
                link,
                row.meta["source-id"].partition("/")[0],
                row.payee,
                row.narration,
                row.meta.get("reference", ""),
                account,
                amount,
                currency,
                whole=len(row.postings) == 2
                and -row.sums([account]).get(currency, ZERO) == amount,
            )


def transactions_with(
    contents: Iterable[bytes], what: re.Pattern[bytes]
) -> Iterator[TransactionText]:
    """Yield the transactions of files in which an expression is found."""
    for text in (text for each in contents for text in find_transactions(each, what)):
        if (transaction := read_transaction(text)) is not None:
            yield transaction


def links_of(transaction: TransactionText, start: str) -> list[str]:
    """Return the links of a transaction that begin with a text, sorted."""
    return sorted(link for link in transaction.links if link.startswith(start))
