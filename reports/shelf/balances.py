"""Add up by themselves the accounts that reports of stock are held against.

Nothing here knows lots, places or moves: these are plain sums over what was posted, day by
day, so that a fault of a report shows as a difference.
"""

from __future__ import annotations

import datetime
import decimal
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from beancount.core import data
from beancount.core.position import Cost

from offcut.importers.splitting import EXACT, ZERO
from offcut.plugins.collector import collector_paused
from offcut.plugins.shelf import SOURCE
from offcut.reports.flows import money_transactions, weight

# By day and currency.
DailyAmounts = dict[tuple[datetime.date, str], Decimal]


@dataclass(frozen=True)
class StockDays:
    """What accounts were posted that have to do with stock, day by day.

    Attributes:
      at_cost: Units and their value on the stock accounts, by item, currency of the cost
        and day.
      goods_sold: On the accounts of goods sold.
      by_hand: The part of that which the user posted, without stock.
      spread: What the stock plugin took off the accounts of freight and the like.
    """

    at_cost: dict[tuple[str, str, datetime.date], list[Decimal]] = field(
        default_factory=dict
    )
    goods_sold: DailyAmounts = field(default_factory=dict)
    by_hand: DailyAmounts = field(default_factory=dict)
    spread: DailyAmounts = field(default_factory=dict)


def stock_days(
    entries: Iterable[data.Directive],
    options_map: Mapping[str, Any],
    items: Collection[str],
) -> StockDays:
    """Return what the accounts were posted on each day.

    Args:
      entries: The ledger's directives, after its plugins.
      options_map: The ledger's options; they name the root accounts.
      items: The commodities of the items of stock.
    """
    assets = options_map["name_assets"] + ":"
    goods_sold = f"{options_map['name_expenses']}:COGS:"
    days = StockDays()
    at_cost = days.at_cost
    with decimal.localcontext(EXACT), collector_paused():
        for entry in money_transactions(entries):
            date = entry.date
            posting: Any
            for posting in entry.postings:
                account, units, cost, _, _, meta = posting
                # An error of the ledger may have left a cost that was never booked.
                if (
                    cost is not None
                    and isinstance(cost, Cost)
                    and account.startswith(assets)
                    and units is not None
                    and units.number is not None
                    and units.currency in items
                ):
                    number, value = units.number, units.number * cost.number
                    key = (units.currency, cost.currency, date)
                    if (sums := at_cost.get(key)) is None:
                        at_cost[key] = [number, value]
                    else:
                        sums[0] += number
                        sums[1] += value
                    continue
                is_added = bool(meta) and meta.get("filename") == SOURCE
                if account.startswith(goods_sold):
                    _add(days.goods_sold, date, posting)
                    if not is_added:
                        _add(days.by_hand, date, posting)
                elif is_added and "item" not in meta:
                    _add(days.spread, date, posting)
    return days


def stock_balances(days: StockDays, last: datetime.date | None) -> dict[str, Decimal]:
    """Return what the accounts carry stock at, by the currency of the cost.

    Args:
      days: What they were posted on each day.
      last: The last day, included; None for all.
    """
    totals: dict[str, Decimal] = {}
    with decimal.localcontext(EXACT):
        for (_, currency, date), (_, value) in days.at_cost.items():
            if last is None or date <= last:
                totals[currency] = totals.get(currency, ZERO) + value
    return totals


def _add(amounts: DailyAmounts, date: datetime.date, posting: data.Posting) -> None:
    """Add what a posting weighs to its day."""
    weighed = weight(posting)
    if weighed is not None:
        number, currency = weighed
        amounts[date, currency] = amounts.get((date, currency), ZERO) + number
