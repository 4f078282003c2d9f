"""Turn payments and orders into postings and transactions."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from decimal import Decimal
from functools import cache
from typing import NamedTuple

from offcut.importers.items import Meaning
from offcut.importers.layout import Accounts
from offcut.importers.ledger_text import posting_text, transaction_text
from offcut.importers.records import Order, OrderLine, Payment, order_key

Meta = tuple[tuple[str, str | Decimal], ...]
Match = Callable[[str], Meaning]


WritePosting = Callable[[str, Decimal, str, Meta], str]


class Booking(NamedTuple):
    """One transaction to write.

    Attributes:
      day: Its date as ISO 8601 writes it.
      source: The source whose file it goes to.
      text: Its lines in a ledger.
    """

    day: str
    source: str
    text: str


class LinePostings(NamedTuple):
    """What one order line is booked to.

    Attributes:
      text: The postings' lines: its amount, and its discount if it has one.
      owed: What the buyer owes for it.
      returns: Whether it is cancelled, or a refund by itself.
      packed: Whether there are pieces to pack.
    """

    text: str
    owed: Decimal
    returns: bool
    packed: bool


def posting_writer(accounts: set[str]) -> WritePosting:
    """Return a function that writes a posting, each different one once.

    Prices, fees and taxes repeat; to look a posting up is quicker than to write it.

    Args:
      accounts: Takes the accounts that are posted to.
    """

    @cache
    def write(account: str, amount: Decimal, currency: str, meta: Meta) -> str:
        accounts.add(account)
        return posting_text(account, amount, currency, meta)

    return write


def line_poster(
    match: Match, accounts: Accounts, currency: str, write: WritePosting
) -> Callable[[OrderLine], LinePostings]:
    """Return a function that says what an order line is booked to.

    A line whose text means nothing known goes to the suspense account with its text.
    A cancelled line puts its pieces back on the shelf; a line with pieces and a
    negative price is a refund that puts nothing back.

    Args:
      match: Says what an item text means.
      accounts: Where lines are booked to.
      currency: The currency of their amounts.
      write: Writes a posting.
    """

    @cache
    def post(line: OrderLine) -> LinePostings:
        meaning = match(line.item)
        account, meta = _target(line, meaning, accounts)
        text = write(account, -line.amount, currency, meta)
        if line.discount:
            item: Meta = (("item", meaning.product),) if meaning.product else ()
            text += write(accounts.discounts, line.discount, currency, item)
        return LinePostings(
            text,
            line.amount - line.discount,
            returns=line.quantity < 0 or account == accounts.refunds,
            packed=account == accounts.sales,
        )

    return post


def _target(line: OrderLine, meaning: Meaning, accounts: Accounts) -> tuple[str, Meta]:
    """Return the account of a line, and what is noted beside it."""
    quantity, amount = line.quantity, line.amount
    if meaning.account:
        return meaning.account, (("line-text", line.item), ("quantity", quantity))
    if meaning.product and quantity > 0 and amount >= 0:
        return accounts.sales, (("item", meaning.product), ("quantity", quantity))
    if meaning.product and quantity < 0 and amount <= 0:
        return accounts.refunds, (("item", meaning.product), ("quantity", -quantity))
    if meaning.product and quantity > 0:
        return accounts.refunds, (("item", meaning.product),)
    return accounts.suspense, (("item-text", line.item), ("quantity", quantity))


def lines_booking(order: Order, postings: Iterable[str], packing: str) -> Booking:
    """Return the transaction of an order whose payment is not in this import.

    Args:
      order: The order.
      postings: Its lines, and what balances them.
      packing: The packing list that it is packed by; empty where it has none.
    """
    layout = order.layout
    day = order.date.isoformat()
    text = transaction_text(
        day,
        f"{layout.channel} order {order.number}",
        f"order-{order.order}",
        (("channel", layout.channel), ("packing", packing), ("lines-id", lines_id(order))),
        "".join(postings),
    )
    return Booking(day, layout.source, text)


def payment_booking(
    payment: Payment,
    contra: Iterable[str],
    write: WritePosting,
    order: Order | None = None,
    packing: str = "",
) -> Booking:
    """Return the transaction of a payment.

    Args:
      payment: The payment.
      contra: What balances its gross amount.
      write: Writes a posting.
      order: The order whose lines are among `contra`.
      packing: The packing list that the order is packed by; empty where it has none.
    """
    layout, currency = payment.layout, payment.currency
    postings = [write(layout.accounts.clearing, payment.net, currency, ())]
    fee = -payment.net if payment.movement == "fee" else payment.fee
    if fee:
        postings.append(write(layout.accounts.fees, fee, currency, ()))
    postings.extend(contra)
    link = ""
    if payment.order:
        link = f"order-{payment.order}"
    elif payment.movement == "payout":
        link = f"payout-{order_key(payment.id)}"
    day = payment.date.isoformat()
    text = transaction_text(
        day,
        payment.text or _narration(payment),
        link,
        (
            ("channel", layout.channel),
            ("packing", packing),
            ("movement", "" if payment.movement == "sale" else payment.movement),
            ("source-id", source_id(payment)),
            ("lines-id", lines_id(order) if order else ""),
        ),
        "".join(postings),
    )
    return Booking(day, layout.source, text)


def contra_postings(payment: Payment, write: WritePosting) -> tuple[str, ...]:
    """Return what balances a movement that is matched with no order's lines.

    Args:
      payment: The movement.
      write: Writes a posting.
    """
    accounts = payment.layout.accounts
    note: Meta = ()
    match payment.movement:
        case "fee":
            return ()  # the whole of it is posted as a fee
        case "sale" if "order" not in payment.layout.columns:
            account = accounts.sales
        case "sale":
            account = accounts.suspense
            note = (
                (
                    "note",
                    "order lines not imported" if payment.order else "no order number",
                ),
            )
        case "refund":
            account = accounts.refunds
        case "payout":
            account = accounts.payout
        case "dispute" | "reversal":
            account = accounts.disputes
        case "adjustment":
            account = accounts.suspense
            note = (("note", "adjustment"),)
    if not payment.gross:
        return ()
    return (write(account, -payment.gross, payment.currency, note),)


def source_id(payment: Payment) -> str:
    """Return the id that a payment is found again by."""
    return f"{payment.layout.source}/{payment.id}"


def lines_id(order: Order) -> str:
    """Return the id that an order's lines are found again by."""
    return f"{order.layout.source}/{order.order}"


def _narration(payment: Payment) -> str:
    """Return what to call a movement that the file has no text for."""
    order = f"{payment.layout.channel} order {payment.number}" if payment.number else ""
    if payment.movement == "sale":
        return order or f"{payment.layout.channel} sale"
    return f"{payment.movement.capitalize()}{', ' if order else ''}{order}"
