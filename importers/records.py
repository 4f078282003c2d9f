"""What files say, in offcut's own words: payments, and orders with their lines."""

from __future__ import annotations

import datetime
import hashlib
import re
from decimal import Decimal
from typing import NamedTuple

from offcut.importers.layout import Layout, Movement

ZERO = Decimal(0)


class Payment(NamedTuple):
    """One movement of money, in a currency's whole minor units.

    Attributes:
      layout: The layout that it was read by.
      file: The file's name.
      row: The row's number.
      date: The day of the movement.
      movement: What kind it is.
      number: The order's number as the file has it; empty where it has none.
      order: The order's key, as links have it; empty where there is none.
      text: What the file says about it.
      gross: Before the fee; negative where money went out.
      fee: The fee charged; negative where one was given back.
      net: gross less fee, what the clearing account gained.
      currency: The currency of all its amounts.
      id: What tells the row from every other row of the source.
      orders: The keys of the orders that it pays together, if it pays several; `order`
        is empty then.
      tip: The part of the gross that is a tip.
      tax: The part of the gross that is sales tax which the maker owes.
      shipping: The part of the gross that was charged for shipping.
      remitted: Sales tax that the marketplace kept back and pays over itself; part of
        the gross, and not of the net.
      reference: What ties the rows of one movement together, as of a conversion.
      payee: Who paid, or was paid.
      account: The account that the layout's rules book it to; empty where none does.
    """

    layout: Layout
    file: str
    row: int
    date: datetime.date
    movement: Movement
    number: str
    order: str
    text: str
    gross: Decimal
    fee: Decimal
    net: Decimal
    currency: str
    id: str
    orders: tuple[str, ...] = ()
    tip: Decimal = ZERO
    tax: Decimal = ZERO
    shipping: Decimal = ZERO
    remitted: Decimal = ZERO
    reference: str = ""
    payee: str = ""
    account: str = ""


def money_moved(payment: Payment) -> Decimal:
    """Return what a movement adds to the account that its file is about.

    A gift card pays from the money that was taken when it was sold: only the fee moves.
    """
    return -payment.fee if payment.movement == "gift-card-use" else payment.net


class OrderLine(NamedTuple):
    """One line of an order.

    Attributes:
      item: The text that the file has for what was sold.
      quantity: Pieces; negative where the line is cancelled.
      amount: Quantity times unit price, before discount, rounded to the minor unit.
      exact: The same before it was rounded.
      discount: What was taken off the amount.
    """

    item: str
    quantity: Decimal
    amount: Decimal
    exact: Decimal
    discount: Decimal


class Order(NamedTuple):
    """All lines of one order.

    Attributes:
      layout: The layout that it was read by.
      file: The file's name.
      row: The number of its first row.
      date: The earliest day on its lines.
      number: The order's number as the file has it.
      order: The order's key, as links have it.
      currency: The currency of its amounts.
      shipping: What the buyer was charged for shipping.
      tax: What the buyer was charged as sales tax.
      lines: Its lines, in the file's order.
      reduction: What was taken off the whole order, beside its lines' discounts.
      coupon: What the reduction was given for.
      buyer: Who ordered, where the file says it: wholesale.
      cancelled: The texts of lines that the file marks as cancelled, of all or of some:
        these are not among its lines.
    """

    layout: Layout
    file: str
    row: int
    date: datetime.date
    number: str
    order: str
    currency: str
    shipping: Decimal
    tax: Decimal
    lines: tuple[OrderLine, ...]
    reduction: Decimal = ZERO
    coupon: str = ""
    buyer: str = ""
    cancelled: tuple[str, ...] = ()

    @property
    def is_cancelled(self) -> bool:
        """Whether nothing of it is left."""
        return not self.lines


def order_total(order: Order) -> Decimal:
    """Return what the buyer owes for an order."""
    lines = sum([line.amount - line.discount for line in order.lines], ZERO)
    return order.shipping + order.tax + lines - order.reduction


def order_key(number: str, prefix: str = "") -> str:
    """Return the key of an order's number, which can stand in a link.

    A `#` before the number is dropped. Other characters that a link cannot hold become
    `-`, with a few digits of a digest after them, so that different numbers stay so.
    """
    bare = number.lstrip("#").strip()
    if not bare or (bare.isascii() and bare.isalnum()):
        return bare and prefix + bare
    allowed = re.sub(r"[^A-Za-z0-9_/.-]", "-", bare)
    if allowed != bare:
        allowed = f"{allowed}.{hashlib.sha256(bare.encode()).hexdigest()[:6]}"
    return prefix + allowed


def row_id(cells: tuple[str, ...], occurrence: int) -> str:
    """Return an id for a row that has none of its own.

    Args:
      cells: The row's cells in the layout's columns, each a text of one line.
      occurrence: How many rows before it in the file have the same cells: overlapping
        files agree on it.
    """
    text = "\x1f".join([*cells, str(occurrence)])
    return hashlib.sha256(text.encode()).hexdigest()[:16]
