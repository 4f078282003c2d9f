"""Foresee a year's profit from a part of it: by its days, and by last year's season.

    by its days      profit to date x days of the year / days so far
    by the season    profit to date x last year's profit / last year's to the same day

Of both, what is deducted once for the year, such as equipment, is no part: it is taken
off afterwards. What was paid once and is a cost like others cannot be told apart.
Both are guesses, and further apart the earlier the day. A business that began within the
year, or last year, is foreseen from its first day on.
"""

from __future__ import annotations

import datetime
import decimal
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from offcut.importers.splitting import EXACT, ZERO

Way = Literal["year-to-date", "last-year", "actual"]
Profit = Callable[[datetime.date, datetime.date], Decimal]
ONE_DAY = datetime.timedelta(days=1)


@dataclass(frozen=True)
class Projection:
    """What a year's profit may come to.

    Attributes:
      first: The first day of the year, or of the business in it.
      until: The last day that is known.
      last: The last day of the year.
      to_date: The profit up to the last known day.
      by_days: The year's, by its days.
      by_season: The year's, by last year's season; None where last year has none to go
        by.
      way: Which of them counts.
      profit: The year's profit that counts.
    """

    first: datetime.date
    until: datetime.date
    last: datetime.date
    to_date: Decimal
    by_days: Decimal
    by_season: Decimal | None
    way: Way
    profit: Decimal

    @property
    def range(self) -> tuple[Decimal, Decimal]:
        """The lowest and the highest of what the year may come to."""
        both = [each for each in (self.by_days, self.by_season) if each is not None]
        return min(both), max(both)

    @property
    def earned_share(self) -> Decimal:
        """The share of the year's profit that is earned; all of it where there is none."""
        if self.profit <= ZERO or self.to_date >= self.profit:
            return Decimal(1)
        return max(self.to_date, ZERO) / self.profit

    @property
    def days_share(self) -> Decimal:
        """The share of the year's days that are known."""
        known = (self.until - self.first).days + 1
        return Decimal(known) / ((self.last - self.first).days + 1)


def project(
    profit: Profit,
    first: datetime.date,
    last: datetime.date,
    today: datetime.date,
    began: datetime.date | None,
    way: Way,
    running: Profit | None = None,
    after: Callable[[Decimal], Decimal] = lambda running: running,
) -> Projection:
    """Return what a year may come to.

    Args:
      profit: Returns the profit from a day to another, both included.
      first: The first day of the year.
      last: The last day of the year.
      today: The last day that is known.
      began: The first day of the business; None where it is not known.
      way: Which way counts; by the days where last year's season is none.
      running: Returns the same before what is deducted once for the year; the profit
        itself where it is not given.
      after: Returns a year's profit from what that is.
    """
    until = min(max(today, first), last)
    start = max(first, began) if began and began <= until else first
    to_date = profit(start, until)
    running = running or profit
    so_far = running(start, until)
    with decimal.localcontext(EXACT):
        days = (until - start).days + 1
        by_days = after(so_far * ((last - start).days + 1) / days)
        by_season = None
        if until < last and start == first:
            by_season = _by_season(running, first, last, until, began, so_far)
            by_season = None if by_season is None else after(by_season)
    if until == last:
        return Projection(start, until, last, to_date, to_date, None, "actual", to_date)
    by_season_counts = way == "last-year" and by_season is not None
    return Projection(
        first=start,
        until=until,
        last=last,
        to_date=to_date,
        by_days=by_days,
        by_season=by_season,
        way="last-year" if by_season_counts else "year-to-date",
        profit=by_season if by_season_counts and by_season is not None else by_days,
    )


def _by_season(
    profit: Profit,
    first: datetime.date,
    last: datetime.date,
    until: datetime.date,
    began: datetime.date | None,
    to_date: Decimal,
) -> Decimal | None:
    """Return what the year comes to where it goes on as last year's did."""
    before_first, before_until, before_last = map(_year_before, (first, until, last))
    if began is None or began > before_first + ONE_DAY * 31:
        return None
    then, whole = profit(before_first, before_until), profit(before_first, before_last)
    if then <= ZERO or whole <= ZERO or to_date <= ZERO:
        return None
    return to_date * whole / then


def _year_before(day: datetime.date) -> datetime.date:
    """Return the same day of the year before; 28 February for the 29th."""
    try:
        return day.replace(year=day.year - 1)
    except ValueError:
        return day.replace(year=day.year - 1, day=28)
