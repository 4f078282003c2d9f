"""Find out what a ledger has of single orders, from the text of their transactions."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Set
from typing import NamedTuple

from offcut.importers.file_facts import ORDER_LINK
from offcut.importers.known import Known
from offcut.importers.layout import Accounts
from offcut.importers.open_amounts import OpenAmount
from offcut.importers.order_postings import PAYING, count_transaction, orders_in
from offcut.importers.transaction_texts import (
    find_transactions,
    header,
    links_in,
    read_transaction,
)


class OrderState(NamedTuple):
    """What the ledger has of one order of one channel.

    Attributes:
      open: What is open of it, by currency; of orders paid together, one and the same.
      lines: Whether the order's lines are there.
    """

    open: dict[str, OpenAmount]
    lines: bool


def order_transactions(known: Known, orders: Collection[str]) -> dict[str, list[str]]:
    """Return the texts of the transactions with the links of orders, by the order's key.

    Orders that a payment has paid together with one of them are among them.

    Args:
      known: The ledger.
      orders: The keys of the orders.
    """
    found: dict[str, list[str]] = {}
    wanted = set(orders)
    while wanted:
        linked: dict[str, list[str]] = defaultdict(list)
        in_bytes = {order.encode() for order in wanted}
        for contents in known.files.with_orders(wanted):
            for order, text in _linked(contents, wanted, in_bytes):
                linked[order].append(text)
        found.update(linked)
        together = {other for texts in linked.values() for other in paid_together(texts)}
        wanted = together - found.keys() - wanted
    return found


def paid_together(texts: Iterable[str]) -> Iterator[str]:
    """Yield the keys of orders that payments among some transactions pay, of each all."""
    for text in texts:
        if text.count("^order-") > 1 and "source-id:" in text:
            if header(text).get("movement", "sale") not in PAYING:
                continue  # a refund or a fee of several orders leaves them apart
            orders = _orders_of(text)
            if len(orders) > 1:
                yield from orders


def order_states(
    texts: Mapping[str, list[str]], channel: str, accounts: Accounts
) -> dict[str, OrderState]:
    """Return the state of each order that the channel has transactions of.

    Args:
      texts: The texts of the transactions with each order's link, by the order's key.
      channel: The channel.
      accounts: The channel's accounts.
    """
    ours: dict[str, list[str]] = {}

    def of_channel(order: str) -> list[str]:
        if order not in ours:
            ours[order] = [each for each in texts.get(order, ()) if is_of(channel, each)]
        return ours[order]

    states: dict[str, OrderState] = {}
    for order in texts:
        if order in states or not of_channel(order):
            continue
        members, wanted = {order}, [order]
        while wanted:
            for other in paid_together(of_channel(wanted.pop())):
                if other not in members and of_channel(other):
                    members.add(other)
                    wanted.append(other)
        once: Counter[str] = Counter()
        for member in members:
            once |= Counter(ours[member])
        amounts: dict[str, OpenAmount] = defaultdict(OpenAmount)
        with_lines: set[str] = set()
        for text in once.elements():
            if read := read_transaction(text):
                with_lines.update(count_transaction(read, members, accounts, amounts))
        found = dict(amounts)
        for member in members:
            states[member] = OrderState(found, member in with_lines)
    return states


def is_of(channel: str, text: str) -> bool:
    """Return whether a transaction is a channel's, or of none that it says."""
    return header(text).get("channel", channel) == channel


def _linked(
    contents: bytes, orders: Set[str], in_bytes: Set[bytes]
) -> Iterator[tuple[str, str]]:
    """Yield the key and the text of each transaction with the link of one of the orders."""
    if in_bytes.isdisjoint(ORDER_LINK.findall(contents)):
        return  # this is found out sooner than link by link
    for text in find_transactions(contents, ORDER_LINK, among=in_bytes):
        for order in _orders_of(text):
            if order in orders:
                yield order, text


def _orders_of(text: str) -> list[str]:
    """Return the keys of the orders that a transaction is linked with, sorted."""
    return orders_in(links_in(text))
