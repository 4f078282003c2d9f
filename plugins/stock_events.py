"""What moves stock: the events of a ledger, and what they are found with."""

from __future__ import annotations

import datetime
from decimal import Decimal
from enum import IntEnum
from typing import Any, NamedTuple, TypeVar

from beancount.core import data
from beancount.core.data import Posting
from beancount.core.position import Cost

from offcut.plugins.stock_directives import Bill, Packing

VersionT = TypeVar("VersionT", Bill, Packing)


class Phase(IntEnum):
    """What comes before what within a day."""

    RECEIPT = 0
    LATE_BILL = 1
    RUN = 2
    MOVE = 3
    LEAVING = 4
    PACKING = 5
    RETURN = 6
    COUNT = 7
    VALUATION = 8


class StockError(NamedTuple):
    """Something about stock that does not add up, at the line that says it."""

    source: data.Meta
    message: str
    entry: Any


class Line(NamedTuple):
    """An income posting that says what was sold, or what came back.

    Attributes:
      item: The item.
      quantity: How many, more than zero.
      place: The shop that had them on consignment, if one had.
      cost_account: What bears their cost, where that is not the cost of sales.
    """

    item: str
    quantity: Decimal
    place: str | None
    cost_account: str | None = None


class Parcels(NamedTuple):
    """A day's parcels of one packing list.

    Attributes:
      packing: The list's name.
      orders: The transaction that each parcel is of; one with several parcels as often.
    """

    packing: str
    orders: list[data.Transaction]


class Shortage(NamedTuple):
    """An error: units left that nothing in the ledger had brought in by then.

    Attributes:
      item: What left.
      short: How many were not there.
      open: How many of these have no cost yet.
    """

    source: data.Meta
    message: str
    entry: Any
    item: str
    short: Decimal
    open: Decimal


class Receipt(NamedTuple):
    """A posting to stock: normally a lot that was bought.

    Attributes:
      posting: The posting.
      units: How many; below zero where the user took stock out by hand.
      item: The item.
      cost: Its cost key, if it has one.
    """

    posting: Posting
    units: Decimal
    item: str
    cost: Cost | None


class Event(NamedTuple):
    """Something to cost. Events sort by day, phase of the day, and content.

    Attributes:
      tie: What the entry says, so that the result does not depend on where in which
        file the entry stands.
      position: The entry's place in the ledger.
      detail: The receipts of a purchase, the lines of a sale or return, parcels, or the
        record of a directive.
    """

    date: datetime.date
    phase: Phase
    tie: tuple[Any, ...]
    position: int
    entry: Any
    detail: Any


class Found(NamedTuple):
    """What a ledger says about stock.

    Attributes:
      events: What to cost, in order.
      bills: Bills of materials by product, by date.
      packings: Packing lists by name, by date.
      returned: Order links and items that something came back of.
      billed: Links of bills that come later than the goods.
      errors: What could not be read.
    """

    events: list[Event]
    bills: dict[str, list[Bill]]
    packings: dict[str, list[Packing]]
    returned: set[tuple[str, str]]
    billed: set[str]
    errors: list[StockError]


def order_links(entry: data.Transaction) -> list[str]:
    """Return the links of an order, sorted; all links where none is marked as one.

    Orders of one payout share the payout's link, and are not one another's.
    """
    marked = [link for link in entry.links if link.startswith("order-")]
    return sorted(marked or entry.links)


def packing_lists(entry: data.Transaction) -> list[str]:
    """Return the packing lists that an order names; one that it uses twice, twice.

    Raises:
      ValueError: Its `packing` is no text.
    """
    named = entry.meta.get("packing", "")
    if not isinstance(named, str):
        raise ValueError(
            f'packing must name a packing list, as packing: "letter", not {named}'
        )
    return [name for part in named.split(",") if (name := part.strip())]
