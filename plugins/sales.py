"""Relieve what was sold or taken out; take back what came back."""

from __future__ import annotations

from decimal import Decimal

from beancount.core import data
from beancount.core.data import Posting

from offcut.plugins import costing
from offcut.plugins.costing import trimmed
from offcut.plugins.shelf import Shelf, StockLayers, added_posting, cost_of, postings_of
from offcut.plugins.stock_directives import StockOut
from offcut.plugins.stock_events import Event, Line, order_links
from offcut.plugins.stockroom import Stockroom

ZERO = Decimal(0)


def let_leave(room: Stockroom, event: Event) -> None:
    """Relieve what one entry sold or gave away."""
    if isinstance(event.detail, StockOut):
        _take_out(room, event.detail)
        return
    entry = event.entry
    postings: list[Posting] = []
    for line in event.detail:
        shelf = room.shelf(line.item, "The item of this sale", entry, line.place)
        if shelf is None:
            continue
        expense = room.own(line.cost_account or shelf.cost_account, entry.date)
        taken = room.take(shelf, line.quantity, expense, entry)
        if room.left:
            room.remember(entry, shelf, taken)
        postings += room.relief(shelf, taken, expense)
    room.add(event.position, postings)


def _take_out(room: Stockroom, out: StockOut) -> None:
    """Relieve units that left without a sale."""
    place = out.entry.meta.get("place")
    shelf = room.shelf(out.taken.item, "What is taken out", out.entry, place)
    if shelf:
        taken = room.take(shelf, out.taken.units, out.account, out.entry)
        room.generate(
            out.entry, f"Stock out: {out.taken}", room.relief(shelf, taken, out.account)
        )


def take_back(room: Stockroom, event: Event) -> None:
    """Put what came back on the shelf, at the cost that it left with."""
    postings: list[Posting] = []
    for line in event.detail:
        shelf = room.shelf(line.item, "The item of this refund", event.entry, line.place)
        if shelf is None:
            continue
        layers = _layers_back(room, shelf, line, event.entry)
        if not layers:
            continue
        currency = layers[0][1].cost.currency
        expense = room.own(line.cost_account or shelf.cost_account, event.date)
        postings += postings_of(shelf, layers, 1)
        postings.append(added_posting(expense, -cost_of(layers), currency, shelf.name))
        if shelf.averages:
            postings += room.put(shelf, layers, event.date)
        else:
            for units, lot in layers:
                costing.put_back(shelf.layers, units, lot)
    room.add(event.position, postings)


def _layers_back(
    room: Stockroom, shelf: Shelf, line: Line, entry: data.Transaction
) -> StockLayers:
    """Return the layers that come back: of what left for the order, the last first.

    Pieces that are still owed were never costed, and come back by being owed no more.
    What no order explains comes back at the cost of the newest receipt.
    """
    wanted = line.quantity
    links = order_links(entry)
    for owed in list(shelf.owed):
        if wanted and not getattr(owed.entry, "links", data.EMPTY_SET).isdisjoint(links):
            back = min(wanted, owed.units)
            wanted -= back
            owed.units -= back
            owed.short -= back
            if not owed.units:
                shelf.owed.remove(owed)
    layers = []
    for link in links:
        left = room.left[link, shelf.name]
        while left and wanted:
            units, lot = left.pop()
            back = min(units, wanted)
            wanted -= back
            layers.append((back, lot))
            if back < units:
                left.append((units - back, lot))
    layers = [(units, lot._replace(account=shelf.account)) for units, lot in layers]
    if wanted and shelf.last:
        layers.append((wanted, shelf.last))
    elif wanted:
        room.error(
            f"{trimmed(wanted)} {shelf.name} came back, but none was ever received; record "
            "the print run or purchase that they came from",
            entry,
        )
    return layers
