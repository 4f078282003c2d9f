"""Take the ledger's net income by itself, to hold a report against.

Nothing here knows the order table: it is a plain sum over the income and expense
accounts, so that a fault of the table shows as a difference.
"""

from __future__ import annotations

import datetime
import decimal
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any, NamedTuple

from beancount.core import data

from offcut.importers.splitting import EXACT, ZERO
from offcut.importers.values import minor_unit
from offcut.plugins.collector import collector_paused
from offcut.reports.figures import money
from offcut.reports.flows import money_transactions, weight
from offcut.reports.period import Period

# By day and currency.
DailyIncome = dict[tuple[datetime.date, str], Decimal]


def net_income(
    entries: Iterable[data.Directive], options_map: Mapping[str, Any], period: Period
) -> dict[str, Decimal]:
    """Return income less expenses in a period, by currency; a profit is positive.

    Args:
      entries: The ledger's directives, after its plugins.
      options_map: The ledger's options; they name the root accounts.
      period: The days to take.

    Returns:
      A sum for each currency that moved, exact.
    """
    return income_over(net_income_by_day(entries, options_map), period)


def income_over(days: DailyIncome, period: Period) -> dict[str, Decimal]:
    """Return the sum of the days of a period, by currency.

    Args:
      days: The net income of each day.
      period: The days to take.
    """
    totals: dict[str, Decimal] = {}
    with decimal.localcontext(EXACT):
        for (date, currency), amount in days.items():
            if date in period:
                totals[currency] = totals.get(currency, ZERO) + amount
    return totals


def net_income_by_day(
    entries: Iterable[data.Directive], options_map: Mapping[str, Any]
) -> DailyIncome:
    """Return income less expenses of each day, by currency; a profit is positive.

    Args:
      entries: The ledger's directives, after its plugins.
      options_map: The ledger's options; they name the root accounts.

    Returns:
      A sum for each day and currency that moved, exact.
    """
    roots = (options_map["name_income"] + ":", options_map["name_expenses"] + ":")
    days: dict[datetime.date, dict[str, Decimal]] = {}
    with decimal.localcontext(EXACT), collector_paused():
        for entry in money_transactions(entries):
            sums = days.setdefault(entry.date, {})
            for posting in entry.postings:
                if posting.account.startswith(roots):
                    weighed = weight(posting)
                    if weighed is not None:
                        number, currency = weighed
                        sums[currency] = sums.get(currency, ZERO) - number
    return {
        (date, currency): amount
        for date, sums in days.items()
        for currency, amount in sums.items()
    }


class Tie(NamedTuple):
    """A report's total held against the ledger's net income.

    Attributes:
      report: What the rows of the report add up to.
      ledger: The net income of the ledger over the same days.
      currency: The currency of both.
    """

    report: Decimal
    ledger: Decimal
    currency: str

    @property
    def difference(self) -> Decimal:
        """What the report has too much."""
        return EXACT.subtract(self.report, self.ledger)

    @property
    def holds(self) -> bool:
        """Whether the two are the same to the smallest coin."""
        return abs(self.difference) * 2 < minor_unit(self.currency)

    @property
    def sentence(self) -> str:
        """The statement to print under the report."""
        ledger = f"{money(self.ledger, self.currency)} {self.currency}".strip()
        if self.holds:
            return (
                f"All rows add up to {ledger}, the net income of the ledger's income and "
                "expense accounts over the same days."
            )
        return (
            "THIS REPORT DOES NOT ADD UP: its rows come to "
            f"{money(self.report, self.currency)} {self.currency}, the ledger's income and "
            f"expense accounts to {ledger}; the difference is "
            f"{money(self.difference, self.currency)} {self.currency}. This is a fault in "
            "offcut: do not rely on these figures, and please report it."
        )
