"""Roll the inventory forward: what was there, what came and went, what is left.

    opening + bought + freight + made - used + corrected - sold - other uses = closing

for each item, in units and at cost. Opening and closing are balances of the stock
accounts, taken by themselves; what lies between is read off the postings that the stock
plugin adds, each by the account that bore it. That the two sides agree is what the roll
states. The lines are those of US Schedule C, Part III: inventory at the beginning of the
year, purchases, materials, other costs, inventory at the end, cost of goods sold.
"""

from __future__ import annotations

import decimal
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, fields
from decimal import Decimal
from typing import Any, NamedTuple

from beancount.core import data

from offcut.importers.splitting import EXACT, ZERO
from offcut.plugins.catalogue import read_catalogue
from offcut.plugins.collector import collector_paused
from offcut.reports.period import Period
from offcut.reports.shelf.balances import StockDays, stock_days
from offcut.reports.shelf.moves import Move, Moves, Why, stock_moves


class Moved(NamedTuple):
    """Units of an item, and what they cost; below zero for what went out."""

    units: Decimal = ZERO
    value: Decimal = ZERO

    def plus(self, units: Decimal, value: Decimal) -> Moved:
        """Return the sum with more of the same."""
        return Moved(self.units + units, self.value + value)


NOTHING = Moved()


@dataclass(frozen=True)
class Roll:
    """What happened to one item, or to all, in a period.

    Attributes:
      opening: On hand before the first day.
      bought: Lots in the ledger's own text.
      freight: Freight, duty and set-up that became part of the cost; no units.
      made: Good pieces of print runs.
      used: Gone into print runs, spoiled pieces and all.
      corrected: By counts.
      sold: Cost of goods sold, less what came back.
      packed: Used up by packing lists.
      written_down: To net realisable value, less what was reversed; no units.
      other: Taken out by hand: giveaways, samples, own use, damage.
      closing: On hand after the last day, by the balance of the accounts.
    """

    opening: Moved = NOTHING
    bought: Moved = NOTHING
    freight: Moved = NOTHING
    made: Moved = NOTHING
    used: Moved = NOTHING
    corrected: Moved = NOTHING
    sold: Moved = NOTHING
    packed: Moved = NOTHING
    written_down: Moved = NOTHING
    other: Moved = NOTHING
    closing: Moved = NOTHING

    @property
    def difference(self) -> Moved:
        """What the movements explain too much, which should be nothing."""
        parts = [getattr(self, name) for name in MOVEMENTS]
        return Moved(
            sum((part.units for part in parts), ZERO) - self.closing.units,
            sum((part.value for part in parts), ZERO) - self.closing.value,
        )

    @property
    def moved(self) -> bool:
        """Whether there is anything to say about the item."""
        return any(any(getattr(self, each.name)) for each in fields(self))


# The units and the value of each column.
_Sums = dict[str, list[Decimal]]

CLOSING = "closing"
MOVEMENTS = tuple(each.name for each in fields(Roll) if each.name != CLOSING)

# The movement that an account's second part stands for; any other is a use of its own.
BORNE_BY = {
    "COGS": "sold",
    "Shrinkage": "corrected",
    "Packaging": "packed",
    "Postage": "packed",
    "Writedown": "written_down",
}


class InventoryRoll(NamedTuple):
    """The rolls of a period.

    Attributes:
      items: A roll for each item that there was anything of, by commodity.
      total: All of them in one; its units are of different things and mean nothing.
      cost_of_goods: What the ledger's cost-of-goods accounts came to.
      by_hand: The part of that which the user posted, without stock.
      spread: What the stock plugin took off the accounts of freight and the like.
      currency: The currency of all values.
    """

    items: dict[str, Roll]
    total: Roll
    cost_of_goods: Decimal
    by_hand: Decimal
    spread: Decimal
    currency: str

    @property
    def ties(self) -> bool:
        """Whether every roll closes, and goods sold and freight agree with the accounts.

        Freight is what no other account explains, so that a value that came from nowhere
        shows here.
        """
        closes = all(roll.difference == NOTHING for roll in self.items.values())
        sold = self.by_hand - self.total.sold.value == self.cost_of_goods
        return closes and sold and self.total.freight == Moved(ZERO, self.spread)


def inventory_roll(
    entries: Iterable[data.Directive],
    options_map: Mapping[str, Any],
    period: Period,
    currency: str,
    stock: Iterable[Moves] | None = None,
    days: StockDays | None = None,
) -> InventoryRoll:
    """Return what happened to stock in a period.

    Args:
      entries: The ledger's directives, after its plugins.
      options_map: The ledger's options.
      period: The days to take.
      currency: The currency to take; stock that cost another is left out.
      stock: What the transactions moved, by date, where that is known already.
      days: What the accounts were posted on each day, where that is known already.
    """
    entries = list(entries)
    catalogue = read_catalogue(entries)
    assets = options_map["name_assets"] + ":"
    if stock is None:
        of_period = (entry for entry in entries if entry.date in period)
        stock = stock_moves(of_period, catalogue, assets)
    sums: dict[str, _Sums] = {item: {} for item in catalogue}
    with decimal.localcontext(EXACT), collector_paused():
        if days is None:
            days = stock_days(entries, options_map, catalogue.keys())
        accounts = _accounts(days, period, currency, sums)
        for move in _together(stock, period, currency):
            _add_move(sums[move.item], move)
        total: _Sums = {}
        for columns in sums.values():
            for column, some in columns.items():
                _add(total, column, *some)
        rolls = {item: _roll(columns) for item, columns in sums.items()}
        moved_rolls = {item: roll for item, roll in rolls.items() if roll.moved}
        return InventoryRoll(moved_rolls, _roll(total), *accounts, currency)


def _accounts(
    days: StockDays, period: Period, currency: str, sums: Mapping[str, _Sums]
) -> tuple[Decimal, Decimal, Decimal]:
    """Take opening and closing from the accounts, whatever moved them, and their sums.

    Returns:
      The cost of goods, the part of it that was posted by hand, and what was spread.
    """
    for (item, posted, date), (units, value) in days.at_cost.items():
        if posted == currency and (period.last is None or date <= period.last):
            _add(sums[item], CLOSING, units, value)
            if period.first is not None and date < period.first:
                _add(sums[item], "opening", units, value)
    cost_of_goods, by_hand, taken_off = (
        sum(
            (
                amount
                for (date, posted), amount in amounts.items()
                if posted == currency and date in period
            ),
            ZERO,
        )
        for amounts in (days.goods_sold, days.by_hand, days.spread)
    )
    return cost_of_goods, by_hand, -taken_off


def _together(stock: Iterable[Moves], period: Period, currency: str) -> Iterator[Move]:
    """Yield the moves of a period, those of an item that are alike as one.

    Such a one is dated as the first, and says no lots.
    """
    firsts: dict[tuple[str, Why, str, bool], Move] = {}
    sums: dict[tuple[str, Why, str, bool], list[Decimal]] = {}
    for entry, moved in stock:
        if entry.date not in period:
            continue
        for move in moved:
            _, item, account, posted, why, units, value, _, bearer = move
            if posted != currency:
                continue
            key = (item, why, bearer, not account)
            some = sums.get(key)
            if some is None:
                firsts[key], sums[key] = move, [units, value]
            else:
                some[0] += units
                some[1] += value
    for key, (units, value) in sums.items():
        yield firsts[key]._replace(units=units, value=value, lots=())


def _roll(columns: _Sums) -> Roll:
    """Return a roll of its sums."""
    return Roll(**{column: Moved(*some) for column, some in columns.items()})


def _add(columns: _Sums, column: str, units: Decimal, value: Decimal) -> None:
    """Add to a column."""
    some = columns.get(column)
    if some is None:
        columns[column] = [units, value]
    else:
        some[0] += units
        some[1] += value


def _add_move(columns: _Sums, move: Move) -> None:
    """Add a move to its column, by the account that bore it."""
    borne = BORNE_BY.get(move.bearer.split(":", 2)[1], "other") if move.bearer else ""
    if not move.account:
        # What an expense bears beyond what left the shelf was capitalised first.
        _add(columns, borne, ZERO, move.value)
        _add(columns, "freight", ZERO, -move.value)
    elif move.why in ("bought", "made"):
        _add(columns, move.why, move.units, move.value)
    elif move.why in ("restated", "moved"):
        _add(columns, "freight", move.units, move.value)
    else:
        _add(columns, borne or "used", move.units, move.value)
