"""Tell stock that is only for packing and posting from stock of goods.

Envelopes and stamps are supplies: what is used of them is an expense of its own, and they
are no part of the inventory of goods that the cost of goods sold is worked out from.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import NamedTuple

from beancount.core import data

from offcut.plugins.catalogue import Item
from offcut.plugins.stock_directives import Bill, Malformed, Packing, Run, read_directive


class StockUses(NamedTuple):
    """What items of stock are for.

    Attributes:
      catalogue: The items, by commodity.
      packing: Those that are only for packing and posting.
      made: The products that the maker makes.
    """

    catalogue: Mapping[str, Item]
    packing: frozenset[str]
    made: frozenset[str]


def stock_uses(
    entries: Iterable[data.Directive], catalogue: Mapping[str, Item]
) -> StockUses:
    """Return what the items of a ledger are for, by all its bills, runs and lists.

    Stamps are for posting. A material is for packing where a packing list names it, and
    neither a bill of materials nor a print run does.

    Args:
      entries: The ledger's directives.
      catalogue: Its items of stock.
    """
    packed: set[str] = set()
    worked: set[str] = set()
    made: set[str] = set()
    for entry in entries:
        if not isinstance(entry, data.Custom):
            continue
        try:
            record = read_directive(entry)
        except Malformed:
            continue  # an error of the ledger, which is shown as such
        if isinstance(record, Packing):
            packed.update(each.item for each in record.inputs)
        elif isinstance(record, Bill):
            made.add(record.output.item)
            worked.update(each.item for each in record.inputs)
        elif isinstance(record, Run):
            worked.update(each.item for each in record.quantities)
            made.add(record.quantities[0].item)
    only_packed = {
        name
        for name, item in catalogue.items()
        if item.kind == "stamp"
        or (item.kind == "material" and name in packed and name not in worked)
    }
    return StockUses(catalogue, frozenset(only_packed), frozenset(made))
