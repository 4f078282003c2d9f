"""Adjust the books to what was counted on the shelf at the close of a day."""

from __future__ import annotations

from decimal import Decimal

from beancount.core.data import Posting

from offcut.plugins import costing
from offcut.plugins.catalogue import Kind
from offcut.plugins.shelf import added_posting, cost_of, postings_of
from offcut.plugins.stock_directives import Count
from offcut.plugins.stock_events import Event
from offcut.plugins.stockroom import Stockroom

ZERO = Decimal(0)

# Stamps that are not there have been stuck on parcels.
COUNT_EXPENSE: dict[Kind, str] = {
    "product": "Shrinkage",
    "material": "Shrinkage",
    "stamp": "Postage",
}


def count(room: Stockroom, event: Event) -> None:
    """Take what is missing off the shelf at cost; add what is over at the last cost."""
    record: Count = event.detail
    entry = record.entry
    shelf = room.shelf(
        record.counted.item, "What is counted", entry, entry.meta.get("place")
    )
    if shelf is None:
        return
    earlier = room.counted.setdefault(
        (entry.date, shelf.account, shelf.name), record.counted.units
    )
    if earlier != record.counted.units:
        room.error(
            f"{shelf.name} was counted twice on {entry.date}: {earlier} and "
            f"{record.counted.units}. Keep the right one; {earlier} is used until then",
            entry,
        )
        return
    if shelf.last is None and record.counted.units:
        room.error(
            f"{record.counted} were counted, but none was ever received; record the print "
            "run or purchase that they came from",
            entry,
        )
        return
    difference = record.counted.units - shelf.units()
    if not difference:
        return
    expense = room.expense(COUNT_EXPENSE[shelf.item.kind], shelf.name, entry.date)
    postings: list[Posting] = []
    if difference < ZERO:
        taken = costing.relieve(shelf.layers, -difference)
        postings = room.relief(shelf, taken, expense)
    elif shelf.last:
        lot = shelf.lot(shelf.last.unit_cost, shelf.last.cost.currency, event.date)
        found = [(difference, lot)]
        postings = postings_of(shelf, found, 1)
        postings.append(
            added_posting(expense, -cost_of(found), lot.cost.currency, shelf.name)
        )
        postings += room.put(shelf, found, event.date)
    room.generate(entry, f"Stock count: {record.counted}", postings)
