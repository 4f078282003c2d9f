"""Move goods to a shop that sells them for the maker, and back.

The goods stay the maker's stock, at their cost and under their own account for the
place, until the shop's statement says sold: a sale with `place: "Harbour Books"`
relieves what is there (no sale on delivery: ASC 606-10-55-79, paragraph from memory).
"""

from __future__ import annotations

import re
from decimal import Decimal

from offcut.plugins import costing
from offcut.plugins.catalogue import account_component
from offcut.plugins.costing import trimmed
from offcut.plugins.shelf import Shelf, StockLayers, postings_of
from offcut.plugins.stock_directives import Consignment
from offcut.plugins.stock_events import Event
from offcut.plugins.stockroom import Stockroom

ZERO = Decimal(0)


def move(room: Stockroom, event: Event) -> None:
    """Move units between the maker's shelf and a shop's, at cost."""
    record: Consignment = event.detail
    entry, item, place = record.entry, record.moved.item, record.place
    home = room.shelf(item, "What is consigned", entry)
    if home is None:
        return
    if not record.back and (item, place) not in room.consigned:
        room.consigned[item, place] = _shelf_at(room, home, place)
    there = room.shelf(item, "What comes back", entry, place)
    if there is None:
        return
    origin, target = (there, home) if record.back else (home, there)
    taken = costing.relieve(origin.layers, record.moved.units)
    moved = sum((units for units, _ in taken), ZERO)
    if moved < record.moved.units:
        room.error(
            f"{record.moved} were to move on {entry.date} but only {trimmed(moved)} were "
            "there, and only these are moved; record what was made or bought before, or "
            "mend the number",
            entry,
        )
    if taken:
        arriving: StockLayers = [
            (units, lot._replace(account=target.account)) for units, lot in taken
        ]
        postings = postings_of(origin, taken, -1) + postings_of(target, arriving, 1)
        newest = target.last
        postings += room.receive(target, arriving, event.date)
        if record.back:  # old goods, whose cost is not what was paid last
            target.last = newest
        direction = "from" if record.back else "to"
        room.generate(entry, f"Consignment: {record.moved} {direction} {place}", postings)


def _shelf_at(room: Stockroom, home: Shelf, place: str) -> Shelf:
    """Return an empty shelf for an item at a place, costed as it is at home."""
    component = re.sub(r"[^A-Za-z0-9-]+", "-", place).strip("-") or "Place"
    component = component[0].upper() + component[1:]
    item = account_component(home.name)
    account = f"{room.assets}:Consignment:{component}:{item}"
    return Shelf(home.item, account, home.method, home.cost_account)
