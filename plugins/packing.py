"""Relieve what parcels use up: a day's parcels of one packing list at a time.

    2025-01-06 custom "packing" "letter" 1 MAILER 1 STAMP-LETTER

For the orders of a day with `packing: "letter"`, the plugin adds one transaction:

    2025-03-04 * "Packing: letter, 2 parcels" ^order-W1042 ^order-W1043
      Assets:Materials:MAILER          -2 MAILER {0.12 USD, 2025-01-02}
      Expenses:Packaging:MAILER      0.24 USD
      Assets:Stamps:STAMP-LETTER       -2 STAMP-LETTER {0.78 USD, 2025-01-02}
      Expenses:Postage:STAMP-LETTER  1.56 USD

One a day and not one an order: every parcel of a list uses up the same, and a list of
three parts in each order would be most of the postings that the ledger has to check. What
an order's own parcel costs is an equal share, which the reports give it.
"""

from __future__ import annotations

from beancount.core import data
from beancount.core.data import Posting

from offcut.plugins.catalogue import Kind
from offcut.plugins.stock_events import Event, Parcels, order_links
from offcut.plugins.stockroom import Stockroom, in_force

DIRECTIVE = "packing"
PACKING_EXPENSE: dict[Kind, str] = {
    "product": "Packaging",
    "material": "Packaging",
    "stamp": "Postage",
}


def pack(room: Stockroom, event: Event) -> None:
    """Take what a day's parcels of one list use up off the shelves."""
    parcels: Parcels = event.detail
    packing = in_force(room.packings.get(parcels.packing, ()), event.date)
    if packing is None:
        for order in {id(order): order for order in parcels.orders}.values():
            room.error(
                f'There is no packing list "{parcels.packing}" on {event.date}; write '
                f'custom "packing" "{parcels.packing}" 1 ENVELOPE 1 STAMP on that day or '
                "before",
                order,
            )
        return
    packed = _transaction(event, parcels)
    postings: list[Posting] = []
    for part in packing.inputs:
        shelf = room.shelves.get(part.item)
        if shelf:
            expense = room.expense(PACKING_EXPENSE[shelf.item.kind], shelf.name, event.date)
            units = part.units * len(parcels.orders)
            taken = room.take(shelf, units, expense, packed)
            postings += room.relief(shelf, taken, expense)
    if postings:
        room.generated.append(packed._replace(postings=postings))


def _transaction(event: Event, parcels: Parcels) -> data.Transaction:
    """Return the transaction of a day's parcels, as yet without postings.

    Its metadata says which parcels, since what is short is costed on a later day. It
    stands at the line of the first of their orders.
    """
    number = len(parcels.orders)
    meta = {
        "filename": event.entry.meta["filename"],
        "lineno": event.entry.meta["lineno"],
        "directive": DIRECTIVE,
        "packing-list": parcels.packing,
        "packed-on": event.date,
    }
    narration = f"Packing: {parcels.packing}, {number} parcel{'s' if number > 1 else ''}"
    links = frozenset(link for order in parcels.orders for link in order_links(order))
    return data.Transaction(
        meta, event.date, "*", None, narration, data.EMPTY_SET, links, []
    )
