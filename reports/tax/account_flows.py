"""Sum up, in one pass, what a year's transactions did to income and expense accounts.

By account and day, so that any part of the year can be asked for; and what stock the
accounts bore, by item, as the stock plugin added it.
"""

from __future__ import annotations

import datetime
import decimal
from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from beancount.core import data

from offcut.importers.splitting import EXACT, ZERO
from offcut.plugins.shelf import SOURCE
from offcut.reports.flows import money_transactions, weight
from offcut.reports.period import Period

ByDay = dict[datetime.date, Decimal]


@dataclass(frozen=True)
class AccountFlows:
    """What was posted to income and expense accounts, in one currency.

    Attributes:
      period: The days that were read.
      currency: The currency.
      accounts: By account and day, as posted: income is below zero.
      borne: What left stock and was borne by an account, by account, item and day; what
        the owner took to an equity account is among it.
    """

    period: Period
    currency: str
    accounts: Mapping[str, ByDay]
    borne: Mapping[tuple[str, str], ByDay]

    def posted(self, period: Period) -> dict[str, Decimal]:
        """Return the sum of each account over some days, in the order of names.

        Args:
          period: The days, of those that were read.
        """
        return {
            account: over(days, period) for account, days in sorted(self.accounts.items())
        }

    def stock_borne(self, period: Period) -> dict[tuple[str, str], Decimal]:
        """Return what stock accounts bore over some days, by account and item.

        Args:
          period: The days, of those that were read.
        """
        return {key: over(days, period) for key, days in sorted(self.borne.items())}


def account_flows(
    entries: Sequence[data.Directive],
    options_map: Mapping[str, Any],
    period: Period,
    currency: str,
) -> AccountFlows:
    """Return what was posted in a period.

    Args:
      entries: The ledger's directives, after its plugins, in the order of days.
      options_map: The ledger's options; they name the root accounts.
      period: The days to read.
      currency: The currency to take.
    """
    roots = (options_map["name_income"] + ":", options_map["name_expenses"] + ":")
    equity = options_map["name_equity"] + ":"
    accounts: dict[str, ByDay] = {}
    borne: dict[tuple[str, str], ByDay] = {}
    with decimal.localcontext(EXACT):
        for entry in money_transactions(entries_of(entries, period)):
            date = entry.date
            for posting in entry.postings:
                account = posting.account
                is_result = account.startswith(roots)
                if not is_result and not account.startswith(equity):
                    continue
                number, posted = weight(posting) or (ZERO, "")
                if posted != currency:
                    continue
                if is_result:
                    _add(accounts.setdefault(account, {}), date, number)
                meta = posting.meta
                if meta and meta.get("filename") == SOURCE and "item" in meta:
                    _add(borne.setdefault((account, meta["item"]), {}), date, number)
    return AccountFlows(period, currency, accounts, borne)


def entries_of(
    entries: Sequence[data.Directive], period: Period
) -> Sequence[data.Directive]:
    """Return the directives of some days, of a list in the order of days.

    Args:
      entries: The ledger's directives.
      period: The days.
    """
    first = 0
    if period.first is not None:
        first = bisect_left(entries, period.first, key=lambda entry: entry.date)
    last = len(entries)
    if period.last is not None:
        after = period.last + datetime.timedelta(days=1)
        last = bisect_left(entries, after, key=lambda entry: entry.date)
    return entries[first:last]


def over(days: ByDay, period: Period) -> Decimal:
    """Return the sum over some days, exact.

    Args:
      days: Amounts by day.
      period: The days to take.
    """
    with decimal.localcontext(EXACT):
        return sum((amount for day, amount in days.items() if day in period), ZERO)


def _add(days: ByDay, date: datetime.date, amount: Decimal) -> None:
    days[date] = days.get(date, ZERO) + amount
