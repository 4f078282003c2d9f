"""All shelves while a ledger is costed, and what is added to the ledger on the way.

What can happen to stock is told by the modules beside this one, each for its own kind
of event (`purchases`, `print_runs`, `sales`, `counts`); the moves that they share are
here.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any, NamedTuple

from beancount.core import data
from beancount.core.amount import Amount
from beancount.core.data import Posting
from beancount.core.position import Cost

from offcut.plugins import costing
from offcut.plugins.catalogue import (
    account_component,
    nearest,
    read_catalogue,
    unknown_item_message,
)
from offcut.plugins.costing import trimmed
from offcut.plugins.shelf import (
    SOURCE,
    Owed,
    Shelf,
    StockLayers,
    added_posting,
    cost_of,
    make_shelves,
    postings_of,
    put,
)
from offcut.plugins.stock_directives import Bill, Packing, Quantity
from offcut.plugins.stock_events import Found, Shortage, StockError, VersionT

ZERO = Decimal(0)


class Bought(NamedTuple):
    """A lot of a purchase that a bill comes for later.

    Attributes:
      shelf: Where it went.
      layers: As it was bought.
      costs: The cost keys that it has had since.
    """

    shelf: Shelf
    layers: StockLayers
    costs: set[Cost]


class Stockroom:
    """The shelves, and the ledger's additions, from its first day to its last.

    Attributes:
      catalogue: The items of stock by commodity.
      shelves: A shelf for each of them.
      errors: What did not add up.
      shortages: What left before it was recorded, whether or not its cost has come since.
      additions: Postings to add to entries, by the entry's position.
      restated: Postings to use in place of an entry's own, by the entry's position.
      generated: Transactions for directives and for receipts that settle what was owed.
      left: What left for orders that something comes back from, by order link and item.
      bought: The lots of purchases that a bill comes for later, by their link.
      consigned: The shelves at other places, by item and place.
      counted: What was counted, by day, account and item.
      valued: What one unit was valued at, by day and item.
    """

    def __init__(self, entries: data.Directives, options_map: Mapping[str, Any]) -> None:
        self.assets = options_map["name_assets"]
        self.expenses = options_map["name_expenses"]
        self.operating_currencies: list[str] = options_map["operating_currency"]
        self.catalogue = read_catalogue(entries)
        opens = [entry for entry in entries if isinstance(entry, data.Open)]
        self.opened = {entry.account for entry in opens}
        self.first_use: dict[str, datetime.date] = {}
        self.shelves, problems = make_shelves(self.catalogue, opens, options_map)
        self.errors = [
            StockError(entry.meta, message, entry) for entry, message in problems
        ]
        self.shortages: list[Owed] = []
        self.bills: Mapping[str, list[Bill]] = {}
        self.packings: Mapping[str, list[Packing]] = {}
        self.additions: dict[int, list[Posting]] = {}
        self.restated: dict[int, list[Posting]] = {}
        self.generated: list[data.Transaction] = []
        self.left: dict[tuple[str, str], StockLayers] = {}
        self.bought: dict[str, list[Bought]] = {}
        self.consigned: dict[tuple[str, str], Shelf] = {}
        self.counted: dict[tuple[datetime.date, str, str], Decimal] = {}
        self.valued: dict[tuple[datetime.date, str], Amount] = {}

    def read(self, found: Found) -> None:
        """Take in what the ledger says beside its events."""
        self.errors.extend(found.errors)
        self.bills = found.bills
        self.packings = found.packings
        for bills in self.bills.values():
            for bill in bills:
                self.shelf(bill.output.item, "The product of this bill", bill.entry)
                self._check_parts(bill.inputs, "A part of this bill", bill.entry)
        for packings in self.packings.values():
            for packing in packings:
                self._check_parts(packing.inputs, "A part of this list", packing.entry)
        self.left = {key: [] for key in found.returned}
        self.bought = {link: [] for link in found.billed}

    def _check_parts(self, parts: Sequence[Quantity], what: str, entry: Any) -> None:
        """Report unknown parts where they are listed, and not at each use."""
        for part in parts:
            self.shelf(part.item, what, entry)

    def error(self, message: str, entry: Any, source: data.Meta | None = None) -> None:
        """Note an error on an entry, at its own line or at a posting's."""
        self.errors.append(StockError(source or entry.meta, message, entry))

    def shelf(self, item: str, what: str, entry: Any, place: Any = None) -> Shelf | None:
        """Return an item's shelf; an unknown item or place is an error on the entry.

        Args:
          item: The item.
          what: Where it was named, to begin the sentence with.
          entry: The entry that names it.
          place: Where the goods are consigned to; None for the maker's own shelf.
        """
        shelf = self.shelves.get(item)
        if shelf is None:
            self.error(unknown_item_message(item, self.catalogue, what), entry)
        elif place is not None:
            shelf = self.consigned.get((item, place))
            if shelf is None:
                places = {each for _, each in self.consigned}
                self.error(
                    f"No {item} were ever sent to {place!r}{nearest(str(place), places)}; "
                    f'write custom "consignment" 12 {item} "{place}" on the day they went',
                    entry,
                )
        return shelf

    def all_shelves(self, item: str) -> list[Shelf]:
        """Return an item's shelves: the maker's own, then those at other places."""
        away = [shelf for (name, _), shelf in self.consigned.items() if name == item]
        return [self.shelves[item], *away]

    def own(self, account: str, date: datetime.date) -> str:
        """Return one of the item's own accounts, to be opened if nobody has.

        Events come by date, so the first use is the day to open it on.
        """
        self.first_use.setdefault(account, date)
        return account

    def expense(self, what: str, item: str, date: datetime.date) -> str:
        """Return the expense account of an item: `Expenses:Spoilage:HERON-STK`."""
        return self.own(f"{self.expenses}:{what}:{account_component(item)}", date)

    def add(self, position: int, postings: list[Posting]) -> None:
        """Add postings to an entry of the ledger."""
        if postings:
            self.additions.setdefault(position, []).extend(postings)

    def generate(self, entry: data.Custom, narration: str, postings: list[Posting]) -> None:
        """Add a transaction for a directive, at its line and with its name."""
        if postings:
            self.generated.append(
                data.Transaction(
                    {**entry.meta, "directive": entry.type},
                    entry.date,
                    "*",
                    None,
                    narration,
                    data.EMPTY_SET,
                    data.EMPTY_SET,
                    postings,
                )
            )

    def take(self, shelf: Shelf, units: Decimal, expense: str, entry: Any) -> StockLayers:
        """Take units off a shelf; what is not there is an error, and owed.

        Args:
          shelf: The shelf.
          units: How many, more than zero.
          expense: The account that bears their cost, should it come later.
          entry: The entry that they leave with.
        """
        taken = costing.relieve(shelf.layers, units)
        got = taken[0][0] if len(taken) == 1 else sum((some for some, _ in taken), ZERO)
        if got != units:
            short = units - got
            owed = Owed(shelf.name, units, short, short, expense, entry)
            shelf.owed.append(owed)
            self.shortages.append(owed)
        return taken

    def relief(self, shelf: Shelf, taken: StockLayers, expense: str) -> list[Posting]:
        """Return the postings that move layers from their shelf to an expense."""
        if not taken:
            return []
        postings = postings_of(shelf, taken, -1)
        currency = taken[0][1].cost.currency
        postings.append(added_posting(expense, cost_of(taken), currency, shelf.name))
        return postings

    def put(self, shelf: Shelf, layers: StockLayers, date: datetime.date) -> list[Posting]:
        """Put layers on a shelf.

        Returns:
          The postings that restate the shelf at its new average, if it is costed so.
        """
        postings = put(shelf, layers, date)
        # Lots may be in an account of the user's choice, which the user has to open.
        if postings or any(lot.account == shelf.account for _, lot in layers):
            self.own(shelf.account, date)
        return postings

    def receive(
        self, shelf: Shelf, layers: StockLayers, date: datetime.date
    ) -> list[Posting]:
        """Put new layers on a shelf, and settle what had left before they came.

        Returns:
          As `put` does.
        """
        postings = self.put(shelf, layers, date)
        shelf.last = layers[-1][1]
        while shelf.owed and shelf.layers:
            owed = shelf.owed[0]
            taken = costing.relieve(shelf.layers, owed.units)
            settled = sum((units for units, _ in taken), ZERO)
            owed.units -= settled
            owed.settled = date
            if not owed.units:
                shelf.owed.popleft()
            self.remember(owed.entry, shelf, taken)
            self.generated.append(
                data.Transaction(
                    dict(owed.entry.meta),
                    date,
                    "*",
                    None,
                    f"Cost of {trimmed(settled)} {shelf.name} that went out early",
                    getattr(owed.entry, "tags", data.EMPTY_SET),
                    getattr(owed.entry, "links", data.EMPTY_SET),
                    self.relief(shelf, taken, owed.expense),
                )
            )
        return postings

    def remember(self, entry: Any, shelf: Shelf, taken: StockLayers) -> None:
        """Keep layers that left for an order that something comes back from."""
        for link in getattr(entry, "links", ()):
            if (link, shelf.name) in self.left:
                self.left[link, shelf.name] += taken

    def shortage_errors(self) -> Iterator[Shortage]:
        """Yield an error for all that left before it was recorded, costed since or not."""
        for owed in self.shortages:
            there = owed.wanted - owed.short
            state = "they have no cost yet"
            if owed.settled:
                state = f"their cost is that of the receipt on {owed.settled}"
                if owed.units:
                    state += f", {trimmed(owed.units)} still without"
            message = (
                f"{owed.item}: {trimmed(owed.wanted)} went out on {owed.entry.date} but "
                f"the shelf had only {trimmed(there)}, {trimmed(owed.short)} short. Record "
                f"the print run or purchase on that day or before; {state}"
            )
            entry = owed.entry
            yield Shortage(entry.meta, message, entry, owed.item, owed.short, owed.units)

    def missing_opens(self) -> list[data.Open]:
        """Return an open for each of the items' own accounts that nobody has opened."""
        return [
            data.Open(data.new_metadata(SOURCE, 0), date, account, [], None)
            for account, date in self.first_use.items()
            if account not in self.opened
        ]


def in_force(versions: Sequence[VersionT], date: datetime.date) -> VersionT | None:
    """Return the newest of a directive's versions, oldest first, up to a date."""
    newest = None
    for version in versions:
        if version.entry.date > date:
            break
        newest = version
    return newest
