"""Write statements as one HTML page that needs nothing beside it."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from importlib import metadata
from typing import NamedTuple

import jinja2
from markupsafe import Markup

from offcut.reports.drawing import charts
from offcut.reports.drawing.page_cells import page_cell, page_money
from offcut.reports.drawing.page_charts import plotted, small
from offcut.reports.drawing.page_rows import name_of, rows, source_rows
from offcut.reports.drawing.page_sections import (
    findings,
    has_frame,
    is_folded,
    numbered,
    own_lines,
    sections,
    shared_checks,
    shared_notes,
    source_columns,
    sum_lines,
)
from offcut.reports.figures import money, plain
from offcut.reports.period import long_date
from offcut.reports.statement import Statement, Table


class Drawing(NamedTuple):
    """A table's chart as the page has it.

    Attributes:
      svg: An SVG element.
      bars: How many of the chart's bars are in it.
      has_losses: Whether any of them is a loss.
    """

    svg: Markup
    bars: int
    has_losses: bool


def page(
    statements: Sequence[Statement], title: str, books: str, made_on: datetime.date
) -> str:
    """Return statements as the text of a page.

    Args:
      statements: What to show; the first one's headlines begin the page.
      title: The title of the page.
      books: The title of the books.
      made_on: The date to put under it.
    """
    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("offcut.reports.drawing"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["cell"] = page_cell
    environment.filters["money"] = page_money
    environment.filters["plain"] = plain
    tables = [table for each in statements for table in each.tables]
    currencies = {table.currency for table in tables if table.currency}
    return environment.get_template("statements.html").render(
        statements=statements,
        title=title,
        books=books,
        currency=currencies.pop() if len(currencies) == 1 else "",
        sections=sections(statements),
        checks=shared_checks(statements),
        notes=shared_notes(statements),
        findings=findings(statements),
        has_frame=has_frame,
        is_folded=is_folded,
        name_of=name_of,
        numbered=numbered,
        own_lines=own_lines,
        sum_lines=sum_lines,
        rows=rows,
        source_rows=source_rows,
        source_columns=source_columns,
        drawing=drawing,
        plotted=plotted,
        small=small,
        made_on=long_date(made_on),
        version=metadata.version("offcut"),
    )


def drawing(table: Table) -> Drawing:
    """Draw a table's chart.

    Args:
      table: The table; it has one.
    """
    chart, currency = table.chart, table.currency
    assert chart is not None
    bars = charts.largest(
        [
            charts.Bar(bar.name, bar.whole, bar.part, page_money(bar.part, currency))
            for bar in chart.bars
        ]
    )
    what = table.columns[0].heading.lower()
    ends = [f"{plain(bar.name)} {money(bar.contribution, currency)}" for bar in bars]
    description = (
        f"{chart.part.capitalize()} in {plain(currency)} of {len(bars)} {what}s, over "
        f"{chart.whole}: {'; '.join(ends)}."
    )
    svg = charts.bar_chart(bars, f"{plain(table.title)}, bar chart", description)
    # The drawing escapes its own text.
    return Drawing(Markup(svg), len(bars), any(bar.contribution < 0 for bar in bars))
