"""Draw the statements of a view as what stands inside a page of fava."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache, partial

import jinja2
from fava.helpers import FavaAPIError
from fava.template_filters import replace_numbers
from markupsafe import Markup

from offcut.reports.books import Books
from offcut.reports.drawing.page import drawing
from offcut.reports.drawing.page_cells import page_cell, page_money
from offcut.reports.drawing.page_charts import plotted, small
from offcut.reports.drawing.page_rows import name_of
from offcut.reports.drawing.page_sections import source_columns
from offcut.reports.figures import plain
from offcut.reports.statement import Table
from offcut.reports.statement_cells import Cell, Column
from offcut.reports.viewer.addresses import links_of, report_link
from offcut.reports.viewer.choices import choices
from offcut.reports.viewer.contents import CONTENTS
from offcut.reports.viewer.plan_content import plan_of
from offcut.reports.viewer.remarks import remarks
from offcut.reports.viewer.rows import linked, rows_of
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
        loader=jinja2.ChoiceLoader(
            [
                jinja2.PackageLoader("offcut.reports.viewer"),
                jinja2.PackageLoader("offcut.reports.drawing"),
            ]
        ),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["plain"] = plain
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
    links, cell = links_of(whole, view), _cell(view.hides_figures)
    plan = plan_of(view) if view.report == "plan" else None
    html = (
        _environment()
        .get_template("statements.html")
        .render(
            statements=content.made(whole, books, view),
            contents=CONTENTS,
            view=view,
            given=dict(view.given),
            fields=plan.fields if plan else (),
            remarks=list(remarks(whole, view)),
            choices=list(choices(whole, view)),
            report_link=report_link,
            sort_link=lambda table, at: _sort_link(view, table, at, sorting),
            sorted_as=lambda table, at: _sorted_as(table, at, sorting),
            is_sorted=lambda table: sorting is not None and sorting.slug == table.slug,
            ordered=lambda table: first_lines(sorted_table(table, sorting), MOST_LINES),
            rows_of=partial(rows_of, links=links, written=cell),
            place=links.place,
            linked=linked,
            name_of=name_of,
            cell=cell,
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


def _sort_link(view: View, table: Table, at: int, sorting: Sorting | None) -> str | None:
    """Return the address that sorts a table by a column; None where it has its order."""
    if not can_be_sorted(table):
        return None
    goes_down = _sorted_as(table, at, sorting) == "descending"
    is_text = table.columns[at].kind == "text"
    goes_up = goes_down or (is_text and _sorted_as(table, at, sorting) == "none")
    way = Sorting(table.slug, at, "up" if goes_up else "down")
    name = {"name": view.name} if view.name else {}
    link = report_link(view.report, sort=str(way), **dict(view.given), **name)
    return f"{link}#{table.slug}"


def _sorted_as(table: Table, at: int, sorting: Sorting | None) -> str:
    """Return how a column is sorted, in the words that screen readers know."""
    if sorting is None or (sorting.slug, sorting.column) != (table.slug, at):
        return "none"
    return "ascending" if sorting.direction == "up" else "descending"


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
