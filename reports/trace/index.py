"""Find a ledger's transactions again: by order, by item, and by the lots they brought.

One pass over the entries; everything that a trace asks for is then a look-up.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from functools import cached_property
from typing import Any, NamedTuple

from beancount.core import data
from beancount.core.position import Cost

from offcut.importers.splitting import ZERO
from offcut.plugins.catalogue import Item, read_catalogue
from offcut.plugins.collector import collector_paused
from offcut.plugins.packing import DIRECTIVE as PACKING
from offcut.plugins.shelf import make_shelves
from offcut.plugins.stock_events import packing_lists
from offcut.reports.account_columns import AccountPlaces
from offcut.reports.flows import money_transactions
from offcut.reports.order_lines import orders_of
from offcut.reports.shelf.moves import (
    CONSIGNMENTS,
    COUNT,
    RUN,
    Stocked,
    is_added,
    stocked,
)

VALUATION = "net-realisable-value"


class Receipt(NamedTuple):
    """What one transaction brought of one item: a purchase, a print run, a find.

    Attributes:
      item: The item.
      entry: The transaction.
      lines: The user's own postings of it; none where a directive made it.
      units: How many came.
      value: What they cost, freight of the same transaction included.
      currency: The currency of that.
    """

    item: str
    entry: data.Transaction
    lines: tuple[data.Posting, ...]
    units: Decimal
    value: Decimal
    currency: str


class Restated(NamedTuple):
    """A lot that a late bill or a valuation gave another cost.

    Attributes:
      item: The item.
      entry: The transaction.
      before: The costs that the lots of the same day had before.
    """

    item: str
    entry: data.Transaction
    before: frozenset[Cost]


class TraceIndex:
    """Where everything is.

    Attributes:
      catalogue: The items of stock.
      averaged: The items that are costed at a moving average.
      packed: The packing transactions of a day's parcels, by that day and list.
      receipts: What came of each item, by date.
      by_lot: The receipts that brought a lot, by item and cost.
      restated: What gave a lot its cost, by item and cost; by date.
      changes: The same, by item.
      lots: The days that each item has lots of, and their costs.
      settled: What print runs took before it was recorded, by file and line of the run.
      packing_lists: The directives of each packing list.
    """

    def __init__(
        self, entries: Iterable[data.Directive], options_map: Mapping[str, Any]
    ) -> None:
        """Read a ledger.

        Args:
          entries: The ledger's directives, after its plugins.
          options_map: The ledger's options.
        """
        entries = list(entries)
        self.catalogue: dict[str, Item] = read_catalogue(entries)
        opens = [entry for entry in entries if isinstance(entry, data.Open)]
        shelves, _ = make_shelves(self.catalogue, opens, options_map)
        self.averaged = {item for item, shelf in shelves.items() if shelf.averages}
        self.packed: dict[tuple[datetime.date, str], list[data.Transaction]] = {}
        self.receipts: dict[str, list[Receipt]] = {}
        self.by_lot: dict[tuple[str, Cost], list[Receipt]] = {}
        self.restated: dict[tuple[str, Cost], list[Restated]] = {}
        self.changes: dict[str, list[Restated]] = {}
        self.lots: dict[str, dict[datetime.date, dict[Cost, None]]] = {}
        self.settled: dict[tuple[str, int], list[data.Transaction]] = {}
        self.packing_lists: dict[str, list[data.Custom]] = {}
        self._assets = options_map["name_assets"] + ":"
        self._places = AccountPlaces(entries, options_map, self.catalogue)
        with collector_paused():
            customs = self._read_customs(entries)
            self._transactions = sorted(money_transactions(entries), key=_position)
            for entry in self._transactions:
                self._read(entry, customs)

    @cached_property
    def orders(self) -> dict[str, list[data.Transaction]]:
        """An order's transactions by its number, packing apart."""
        orders: dict[str, list[data.Transaction]] = {}
        for entry in self._transactions:
            if entry.meta.get("directive") != PACKING:
                for order in orders_of(entry):
                    orders.setdefault(order, []).append(entry)
        return orders

    @cached_property
    def about(self) -> dict[str, dict[datetime.date, list[data.Transaction]]]:
        """The transactions that have a posting about an item, by item and date."""
        about: dict[str, dict[datetime.date, list[data.Transaction]]] = {}
        with collector_paused():
            for entry in self._transactions:
                for item in self._items_of(entry):
                    about.setdefault(item, {}).setdefault(entry.date, []).append(entry)
        return about

    def packings_of(self, entry: data.Transaction) -> list[data.Transaction]:
        """Return the transactions of the day's parcels that an order's was among.

        Args:
          entry: A transaction of an order.
        """
        if "packing" not in entry.meta:
            return []
        try:
            names = dict.fromkeys(packing_lists(entry))
        except ValueError:
            return []  # The stock plugin reports it, and packs nothing.
        return [each for name in names for each in self.packed.get((entry.date, name), ())]

    def packing_list(self, packing: data.Transaction) -> data.Custom | None:
        """Return the directive of the list that parcels were packed by.

        Args:
          packing: A transaction of a day's parcels.
        """
        lists = self.packing_lists.get(packing.meta["packing-list"], ())
        until = [each for each in lists if each.date <= packing.meta["packed-on"]]
        return max(until, key=lambda each: each.date, default=None)

    def stocked(self, posting: data.Posting) -> Stocked | None:
        """Return a posting as one that moves stock; None where it moves none.

        Args:
          posting: A posting.
        """
        return stocked(posting, self.catalogue, self._assets)

    def is_flow(self, posting: data.Posting) -> bool:
        """Tell whether a posting is an income or an expense.

        Args:
          posting: A posting.
        """
        return self._places[posting.account] is not None

    def _read_customs(self, entries: Sequence[data.Directive]) -> set[tuple[str, int]]:
        """Note packing lists; return where print runs stand."""
        runs = set()
        for entry in entries:
            if isinstance(entry, data.Custom):
                if entry.type == PACKING and entry.values:
                    name = str(entry.values[0].value)
                    self.packing_lists.setdefault(name, []).append(entry)
                elif entry.type == RUN:
                    runs.add((entry.meta["filename"], entry.meta["lineno"]))
        return runs

    def _read(self, entry: data.Transaction, runs: set[tuple[str, int]]) -> None:
        """Note a transaction."""
        meta = entry.meta
        directive = meta.get("directive")
        if directive == PACKING:
            key = (meta["packed-on"], meta["packing-list"])
            self.packed.setdefault(key, []).append(entry)
            return
        place = (meta["filename"], meta["lineno"])
        if directive is None and place in runs:
            self.settled.setdefault(place, []).append(entry)
        if directive not in CONSIGNMENTS and self._arrives(entry):
            self._read_arrivals(entry, directive)

    def _items_of(self, entry: data.Transaction) -> set[str]:
        """Return which items a transaction is about."""
        items: set[str] = set()
        for posting in entry.postings:
            place = self._places[posting.account] if posting.cost is None else None
            if place is not None:
                named = posting.meta.get("item") if posting.meta else None
                items.add(named if isinstance(named, str) else place.product)
        return items - {""}

    def _arrives(self, entry: data.Transaction) -> bool:
        """Tell whether a transaction brings stock."""
        for posting in entry.postings:
            if posting.cost is not None:
                units = posting.units
                # Reliefs are nearly all of stock's postings, and bring nothing.
                brings = units is not None and units.number and units.number > ZERO
                if brings and self.stocked(posting) is not None:
                    return True
        return False

    def _read_arrivals(self, entry: data.Transaction, directive: object) -> None:
        """Note the lots that a transaction brought, or gave another cost."""
        stock: dict[str, list[Stocked]] = {}
        for posting in entry.postings:
            moved = self.stocked(posting)
            if moved:
                stock.setdefault(moved.item, []).append(moved)
        spreads = any("spread" in (posting.meta or ()) for posting in entry.postings)
        for item, moves in stock.items():
            arrived = [each for each in moves if each.units > ZERO]
            costs = dict.fromkeys(each.cost for each in arrived)
            for cost in costs:
                days = self.lots.setdefault(item, {})
                days.setdefault(cost.date, {})[cost] = None
            lines = tuple(each.posting for each in arrived if not is_added(each.posting))
            units = sum((each.units for each in moves), ZERO)
            if lines or (directive in (RUN, COUNT) and units > ZERO):
                value = sum((each.units * each.cost.number for each in moves), ZERO)
                currency = arrived[0].cost.currency
                receipt = Receipt(item, entry, lines, units, value, currency)
                self.receipts.setdefault(item, []).append(receipt)
                for cost in costs:
                    self.by_lot.setdefault((item, cost), []).append(receipt)
            elif costs and (directive == VALUATION or spreads):
                withdrawn = [each.cost for each in moves if each.units < ZERO]
                for cost in costs:
                    before = {each for each in withdrawn if each.date == cost.date}
                    change = Restated(item, entry, frozenset(before - {cost}))
                    self.restated.setdefault((item, cost), []).append(change)
                self.changes.setdefault(item, []).append(change)


def _position(entry: data.Transaction) -> tuple[datetime.date, str, int, str]:
    """Return where a transaction stands, whatever order the entries come in.

    What one directive took before it was recorded may be several transactions.
    """
    meta = entry.meta
    return entry.date, str(meta["filename"]), meta["lineno"], entry.narration or ""
