"""Add up each shelf's moves: what is left of which lot, and what happened in a period."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from beancount.core import data
from beancount.core.position import Cost

from offcut.importers.splitting import ZERO
from offcut.plugins.catalogue import Item
from offcut.reports.period import Period
from offcut.reports.shelf.moves import Move, Moves, places_by_account


@dataclass(frozen=True)
class Turned:
    """What happened to stock in the period.

    Attributes:
      opening_units: On hand before the first day.
      opening: What they were carried at.
      received: Units bought and made; and moved here from another shelf, less those
        that moved away.
      sold: Units sold, less what came back.
      used: Units that went into print runs and parcels.
      cost_of_goods: What the units sold cost, and what late bills added to that.
      closing: What is on hand after the last day is carried at.
      days: How many days: of the period, or of the part since the item was first here.
    """

    opening_units: Decimal
    opening: Decimal
    received: Decimal
    sold: Decimal
    used: Decimal
    cost_of_goods: Decimal
    closing: Decimal
    days: int

    @property
    def average_stock(self) -> Decimal:
        """Half of what opening and closing stock are carried at."""
        return (self.opening + self.closing) / 2

    @property
    def turnover(self) -> Decimal | None:
        """How often the stock was sold over; None where there was none, or no sale."""
        if self.average_stock <= ZERO or self.cost_of_goods <= ZERO:
            return None
        return self.cost_of_goods / self.average_stock

    @property
    def days_in_inventory(self) -> Decimal | None:
        """For how many days of sales the stock lasts; None as for `turnover`."""
        if self.average_stock <= ZERO or self.cost_of_goods <= ZERO:
            return None
        return self.average_stock * self.days / self.cost_of_goods


class Stand:
    """One item at one place while its moves come in, day by day."""

    def __init__(self, period: Period) -> None:
        assert period.first and period.last
        self.first, self.last = period.first, period.last
        self._lots: dict[Cost, list[Decimal]] = {}
        self.units = self.opening_units = self.opening = self.closing = ZERO
        self.received = self.sold = self.used = self.cost_of_goods = ZERO
        self.moved = False
        self.day: datetime.date | None = None
        self.units_before = ZERO
        self.here_first: datetime.date | None = None
        self.filled: datetime.date | None = None
        self.last_left: datetime.date | None = None

    @property
    def is_worth_a_line(self) -> bool:
        """Whether there is any, or it moved or cost something in the period."""
        return bool(self.units or self.lots or self.moved or self.cost_of_goods)

    @property
    def lots(self) -> dict[Cost, Decimal]:
        """What is left of each lot, where that is not nothing."""
        return {cost: left for cost, (left,) in self._lots.items() if left}

    def add(self, move: Move, is_own: bool) -> None:
        """Add a move, which is not of an earlier day than those before."""
        date, _, account, _, why, units, value, lots, _ = move
        if date != self.day:
            self.close_day()
            self.day, self.units_before = date, self.units
        for cost, some in lots:
            left = self._lots.get(cost)
            if left is None:
                self._lots[cost] = [some]
            else:
                left[0] += some  # In place: to find a lot by its cost takes longest here.
        if account:
            self.closing += value
        if units:
            self.units += units
            if self.here_first is None:
                self.here_first = date
            if units < ZERO and (
                why in ("sold", "used", "given") or (why == "moved" and is_own)
            ):
                self.last_left = date
        if date < self.first:
            self.opening_units, self.opening = self.units, self.closing
            return
        self.moved = self.moved or bool(units)
        if why == "sold":
            self.sold -= units
            self.cost_of_goods -= value
        elif why == "used":
            self.used -= units
        elif why in ("bought", "made", "moved"):
            self.received += units

    def close_day(self) -> None:
        """Note whether the day filled an empty shelf."""
        if self.units_before <= ZERO < self.units:
            self.filled = self.day

    def turned(self) -> Turned:
        """Return what happened in the period."""
        first = max(self.first, self.here_first or self.first)
        return Turned(
            *(self.opening_units, self.opening, self.received, self.sold, self.used),
            *(self.cost_of_goods, self.closing, (self.last - first).days + 1),
        )


Key = tuple[str, str, str]  # item, place, currency of the cost


def stands(
    entries: list[data.Directive],
    stock: Iterable[Moves],
    catalogue: Mapping[str, Item],
    assets: str,
    period: Period,
) -> dict[Key, Stand]:
    """Return what is where at the end of a period.

    Args:
      entries: The ledger's directives, after its plugins.
      stock: What its transactions moved, by date.
      catalogue: The items of stock.
      assets: What the names of asset accounts begin with.
      period: The days that flows are of, both ends named.
    """
    assert period.last
    places = places_by_account(entries, catalogue, assets)
    found: dict[Key, Stand] = {}
    for entry, moved in stock:
        if entry.date > period.last:
            break
        has_lots = moved[0].lots or any(move.lots for move in moved)
        if not has_lots and not _is_bill(entry):
            continue
        for move in moved:
            place = places.get(move.account, "")
            key = (move.item, place, move.currency)
            stand = found.get(key)
            if stand is None:
                stand = found[key] = Stand(period)
            stand.add(move, is_own=not place)
    for stand in found.values():
        stand.close_day()
    return found


def _is_bill(entry: data.Transaction) -> bool:
    """Tell whether a transaction may be a late bill, for goods that have all left."""
    return any("spread" in (posting.meta or ()) for posting in entry.postings)
