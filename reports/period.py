"""Name a stretch of days to report on."""

from __future__ import annotations

import calendar
import datetime
import re
from dataclasses import dataclass


class PeriodError(ValueError):
    """Words for a period that name none; its text says what to write instead."""


@dataclass(frozen=True)
class Period:
    """The days from first to last, both included; None leaves that end open."""

    first: datetime.date | None = None
    last: datetime.date | None = None

    def __post_init__(self) -> None:
        if self.first and self.last and self.last < self.first:
            raise PeriodError(
                f"The period ends on {self.last}, before it begins on {self.first}; "
                "exchange --from and --to"
            )

    def __contains__(self, date: datetime.date) -> bool:
        return (self.first is None or date >= self.first) and (
            self.last is None or date <= self.last
        )

    def up_to(self, day: datetime.date) -> Period:
        """Return the days of the period that are not after a day: what is known by then.

        Args:
          day: The day; a period that begins after it stays as it is.
        """
        if self.last is None or self.last <= day or (self.first and self.first > day):
            return self
        return Period(self.first, day)

    @property
    def label(self) -> str:
        """The period in words: `March 2025`, `from 1 March 2025`."""
        first, last = self.first, self.last
        if first and last:
            if first == datetime.date(first.year, 1, 1) and last == datetime.date(
                first.year, 12, 31
            ):
                return f"{first.year:04}"
            if first.day == 1 and last == _last_of_month(first.year, first.month):
                return f"{calendar.month_name[first.month]} {first.year:04}"
            if first == last:
                return long_date(first)
            return f"{long_date(first)} to {long_date(last)}, both days included"
        if first:
            return f"from {long_date(first)}, that day included"
        if last:
            return f"up to {long_date(last)}, that day included"
        return "all dates"


def long_date(date: datetime.date) -> str:
    """Return a date in words: `4 March 2025`.

    Args:
      date: A date.
    """
    return f"{date.day} {calendar.month_name[date.month]} {date.year:04}"


def choose_period(
    year: str | None = None,
    month: str | None = None,
    first: str | None = None,
    last: str | None = None,
) -> Period:
    """Return the period that the options of a command name; all dates where none does.

    Args:
      year: A year such as "2025".
      month: A month such as "2025-03".
      first: The first day, such as "2025-03-01".
      last: The last day, included.

    Raises:
      PeriodError: A text is no date of its form, or two ways are mixed.
    """
    ways = [
        name
        for name, given in (
            ("--year", year),
            ("--month", month),
            ("--from/--to", first or last),
        )
        if given is not None
    ]
    if len(ways) > 1:
        raise PeriodError(f"Name the period in one way only: {' or '.join(ways)}")
    if year is not None:
        number = _number(r"\d{4}", year, "--year", "a year such as 2025")
        return Period(datetime.date(number, 1, 1), datetime.date(number, 12, 31))
    if month is not None:
        start = _day(f"{month}-01", "--month", month, "a month such as 2025-03")
        return Period(start, _last_of_month(start.year, start.month))
    return Period(
        None if first is None else _day(first, "--from", first, "a day such as 2025-03-01"),
        None if last is None else _day(last, "--to", last, "a day such as 2025-03-31"),
    )


def _number(form: str, text: str, option: str, expected: str) -> int:
    """Return the number that a text of a form holds."""
    if not re.fullmatch(form, text, re.ASCII) or int(text) == 0:
        raise PeriodError(f"{option}: expected {expected}, found '{text}'")
    return int(text)


def _day(date: str, option: str, text: str, expected: str) -> datetime.date:
    """Return the date that a text in the form 2025-03-01 holds."""
    try:
        if not re.fullmatch(r"\d{4}-\d{2}-\d{2}", date, re.ASCII):
            raise ValueError(date)
        return datetime.date.fromisoformat(date)
    except ValueError:
        raise PeriodError(f"{option}: expected {expected}, found '{text}'") from None


def _last_of_month(year: int, month: int) -> datetime.date:
    """Return the last day of a month."""
    return datetime.date(year, month, calendar.monthrange(year, month)[1])
