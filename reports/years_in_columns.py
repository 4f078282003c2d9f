"""Tell the profit and loss of years: each year a column, each kind of cost a line."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from decimal import Decimal
from pathlib import Path
from typing import NamedTuple

import pandas as pd

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.account_columns import AMOUNT_COLUMNS, DISCOUNT, GROSS, REFUND
from offcut.reports.line_sources import Amounts
from offcut.reports.sources import Transaction
from offcut.reports.statement import Line, Role, Table
from offcut.reports.statement_cells import Cell, Column
from offcut.reports.told_years import Figure, ToldYear
from offcut.reports.years import OTHER, YearFigures
from offcut.reports.years_sources import LINE, NO_ACCOUNT, YearRows

# What the columns of the order table are called in a year; others go by their own name.
LABELS = {
    "shipping": "Shipping charged",
    "cost_of_goods": "Cost of goods",
    OTHER: "All other",
}
SALES_PARTS = {GROSS: "Before discounts", DISCOUNT: "Discounts", REFUND: "Refunds"}
# Of all other income and costs, what belongs to the orders themselves, such as tips.
OF_ORDERS = "Tips and other, with orders"


class _Row(NamedTuple):
    """A line of the table.

    Attributes:
      name: Its name.
      role: What it is among the others.
      figure: Where its figure is in a year's.
      column: The column of the order table that it is made of; empty for a total.
      account: The account of which alone it is; None where it is of all.
    """

    name: str
    role: Role
    figure: Figure
    column: str = ""
    account: str | None = None


def years_in_columns(
    shown: Sequence[ToldYear],
    compared: bool,
    table: pd.DataFrame,
    folder: Path,
    currency: str,
    title: str,
) -> Table:
    """Return the table of which each year is a column.

    Args:
      shown: The years.
      compared: Whether they are two of which the first is held against the second.
      table: The rows of the order table, of one currency.
      folder: The main ledger's, from which files are named.
      currency: The currency.
      title: The title of the table.
    """
    columns = [
        Column("What", "text"),
        *(Column(each.heading, adds_up=True) for each in shown),
    ]
    if compared:
        columns += [Column("Change", adds_up=True), Column("Change, %", "share")]
    in_order = sorted(shown, key=lambda each: each.year.number)
    behind = YearRows(table, [each.year.period for each in in_order], folder)
    accounts = behind.of_accounts()

    def cells_of_source(
        transaction: Transaction, amounts: Sequence[Decimal]
    ) -> tuple[Cell, ...]:
        is_in = [transaction.date in each.year.period for each in shown]
        cells: list[Cell] = [amounts[0] if each else None for each in is_in]
        if compared:
            cells += [amounts[0] if is_in[0] else EXACT.minus(amounts[0]), None]
        return tuple(cells)

    def found(row: _Row) -> tuple[Amounts, str]:
        if row.account is None:
            return behind.of_column(row.column), LINE
        return accounts, row.account or NO_ACCOUNT

    rows = list(_rows([each.figures for each in shown]))
    own = tuple(at for at, row in enumerate(rows) if row.role == "line")
    lines = []
    for row in rows:
        cells: list[Cell] = [row.name, *(row.figure(each.figures) for each in shown)]
        if compared:
            cells += _change(row.figure, *shown)
        if row.role == "total":
            lines.append(Line(tuple(cells), "total", sums=own))
            continue
        amounts, key = found(row)
        sources = amounts.sources(key, cells, cells_of_source)
        lines.append(Line(tuple(cells), row.role, sources=sources))
    return Table(
        title=title,
        columns=tuple(columns),
        lines=tuple(lines),
        slug="years-compared" if compared else "years",
        currency=currency,
        in_bands=True,
    )


def _rows(several: Sequence[YearFigures]) -> Iterator[_Row]:
    """Yield the lines."""
    yield _Row("Sales", "line", lambda year: year.sales, "sales")
    if any(year.amounts[DISCOUNT] or year.amounts[REFUND] for year in several):
        for at, name in SALES_PARTS.items():
            yield _Row(name, "part", _amount(at), AMOUNT_COLUMNS[at])
    for at, column in enumerate(AMOUNT_COLUMNS):
        if at in SALES_PARTS or not any(year.amounts[at] for year in several):
            continue
        label = LABELS.get(column, column.replace("_", " ").capitalize())
        yield _Row(label, "line", _amount(at), column)
        if column == OTHER:
            accounts = {
                account for year in several for account in year.other if year.other[account]
            }
            for account in sorted(accounts) if len(accounts) > 1 else ():
                # What it is comes after the first colon; the rest is cut short first.
                name = account.partition(":")[2] or OF_ORDERS
                yield _Row(name, "part", _other(account), column, account)
    yield _Row("Net income", "total", lambda year: year.net_income)


def _amount(at: int) -> Figure:
    return lambda year: year.amounts[at]


def _other(account: str) -> Figure:
    return lambda year: year.other.get(account, ZERO)


def _change(figure: Figure, now: ToldYear, before: ToldYear) -> list[Cell]:
    """Return the change of a figure, in itself and as a share of what it was."""
    new, old = figure(now.figures), figure(before.figures)
    if new is None or old is None:
        return [None, None]
    by = EXACT.subtract(new, old)
    return [by, by / abs(old) if old else None]
