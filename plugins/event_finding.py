"""Find everything in a ledger that moves stock, in the order in which it is costed."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from decimal import Decimal, InvalidOperation
from itertools import pairwise
from typing import Any

from beancount.core import data
from beancount.core.account import is_valid as is_account

from offcut.plugins.event_order import put_in_order, said
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
from offcut.plugins.stock_events import (
    Event,
    Found,
    Line,
    Parcels,
    Phase,
    Receipt,
    StockError,
    VersionT,
    order_links,
    packing_lists,
)

ZERO = Decimal(0)

# A posting with no more metadata than file and line says nothing that is read here.
MERE_SOURCE = 2

NO_QUANTITY = (
    "This sale names its item but not how many were sold, so nothing leaves the shelf; add "
    "quantity: 1, or however many they were"
)


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
            date, tie = entry.date, said(entry)
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
        position, first = min(packed, key=lambda parcel: said(parcel[1]))
        together = Parcels(name, [order for _, order in packed])
        events.append(Event(date, Phase.PACKING, (name,), position, first, together))
    for bills in found.bills.values():
        found.errors.extend(_sort_versions(bills))
    for packings in found.packings.values():
        found.errors.extend(_sort_versions(packings))
    products = [name for name, shelf in shelves.items() if shelf.item.kind == "product"]
    for bill in put_in_order(events, found.bills, set(products)):
        message = (
            f"The bill of {bill.output.item} comes back to itself by way of its parts; "
            "a product cannot be a part of what it is made of"
        )
        found.errors.append(StockError(bill.entry.meta, message, bill.entry))
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
