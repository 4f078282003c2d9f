"""Take from a view what a report asks for: its currency, its month, its day."""

from __future__ import annotations

import datetime

from fava.helpers import FavaAPIError

from offcut.reports.books import Books
from offcut.reports.close.month import Month, read_month
from offcut.reports.figures import month_label
from offcut.reports.period import PeriodError
from offcut.reports.viewer.views import View


def currency_of(books: Books, view: View) -> str:
    """Return the currency of income and costs: fava's choice, where there are any in it.

    Args:
      books: The whole ledger.
      view: The view; its conversion may be "at_cost" and the like.
    """
    has_any = bool((books.table["currency"] == view.conversion).any())
    return view.conversion if has_any else books.currency


def month_of(books: Books, view: View) -> Month:
    """Return the month to close: the filter's last, or else the last that is over.

    Args:
      books: The whole ledger.
      view: The view.

    Raises:
      FavaAPIError: It is the last month that has a date.
    """
    over = view.today.replace(day=1) - datetime.timedelta(days=1)
    latest = min(books.income_days[-1], over) if books.income_days else over
    day = view.period.last or latest
    try:
        return read_month(month_label(day))
    except PeriodError as error:
        raise FavaAPIError(str(error)) from None


def day_of(view: View) -> datetime.date:
    """Return the day that something is foreseen from: today, or the filter's last.

    Args:
      view: The view.
    """
    return min(view.period.last or view.today, view.today)
