"""Find everything in a ledger that moves stock, in the order in which it is costed."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal, InvalidOperation
from enum import IntEnum
from itertools import pairwise, takewhile
from typing import Any, NamedTuple, TypeVar

from beancount.core import data
from beancount.core.account import is_valid as is_account
from beancount.core.data import Posting
from beancount.core.position import Cost

from offcut.plugins.bills import depths
from offcut.plugins.shelf import SOURCE, Shelf
from offcut.plugins.stock_directives import (
    Bill,
    Consignment,
    Count,
    Malformed,
    Packing,
    Run,
    StockOut,
    Valuation,
    read_directive,
)

ZERO = Decimal(0)

VersionT = TypeVar("VersionT", Bill, Packing)

# A posting with no more metadata than file and line says nothing that is read here.
MERE_SOURCE = 2

NO_QUANTITY = (
    "This sale names its item but not how many were sold, so nothing leaves the shelf; add "
    "quantity: 1, or however many they were"
)


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


class LoadedTwice(Exception):
    """The ledger has been costed already."""


def find_events(
    entries: data.Directives, shelves: Mapping[str, Shelf], options_map: Mapping[str, Any]
) -> Found:
    """Read all that moves stock.

    Args:
      entries: A list of directives, booked.
      shelves: A shelf for each commodity that is kept in stock.
      options_map: An options map.

    Raises:
      LoadedTwice: The stock plugin has worked on these entries before.
    """
    income = options_map["name_income"] + ":"
    sales, refunds = income + "Sales:", income + "Refunds:"
    burdens = (options_map["name_expenses"] + ":", options_map["name_equity"] + ":")
    assets = options_map["name_assets"] + ":"
    found = Found([], {}, {}, set(), set(), [])
    events = found.events
    parcels: dict[tuple[datetime.date, str], list[tuple[int, data.Transaction]]] = {}
    units: Any
    cost: Any
    for position, entry in enumerate(entries):
        if isinstance(entry, data.Transaction):
            receipts: list[Receipt] = []
            sold: list[Line] = []
            returned: list[Line] = []
            spread = False
            for posting in entry.postings:
                # Unpacked, as this runs for every posting of the ledger.
                account, units, cost, _, _, meta = posting
                if units is None:
                    continue
                if meta and len(meta) > MERE_SOURCE:
                    if "item" in meta and "quantity" in meta:
                        line = _read_line(
                            account, meta, entry, income, burdens, found.errors
                        )
                        if line:
                            # What was given away comes back for nothing, too.
                            back = units[0] > ZERO or (
                                not units[0] and account.startswith(refunds)
                            )
                            (returned if back else sold).append(line)
                        continue
                    if "item" in meta and account.startswith(sales) and units[0] < ZERO:
                        found.errors.append(StockError(meta, NO_QUANTITY, entry))
                    spread = spread or "spread" in meta
                if units[1] in shelves and units[0]:
                    if meta and meta.get("filename") == SOURCE:
                        raise LoadedTwice
                    if account.startswith(assets):
                        receipts.append(Receipt(posting, units[0], units[1], cost))
            date, tie = entry.date, _tie(entry)
            if receipts:
                lots = repr(
                    [(r.item, r.cost, r.posting.account, r.units) for r in receipts]
                )
                events.append(
                    Event(date, Phase.RECEIPT, (lots, *tie), position, entry, receipts)
                )
            elif spread:
                events.append(Event(date, Phase.LATE_BILL, tie, position, entry, None))
                found.billed.update(entry.links)
            if "packing" in entry.meta:
                try:
                    for name in packing_lists(entry):
                        parcels.setdefault((date, name), []).append((position, entry))
                except ValueError as wrong:
                    found.errors.append(StockError(entry.meta, str(wrong), entry))
            if sold:
                events.append(Event(date, Phase.LEAVING, tie, position, entry, sold))
            if returned:
                events.append(Event(date, Phase.RETURN, tie, position, entry, returned))
                found.returned.update(
                    (link, line.item) for link in order_links(entry) for line in returned
                )
        elif isinstance(entry, data.Custom):
            _read_custom(entry, position, found)
    for (date, name), packed in parcels.items():
        position, first = min(packed, key=lambda parcel: _tie(parcel[1]))
        together = Parcels(name, [order for _, order in packed])
        events.append(Event(date, Phase.PACKING, (name,), position, first, together))
    for bills in found.bills.values():
        found.errors.extend(_sort_versions(bills))
    for packings in found.packings.values():
        found.errors.extend(_sort_versions(packings))
    runs = [event.detail for event in events if event.phase == Phase.RUN]
    depth, circular = depths(found.bills, _parts_named(runs, shelves))
    for bill in circular:
        message = (
            f"The bill of {bill.output.item} comes back to itself by way of its parts; "
            "a product cannot be a part of what it is made of"
        )
        found.errors.append(StockError(bill.entry.meta, message, bill.entry))
    for at, event in enumerate(events):
        if event.phase == Phase.RUN:
            items = [quantity.item for quantity in event.detail.quantities]
            deepest = max(depth.get(item, 0) for item in items)
            events[at] = event._replace(tie=(deepest,))
    events.sort()
    _settle_ties(events)
    return found


def _sort_versions(versions: list[VersionT]) -> Iterator[StockError]:
    """Sort the versions of a bill or packing list; two of a day must not differ."""
    versions.sort(key=lambda record: (record.entry.date, repr(record.entry.values)))
    for earlier, later in pairwise(versions):
        if earlier.entry.date == later.entry.date and earlier.inputs != later.inputs:
            message = (
                f"There is another {later.entry.type} like this on {later.entry.date} that "
                "says something else; keep the right one of the two"
            )
            yield StockError(later.entry.meta, message, later.entry)


def _parts_named(runs: Iterable[Run], shelves: Mapping[str, Shelf]) -> dict[str, set[str]]:
    """Return what runs name after their first material, by the products before it."""
    named: dict[str, set[str]] = {}
    for run in runs:
        items = [quantity.item for quantity in run.quantities]
        made = list(
            takewhile(
                lambda item: item in shelves and shelves[item].item.kind == "product", items
            )
        )
        for product in made:
            named.setdefault(product, set()).update(items[len(made) :])
    return named


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


def _tie(entry: data.Transaction) -> tuple[Any, ...]:
    """Return what tells two transactions of one day apart, cheaply."""
    return (entry.narration or "", entry.payee or "", *sorted(entry.links))


def _settle_ties(events: list[Event]) -> None:
    """Order events that `_tie` cannot tell apart by their postings.

    Comparing all postings of all entries would cost more than all the rest.
    """
    start = 0
    for end in range(1, len(events) + 1):
        if end < len(events) and events[end][:3] == events[start][:3]:
            continue
        if end - start > 1:
            events[start:end] = sorted(events[start:end], key=_content)
        start = end


def _content(event: Event) -> str:
    """Return all that an event's entry says, without where it stands."""
    if isinstance(event.entry, data.Custom):
        return repr((event.entry.values, event.entry.meta.get("spoiled")))
    postings = [(p.account, p.units, p.cost) for p in event.entry.postings]
    lines = event.detail if event.phase in (Phase.LEAVING, Phase.RETURN) else None
    return repr((postings, lines))


def _read_line(
    account: str,
    meta: data.Meta,
    entry: data.Transaction,
    income: str,
    burdens: tuple[str, ...],
    errors: list[StockError],
) -> Line | None:
    """Return the line of a posting with `item` and `quantity`.

    Args:
      account: The posting's account.
      meta: Its metadata.
      entry: The transaction that it is in.
      income: What the names of income accounts begin with.
      burdens: What those of accounts begin with that may bear the cost of a line.
      errors: Takes what is wrong with the line.
    """
    item, quantity = meta["item"], meta["quantity"]
    cost_account = meta.get("cost-account")
    if isinstance(quantity, str):
        # The viewer's import page keeps texts only.
        try:
            quantity = Decimal(quantity)
        except InvalidOperation:
            quantity = None
    problem = None
    if not account.startswith(income):
        problem = f"item and quantity belong on an income posting, not on {account}"
    elif not isinstance(item, str):
        problem = (
            f'item must be a commodity in quotes such as item: "HERON-STK", not {item}'
        )
    elif not (isinstance(quantity, Decimal) and quantity.is_finite() and quantity > ZERO):
        problem = (
            f"quantity must be a number above zero, not {meta['quantity']}; a debit is "
            "what came back"
        )
    elif cost_account is not None and not (
        isinstance(cost_account, str)
        and is_account(cost_account)
        and cost_account.startswith(burdens)
    ):
        problem = (
            "cost-account must be an account of expenses or equity in quotes such as "
            f'cost-account: "Expenses:Marketing:Giveaways", not {cost_account}'
        )
    if problem:
        errors.append(StockError(meta, problem, entry))
        return None
    place = meta.get("place") or entry.meta.get("place")
    return Line(item, quantity, place, cost_account)


def _read_custom(entry: data.Custom, position: int, found: Found) -> None:
    """Add a directive of the shelf to what was found."""
    try:
        record = read_directive(entry)
    except Malformed as malformed:
        found.errors.append(StockError(entry.meta, str(malformed), entry))
        return
    match record:
        case Bill():
            found.bills.setdefault(record.output.item, []).append(record)
        case Packing():
            found.packings.setdefault(record.name, []).append(record)
        case Run():
            found.events.append(Event(entry.date, Phase.RUN, (), position, entry, record))
        case StockOut():
            found.events.append(
                Event(entry.date, Phase.LEAVING, ("",), position, entry, record)
            )
        case Count():
            tie = (record.counted.item, record.counted.units)
            found.events.append(
                Event(entry.date, Phase.COUNT, tie, position, entry, record)
            )
        case Consignment():
            move = (record.back, record.moved.item, record.place, record.moved.units)
            found.events.append(
                Event(entry.date, Phase.MOVE, move, position, entry, record)
            )
        case Valuation():
            found.events.append(
                Event(entry.date, Phase.VALUATION, (record.item,), position, entry, record)
            )
