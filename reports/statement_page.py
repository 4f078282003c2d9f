"""Write statements as one HTML page that needs nothing beside it."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from decimal import Decimal
from importlib import metadata
from typing import NamedTuple

import jinja2
from markupsafe import Markup

from offcut.reports import charts
from offcut.reports.figures import money, plain
from offcut.reports.period import long_date
from offcut.reports.statement import Cell, Column, Statement, Table, cell_text, is_loss

MINUS = "\N{MINUS SIGN}"


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
        loader=jinja2.PackageLoader("offcut.reports"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["cell"] = _cell
    environment.filters["money"] = _money
    environment.filters["plain"] = plain
    environment.tests["loss"] = is_loss
    checks = [check for statement in statements for check in statement.checks]
    notes = [note for statement in statements for note in statement.shown_notes(False)]
    currencies = {table.currency for each in statements for table in each.tables}
    return environment.get_template("statements.html").render(
        statements=statements,
        title=title,
        books=books,
        currency=currencies.pop() if len(currencies) == 1 else "",
        headlines=statements[0].headlines,
        checks=list(dict.fromkeys(checks)),
        notes=list(dict.fromkeys(notes)),
        drawing=_drawing,
        made_on=long_date(made_on),
        version=metadata.version("offcut"),
    )


def _drawing(table: Table) -> Drawing:
    """Draw a table's chart."""
    chart, currency = table.chart, table.currency
    assert chart is not None
    bars = charts.largest(
        [
            charts.Bar(bar.name, bar.whole, bar.part, _money(bar.part, currency))
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


def _cell(cell: Cell, column: Column, currency: str) -> str:
    """Return a cell as text, with a minus sign that screen readers say."""
    text = cell_text(cell, column, currency)
    is_number = isinstance(cell, Decimal)
    return text.replace("-", MINUS) if is_number else text


def _money(amount: Decimal, currency: str) -> str:
    """Return an amount with a minus sign that screen readers say."""
    return money(amount, currency).replace("-", MINUS)
