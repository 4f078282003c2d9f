"""All reports on a period, in the order in which they are read."""

from __future__ import annotations

import datetime
from collections.abc import Iterator

from offcut.plugins.collector import collector_paused
from offcut.reports.allocation import Rule
from offcut.reports.books import Books
from offcut.reports.channels_statement import channels_statement
from offcut.reports.inventory_statement import inventory_statement
from offcut.reports.period import Period
from offcut.reports.profit import ALL_GROUPINGS, profit_of
from offcut.reports.profit_sources import NO_SOURCES, profit_sources
from offcut.reports.profit_statement import ORDERS_ON_A_PAGE, profit_statement
from offcut.reports.shelf.on_hand import DEAD_DAYS, SLOW_WEEKS
from offcut.reports.shelf_statement import shelf_statement
from offcut.reports.statement import Statement
from offcut.reports.trend import GROUPINGS as TRENDS
from offcut.reports.trend_statement import trend_statement
from offcut.reports.years_statement import years_statement


def whole_report(
    books: Books,
    period: Period,
    currency: str,
    rule: Rule,
    today: datetime.date,
    most_orders: int | None = ORDERS_ON_A_PAGE,
) -> Iterator[Statement]:
    """Yield all statements on a period: profit first, then what lies behind it.

    Args:
      books: The ledger.
      period: The days.
      currency: The currency of income and costs.
      rule: How what orders and designs share is split.
      today: Today: what is owed is as at that day, and a year may not be over.
      most_orders: How many orders to list one by one, the latest; all where it is None.
    """
    with collector_paused():
        reports = profit_of(books, period, currency, ALL_GROUPINGS, rule)
        # Only a page shows them, and a page lists the latest orders.
        sources = NO_SOURCES if most_orders is None else profit_sources(books, reports)
        for grouping in ALL_GROUPINGS:
            yield profit_statement(reports, grouping, True, most_orders, sources)
        yield channels_statement(books, period, currency, today)
        # Rates of a year that is not over are of the days so far.
        yield shelf_statement(
            books, period.up_to(today), books.stock_currency, SLOW_WEEKS, DEAD_DAYS
        )
        yield inventory_statement(books, period, books.stock_currency)
        # All together first, then by channel and by design.
        for trend in reversed(TRENDS):
            yield trend_statement(books, period, currency, trend, today)
        yield years_statement(books, period, currency, today)
