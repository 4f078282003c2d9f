"""Tell the trend of all that is sold: a line a month, beside the year before."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from pathlib import Path

import pandas as pd

from offcut.reports.line_sources import in_sums
from offcut.reports.sources import Transaction
from offcut.reports.spans import years_of
from offcut.reports.statement import Line, Table
from offcut.reports.statement_cells import Cell, Column
from offcut.reports.statement_charts import Plot
from offcut.reports.trend import NOTHING
from offcut.reports.trend_comparison import (
    YEAR,
    KnownTrend,
    Versus,
    compared_cells,
    comparison,
)
from offcut.reports.trend_sources import months_behind

# Over more months than these the year before is a scrawl.
MOST_WITH_LINE = 48


def months_table(trend: KnownTrend, rows: pd.DataFrame, folder: Path, title: str) -> Table:
    """Return the table of the months of all.

    Args:
      trend: The trend of all.
      rows: The rows of the order table that it is of.
      folder: The main ledger's, from which files are named.
      title: The title of the table.
    """
    whole, months = trend.report.total, trend.months
    days = [trend.days(month) for month in months]
    has_days = any(days)
    columns = (
        Column("Month", "month"),
        *([Column("Days", "text")] if has_days else []),
        *comparison(),
    )

    def cells(name: Cell, of_days: str, at: Sequence[int]) -> tuple[Cell, ...]:
        versus = trend.versus(whole, at)
        # A year of which some months cannot be compared is not, nor years with the years
        # before, which are among themselves.
        if len(at) > YEAR or not all(trend.known[each] for each in at):
            versus = Versus(versus.earned, None, NOTHING)
        return (name, *([of_days] if has_days else []), *compared_cells(versus))

    def told(_: Transaction, amounts: Sequence[Decimal]) -> tuple[Cell, ...]:
        return in_sums(columns[1:], amounts)

    behind = months_behind(rows, months, folder)
    lines = []
    for at, month in enumerate(months):
        of_month = cells(month.first.replace(day=1), days[at], [at])
        sources = behind.sources(month.label, of_month, told)
        lines.append(Line(of_month, sources=sources))
    years = years_of(months)
    if len(years) > 1:
        for year in years:
            lines.append(Line(cells(year.label, "", year.at), "subtotal", sums=year.at))
    every = tuple(range(len(months)))
    sums = tuple(range(len(months), len(lines))) if len(years) > 1 else every
    lines.append(Line(cells("Total", "", every), "total", sums=sums))
    return Table(
        title=title,
        columns=columns,
        lines=tuple(lines),
        slug="trend",
        currency=trend.report.currency,
        plots=tuple(_plots(columns, every, any(trend.known))),
    )


def _plots(
    columns: Sequence[Column], at: tuple[int, ...], compared: bool
) -> Iterator[Plot]:
    """Yield a chart of each figure's months."""
    for place, column in enumerate(columns):
        if column.adds_up:
            beside = place + 1 if compared and len(at) <= MOST_WITH_LINE else None
            yield Plot(f"{column.heading} by month", place, beside, at)
