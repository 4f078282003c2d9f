"""One item's stock in the ledger's terms: lots, the account they are in, postings.

`costing` does the arithmetic; here its layers get beancount's cost keys, so that what
leaves a shelf is the very position that came in and inventories come out at zero.
"""

from __future__ import annotations

import datetime
from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from itertools import islice
from typing import Any, NamedTuple

from beancount.core import data
from beancount.core.amount import Amount
from beancount.core.data import Booking, Posting
from beancount.core.position import Cost

from offcut.plugins import costing
from offcut.plugins.catalogue import Item, Kind, account_component
from offcut.plugins.costing import Layers, trimmed

SOURCE = "<offcut.plugins.stock>"
ZERO = Decimal(0)

# Decimal places of a unit cost. A print run multiplies a material's cost by a quantity
# of up to four places, so that twelve places keep a product's layers in whole pieces.
GRAIN: Mapping[Kind, int] = {"product": 12, "material": 8, "stamp": 8}
HOME: Mapping[Kind, str] = {"product": "Stock", "material": "Materials", "stamp": "Stamps"}
RECEIVE = {
    Booking.FIFO: costing.receive_first_in_first_out,
    Booking.AVERAGE: costing.receive_into_average,
}


class StockLot(NamedTuple):
    """A lot as the ledger holds it: beancount's cost key, in an account.

    Attributes:
      unit_cost: What one unit is carried at.
      account: The account that the lot is in.
      cost: The cost key; its number is the unit cost.
      cost_before: What one unit cost before it was written down, if it was.
    """

    unit_cost: Decimal
    account: str
    cost: Cost
    cost_before: Decimal | None = None


StockLayers = list[tuple[Decimal, StockLot]]


@dataclass(slots=True)
class Owed:
    """Units that left before they were recorded, to be costed from the next receipt.

    Attributes:
      item: What left.
      wanted: How many left, those that were there included.
      short: How many of them were not there.
      units: How many are still owed.
      expense: The account that bears their cost.
      entry: The entry that they left with.
      settled: The day of the last receipt that they were costed from.
    """

    item: str
    wanted: Decimal
    short: Decimal
    units: Decimal
    expense: str
    entry: Any
    settled: datetime.date | None = None


class Shelf:
    """One item's layers at cost, and how they are costed."""

    def __init__(
        self, item: Item, account: str, method: Booking, cost_account: str
    ) -> None:
        self.item = item
        self.name = item.currency
        self.account = account
        self.cost_account = cost_account
        self.method = method
        self.receive = RECEIVE[method]
        self.grain = GRAIN[item.kind]
        self.layers: Layers[StockLot] = deque()
        self.owed: deque[Owed] = deque()
        self.currency: str | None = None  # that its lots cost money in, once one came
        self.last: StockLot | None = None  # of the newest receipt

    @property
    def averages(self) -> bool:
        """Whether each receipt makes a new average of all."""
        return self.receive is costing.receive_into_average

    def units(self) -> Decimal:
        """Return how many units are on the shelf."""
        return costing.units_in(self.layers)

    def lot(self, unit_cost: Decimal, currency: str, date: datetime.date) -> StockLot:
        """Return a new lot of this item, in its own account."""
        return StockLot(unit_cost, self.account, Cost(unit_cost, currency, date, None))


def make_shelves(
    catalogue: Mapping[str, Item], opens: list[data.Open], options_map: Mapping[str, Any]
) -> tuple[dict[str, Shelf], list[tuple[data.Open, str]]]:
    """Return a shelf for each item of the catalogue, by commodity.

    An item's account and method come from the first `open` of an asset account that
    names the item among its currencies; or, where none does, from the `open` of the
    account that the item has by default.

    Args:
      catalogue: The items.
      opens: The ledger's open directives.
      options_map: An options map.

    Returns:
      The shelves, and what is wrong in opens: pairs of the directive and a sentence.
    """
    assets = options_map["name_assets"]
    default = options_map["booking_method"]
    if default not in RECEIVE:
        default = Booking.FIFO
    problems = []
    named: dict[str, data.Open] = {}
    opened_accounts = {entry.account: entry for entry in opens}
    for entry in opens:
        if entry.account.startswith(assets + ":"):
            for currency in entry.currencies or ():
                if currency in catalogue:
                    named.setdefault(currency, entry)
    shelves = {}
    for currency, item in catalogue.items():
        account = f"{assets}:{HOME[item.kind]}:{account_component(currency)}"
        method = default
        opened = named.get(currency) or opened_accounts.get(account)
        if opened:
            account = opened.account
            method = opened.booking or default
            if method not in RECEIVE:
                problems.append(
                    (
                        opened,
                        f"{currency} cannot be costed by {method.value}, and is costed by "
                        f'{default.value}; open {account} with "FIFO" or "AVERAGE"',
                    )
                )
                method = default
        cost_account = f"{options_map['name_expenses']}:COGS:{account_component(currency)}"
        shelves[currency] = Shelf(item, account, method, cost_account)
    return shelves, problems


def added_posting(
    account: str,
    number: Decimal,
    currency: str,
    item: str | None = None,
    cost: Cost | None = None,
) -> Posting:
    """Return a posting that the stock plugin adds, marked as such and with its item."""
    meta: data.Meta = {"filename": SOURCE, "lineno": 0}
    if item is not None:
        meta["item"] = item
    return Posting(account, Amount(number, currency), cost, None, None, meta)


def postings_of(shelf: Shelf, layers: StockLayers, sign: int) -> list[Posting]:
    """Return one posting a layer: into its account for a sign of 1, out of it for -1."""
    return [
        added_posting(
            lot.account, units if sign > 0 else -units, shelf.name, shelf.name, lot.cost
        )
        for units, lot in layers
    ]


def put(shelf: Shelf, arriving: StockLayers, date: datetime.date) -> list[Posting]:
    """Put layers on a shelf whose own postings are in the ledger already.

    Returns:
      The postings that restate older layers at the new average, if it is costed so.
    """
    currency = shelf.currency = arriving[0][1].cost.currency
    dates = [lot.cost.date for _, lot in [*islice(reversed(shelf.layers), 1), *arriving]]
    change = shelf.receive(
        shelf.layers, arriving, lambda cost: shelf.lot(cost, currency, date), shelf.grain
    )
    if not shelf.averages and dates != sorted(dates):
        # Opening stock, or goods back from a shop: older than what is here already.
        by_date = sorted(shelf.layers, key=lambda layer: layer[1].cost.date)
        shelf.layers = deque(by_date)
    if change is None:
        return []
    _remember_cost_before(shelf, change.withdrawn)
    return [
        *postings_of(shelf, change.withdrawn, -1),
        *postings_of(shelf, change.restated, 1),
    ]


def _remember_cost_before(shelf: Shelf, withdrawn: StockLayers) -> None:
    """Note on a new average what it had been if nothing had been written down."""
    if all(lot.cost_before is None for _, lot in withdrawn):
        return
    cost = sum(
        (
            units * (lot.unit_cost if lot.cost_before is None else lot.cost_before)
            for units, lot in withdrawn
        ),
        ZERO,
    )
    units = sum((units for units, _ in withdrawn), ZERO)
    each = min(
        unit_cost for _, unit_cost in costing.spread_evenly(cost, units, shelf.grain)
    )
    shelf.layers = deque(
        (units, lot._replace(cost_before=each if each > lot.unit_cost else None))
        for units, lot in shelf.layers
    )


def cost_of(layers: StockLayers) -> Decimal:
    """Return what layers cost together, without zeros at its end."""
    if len(layers) == 1:
        units, lot = layers[0]
        return units * lot.unit_cost
    return trimmed(costing.value_of(layers))
