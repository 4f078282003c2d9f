"""Add up each year: what came in, what it cost, and how many orders that was.

The rows are those of the order table, each in the year of its date, so that a year's
amounts add up to the ledger's net income of that year. A last year that is not whole is
compared with the same days of the year before, which are added up besides.
"""

from __future__ import annotations

import calendar
import datetime
import decimal
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import NamedTuple

import pandas as pd

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.account_columns import AMOUNT_COLUMNS, GROSS, SHIPPING
from offcut.reports.exact_sums import sum_of
from offcut.reports.period import Period

# What buyers paid, sales tax apart.
PAID = AMOUNT_COLUMNS[GROSS : SHIPPING + 1]
OTHER = "other"


class Year(NamedTuple):
    """A calendar year, or the part of it that is meant.

    Attributes:
      number: Which.
      period: Its days.
      whole: Whether they are all days of the year.
    """

    number: int
    period: Period
    whole: bool


@dataclass(frozen=True)
class YearFigures:
    """What a year came to.

    Attributes:
      amounts: By AMOUNT_COLUMNS; costs are negative.
      other: What is in the column of all other income and costs, by account; empty for
        what belongs to order lines.
      orders: Orders that have a number and were sold in the year.
      ordered: What buyers paid for orders that have a number.
      pieces: Sold, less what came back.
    """

    amounts: tuple[Decimal, ...]
    other: dict[str, Decimal]
    orders: int
    ordered: Decimal
    pieces: Decimal

    @property
    def sales(self) -> Decimal:
        """Sales after discounts and refunds."""
        return sum(self.amounts[GROSS:SHIPPING], ZERO)

    @property
    def paid(self) -> Decimal:
        """What buyers paid, sales tax apart: sales and shipping."""
        return self.sales + self.amounts[SHIPPING]

    @property
    def net_income(self) -> Decimal:
        """All amounts together."""
        return sum(self.amounts, ZERO)

    @property
    def margin(self) -> Decimal | None:
        """Net income as a share of what buyers paid; None where they paid nothing."""
        return self.net_income / self.paid if self.paid > ZERO else None

    @property
    def average_order(self) -> Decimal | None:
        """What buyers paid for an order on average; None where there was none."""
        return self.ordered / self.orders if self.orders else None


def years_of_period(
    table: pd.DataFrame, period: Period, today: datetime.date
) -> Iterator[Year]:
    """Yield the calendar years of a period in which the books have anything.

    Args:
      table: The rows of one currency, sorted by date.
      period: The days; an open end is that of the table's rows.
      today: The day that the year in progress is known by.
    """
    if table.empty:
        return
    begin, end = table["date"].iloc[0], table["date"].iloc[-1]
    first = max(period.first or begin, begin)
    last = min(period.last or end, end)
    if first > last:
        return
    for number in range(first.year, last.year + 1):
        opens, closes = datetime.date(number, 1, 1), datetime.date(number, 12, 31)
        start, stop = max(period.first or opens, opens), min(period.last or closes, closes)
        # Books that begin in a January are those of a whole year.
        if start < begin and begin.month > 1:
            start = begin
        # A year in progress is known up to the last row, as files come once a month.
        if start <= today < stop:
            stop = max(start, min(stop, end))
        yield Year(number, Period(start, stop), (start, stop) == (opens, closes))


def same_days_before(period: Period) -> Period | None:
    """Return the same days of the year before; None where dates do not go back so far.

    Args:
      period: Days of one year, both ends named.
    """
    first, last = period.first, period.last
    assert first and last
    if first.year <= datetime.MINYEAR:
        return None
    return Period(_year_before(first), _year_before(last))


def _year_before(date: datetime.date) -> datetime.date:
    end = calendar.monthrange(date.year - 1, date.month)[1]
    return date.replace(year=date.year - 1, day=min(date.day, end))


def year_figures(table: pd.DataFrame, period: Period) -> YearFigures:
    """Add up the rows of some days.

    Args:
      table: The rows of one currency.
      period: The days.
    """
    dates = table["date"]
    first, last = period.first, period.last
    # Sorted by date: the rows of a stretch of days stand together.
    begin = int(dates.searchsorted(first)) if first else 0
    end = int(dates.searchsorted(last, "right")) if last else len(table)
    rows = table.iloc[begin:end]
    named = (rows["order"] != "").to_numpy(bool)
    sold = rows[["channel", "order"]][named & (rows["gross"].to_numpy() > ZERO)]
    others = rows[["account", OTHER]][rows[OTHER].astype(bool)]
    with decimal.localcontext(EXACT):
        other: dict[str, Decimal] = {}
        for account, amount in zip(
            others["account"].tolist(), others[OTHER].tolist(), strict=True
        ):
            other[account] = other.get(account, ZERO) + amount
        return YearFigures(
            amounts=tuple(sum_of(rows, name) for name in AMOUNT_COLUMNS),
            other=other,
            orders=len(sold.drop_duplicates()),
            ordered=sum((sum_of(rows, name, named.nonzero()[0]) for name in PAID), ZERO),
            pieces=sum_of(rows, "quantity"),
        )
