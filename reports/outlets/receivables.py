"""Say what buyers owe on a day, invoice by invoice, and for how long.

Invoices are what the ledger's receivable accounts (`Assets:Receivable:…`) were debited
with; what was paid goes to the order that it names, and there to the oldest first. A
payment that names several orders, and not how much of each, pays them from the oldest.
Every debit and credit is counted once, so what is open adds up to the accounts' balance.
"""

from __future__ import annotations

import datetime
import decimal
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, NamedTuple

from beancount.core import data

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.flows import money_transactions, weight
from offcut.reports.order_lines import channel_of, orders_of

RECEIVABLE = "Receivable"


class OpenInvoice(NamedTuple):
    """What is open of an invoice, or was paid without one.

    Attributes:
      order: Its order's number; empty where it has none.
      buyer: Who owes it: the payee of its transaction.
      channel: Where it was sold.
      account: The receivable account.
      date: The day of the invoice; of a payment too much, of that.
      amount: What is open; below zero where more was paid than was owed.
      currency: The amount's currency.
      file: The file with its transaction.
      line: The line in it.
    """

    order: str
    buyer: str
    channel: str
    account: str
    date: datetime.date
    amount: Decimal
    currency: str
    file: str
    line: int

    def age(self, day: datetime.date) -> int:
        """Return how many days old it is.

        Args:
          day: The day to count to.
        """
        return (day - self.date).days


class _Debtor(NamedTuple):
    """Whose debits and credits are held against each other."""

    account: str
    currency: str
    order: str
    buyer: str


@dataclass
class _Ledger:
    """The receivable accounts while they are read, in the order of the days."""

    debits: dict[_Debtor, list[OpenInvoice]] = field(
        default_factory=lambda: defaultdict(list)
    )
    credits: dict[_Debtor, list[OpenInvoice]] = field(
        default_factory=lambda: defaultdict(list)
    )
    joint: list[tuple[list[_Debtor], OpenInvoice]] = field(default_factory=list)


def open_invoices(
    entries: Iterable[data.Directive],
    options_map: Mapping[str, Any],
    day: datetime.date,
) -> list[OpenInvoice]:
    """Return what buyers owe at the close of a day, the oldest first.

    Args:
      entries: The ledger's directives, after its plugins.
      options_map: The ledger's options.
      day: The last day to count.
    """
    root = f"{options_map['name_assets']}:{RECEIVABLE}"
    with decimal.localcontext(EXACT):
        books = _read(entries, root, day)
        for debtors, payment in books.joint:
            _pay_jointly(books, debtors, payment)
        found = [
            invoice
            for debtor in {**books.debits, **books.credits}
            for invoice in _settled(books.debits[debtor], books.credits[debtor])
        ]
    return sorted(found, key=lambda each: (each.date, each.order, each.account, each))


def receivable_balance(invoices: Iterable[OpenInvoice], currency: str) -> Decimal:
    """Return what invoices of a currency come to.

    Args:
      invoices: What is open.
      currency: The currency.
    """
    amounts = (each.amount for each in invoices if each.currency == currency)
    with decimal.localcontext(EXACT):
        return sum(amounts, ZERO)


def _read(entries: Iterable[data.Directive], root: str, day: datetime.date) -> _Ledger:
    """Return the debits and credits of the receivable accounts."""
    books = _Ledger()
    below = root + ":"
    for entry in money_transactions(entries):
        if entry.date > day:
            continue
        for posting in entry.postings:
            account = posting.account
            if not (account.startswith(below) or account == root):
                continue
            weighed = weight(posting)
            if weighed is None or not weighed[0]:
                continue
            _enter(books, entry, posting, *weighed)
    return books


def _enter(
    books: _Ledger,
    entry: data.Transaction,
    posting: data.Posting,
    amount: Decimal,
    currency: str,
) -> None:
    """Enter a posting where it belongs."""
    meta = posting.meta or {}
    named = meta.get("order")
    orders = [named] if isinstance(named, str) else orders_of(entry)
    buyer = entry.payee or ""
    channel = channel_of(entry) or posting.account.partition(f"{RECEIVABLE}:")[2]
    order = orders[0] if len(orders) == 1 else ""
    item = OpenInvoice(
        order=order,
        buyer=buyer,
        channel=channel,
        account=posting.account,
        date=entry.date,
        amount=amount,
        currency=currency,
        file=str(meta.get("filename") or entry.meta["filename"]),
        line=int(meta.get("lineno") or entry.meta["lineno"]),
    )
    if len(orders) > 1 and amount < ZERO:
        debtors = [_Debtor(item.account, currency, each, "") for each in orders]
        books.joint.append((debtors, item))
        return
    debtor = _Debtor(item.account, currency, order, "" if order else buyer)
    (books.debits if amount > ZERO else books.credits)[debtor].append(item)


def _pay_jointly(books: _Ledger, debtors: list[_Debtor], payment: OpenInvoice) -> None:
    """Give a payment for several orders to them, from the oldest."""
    rest = -payment.amount
    owing = []
    for debtor in debtors:
        debits, credits = books.debits.get(debtor, []), books.credits.get(debtor, [])
        owed = sum((each.amount for each in (*debits, *credits)), ZERO)
        if debits and owed > ZERO:
            owing.append((min(each.date for each in debits), debtor, owed))
    for _, debtor, owed in sorted(owing):
        part = min(rest, owed)
        if part:
            paid = payment._replace(order=debtor.order, amount=-part)
            books.credits[debtor].append(paid)
            rest -= part
    if rest:
        debtor = _Debtor(payment.account, payment.currency, "", payment.buyer)
        books.credits[debtor].append(payment._replace(amount=-rest))


def _settled(
    debits: list[OpenInvoice], credits: list[OpenInvoice]
) -> Iterator[OpenInvoice]:
    """Yield what is open once what was paid has gone to the oldest debits."""
    paid = -sum((each.amount for each in credits), ZERO)
    for debit in sorted(debits, key=lambda each: each.date):
        part = min(paid, debit.amount)
        paid -= part
        if debit.amount > part:
            yield debit._replace(amount=debit.amount - part)
    if paid:
        last = max(credits, key=lambda each: each.date)
        yield last._replace(amount=-paid)
