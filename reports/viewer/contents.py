"""Which reports the viewer shows, and how each is made for a view."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import replace
from typing import NamedTuple

from fava.helpers import FavaAPIError

from offcut.importers.problems import ImportRefused
from offcut.importers.settings import load_settings
from offcut.reports.books import Books
from offcut.reports.channels_statement import channels_statement
from offcut.reports.close.closing import close_month
from offcut.reports.close.month import Month, read_month
from offcut.reports.close_statement import close_statement
from offcut.reports.figures import month_label
from offcut.reports.period import PeriodError
from offcut.reports.profit import profit_of
from offcut.reports.profit_lines import Grouping
from offcut.reports.profit_statement import ORDERS_ON_A_PAGE, profit_statement
from offcut.reports.shelf_statement import shelf_statement
from offcut.reports.statement import Statement
from offcut.reports.trend import GROUPINGS as TRENDS
from offcut.reports.trend_statement import trend_statement
from offcut.reports.viewer.views import View
from offcut.reports.years_statement import years_statement

# What is owed is a level: it needs every transaction, whatever the filter.
OWED = frozenset({"buyers-on-invoice", "receivables"})


class Content(NamedTuple):
    """A report of the viewer.

    Attributes:
      title: What leads to it.
      statements: What makes its statements, of the whole ledger, of the books that the
        filters leave, and of the view.
      is_filtered: Whether filters other than by time change it.
    """

    title: str
    statements: Callable[[Books, Books, View], list[Statement]]
    is_filtered: bool = True


def currency_of(books: Books, view: View) -> str:
    """Return the currency of income and costs: fava's choice, where there are any in it.

    Args:
      books: The whole ledger.
      view: The view; its conversion may be "at_cost" and the like.
    """
    has_any = bool((books.table["currency"] == view.conversion).any())
    return view.conversion if has_any else books.currency


def _profit(grouping: Grouping) -> Callable[[Books, Books, View], list[Statement]]:
    """Return what makes the profit by a grouping."""

    def statements(whole: Books, books: Books, view: View) -> list[Statement]:
        currency = currency_of(whole, view)
        reports = profit_of(books, view.period, currency, (grouping,))
        return [profit_statement(reports, grouping, True, ORDERS_ON_A_PAGE)]

    return statements


def _channels(whole: Books, books: Books, view: View) -> list[Statement]:
    """Return channels and fairs of the filtered books, and what is owed of the whole."""
    currency = currency_of(whole, view)
    earned = channels_statement(books, view.period, currency, view.today)
    if books is whole:
        return [earned]
    owed = channels_statement(whole, view.period, currency, view.today)
    tables = [table for table in earned.tables if table.slug not in OWED]
    tables += [table for table in owed.tables if table.slug in OWED]
    # The first check is of what was earned, the second of what is owed.
    checks = (earned.checks[0], *owed.checks[1:])
    return [replace(earned, tables=tuple(tables), checks=checks)]


def _shelf(whole: Books, books: Books, view: View) -> list[Statement]:
    """Return the shelf: stock levels are of the whole ledger."""
    return [shelf_statement(whole, view.period.up_to(view.today), whole.stock_currency)]


def _over_time(whole: Books, books: Books, view: View) -> list[Statement]:
    """Return the months, or the years where the interval is a year."""
    currency = currency_of(whole, view)
    if view.by_year:
        return [years_statement(books, view.period, currency, view.today)]
    return [
        trend_statement(books, view.period, currency, grouping, view.today)
        for grouping in reversed(TRENDS)
    ]


def _close(whole: Books, books: Books, view: View) -> list[Statement]:
    """Return the list of the month's end."""
    try:
        settings = load_settings(whole.path)
    except ImportRefused as refused:
        raise FavaAPIError("; ".join(map(str, refused.problems))) from None
    closing = close_month(whole, settings, month_of(whole, view), view.today)
    return [close_statement(closing, whole.path, whole.currency)]


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


CONTENTS: dict[str, Content] = {
    "design": Content("Designs", _profit("design")),
    "product": Content("Products", _profit("product")),
    "channel": Content("Profit by channel", _profit("channel")),
    "event": Content("Fairs", _profit("event")),
    "order": Content("Orders", _profit("order")),
    "channels": Content("Channels and what is owed", _channels),
    "shelf": Content("Shelf", _shelf, is_filtered=False),
    "time": Content("Over time", _over_time),
    "close": Content("Month end", _close, is_filtered=False),
}
