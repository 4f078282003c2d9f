"""Which reports the viewer shows, and how each is made for a view."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import NamedTuple

from fava.helpers import FavaAPIError

from offcut.importers.problems import ImportRefused
from offcut.importers.settings import load_settings
from offcut.reports.books import Books
from offcut.reports.channels_statement import channels_statement
from offcut.reports.close.closing import close_month
from offcut.reports.close_statement import close_statement
from offcut.reports.profit import profit_of
from offcut.reports.profit_lines import Grouping
from offcut.reports.profit_statement import ORDERS_ON_A_PAGE, profit_statement
from offcut.reports.shelf_statement import shelf_statement
from offcut.reports.statement import Statement, Table
from offcut.reports.steps_statement import steps_statement
from offcut.reports.trend import GROUPINGS as TRENDS
from offcut.reports.trend_statement import trend_statement
from offcut.reports.viewer.chosen import currency_of, month_of
from offcut.reports.viewer.contents_of_one import one, one_fair, trace
from offcut.reports.viewer.plan_content import plan
from offcut.reports.viewer.tax_content import set_aside
from offcut.reports.viewer.views import View
from offcut.reports.years_statement import years_statement

# What is owed is a level: it needs every transaction, whatever the filter.
OWED = frozenset({"buyers-on-invoice", "receivables"})


Statements = Callable[[Books, Books, View], list[Statement]]


class Content(NamedTuple):
    """A report of the viewer.

    Attributes:
      title: What leads to it; empty where only a line of another does.
      statements: What makes its statements, of the whole ledger, of the books that the
        filters leave, and of the view.
      is_filtered: Whether filters other than by time change it.
      of_one: What makes the page of one of its lines, which the view names.
      looks_beside: Whether files beside the ledger have a part in it.
    """

    title: str
    statements: Statements
    is_filtered: bool = True
    of_one: Statements | None = None
    looks_beside: bool = False

    def made(self, whole: Books, books: Books, view: View) -> list[Statement]:
        """Return its statements, or those of the one line that the view names.

        Args:
          whole: The whole ledger.
          books: What the filters leave of it.
          view: The view.
        """
        make = self.of_one if view.name and self.of_one else self.statements
        return make(whole, books, view)


def _profit(grouping: Grouping) -> Statements:
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
    """Return the months and the years beside those before, or other steps by themselves."""
    currency = currency_of(whole, view)
    if view.step == "year":
        return [years_statement(books, view.period, currency, view.today)]
    if view.step != "month":
        return [steps_statement(books, view.period, currency, view.step)]
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
    statement = close_statement(closing, whole.path, whole.currency)
    tables = tuple(_with_places(table, whole.path.name) for table in statement.tables)
    return [replace(statement, tables=tables)]


def _with_places(table: Table, ledger: str) -> Table:
    """Return a list whose open points all say where: the main file where lines may go."""
    headings = [column.heading for column in table.columns]
    if table.slug != "to-do" or "At" not in headings:
        return table
    at = headings.index("At")
    lines = tuple(
        line._replace(
            cells=(*line.cells[:at], line.cells[at] or ledger, *line.cells[at + 1 :])
        )
        for line in table.lines
    )
    return replace(table, lines=lines)


CONTENTS: dict[str, Content] = {
    "design": Content("Designs", _profit("design"), of_one=one("design")),
    "product": Content("Products", _profit("product"), of_one=one("product")),
    "channel": Content("Profit by channel", _profit("channel")),
    "event": Content("Fairs", _profit("event"), of_one=one_fair),
    "order": Content("Orders", _profit("order")),
    "channels": Content("Channels and what is owed", _channels),
    "shelf": Content("Shelf", _shelf, is_filtered=False),
    "time": Content("Over time", _over_time),
    "close": Content("Month end", _close, is_filtered=False, looks_beside=True),
    "tax": Content("Set aside for tax", set_aside, is_filtered=False, looks_beside=True),
    "plan": Content("Plan", plan, is_filtered=False, looks_beside=True),
    "trace": Content("", trace, is_filtered=False),
}
