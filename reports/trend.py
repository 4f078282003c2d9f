"""Follow sales, contribution and units from month to month, and beside the year before.

The rows are those of the order table, each in the month of its date, so that all months
of all lines add up to the period's total, and that to the ledger's net income. What
belongs to no design or channel is a line of its own.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Literal, NamedTuple

import pandas as pd
from beancount.core import data

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.currencies import report_currency
from offcut.reports.exact_sums import groups_together, sums_of_groups
from offcut.reports.months import Month, month_of, months_of
from offcut.reports.net_income import Tie, net_income
from offcut.reports.order_table import order_table
from offcut.reports.period import Period

Grouping = Literal["design", "channel", "all"]
GROUPINGS: tuple[Grouping, ...] = ("design", "channel", "all")

# The line of what belongs to no design or channel, and the one line of all.
NONE, ALL = "", "All"


class Earned(NamedTuple):
    """What a month or a period came to.

    Attributes:
      sales: After discounts and refunds.
      contribution: After all costs.
      units: Pieces sold, less those that came back.
    """

    sales: Decimal = ZERO
    contribution: Decimal = ZERO
    units: Decimal = ZERO

    def plus(self, other: Earned) -> Earned:
        """Return the sum of both, to the last digit."""
        add = EXACT.add
        return Earned(
            add(self.sales, other.sales),
            add(self.contribution, other.contribution),
            add(self.units, other.units),
        )

    def minus(self, other: Earned) -> Earned:
        """Return what is left when other is taken off, to the last digit."""
        subtract = EXACT.subtract
        return Earned(
            subtract(self.sales, other.sales),
            subtract(self.contribution, other.contribution),
            subtract(self.units, other.units),
        )


NOTHING = Earned()


class Change(NamedTuple):
    """This year against the last.

    Attributes:
      by: This year's less last year's.
      share: That as a share of last year's; of a loss, of its size, so that better is
        always above zero. None where last year's is zero.
    """

    by: Decimal
    share: Decimal | None


@dataclass(frozen=True)
class Compared:
    """What a stretch of time came to, and the same stretch a year before.

    Attributes:
      earned: What it came to.
      last_year: What the same days of the year before came to.
    """

    earned: Earned
    last_year: Earned

    @property
    def sales(self) -> Change:
        """The change of sales."""
        return _change(self.earned.sales, self.last_year.sales)

    @property
    def contribution(self) -> Change:
        """The change of the contribution."""
        return _change(self.earned.contribution, self.last_year.contribution)

    @property
    def units(self) -> Change:
        """The change of units."""
        return _change(self.earned.units, self.last_year.units)


@dataclass(frozen=True)
class TrendLine:
    """A design, a channel, or all.

    Attributes:
      name: Its name; NONE for what belongs to none.
      months: What each month came to, as the report's months.
      total: What the period came to.
    """

    name: str
    months: tuple[Compared, ...]
    total: Compared


@dataclass(frozen=True)
class TrendReport:
    """The months of a period; every row of the period is in one of them, once.

    Attributes:
      grouping: What the lines are.
      currency: The currency of all amounts.
      period: The days.
      months: The months, the earliest first.
      lines: By contribution, the largest first, then name; what belongs to none last.
      total: All lines together.
      tie: The total held against the ledger.
    """

    grouping: Grouping
    currency: str
    period: Period
    months: tuple[Month, ...]
    lines: tuple[TrendLine, ...]
    total: TrendLine
    tie: Tie


def trend_reports(
    entries: Iterable[data.Directive],
    options_map: Mapping[str, Any],
    period: Period,
    today: datetime.date,
    currency: str | None = None,
) -> dict[Grouping, TrendReport]:
    """Report the months of a loaded ledger by design, by channel, and of all.

    Args:
      entries: The ledger's directives, after its plugins.
      options_map: The ledger's options.
      period: The days; an open end is that of the ledger's own rows.
      today: The day that the month in progress is known by.
      currency: The currency; by default the ledger's first operating currency.
    """
    entries = list(entries)
    table = order_table(entries, options_map)
    currency = currency or report_currency(table, options_map)
    ledger = net_income(entries, options_map, period).get(currency, ZERO)
    table = table[table["currency"] == currency]
    return {
        grouping: trend_report(table, grouping, period, today, currency, ledger)
        for grouping in GROUPINGS
    }


def trend_report(
    table: pd.DataFrame,
    grouping: Grouping,
    period: Period,
    today: datetime.date,
    currency: str,
    ledger: Decimal,
) -> TrendReport:
    """Spread an order table out over months.

    Args:
      table: The rows of one currency, of all dates: the year before is among them.
      grouping: What the lines are.
      period: The days; an open end is that of the table's rows.
      today: The day that the month in progress is known by.
      currency: The currency of all rows.
      ledger: The ledger's net income over the period, to hold the total against.
    """
    months = tuple(months_of(_closed(period, table), today))
    by_day = _by_day(table, grouping)
    names = {name for name, _ in by_day}
    now = {month_of(month.first): at for at, month in enumerate(months)}
    before = {
        month_of(month.compared.first): (at, month.compared)
        for at, month in enumerate(months)
        if month.compared and month.compared.first
    }
    earned = {name: [NOTHING] * len(months) for name in names}
    last_year = {name: [NOTHING] * len(months) for name in names}
    for (name, date), some in by_day.items():
        at = now.get(month_of(date))
        if at is not None and months[at].first <= date <= months[at].last:
            earned[name][at] = earned[name][at].plus(some)
        then = before.get(month_of(date))
        if then is not None and date in then[1]:
            last_year[name][then[0]] = last_year[name][then[0]].plus(some)
    lines = [
        _line(name, earned[name], last_year[name])
        for name in names
        if any(map(any, (*earned[name], *last_year[name])))
    ]
    lines.sort(
        key=lambda line: (line.name == NONE, -line.total.earned.contribution, line.name)
    )
    total = _line(
        ALL,
        [together(line.months[at].earned for line in lines) for at in range(len(months))],
        [
            together(line.months[at].last_year for line in lines)
            for at in range(len(months))
        ],
    )
    return TrendReport(
        grouping=grouping,
        currency=currency,
        period=period,
        months=months,
        lines=tuple(lines),
        total=total,
        tie=Tie(total.total.earned.contribution, ledger, currency),
    )


def _closed(period: Period, table: pd.DataFrame) -> Period:
    """Return a period with the table's own ends where it is open."""
    if table.empty:
        return period
    first = period.first or min(table["date"].min(), period.last or datetime.date.max)
    last = period.last or max(table["date"].max(), first)
    return Period(first, last)


def _by_day(
    table: pd.DataFrame, grouping: Grouping
) -> dict[tuple[str, datetime.date], Earned]:
    """Return what each line came to on each day."""
    if table.empty:
        return {}
    keys = ["date"] if grouping == "all" else [grouping, "date"]
    numbers = table.groupby(keys, sort=False).ngroup().to_numpy()
    rows, starts = groups_together(numbers)
    firsts = table[keys].iloc[rows[starts]]
    dates = firsts["date"].tolist()
    names = [ALL] * len(dates) if grouping == "all" else firsts[grouping].tolist()
    sums = sums_of_groups(table, ("sales", "contribution", "quantity"), rows, starts)
    return dict(zip(zip(names, dates, strict=True), map(Earned, *sums), strict=True))


def together(several: Iterable[Earned]) -> Earned:
    """Return the sum of what several came to.

    Args:
      several: What each came to.
    """
    total = NOTHING
    for earned in several:
        # Of many designs most sell in few of the months.
        if earned is not NOTHING:
            total = total.plus(earned)
    return total


def _line(name: str, earned: list[Earned], last_year: list[Earned]) -> TrendLine:
    """Return a line with its total."""
    return TrendLine(
        name,
        tuple(map(Compared, earned, last_year)),
        Compared(together(earned), together(last_year)),
    )


def _change(now: Decimal, before: Decimal) -> Change:
    """Return the change of a figure."""
    by = EXACT.subtract(now, before)
    return Change(by, by / abs(before) if before else None)
