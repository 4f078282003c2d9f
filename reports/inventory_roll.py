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
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from decimal import Decimal
from typing import Any, NamedTuple

from beancount.core import data

from offcut.plugins.catalogue import Item, read_catalogue
from offcut.plugins.shelf import SOURCE
from offcut.reports.flows import money_transactions
from offcut.reports.period import Period
from offcut.reports.splitting import EXACT, ZERO


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


MOVEMENTS = tuple(each.name for each in fields(Roll) if each.name != "closing")

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
      cost_of_goods: What the ledger's cost-of-goods accounts came to, for the tie.
    """

    items: dict[str, Roll]
    total: Roll
    cost_of_goods: Decimal

    @property
    def ties(self) -> bool:
        """Whether every roll closes, and the sold add up to the accounts."""
        closes = all(roll.difference == NOTHING for roll in self.items.values())
        return closes and -self.total.sold.value == self.cost_of_goods


def inventory_roll(
    entries: Iterable[data.Directive], options_map: Mapping[str, Any], period: Period
) -> InventoryRoll:
    """Return what happened to stock in a period.

    Args:
      entries: The ledger's directives, after its plugins.
      options_map: The ledger's options.
      period: The days to take.
    """
    entries = list(entries)
    catalogue = read_catalogue(entries)
    assets = options_map["name_assets"] + ":"
    cost_of_goods_root = f"{options_map['name_expenses']}:COGS:"
    sums: dict[str, dict[str, Moved]] = {item: {} for item in catalogue}
    cost_of_goods = ZERO
    with decimal.localcontext(EXACT):
        for entry in money_transactions(entries):
            if period.last and entry.date > period.last:
                continue
            before = period.first is not None and entry.date < period.first
            for item, column, moved in _movements(entry, catalogue, assets):
                if column == "closing":
                    _add(sums[item], "closing", moved)
                    if before:
                        _add(sums[item], "opening", moved)
                elif not before:
                    _add(sums[item], column, moved)
            if not before:
                cost_of_goods += sum(
                    (
                        posting.units.number
                        for posting in entry.postings
                        if posting.account.startswith(cost_of_goods_root)
                        and posting.units
                        and posting.units.number
                    ),
                    ZERO,
                )
        items = {item: Roll(**columns) for item, columns in sums.items()}
        total: dict[str, Moved] = {}
        for columns in sums.values():
            for column, moved in columns.items():
                _add(total, column, moved)
        return InventoryRoll(
            {item: roll for item, roll in items.items() if roll.moved},
            Roll(**total),
            cost_of_goods,
        )


def _add(columns: dict[str, Moved], column: str, moved: Moved) -> None:
    columns[column] = columns.get(column, NOTHING).plus(*moved)


def _movements(
    entry: data.Transaction, catalogue: Mapping[str, Item], assets: str
) -> list[tuple[str, str, Moved]]:
    """Return what a transaction moved: item, column, units and value.

    The column `closing` stands for the plain change of the item's stock accounts. The
    stock plugin writes the lots that leave and then the account that bears them, so
    that an expense takes all stock postings of its item since the last one.
    """
    found: list[tuple[str, str, Moved]] = []
    open_moves: dict[str, Moved] = {}
    run = entry.meta.get("directive") == "print-run"
    for posting in entry.postings:
        units, cost, meta = posting.units, posting.cost, posting.meta or {}
        if units is None or units.number is None:
            continue
        added = meta.get("filename") == SOURCE
        if (
            units.currency in catalogue
            and cost is not None
            and posting.account.startswith(assets)
        ):
            item = units.currency
            moved = Moved(units.number, units.number * (cost.number or ZERO))  # type: ignore[union-attr]
            found.append((item, "closing", moved))
            if added:
                open_moves[item] = open_moves.get(item, NOTHING).plus(*moved)
            else:
                found.append((item, "bought", moved))
        elif added and not run and meta.get("item") in catalogue:
            item = meta["item"]
            moved = open_moves.pop(item, NOTHING)
            column = BORNE_BY.get(posting.account.split(":")[1], "other")
            found.append((item, column, Moved(moved.units, -units.number)))
            found.append((item, "freight", Moved(ZERO, moved.value + units.number)))
    for item, moved in open_moves.items():
        column = "freight" if not run else "made" if moved.units > ZERO else "used"
        found.append((item, column, moved))
    return found
