"""Turn the lines of orders into postings, and an order's lines into a transaction."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from decimal import Decimal
from functools import cache
from typing import NamedTuple

from offcut.importers.items import Meaning
from offcut.importers.layout import Accounts
from offcut.importers.ledger_text import transaction_text
from offcut.importers.order_postings import CHARGED, discount_meta
from offcut.importers.postings import Booking, Meta, WritePosting, lines_id
from offcut.importers.records import Order, OrderLine
from offcut.importers.splitting import split_in_cents
from offcut.importers.values import minor_unit

Match = Callable[[str], Meaning]


class LinePosting(NamedTuple):
    """One posting of an order line.

    Attributes:
      account: Its account.
      amount: Its amount; negative for what was sold.
      meta: What is noted beside it.
    """

    account: str
    amount: Decimal
    meta: Meta


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


def line_poster(
    match: Match, accounts: Accounts, currency: str, write: WritePosting
) -> Callable[[OrderLine], LinePostings]:
    """Return a function that says what an order line is booked to.

    Args:
      match: Says what an item text means.
      accounts: Where lines are booked to.
      currency: The currency of their amounts.
      write: Writes a posting.
    """

    @cache
    def post(line: OrderLine) -> LinePostings:
        meaning = match(line.item)
        booked = list(line_postings(line, meaning, accounts, currency))
        text = "".join([write(*posting[:2], currency, posting[2]) for posting in booked])
        return LinePostings(
            text,
            line.amount - line.discount,
            returns=line.quantity < 0 or booked[0].account == accounts.refunds,
            packed=booked[0].account == accounts.sales,
        )

    return post


def line_postings(
    line: OrderLine, meaning: Meaning, accounts: Accounts, currency: str
) -> Iterator[LinePosting]:
    """Yield what an order line is booked to: its amount, and its discount if it has one.

    A line whose text means nothing known goes to the suspense account with its text,
    which its discount carries, too.
    A cancelled line puts its pieces back on the shelf; a line with pieces and a
    negative price is a refund that puts nothing back. A bundle's amount and discount
    are split over its products. Pieces for nothing, from which nothing was taken off,
    are given away: their cost is not one of sales.
    """
    if not meaning.parts:
        yield _posting(line, meaning, accounts)
        if line.discount:
            unknown = f"?{line.item}" if not meaning.account else ""
            meta = discount_meta(meaning.product or unknown)
            yield LinePosting(accounts.discounts, line.discount, meta)
        return
    weights = [part.weight for part in meaning.parts]
    unit = minor_unit(currency)
    amounts = split_in_cents(line.amount, weights, unit)
    discounts = split_in_cents(line.discount, weights, unit)
    lines = [
        (part, line._replace(quantity=line.quantity * part.pieces, amount=amount))
        for part, amount in zip(meaning.parts, amounts, strict=True)
    ]
    for part, of_part in lines:
        # What the whole line is, so are its parts: one may come to no cent of it.
        yield _posting(of_part, Meaning(part.product), accounts, whole=line.amount)
    for (part, _), discount in zip(lines, discounts, strict=True):
        if discount:
            yield LinePosting(accounts.discounts, discount, (("item", part.product),))


def _posting(
    line: OrderLine, meaning: Meaning, accounts: Accounts, whole: Decimal | None = None
) -> LinePosting:
    """Return the posting of a line's amount.

    Args:
      line: The line, or a bundle's part of it.
      meaning: What its text means: one product at most.
      accounts: Where it is booked to.
      whole: What the bundle comes to that it is a part of.
    """
    quantity, amount = line.quantity, line.amount
    total = amount if whole is None else whole
    if meaning.account:
        meta: Meta = (("line-text", line.item), ("quantity", quantity))
        return LinePosting(meaning.account, -amount, meta)
    if not meaning.product or (quantity < 0 < total):
        meta = (("item-text", line.item), ("quantity", quantity))
        return LinePosting(accounts.suspense, -amount, meta)
    item = ("item", meaning.product)
    if quantity > 0 > total:
        return LinePosting(accounts.refunds, -amount, (item,))
    meta = (item, ("quantity", abs(quantity)))
    if not total and not line.discount:
        meta += (("cost-account", accounts.giveaways),)
    account = accounts.sales if quantity > 0 else accounts.refunds
    return LinePosting(account, -amount, meta)


def charges(order: Order) -> Iterator[LinePosting]:
    """Yield what an order is booked to beside its lines: tax, shipping, a reduction."""
    accounts = order.layout.accounts
    if order.tax:
        if order.layout.remits:
            note = (("note", CHARGED),)
            yield LinePosting(accounts.tax_remitted, -order.tax, note)
        else:
            yield LinePosting(accounts.tax, -order.tax, ())
    if order.shipping:
        yield LinePosting(accounts.shipping, -order.shipping, ())
    if order.reduction:
        yield LinePosting(accounts.discounts, order.reduction, ())


def lines_booking(
    order: Order,
    postings: Iterable[str],
    packing: str,
    edit: int = 0,
) -> Booking:
    """Return the transaction of an order whose payment is not in it.

    Args:
      order: The order.
      postings: Its lines, and what balances them.
      packing: The packing list that it is packed by; empty where it has none.
      edit: Which transaction of its lines this is, from 2, where the order was edited.
    """
    layout = order.layout
    day = order.date.isoformat()
    name = f"{layout.channel} order {order.number}"
    if order.is_cancelled or edit:
        name = f"{name}, {'cancelled' if order.is_cancelled else 'edited'}"
    text = transaction_text(
        day,
        name,
        f"order-{order.order}",
        (
            ("channel", layout.channel),
            ("packing", packing),
            ("coupon", order.coupon),
            ("lines-id", f"{lines_id(order)}#{edit}" if edit else lines_id(order)),
        ),
        "".join(postings),
        order.buyer,
    )
    return Booking(day, layout.source, text)
