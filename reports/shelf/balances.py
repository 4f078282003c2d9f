"""Take the balance of the stock accounts by itself, to hold a report of the shelf against.

Nothing here knows lots, places or moves: it is a plain sum over what was posted at cost,
so that a fault of the report shows as a difference.
"""

from __future__ import annotations

import datetime
import decimal
from collections.abc import Collection, Iterable
from decimal import Decimal

from beancount.core import data
from beancount.core.position import Cost

from offcut.importers.splitting import EXACT, ZERO
from offcut.plugins.collector import collector_paused
from offcut.reports.flows import money_transactions


def stock_balances(
    entries: Iterable[data.Directive],
    items: Collection[str],
    assets: str,
    last: datetime.date | None,
) -> dict[str, Decimal]:
    """Return what the accounts carry items of stock at, by the currency of the cost.

    Args:
      entries: The ledger's directives, after its plugins.
      items: The commodities of the items.
      assets: What the names of asset accounts begin with: `Assets:`.
      last: The last day, included; None for all.
    """
    totals: dict[str, Decimal] = {}
    with decimal.localcontext(EXACT), collector_paused():
        for entry in money_transactions(entries):
            if last is not None and entry.date > last:
                continue
            for posting in entry.postings:
                cost, units = posting.cost, posting.units
                if cost is None:
                    continue  # As most postings of a ledger are.
                # An error of the ledger may have left a cost that was never booked.
                if not isinstance(cost, Cost) or units is None or units.number is None:
                    continue
                if units.currency in items and posting.account.startswith(assets):
                    value = units.number * cost.number
                    totals[cost.currency] = totals.get(cost.currency, ZERO) + value
    return totals
