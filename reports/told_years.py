"""Say which years a statement tells, how each is written, and what the last is held to."""

from __future__ import annotations

import calendar
import datetime
from collections.abc import Callable
from decimal import Decimal
from typing import NamedTuple

import pandas as pd

from offcut.reports.period import Period
from offcut.reports.years import (
    Year,
    YearFigures,
    same_days_before,
    year_figures,
    years_of_period,
)

Figure = Callable[[YearFigures], Decimal | None]


class ToldYear(NamedTuple):
    """A year of the statement.

    Attributes:
      heading: How it is written.
      year: Its days.
      figures: What it came to.
    """

    heading: str
    year: Year
    figures: YearFigures


class ToldYears(NamedTuple):
    """The years of the statement, and what the last is held against.

    Attributes:
      told: The years, the earliest first.
      same_days: The same days of the year before; None where the last year is whole, or
        the books have no such days.
    """

    told: list[ToldYear]
    same_days: ToldYear | None

    @property
    def before(self) -> ToldYear | None:
        """What the last year is compared with."""
        if self.same_days is not None:
            return self.same_days
        if len(self.told) < 2 or self.told[-1].year.period.last != datetime.date(
            self.told[-1].year.number, 12, 31
        ):
            return None
        return self.told[-2]


def told_years(table: pd.DataFrame, period: Period, today: datetime.date) -> ToldYears:
    """Return the years of a period.

    Args:
      table: The rows of one currency, sorted by date.
      period: The days; years are cut to them.
      today: The day that the year in progress is known by.
    """
    told = [
        ToldYear(_heading(year), year, year_figures(table, year.period))
        for year in years_of_period(table, period, today)
    ]
    if told and not told[-1].year.whole:
        before = same_days_before(told[-1].year.period)
        if before and before.last and before.last >= table["date"].iloc[0]:
            year = Year(told[-1].year.number - 1, before, False)
            figures = year_figures(table, before)
            return ToldYears(told, ToldYear(_heading(year), year, figures))
    return ToldYears(told, None)


def _heading(year: Year) -> str:
    """Return how a year is written: `2025`, `2025 to 12 Oct`."""
    first, last = year.period.first, year.period.last
    assert first and last
    heading = f"{year.number:04}"
    if (first.month, first.day) != (1, 1):
        heading += f" from {_day(first)}"
    if (last.month, last.day) != (12, 31):
        heading += f" to {_day(last)}"
    return heading


def _day(date: datetime.date) -> str:
    return f"{date.day} {calendar.month_abbr[date.month]}"
