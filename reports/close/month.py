"""The month that is closed, and whether it is over."""

from __future__ import annotations

import datetime
from typing import NamedTuple

from offcut.reports.close.points import TO_DO, TO_KNOW, ClosePoint, Found, Looked
from offcut.reports.close.settling import command
from offcut.reports.period import Period, PeriodError, choose_period, long_date

DAY = datetime.timedelta(days=1)


class Month(NamedTuple):
    """A month.

    Attributes:
      first: Its first day.
      last: Its last day.
    """

    first: datetime.date
    last: datetime.date

    @property
    def after(self) -> datetime.date:
        """The day after: a `balance` of that day is of the month's end."""
        return self.last + DAY

    @property
    def number(self) -> int:
        """Its number, counted in months."""
        return month_number(self.last)

    @property
    def name(self) -> str:
        """Its name as in files and options: `2025-03`."""
        return self.last.isoformat()[:7]

    @property
    def label(self) -> str:
        """Its name in words: `March 2025`."""
        return Period(self.first, self.last).label


def month_number(date: datetime.date) -> int:
    """Return the number of a date's month, counted in months."""
    return date.year * 12 + date.month - 1


def read_month(text: str) -> Month:
    """Return the month that a text such as 2025-03 names.

    Raises:
      PeriodError: It names none, or the last one that has a date.
    """
    try:
        period = choose_period(month=text)
    except PeriodError as error:
        raise PeriodError(str(error).replace("--month", "MONTH", 1)) from None
    assert period.first is not None and period.last is not None
    if period.last == datetime.date.max:
        raise PeriodError(f"MONTH: expected a month such as 2025-03, found '{text}'")
    return Month(period.first, period.last)


def check_month(
    month: Month, today: datetime.date, transactions: int, ledger: str
) -> Found:
    """Return whether a month is over, and has transactions.

    Args:
      month: The month.
      today: The day that it is.
      transactions: How many the ledger has in it.
      ledger: The main ledger as a command names it.
    """
    points = []
    in_order = []
    if today <= month.last:
        begun = today >= month.first
        points.append(
            ClosePoint(
                TO_DO,
                "The month is not over" if begun else "The month has not begun",
                f"Today is {long_date(today)}; what is listed may still change. Look "
                f"again from {long_date(month.after)} on.",
                date=month.last,
                settle=command("close", month.name, ledger),
            )
        )
    else:
        in_order.append(Looked("The month is over", f"Today is {long_date(today)}."))
    if transactions:
        noun = "transaction" if transactions == 1 else "transactions"
        in_order.append(
            Looked("The month has transactions", f"{transactions:,} {noun} in it.")
        )
    else:
        points.append(
            ClosePoint(
                TO_KNOW,
                "No transactions in the month",
                f"The books have nothing in {month.label}.",
                date=month.last,
            )
        )
    return Found(tuple(points), tuple(in_order))
