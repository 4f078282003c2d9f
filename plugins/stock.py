"""Relieve stock for every sale, print run, parcel and count, at cost.

The ledger says what happened; this plugin says what it cost. Purchases are plain lots
in the ledger's text and sales say what was sold:

    2025-03-04 * "Web order W1042" ^order-W1042
      packing: "letter"
      Assets:Clearing:Card          10.39 USD
      Expenses:Fees:Card             0.61 USD
      Income:Sales:Web             -11.00 USD
        item: "HERON-STK"
        quantity: 2

to which the plugin adds, in the same transaction:

      Assets:Stock:HERON-STK           -2 HERON-STK {0.41 USD, 2025-02-03}
      Expenses:COGS:HERON-STK        0.82 USD

A refund's line (a debit) with `item` and `quantity` puts the pieces back at the cost that
they left with. Print runs, counts and stock taken out without a sale (`stock_directives`)
become transactions of their own, and so do a day's parcels of one list (`packing`).

An item's method and account come from the `open` directive whose currencies name it,
with the booking word "FIFO" or "AVERAGE". Without one, the account is
`Assets:Stock:ITEM` (`Assets:Materials:…`, `Assets:Stamps:…`) and the method is that of
the option `booking_method`, first in first out where it is left at its default.
Accounts that are missing are opened.

Within a day: receipts, late bills for them, print runs, consignments, then what leaves,
parcels, what comes back, counts, and values last; and within these by what the entries
say, never by where they stand in which file. What is sold before it was recorded as made
is an error on the sale's line; its cost follows from the next receipt, on the receipt's
date.

Stock is reduced by this plugin alone: beancount books the text before any plugin runs,
and would hand out the same lots a second time.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from beancount.core import data

from offcut.plugins import (
    consignment,
    counts,
    landed_cost,
    packing,
    print_runs,
    purchases,
    sales,
    valuation,
)
from offcut.plugins.collector import collector_paused
from offcut.plugins.event_finding import LoadedTwice, find_events
from offcut.plugins.shelf import SOURCE
from offcut.plugins.stock_events import Event, Phase, Shortage, StockError
from offcut.plugins.stockroom import Stockroom

__plugins__ = ("cost_stock",)

HANDLERS: Mapping[Phase, Callable[[Stockroom, Event], None]] = {
    Phase.RECEIPT: purchases.receive,
    Phase.LATE_BILL: landed_cost.bill_later,
    Phase.RUN: print_runs.print_pieces,
    Phase.MOVE: consignment.move,
    Phase.LEAVING: sales.let_leave,
    Phase.PACKING: packing.pack,
    Phase.RETURN: sales.take_back,
    Phase.COUNT: counts.count,
    Phase.VALUATION: valuation.revalue,
}


def cost_stock(
    entries: data.Directives, options_map: Mapping[str, Any], config: str | None = None
) -> tuple[data.Directives, list[StockError | Shortage]]:
    """Add what left the shelf, and its cost, to the ledger.

    Args:
      entries: A list of directives, booked.
      options_map: An options map.
      config: Not used; the plugin takes no configuration.

    Returns:
      New entries and a list of new errors. Entries that have nothing to do with stock
      are the very ones that came in; none is changed in place.
    """
    here = data.new_metadata(SOURCE, 0)
    if config:
        message = "This plugin takes no configuration; remove the second text of its line"
        return entries, [StockError(here, message, None)]
    try:
        with collector_paused():
            return _costed(entries, options_map)
    except LoadedTwice:
        message = (
            "The stock plugin is switched on twice; offcut.plugins is the whole set, so "
            "keep one of the two plugin lines"
        )
        return entries, [StockError(here, message, None)]


def _costed(
    entries: data.Directives, options_map: Mapping[str, Any]
) -> tuple[data.Directives, list[StockError | Shortage]]:
    """Return the ledger with stock relieved, and errors."""
    room = Stockroom(entries, options_map)
    found = find_events(entries, room.shelves, options_map)
    room.read(found)
    for event in found.events:
        HANDLERS[event.phase](room, event)

    costed = list(entries)
    for at in room.restated.keys() | room.additions.keys():
        entry = entries[at]
        assert isinstance(entry, data.Transaction)
        postings = room.restated.get(at, entry.postings)
        costed[at] = entry._replace(postings=postings + room.additions.get(at, []))
    opens = room.missing_opens()
    errors: list[StockError | Shortage] = [*room.errors, *room.shortage_errors()]
    return [*opens, *costed, *room.generated], errors
