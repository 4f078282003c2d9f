"""Find out what a ledger has of single orders, from the text of their transactions.

Amounts are read where a posting has one: one that the user left for beancount to fill in
is not counted.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from decimal import Decimal
from typing import NamedTuple

from offcut.importers.known import Known
from offcut.importers.layout import Accounts
from offcut.importers.values import ZERO

_ORDER_LINK = re.compile(rb"\^order-([A-Za-z0-9_/.-]+)")
_INDENTED = re.compile(rb"(?:\r?\n[ \t]+\S[^\n]*)*")
_META = re.compile(r"^[ \t]+([a-z][\w-]+):[ \t]*(.*?)\s*$", re.M)
_POSTING = re.compile(
    r"^[ \t]+([A-Z][^\s;]*)[ \t]+([-+]?[\d,.]+)[ \t]+([A-Z][\w'.-]*)", re.M
)
_POSTING_WITH_META = re.compile(
    r"^[ \t]+([A-Z][^\s;]*)[ \t]+([-+]?[\d,.]+)[^\n]*((?:\n[ \t]+[a-z][^\n]*)*)", re.M
)
_CANCELLED = re.compile(r"^[ \t]+quantity:[ \t]*-", re.M)
# What an order line's posting carries, one of them.
_OF_A_LINE = re.compile(r"\n[ \t]+(?:item|item-text|line-text):")


class OrderState(NamedTuple):
    """What the ledger has of one order of one channel.

    Attributes:
      receivable: What the buyer owes by the books, by currency.
      suspense: What its payments, booked without its lines, put in suspense, by currency.
      refunds: What was refunded without saying for which item, by currency.
      lines: Whether the order's lines are there.
      returns: Whether there are cancelled lines among them.
      sold: Whether a payment of the order is there.
      refunded: Whether a refund of the order is there.
    """

    receivable: dict[str, Decimal]
    suspense: dict[str, Decimal]
    refunds: dict[str, Decimal]
    lines: bool
    returns: bool
    sold: bool
    refunded: bool


NOTHING = OrderState({}, {}, {}, False, False, False, False)


def order_transactions(known: Known, orders: Collection[str]) -> dict[str, list[str]]:
    """Return the texts of the transactions with the links of orders, by the order's key.

    Args:
      known: The ledger.
      orders: The keys of the orders.
    """
    found: dict[str, list[str]] = defaultdict(list)
    if orders:
        for contents in known.files.values():
            for order, text in _linked(contents, orders):
                found[order].append(text)
    return found


def order_state(
    texts: Iterable[str], channel: str, accounts: Accounts
) -> OrderState | None:
    """Return the state of an order; None where none of the transactions is the channel's.

    Args:
      texts: The texts of the transactions with the order's link.
      channel: The channel.
      accounts: The channel's accounts.
    """
    receivable: dict[str, Decimal] = defaultdict(Decimal)
    suspense: dict[str, Decimal] = defaultdict(Decimal)
    refunds: dict[str, Decimal] = defaultdict(Decimal)
    lines = returns = sold = refunded = ours = False
    for text in texts:
        meta = dict(_META.findall(text))
        if meta.get("channel", f'"{channel}"') != f'"{channel}"':
            continue
        ours = True
        has_lines = "lines-id" in meta
        movement = meta.get("movement", '"sale"') if "source-id" in meta else ""
        lines |= has_lines
        sold |= movement == '"sale"'
        refunded |= movement == '"refund"'
        returns |= has_lines and bool(_CANCELLED.search(text))
        for account, number, currency in _POSTING.findall(text):
            amount = _number(number)
            if account == accounts.receivable:
                receivable[currency] += amount
            elif account == accounts.suspense and movement and not has_lines:
                suspense[currency] += amount
            elif account == accounts.refunds:
                returns |= has_lines
                if movement == '"refund"' and not has_lines:
                    refunds[currency] += amount
    if not ours:
        return None
    return OrderState(
        dict(receivable), dict(suspense), dict(refunds), lines, returns, sold, refunded
    )


def lines_total(texts: Iterable[str], lines_id: str, accounts: Accounts) -> Decimal | None:
    """Return what an order's lines come to in the ledger; None where it has none.

    Args:
      texts: The texts of the transactions with the order's link.
      lines_id: The id of its lines, as the ledger's text has it.
      accounts: The accounts of their layout.
    """
    whole = (accounts.tax, accounts.shipping, accounts.discounts)
    for text in texts:
        if f'lines-id: "{lines_id}"' not in text:
            continue
        total = ZERO
        for account, number, meta in _POSTING_WITH_META.findall(text):
            if account in whole or (meta and _OF_A_LINE.search(meta)):
                total -= _number(number)
        return total
    return None


def _number(text: str) -> Decimal:
    return Decimal(text.replace(",", ""))


def _linked(contents: bytes, orders: Collection[str]) -> Iterator[tuple[str, str]]:
    """Yield the key and the text of each transaction with the link of one of the orders."""
    for match in _ORDER_LINK.finditer(contents):
        order = match[1].decode()
        if order in orders:
            start = contents.rfind(b"\n", 0, match.start()) + 1
            line_end = contents.find(b"\n", match.end())
            line_end = len(contents) if line_end < 0 else line_end
            rest = _INDENTED.match(contents, line_end)
            assert rest is not None  # it matches the empty text
            if contents[start : start + 1].isdigit():
                yield order, contents[start : rest.end()].decode("utf-8", "replace")
