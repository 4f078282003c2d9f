"""Tell the orders and the pieces of years: each year a line."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path

import pandas as pd

from offcut.importers.splitting import EXACT
from offcut.reports.line_sources import in_sums
from offcut.reports.sources import Transaction
from offcut.reports.statement import Line, Table
from offcut.reports.statement_cells import Cell, Column
from offcut.reports.statement_charts import Plot
from offcut.reports.told_years import Figure, ToldYear, ToldYears
from offcut.reports.years_sources import YearRows

FIGURES: tuple[tuple[Column, Figure], ...] = (
    (Column("Buyers paid", adds_up=True), lambda year: year.paid),
    (Column("Net income", adds_up=True, is_result=True), lambda year: year.net_income),
    (Column("Margin", "share"), lambda year: year.margin),
    (Column("Orders", "units"), lambda year: Decimal(year.orders)),
    (Column("Pieces", "units", adds_up=True), lambda year: year.pieces),
    (Column("Average order"), lambda year: year.average_order),
)
PAID, INCOME = 1, 2
# What the columns that add up are made of: the first of the first two.
COLUMNS = ("sales", "shipping", "contribution", "quantity")


def years_in_lines(
    years: ToldYears, table: pd.DataFrame, folder: Path, currency: str
) -> Table:
    """Return the table of which each year is a line.

    Args:
      years: The years.
      table: The rows of the order table, of one currency.
      folder: The main ledger's, from which files are named.
      currency: The currency.
    """
    columns = [column for column, _ in FIGURES]

    def cells_of_source(_: Transaction, amounts: Sequence[Decimal]) -> tuple[Cell, ...]:
        sales, shipping, *others = amounts
        return in_sums(columns, [EXACT.add(sales, shipping), *others])

    def lines(several: Sequence[ToldYear]) -> list[Line]:
        rows = YearRows(table, [each.year.period for each in several], folder)
        behind = rows.of_years(COLUMNS)
        found = []
        for each in several:
            cells = (each.heading, *(figure(each.figures) for _, figure in FIGURES))
            key = str(each.year.number)
            sources = behind.sources(key, cells, cells_of_source)
            found.append(Line(cells, sources=sources))
        return found

    # The same days of the year before are among the days of that year.
    same_days = lines([years.same_days]) if years.same_days else []
    every = tuple(range(len(years.told)))
    has_course = len(years.told) > 1
    return Table(
        title="Orders and pieces by year",
        columns=(Column("Year", "text"), *columns),
        lines=(*lines(years.told), *same_days),
        slug="years-orders",
        currency=currency,
        plots=(
            Plot("What buyers paid by year", PAID, None, every),
            Plot("Net income by year", INCOME, None, every),
        )
        if has_course
        else (),
    )
