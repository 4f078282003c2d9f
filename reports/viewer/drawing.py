"""Draw the statements of a view as what stands inside a page of fava."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator
from functools import cache
from typing import NamedTuple

import jinja2
from fava.application import url_for
from fava.helpers import FavaAPIError
from fava.template_filters import replace_numbers
from markupsafe import Markup

from offcut.reports.books import Books
from offcut.reports.close.month import DAY
from offcut.reports.figures import month_label, plain
from offcut.reports.page_cells import page_cell, page_money
from offcut.reports.page_charts import plotted, small
from offcut.reports.page_sections import source_columns
from offcut.reports.statement import Cell, Column, Line, Table, is_loss
from offcut.reports.statement_page import drawing
from offcut.reports.viewer.contents import CONTENTS, currency_of, month_of
from offcut.reports.viewer.journal_links import JournalLinks, joined
from offcut.reports.viewer.place_links import PlaceLinks
from offcut.reports.viewer.sorting import (
    Sorting,
    can_be_sorted,
    first_lines,
    read_sorting,
    sorted_table,
)
from offcut.reports.viewer.views import View

# A page of many thousand lines is too long to read, and for a browser to lay out.
MOST_LINES = 500


@cache
def _environment() -> jinja2.Environment:
    """Return what reads the templates; fava's own has other names in it."""
    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("offcut.reports.viewer"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["plain"] = plain
    environment.tests["loss"] = is_loss
    return environment


def drawn(whole: Books, books: Books, view: View) -> Markup:
    """Return a view as HTML.

    Args:
      whole: The whole ledger.
      books: What its filters leave of it.
      view: The view.

    Raises:
      FavaAPIError: There is no such report.
    """
    content = CONTENTS.get(view.report)
    if content is None:
        names = ", ".join(CONTENTS)
        raise FavaAPIError(f"report: expected one of {names}, found '{plain(view.report)}'")
    sorting = read_sorting(view.sort)
    html = (
        _environment()
        .get_template("statements.html")
        .render(
            statements=content.statements(whole, books, view),
            contents=CONTENTS,
            view=view,
            remarks=_remarks(whole, view),
            choices=list(_choices(whole, view)),
            report_link=report_link,
            sort_link=lambda table, at: _sort_link(view, table, at, sorting),
            sorted_as=lambda table, at: _sorted_as(table, at, sorting),
            ordered=lambda table: first_lines(sorted_table(table, sorting), MOST_LINES),
            journal=_journal(whole, view),
            place=_place(whole),
            cell=_cell(view.hides_figures),
            money=lambda amount, currency: _hidden(view, page_money(amount, currency)),
            hidden=lambda text: _hidden(view, text),
            drawing=drawing,
            plotted=plotted,
            small=small,
            source_columns=source_columns,
        )
    )
    # The template escapes what it is given.
    return Markup(html)


def report_link(name: str, **values: str) -> str:
    """Return the address of a report, with fava's filters.

    Args:
      name: The report.
      **values: Other values of the address.
    """
    return url_for("extension_report", extension_name="Offcut", report=name, **values)


class Choice(NamedTuple):
    """A link to the same report with another of fava's choices.

    Attributes:
      text: What it leads to.
      address: Where.
      is_chosen: Whether that is what is shown.
    """

    text: str
    address: str
    is_chosen: bool = False


def _choices(books: Books, view: View) -> Iterator[Choice]:
    """Yield the choices that a report lives by and that fava does not offer on its page."""
    if view.report == "time":
        months = report_link("time", interval="month")
        yield Choice("Months", months, not view.by_year)
        yield Choice("Years", report_link("time", interval="year"), view.by_year)
    if view.report == "close":
        chosen = month_of(books, view)
        days = [chosen.first, chosen.after]
        if chosen.first > datetime.date.min:
            days.insert(0, chosen.first - DAY)
        for day in days:
            month = month_label(day)
            address = report_link("close", time=month)
            yield Choice(month, address, day == chosen.first)


def _remarks(books: Books, view: View) -> list[str]:
    """Return what to know about the filters."""
    remarks = []
    if books.errors:
        number = len(books.errors)
        remarks.append(
            f"The ledger has {number:,} error{'s' if number > 1 else ''}, and figures may "
            "be wrong for it. fava lists them under Errors, each with its line."
        )
    if view.is_partial and CONTENTS[view.report].is_filtered:
        remarks.append(
            "Only the transactions that match fava's filters are counted, each whole. "
            "What belongs to them and stands in others, as packing does, is left out."
        )
    elif view.is_partial:
        remarks.append(
            "Filters by account, tag or link do not apply here: this needs every "
            "transaction. The filter by time does."
        )
    shown = currency_of(books, view)
    if view.conversion.isupper() and view.conversion != shown:
        remarks.append(
            f"Nothing was sold or spent in {plain(view.conversion)}: the figures are in "
            f"{plain(shown)}. Reports convert nothing."
        )
    return remarks


def _sort_link(view: View, table: Table, at: int, sorting: Sorting | None) -> str | None:
    """Return the address that sorts a table by a column; None where it has its order."""
    if not can_be_sorted(table):
        return None
    goes_down = _sorted_as(table, at, sorting) == "descending"
    is_text = table.columns[at].kind == "text"
    goes_up = goes_down or (is_text and _sorted_as(table, at, sorting) == "none")
    way = Sorting(table.slug, at, "up" if goes_up else "down")
    return f"{report_link(view.report, sort=str(way))}#{table.slug}"


def _sorted_as(table: Table, at: int, sorting: Sorting | None) -> str:
    """Return how a column is sorted, in the words that screen readers know."""
    if sorting is None or (sorting.slug, sorting.column) != (table.slug, at):
        return "none"
    return "ascending" if sorting.direction == "up" else "descending"


def _journal(books: Books, view: View) -> Callable[[Table, Line], str | None]:
    """Return what gives the address of a line's journal."""
    links = JournalLinks(books)
    is_filtered = CONTENTS[view.report].is_filtered

    def journal(table: Table, line: Line) -> str | None:
        link = links.link(table, line)
        if link is None:
            return None
        if is_filtered:
            link = joined(view.filter, link)
        else:
            link = {"account": "", "filter": "", **link}
        return url_for("report", report_name="journal", **link)

    return journal


def _place(books: Books) -> Callable[[str], str | None]:
    """Return what gives the address of a place in the ledger's files."""
    links = PlaceLinks(books)

    def place(place: str) -> str | None:
        link = links.link(place)
        return None if link is None else url_for("report", **link)

    return place


def _cell(hides_figures: bool) -> Callable[[Cell, Column, str], str]:
    """Return what writes a cell, as fava does where it hides figures."""

    def cell(cell: Cell, column: Column, currency: str) -> str:
        text = page_cell(cell, column, currency)
        is_figure = not isinstance(cell, str)
        return str(replace_numbers(text)) if hides_figures and is_figure else text

    return cell


def _hidden(view: View, text: str) -> str:
    """Return a text without its digits where fava hides figures."""
    return str(replace_numbers(text)) if view.hides_figures else text
