"""Find out what a ledger has of single orders, from the text of their transactions.

Amounts are read where a posting has one: one that the user left for beancount to fill in
is not counted.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from decimal import Decimal
from typing import NamedTuple

from offcut.importers.known import Known
from offcut.importers.layout import Accounts
from offcut.importers.open_amounts import OpenAmount
from offcut.importers.transaction_texts import find_transactions, links_in
from offcut.importers.values import ZERO

# What tells the postings to the account of remitted tax apart; without a note, they are
# what a payment says.
CHARGED = "sales tax that the marketplace pays over"
PLUG = "sales tax that the order's lines do not say"
REFUNDED = "sales tax in the refund"
TAKEN_OVER = "booked before, without its items"

_ORDER_LINK = re.compile(rb"\^order-([A-Za-z0-9_/.-]+)")
_META = re.compile(
    r'^[ \t]+([a-z][\w-]*):[ \t]*(?:"((?:[^"\\]|\\.)*)"|([^"\s;][^;\r\n]*))', re.M
)
_POSTING = re.compile(
    r"^[ \t]+(?:[*!][ \t]+)?([A-Z][^\s;:]*:[^\s;]+)"
    r"(?:[ \t]+([-+]?(?:[\d,]+\.?\d*|\.\d+))[ \t]+([A-Z][\w'.-]*))?[^\n]*"
    r"((?:\n[ \t]+[a-z;][^\n]*)*)",
    re.M,
)
# Movements that pay orders, which are then one account where they are paid together.
_PAYING = ("sale", "gift-card-use", "deposit", "bank")
# What an order line's posting carries, one of them.
LINE_KEYS = frozenset({"item", "item-text", "line-text"})


class OrderPosting(NamedTuple):
    """A posting as a text has it.

    Attributes:
      account: Its account.
      number: Its amount; None where beancount is to fill it in.
      currency: The amount's currency; empty where there is none.
      meta: Its metadata, texts unquoted.
    """

    account: str
    number: Decimal | None
    currency: str
    meta: Mapping[str, str]


class OrderState(NamedTuple):
    """What the ledger has of one order of one channel.

    Attributes:
      open: What is open of it, by currency; of orders paid together, one and the same.
      refunds: What was refunded without saying for which item, by currency.
      refunded_tax: The tax given back by these refunds that the marketplace pays over.
      lines: Whether the order's lines are there.
      returns: Whether there are cancelled lines among them, or an edit made it less.
    """

    open: dict[str, OpenAmount]
    refunds: dict[str, Decimal]
    refunded_tax: dict[str, Decimal]
    lines: bool
    returns: bool


NOTHING = OrderState({}, {}, {}, False, False)


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
        for contents in known.files.values():
            for order, text in _linked(contents, wanted):
                linked[order].append(text)
        found.update(linked)
        together = {other for texts in linked.values() for other in paid_together(texts)}
        wanted = together - found.keys() - wanted
    return found


def paid_together(texts: Iterable[str]) -> Iterator[str]:
    """Yield the keys of orders that payments among some transactions pay, of each all."""
    for text in texts:
        if text.count("^order-") > 1 and "source-id:" in text:
            if header(text).get("movement", "sale") not in _PAYING:
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
    ours = {
        order: of_channel
        for order, all_texts in texts.items()
        if (of_channel := [each for each in all_texts if _is_of(channel, each)])
    }
    states: dict[str, OrderState] = {}
    for order in ours:
        if order in states:
            continue
        members, wanted = {order}, [order]
        while wanted:
            for other in paid_together(ours[wanted.pop()]):
                if other in ours and other not in members:
                    members.add(other)
                    wanted.append(other)
        once: Counter[str] = Counter()
        for member in members:
            once |= Counter(ours[member])
        amounts = _open_amounts(once.elements(), accounts)
        for member in members:
            states[member] = _state(ours[member], accounts)._replace(open=amounts)
    return states


def postings_in(text: str) -> list[OrderPosting]:
    """Return the postings of a transaction's text."""
    return [
        OrderPosting(account, _number(number), currency, _meta(meta) if meta else {})
        for account, number, currency, meta in _POSTING.findall(text)
    ]


def is_line(posting: OrderPosting, accounts: Accounts) -> bool:
    """Return whether a posting of an order's lines is part of what they come to."""
    account, meta = posting.account, posting.meta
    if account == accounts.tax_remitted:
        return meta.get("note") == CHARGED
    whole = (accounts.tax, accounts.shipping, accounts.discounts)
    return account in whole or not LINE_KEYS.isdisjoint(meta)


def header(text: str) -> dict[str, str]:
    """Return the metadata of a transaction's text itself."""
    first = _POSTING.search(text)
    return _meta(text[: first.start()] if first else text)


def _state(texts: Iterable[str], accounts: Accounts) -> OrderState:
    """Return the state of an order by itself, without what is open of it."""
    refunds: dict[str, Decimal] = defaultdict(Decimal)
    refunded_tax: dict[str, Decimal] = defaultdict(Decimal)
    lines = returns = False
    for text in texts:
        meta = header(text)
        if "lines-id" in meta:
            lines = True
            returns = returns or _returns(text, "#" in meta["lines-id"], accounts)
        elif meta.get("movement") == "refund" and len(_orders_of(text)) < 2:
            for account, number, currency, noted in postings_in(text):
                if number is None:
                    continue
                if account == accounts.refunds:
                    refunds[currency] += number
                elif account == accounts.tax_remitted and noted.get("note") == REFUNDED:
                    refunded_tax[currency] += number
    return OrderState({}, dict(refunds), dict(refunded_tax), lines, returns)


def _returns(text: str, is_edit: bool, accounts: Accounts) -> bool:
    """Return whether an order's lines have cancelled ones, or an edit made them less."""
    total = ZERO
    for posting in postings_in(text):
        if not is_line(posting, accounts):
            continue
        if posting.account == accounts.refunds or posting.meta.get(
            "quantity", ""
        ).startswith("-"):
            return True
        total -= posting.number or ZERO
    return is_edit and total < 0


def _open_amounts(texts: Iterable[str], accounts: Accounts) -> dict[str, OpenAmount]:
    """Return what some transactions leave open, by currency."""
    found: dict[str, OpenAmount] = defaultdict(OpenAmount)
    for text in texts:
        meta = header(text)
        has_lines = "lines-id" in meta
        for posting in postings_in(text):
            account, number, currency, noted = posting
            if number is None:
                continue
            of_line = not LINE_KEYS.isdisjoint(noted)
            amount = found[currency]
            if has_lines:
                amount.lines = amount.lines or ZERO
                if is_line(posting, accounts):
                    amount.lines -= number
                    if account in (accounts.tax, accounts.tax_remitted):
                        amount.tax -= number
                    continue
            if account == accounts.receivable:
                amount.receivable += number
            elif account == accounts.suspense and not of_line:
                amount.suspense += number
            elif account == accounts.deposits:
                amount.deposits += number
            elif account == accounts.tax_remitted:
                if noted.get("note") == PLUG:
                    amount.plug += number
                else:
                    amount.remitted += number
    return dict(found)


def _is_of(channel: str, text: str) -> bool:
    return header(text).get("channel", channel) == channel


def _meta(text: str) -> dict[str, str]:
    return {
        key: re.sub(r"\\(.)", r"\1", quoted) if quoted else bare.rstrip()
        for key, quoted, bare in _META.findall(text)
    }


def _number(text: str) -> Decimal | None:
    return Decimal(text.replace(",", "")) if text else None


def _linked(contents: bytes, orders: Collection[str]) -> Iterator[tuple[str, str]]:
    """Yield the key and the text of each transaction with the link of one of the orders."""
    wanted = {order.encode() for order in orders}
    for text in find_transactions(contents, _ORDER_LINK, among=wanted):
        for order in _orders_of(text):
            if order in orders:
                yield order, text


def _orders_of(text: str) -> list[str]:
    """Return the keys of the orders that a transaction is linked with, sorted."""
    links = links_in(text)
    return sorted(each[6:] for each in links if each.startswith("order-"))
