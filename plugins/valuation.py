"""Write stock down to what it can be sold for, and back up to what it cost.

Lower of cost and net realisable value, item by item: IAS 2, paragraphs 9 and 28 to 33
(the numbers 29 to 33 from memory); ASC 330-10-35-1B.
"""

from __future__ import annotations

from decimal import Decimal

from beancount.core.data import Posting

from offcut.plugins.costing import trimmed, value_of
from offcut.plugins.shelf import Shelf, StockLayers, StockLot, added_posting, postings_of
from offcut.plugins.stock_directives import Valuation
from offcut.plugins.stock_events import Event
from offcut.plugins.stockroom import Stockroom

ZERO = Decimal(0)


def revalue(room: Stockroom, event: Event) -> None:
    """Carry each lot of an item at the lower of its cost and a value.

    A value that has risen since brings a lot back up, to its cost at the most.
    """
    record: Valuation = event.detail
    entry = record.entry
    home = room.shelf(record.item, "What is valued", entry)
    if home is None:
        return
    value, currency = record.value
    if home.currency and currency != home.currency:
        room.error(
            f"{record.item} costs {home.currency}; value it in that, not in {currency}",
            entry,
        )
        return
    earlier = room.valued.setdefault((entry.date, record.item), record.value)
    if earlier != record.value:
        room.error(
            f"{record.item} was valued twice on {entry.date}, at {earlier} and at "
            f"{record.value}. Keep the right one; {earlier} is used until then",
            entry,
        )
        return
    postings: list[Posting] = []
    for shelf in room.all_shelves(record.item):
        before, after = _carry_at(shelf, value or ZERO)
        if before:
            expense = room.expense("Writedown", record.item, entry.date)
            loss = trimmed(value_of(before) - value_of(after))
            postings += [
                *postings_of(shelf, before, -1),
                *postings_of(shelf, after, 1),
                added_posting(expense, loss, currency, shelf.name),
            ]
    room.generate(entry, f"Net realisable value of {record.item}: {record.value}", postings)


def _carry_at(shelf: Shelf, value: Decimal) -> tuple[StockLayers, StockLayers]:
    """Carry a shelf's layers at a value; return those that changed, before and after."""
    before: StockLayers = []
    after: StockLayers = []
    for at, (units, lot) in enumerate(shelf.layers):
        cost = lot.unit_cost if lot.cost_before is None else lot.cost_before
        carried = min(cost, value)
        if carried == lot.unit_cost:
            continue
        restated = StockLot(
            carried,
            lot.account,
            lot.cost._replace(number=carried),
            cost if carried < cost else None,
        )
        before.append((units, lot))
        after.append((units, restated))
        shelf.layers[at] = (units, restated)
    return before, after
