"""Say what is on the shelf at a date, how long it will last, and what does not move.

    sell-through      = sold / (opening + received)
    weeks of cover    = on hand / (what leaves in a week)
    turnover          = cost of goods sold / average stock
    days in inventory = average stock / (cost of goods sold in a day)

over the days of a period that ends at that date. Average stock is half of opening and
closing together. Turnover and days' sales in inventory as in OpenStax, Principles of
Accounting 1 (Franklin, Graybeal, Cooper), section 10.5; the other two are common
practice, without a source. What is consigned to a shop is on a shelf of its own.
"""

from __future__ import annotations

import datetime
import decimal
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from beancount.core import data
from beancount.core.position import Cost

from offcut.importers.splitting import EXACT, ZERO
from offcut.plugins.catalogue import KINDS, Item, Kind, read_catalogue
from offcut.plugins.collector import collector_paused
from offcut.plugins.shelf import GRAIN, make_shelves
from offcut.reports.flows import money_transactions
from offcut.reports.period import Period
from offcut.reports.shelf.moves import Moves, stock_moves
from offcut.reports.shelf.stands import Key, Stand, Turned, stands

SLOW_WEEKS = Decimal(26)
DEAD_DAYS = 180
DAYS_IN_WEEK = 7


@dataclass(frozen=True)
class LotOnHand:
    """What is left of a lot.

    Attributes:
      date: When it came; of a moving average, when the average was last struck.
      units: How many are left.
      value: What they are carried at.
      age: Days from its date to the report's.
    """

    date: datetime.date
    units: Decimal
    value: Decimal
    age: int

    @property
    def unit_cost(self) -> Decimal:
        """What one unit is carried at."""
        return self.value / self.units


@dataclass(frozen=True)
class ShelfLine:
    """One item at one place.

    Attributes:
      item: The commodity.
      name: Its name to show.
      kind: What it is for.
      place: The shop that has it on consignment; empty for the maker's own shelf.
      currency: The currency of its cost.
      units: On hand.
      value: What they are carried at.
      lots: What is left of each lot, the oldest first.
      averages: Whether it is costed at a moving average, whose lots have no age of
        their own.
      turned: What happened in the period.
      last_left: The last day that any left: sold, used, given away, or sent to a shop.
      idle_days: Days since then, or since the shelf was last filled from empty.
      slow: Whether there are too many weeks of cover.
      dead: Whether there are some and none has left for too long.
    """

    item: str
    name: str
    kind: Kind
    place: str
    currency: str
    units: Decimal
    value: Decimal
    lots: tuple[LotOnHand, ...]
    averages: bool
    turned: Turned
    last_left: datetime.date | None
    idle_days: int
    slow: bool
    dead: bool

    @property
    def average_cost(self) -> Decimal | None:
        """What one unit is carried at on average; None where there is none."""
        return self.value / self.units if self.units else None

    @property
    def sell_through(self) -> Decimal | None:
        """Units sold as a share of those there were; None where none was for sale."""
        there = self.turned.opening_units + self.turned.received
        if self.kind != "product" or there <= ZERO:
            return None
        return self.turned.sold / there

    @property
    def weeks_of_cover(self) -> Decimal | None:
        """For how many weeks the units last; None where none was sold or used."""
        return weeks_of_cover(self.units, self.turned)


@dataclass(frozen=True)
class ShelfTotal:
    """All shelves of a kind and currency, or all of a currency.

    Attributes:
      kind: The kind of item; None for all kinds together.
      currency: The currency of the cost.
      value: What is on hand is carried at.
      turned: What happened in the period; its units are of different things.
    """

    kind: Kind | None
    currency: str
    value: Decimal
    turned: Turned


@dataclass(frozen=True)
class ShelfReport:
    """What is on all shelves at a date.

    Attributes:
      period: The days that rates are of; stock is as at the close of the last.
      lines: By kind, name and place; what is gone and did not move is left out.
      totals: For each currency, of each kind and then of all.
      slow_weeks: More weeks of cover than these are slow.
      dead_days: What has not moved for this many days is dead.
    """

    period: Period
    lines: tuple[ShelfLine, ...]
    totals: tuple[ShelfTotal, ...]
    slow_weeks: Decimal
    dead_days: int


def weeks_of_cover(units: Decimal, turned: Turned) -> Decimal | None:
    """Return for how many weeks units last at the rate of a period.

    Args:
      units: On hand.
      turned: What happened in the period.
    """
    left = turned.sold + turned.used
    if left <= ZERO:
        return None
    return units * turned.days / (left * DAYS_IN_WEEK)


def shelf_report(
    entries: Iterable[data.Directive],
    options_map: Mapping[str, Any],
    period: Period,
    slow_weeks: Decimal = SLOW_WEEKS,
    dead_days: int = DEAD_DAYS,
    stock: Iterable[Moves] | None = None,
) -> ShelfReport:
    """Report what is on the shelves at the end of a period.

    Args:
      entries: The ledger's directives, after its plugins.
      options_map: The ledger's options.
      period: The days that rates are of; an open end is that of the ledger's own
        transactions.
      slow_weeks: More weeks of cover than these are slow.
      dead_days: What has not moved for this many days is dead.
      stock: What the transactions moved, by date, where that is known already.
    """
    entries = list(entries)
    dates = [entry.date for entry in money_transactions(entries)]
    if not dates:
        return ShelfReport(period, (), (), slow_weeks, dead_days)
    last = period.last or max(dates)
    first = period.first or min(min(dates), last)
    catalogue = read_catalogue(entries)
    assets = options_map["name_assets"] + ":"
    opens = [entry for entry in entries if isinstance(entry, data.Open)]
    averaged = {
        item: shelf.averages
        for item, shelf in make_shelves(catalogue, opens, options_map)[0].items()
    }
    with decimal.localcontext(EXACT), collector_paused():
        if stock is None:
            stock = stock_moves(entries, catalogue, assets)
        found = stands(entries, stock, catalogue, assets, Period(first, last))
        lines = [
            _line(stand, key, catalogue[key[0]], averaged[key[0]], slow_weeks, dead_days)
            for key, stand in found.items()
            if stand.is_worth_a_line
        ]
        lines.sort(
            key=lambda line: (
                *(KINDS.index(line.kind), line.name, line.item),
                *(line.place, line.currency),
            )
        )
        totals = tuple(_totals(lines, (last - first).days + 1))
    return ShelfReport(Period(first, last), tuple(lines), totals, slow_weeks, dead_days)


def _line(
    stand: Stand,
    key: Key,
    item: Item,
    averages: bool,
    slow_weeks: Decimal,
    dead_days: int,
) -> ShelfLine:
    """Return the line of an item at a place."""
    _, place, currency = key
    turned = stand.turned()
    since = max(day for day in (stand.last_left, stand.filled, datetime.date.min) if day)
    idle = (stand.last - since).days
    cover = weeks_of_cover(stand.units, turned)
    return ShelfLine(
        item=item.currency,
        name=item.name,
        kind=item.kind,
        place=place,
        currency=currency,
        units=stand.units,
        value=stand.closing,
        lots=tuple(_lots(stand, item.kind)),
        averages=averages,
        turned=turned,
        last_left=stand.last_left,
        idle_days=idle,
        slow=stand.units > ZERO and cover is not None and cover > slow_weeks,
        dead=stand.units > ZERO and idle >= dead_days,
    )


def _lots(stand: Stand, kind: Kind) -> Iterator[LotOnHand]:
    """Yield what is left of each lot, the oldest first.

    A value that does not divide is spread over its units in grains: a lot of two costs
    that are one grain apart is one lot.
    """
    grain = Decimal(1).scaleb(-GRAIN[kind])
    together: list[tuple[Cost, Decimal, Decimal]] = []
    for cost, units in sorted(
        stand.lots.items(), key=lambda lot: (lot[0].date, lot[0].number, str(lot[0].label))
    ):
        value = units * cost.number
        if together:
            before, some, worth = together[-1]
            near = cost.number - before.number <= grain and units > ZERO and some > ZERO
            if near and (before.date, before.label) == (cost.date, cost.label):
                together[-1] = (cost, some + units, worth + value)
                continue
        together.append((cost, units, value))
    for cost, units, value in together:
        yield LotOnHand(cost.date, units, value, (stand.last - cost.date).days)


def _totals(lines: list[ShelfLine], days: int) -> Iterator[ShelfTotal]:
    """Yield the totals of each currency."""
    for currency in sorted({line.currency for line in lines}):
        mine = [line for line in lines if line.currency == currency]
        for kind in (*KINDS, None):
            some = [line for line in mine if kind in (None, line.kind)]
            if some:
                value = sum((line.value for line in some), ZERO)
                yield ShelfTotal(kind, currency, value, _together(some, days))


def _together(lines: list[ShelfLine], days: int) -> Turned:
    """Return what happened on several shelves, over all days of the period."""
    parts = [line.turned for line in lines]
    return Turned(
        opening_units=sum((part.opening_units for part in parts), ZERO),
        opening=sum((part.opening for part in parts), ZERO),
        received=sum((part.received for part in parts), ZERO),
        sold=sum((part.sold for part in parts), ZERO),
        used=sum((part.used for part in parts), ZERO),
        cost_of_goods=sum((part.cost_of_goods for part in parts), ZERO),
        closing=sum((part.closing for part in parts), ZERO),
        days=days,
    )
