"""Settle what buyers owe by rows of a bank that name their orders.

A row may name one order or several. Of one it settles what was paid, at most what is
owed, so that it does not matter which of two rows comes first; the rest of an order that
was paid short stays owed, and the rest of a row that paid more waits. Several are settled
where their sum is what was paid, and are left otherwise: it cannot be said which was paid
short.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Collection, Iterable
from decimal import Decimal
from typing import NamedTuple

from offcut.importers.bank.state import BankAccounts, links_of, transactions_with
from offcut.importers.records import order_key
from offcut.importers.values import ZERO

_NUMBER = re.compile(r"[A-Za-z0-9_/.-]+")


class Receivable(NamedTuple):
    """What is owed for an order.

    Attributes:
      order: The order's key.
      account: The account that holds it.
      amount: How much it is.
      currency: The amount's currency.
    """

    order: str
    account: str
    amount: Decimal
    currency: str


class Settlement(NamedTuple):
    """What a row settles.

    Attributes:
      paid: What is paid of each order.
      reason: Why the row, or what is left of it, settles nothing; empty where it names no
        order that owes something.
    """

    paid: tuple[Receivable, ...]
    reason: str


def order_keys(texts: Iterable[str], prefixes: Collection[str]) -> list[str]:
    """Return what may be the keys of orders in texts, in lower case.

    A number of an order has a digit and stands between blanks or marks: `W1042` is in
    "Invoice W1042, thanks" and in "W1042/W1043", and is not in "XW1042" or "W1042-2".

    Args:
      texts: The texts.
      prefixes: What layouts put before the numbers of their orders.
    """
    numbers: dict[str, None] = {}
    for text in texts:
        for found in _NUMBER.findall(text):
            for number in (found.strip("/.-_"), *re.split("[/.]", found)):
                if any(map(str.isdigit, number)):
                    numbers[number] = None
    return list(
        dict.fromkeys(
            order_key(number, prefix).casefold()
            for number in numbers
            for prefix in sorted(prefixes)
        )
    )


def find_receivables(
    contents: Iterable[bytes], orders: Collection[str], accounts: BankAccounts
) -> dict[str, list[Receivable]]:
    """Return what is owed for orders by the texts of a ledger's files.

    Args:
      contents: The bytes of the files.
      orders: The keys of the orders, in lower case.
      accounts: The accounts that tell what is owed.

    Returns:
      By the order's key in lower case; [] where the ledger has the order and nothing is
      owed for it, or it cannot be said.
    """
    if not orders:
        return {}
    keys = b"|".join(re.escape(order).encode() for order in sorted(orders))
    link = re.compile(rb"\^order-(?i:" + keys + rb")(?![A-Za-z0-9_/.-])")
    owed: dict[tuple[str, str, str], Decimal] = defaultdict(Decimal)
    unsure: set[str] = set()
    for transaction in transactions_with(contents, link):
        links = links_of(transaction, "order-")
        of_orders = [each.removeprefix("order-") for each in links]
        for posting in transaction.postings:
            if not accounts.is_receivable(posting.account):
                continue
            of_one = of_orders[0] if len(of_orders) == 1 else posting.meta.get("order", "")
            if posting.number is None or of_one not in of_orders:
                unsure.update(of_orders)
            else:
                owed[of_one, posting.account, posting.currency] += posting.number
    found: dict[str, list[Receivable]] = {}
    for (order, account, currency), amount in sorted(owed.items()):
        if order.casefold() in orders:
            of_order = found.setdefault(order.casefold(), [])
            if amount > 0 and order not in unsure:
                of_order.append(Receivable(order, account, amount, currency))
    return found


def settle(
    amount: Decimal,
    currency: str,
    keys: Iterable[str],
    receivables: dict[str, list[Receivable]],
) -> Settlement:
    """Return what a row settles; takes it from the receivables.

    Args:
      amount: What came in.
      currency: Its currency.
      keys: What may be the keys of the orders that it names.
      receivables: What is owed, by the order's key.
    """
    named = [
        (key, each)
        for key in keys
        for each in receivables.get(key, ())
        if each.currency == currency
    ]
    if not named or amount <= 0:
        return Settlement((), "")
    owed = sum([each.amount for _, each in named], ZERO)
    orders = " and ".join(each.order for _, each in named)
    if owed == amount:
        paid = named
    elif len(named) > 1:
        return Settlement((), f"it names {orders}, which owe {owed} {currency} together")
    elif named[0][1].order.isdigit():
        # A number of digits only may be a date or a customer's: it has to fit.
        return Settlement((), f"it may be for {orders}, which owes {owed} {currency}")
    else:
        key, each = named[0]
        paid = [(key, each._replace(amount=min(amount, owed)))]
    for key, each in paid:
        receivables[key] = [
            other._replace(amount=other.amount - each.amount)
            if (other.order, other.account, other.currency)
            == (each.order, each.account, each.currency)
            else other
            for other in receivables[key]
        ]
        receivables[key] = [other for other in receivables[key] if other.amount]
    reason = f"more than {orders} owed" if amount > owed else ""
    return Settlement(tuple(each for _, each in paid), reason)
