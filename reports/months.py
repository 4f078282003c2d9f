"""Divide a period into its months, each with the days of the year before to compare."""

from __future__ import annotations

import calendar
import datetime
from collections.abc import Iterator
from typing import NamedTuple

from offcut.reports.period import Period


class Month(NamedTuple):
    """The days of a period that are in one month.

    Attributes:
      first: Its first day in the period.
      last: Its last day in the period.
      partial: Whether days are missing: the period begins or ends within it, or it is
        not over yet.
      compared: The same days of the year before; of a month that is not over, up to
        today's day. None of a month to come, and where dates do not go back so far.
    """

    first: datetime.date
    last: datetime.date
    partial: bool
    compared: Period | None

    @property
    def label(self) -> str:
        """The month as it is written: `2025-03`."""
        return f"{self.first.year:04}-{self.first.month:02}"


def months_of(period: Period, today: datetime.date) -> Iterator[Month]:
    """Yield the months of a period; none where an end of it is open.

    Args:
      period: The days.
      today: The day that the month in progress is known by.
    """
    first = period.first
    while first and period.last and first <= period.last:
        end = first.replace(day=calendar.monthrange(first.year, first.month)[1])
        last = min(end, period.last)
        is_over = today >= end
        partial = first.day > 1 or last < end or not is_over
        compared = None
        if is_over or today >= first:
            compared = _year_before(first, last if is_over else min(last, today))
        yield Month(first, last, partial, compared)
        if end == datetime.date.max:
            return
        first = end + datetime.timedelta(days=1)


def _year_before(first: datetime.date, last: datetime.date) -> Period | None:
    """Return the same days of a month a year before; the whole month of a whole month."""
    year = first.year - 1
    if year < datetime.MINYEAR:
        return None
    end = calendar.monthrange(year, first.month)[1]
    is_whole = last.day == calendar.monthrange(last.year, last.month)[1]
    return Period(
        datetime.date(year, first.month, min(first.day, end)),
        datetime.date(year, first.month, end if is_whole else min(last.day, end)),
    )


def month_of(date: datetime.date) -> tuple[int, int]:
    """Return the year and month of a date."""
    return date.year, date.month
