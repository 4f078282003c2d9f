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
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, fields
from decimal import Decimal
from typing import Any, NamedTuple

from beancount.core import data

from offcut.importers.splitting import EXACT, ZERO
from offcut.plugins.catalogue import Item, read_catalogue
from offcut.plugins.shelf import SOURCE
from offcut.reports.flows import money_transactions, weight
from offcut.reports.period import Period


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


def stock_currency(
    entries: Iterable[data.Directive], options_map: Mapping[str, Any]
) -> str:
    """Return the currency to report stock in when none is asked for.

    Args:
      entries: The ledger's directives.
      options_map: The ledger's options.

    Returns:
      The first operating currency; else the one that most lots cost, the first in the
      alphabet of several; an empty text where there are no lots either.
    """
    operating = options_map.get("operating_currency") or []
    if operating:
        return str(operating[0])
    counts = Counter(
        posting.cost.currency
        for entry in money_transactions(entries)
        for posting in entry.postings
        if posting.cost is not None and posting.cost.currency is not None
    )
    return min(counts, key=lambda each: (-counts[each], each)) if counts else ""


def inventory_roll(
    entries: Iterable[data.Directive],
    options_map: Mapping[str, Any],
    period: Period,
    currency: str,
) -> InventoryRoll:
    """Return what happened to stock in a period.

    Args:
      entries: The ledger's directives, after its plugins.
      options_map: The ledger's options.
      period: The days to take.
      currency: The currency to take; stock that cost another is left out.
    """
    entries = list(entries)
    catalogue = read_catalogue(entries)
    assets = options_map["name_assets"] + ":"
    cost_of_goods_root = f"{options_map['name_expenses']}:COGS:"
    sums: dict[str, dict[str, Moved]] = {item: {} for item in catalogue}
    cost_of_goods = by_hand = spread = ZERO
    with decimal.localcontext(EXACT):
        for entry in money_transactions(entries):
            if period.last and entry.date > period.last:
                continue
            before = period.first is not None and entry.date < period.first
            for item, column, moved in _movements(entry, catalogue, assets, currency):
                if column == CLOSING:
                    _add(sums[item], CLOSING, moved)
                    if before:
                        _add(sums[item], "opening", moved)
                elif not before:
                    _add(sums[item], column, moved)
            for posting in entry.postings if not before else ():
                number, posted = weight(posting) or (ZERO, currency)
                if posted == currency and posting.account.startswith(cost_of_goods_root):
                    cost_of_goods += number
                    by_hand += ZERO if _is_added(posting) else number
                elif (
                    posted == currency
                    and _is_added(posting)
                    and "item" not in (posting.meta or ())
                ):
                    spread -= number
        total: dict[str, Moved] = {}
        for columns in sums.values():
            for column, moved in columns.items():
                _add(total, column, moved)
        rolls = {item: Roll(**columns) for item, columns in sums.items()}
        moved_rolls = {item: roll for item, roll in rolls.items() if roll.moved}
        return InventoryRoll(
            moved_rolls, Roll(**total), cost_of_goods, by_hand, spread, currency
        )


def _is_added(posting: data.Posting) -> bool:
    """Tell whether the stock plugin added a posting."""
    return (posting.meta or {}).get("filename") == SOURCE


def _add(columns: dict[str, Moved], column: str, moved: Moved) -> None:
    columns[column] = columns.get(column, NOTHING).plus(*moved)


def _movements(
    entry: data.Transaction, catalogue: Mapping[str, Item], assets: str, currency: str
) -> Iterator[tuple[str, str, Moved]]:
    """Yield what a transaction moved: item, column, units and value.

    The column `closing` stands for the plain change of the item's stock accounts. The
    stock plugin writes the lots that leave and then the account that bears them, so
    that an expense takes all stock postings of its item since the last one.
    """
    unborne: dict[str, Moved] = {}
    run = entry.meta.get("directive") == "print-run"
    for posting in entry.postings:
        units, cost = posting.units, posting.cost
        if units is None or units.number is None:
            continue
        if cost is not None and posting.account.startswith(assets):
            item = units.currency
            if item not in catalogue or cost.currency != currency:
                continue
            weighed = weight(posting)
            moved = Moved(units.number, weighed[0] if weighed else ZERO)
            yield item, CLOSING, moved
            if _is_added(posting):
                unborne[item] = unborne.get(item, NOTHING).plus(*moved)
            else:
                yield item, "bought", moved
        elif _is_added(posting) and not run and units.currency == currency:
            item = (posting.meta or {}).get("item", "")
            if item in catalogue:
                moved = unborne.pop(item, NOTHING)
                column = BORNE_BY.get(posting.account.split(":")[1], "other")
                yield item, column, Moved(moved.units, -units.number)
                # What an expense bears beyond what left the shelf was capitalised first.
                yield item, "freight", Moved(ZERO, moved.value + units.number)
    for item, moved in unborne.items():
        yield (
            item,
            ("freight" if not run else "made" if moved.units > ZERO else "used"),
            moved,
        )
