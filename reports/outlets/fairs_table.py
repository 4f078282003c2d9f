"""Tell what each fair earned, what it had to sell for that, and what is behind it."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from decimal import Decimal
from pathlib import Path

import pandas as pd

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.line_sources import Amounts, amounts_behind, in_sums
from offcut.reports.outlets.fairs import Fair
from offcut.reports.outlets.sums import exact_sum
from offcut.reports.plan.break_even import FIXED
from offcut.reports.sources import Transaction, behind
from offcut.reports.statement import Line, Table
from offcut.reports.statement_cells import Cell, Column

# More lines than these are summed up in one.
MOST_LINES = 40
MOST_OF_A_FAIR = 30
EARLIER = "\nearlier"
# On a narrow terminal the names need the room: many differ at their end only, in the year.
COLUMNS = (
    Column("First day", "date", "wide"),
    Column("Pieces", "units", "wide", adds_up=True),
    Column("Sales", adds_up=True),
    Column("Goods, fees", adds_up=True),
    Column("Table, travel", adds_up=True),
    Column("Earned", adds_up=True, is_result=True),
    Column("Break-even"),
    Column("Beyond it", shown="wide", is_result=True),
)


def fairs_table(
    been_at: Sequence[Fair],
    table: pd.DataFrame,
    folder: Path,
    currency: str,
    expenses: str = "Expenses",
) -> Table:
    """Return the table of fairs.

    Args:
      been_at: The fairs, the latest first.
      table: The rows of the order table of all dates, of one currency.
      folder: The main ledger's, from which files are named.
      currency: That currency.
      expenses: The name of the ledger's expenses.
    """
    shown, rest = been_at[:MOST_LINES], been_at[MOST_LINES:]
    found = _behind(shown, rest, table, folder, expenses)
    lines = []
    for fair in shown:
        held = fair.break_even
        cells: tuple[Cell, ...] = (
            *(fair.event, fair.first, fair.pieces, fair.sales),
            *(held.variable if held else None, -fair.fixed, fair.result),
            *((held.needed, held.beyond) if held else (None, None)),
        )
        lines.append(Line(cells, sources=found.sources(fair.event, cells, _told)))
    if rest:
        cells = (
            *(f"{len(rest)} earlier fairs", None),
            exact_sum(fair.pieces for fair in rest),
            exact_sum(fair.sales for fair in rest),
            exact_sum(fair.break_even.variable for fair in rest if fair.break_even),
            -exact_sum(fair.fixed for fair in rest),
            exact_sum(fair.result for fair in rest),
            *(None, None),
        )
        lines.append(Line(cells, sources=found.sources(EARLIER, cells, _told)))
    return Table(
        title="Fairs",
        columns=(Column("Fair", "text"), *COLUMNS),
        lines=tuple(lines),
        slug="fairs",
        currency=currency,
    )


def _told(_: Transaction, amounts: Sequence[Decimal]) -> tuple[Cell, ...]:
    """Return the cells of a source: a table fee has no pieces, and a sale no table."""
    return in_sums(COLUMNS, [amount or None for amount in amounts])


def _behind(
    shown: Sequence[Fair],
    rest: Sequence[Fair],
    table: pd.DataFrame,
    folder: Path,
    expenses: str,
) -> Amounts:
    """Return what is behind fairs, by event; behind the others, EARLIER."""
    keys = {fair.event: fair.event for fair in shown}
    keys |= {fair.event: EARLIER for fair in rest}
    rows = table[table["event"].isin(keys)]
    sold = {fair.event for fair in (*shown, *rest) if fair.break_even}
    fixed = _fixed(rows, sold, expenses)
    variable = [
        EXACT.subtract(EXACT.subtract(whole, part), sales) if event in sold else ZERO
        for event, whole, part, sales in zip(
            *(rows["event"].tolist(), rows["contribution"].tolist()),
            *(fixed, rows["sales"].tolist()),
            strict=True,
        )
    ]
    added = {"variable": variable, "fixed": fixed}
    rows = pd.concat([rows, pd.DataFrame(added, rows.index, dtype=object)], axis="columns")
    found = behind(rows, rows["event"].map(keys), folder, MOST_OF_A_FAIR)
    columns = ("quantity", "sales", "variable", "fixed", "contribution")
    return amounts_behind(found, columns)


def _fixed(rows: pd.DataFrame, sold: Collection[str], expenses: str) -> list[Decimal]:
    """Return what of each row was to be there; all of it, where nothing was sold."""
    columns = [rows[name].tolist() for name in FIXED]
    found = []
    for event, account, whole, *parts in zip(
        *(rows[name].tolist() for name in ("event", "account", "contribution")),
        *columns,
        strict=True,
    ):
        if event not in sold:
            found.append(whole)
        elif account.startswith(expenses + ":"):
            found.append(exact_sum(parts))
        else:
            found.append(ZERO)
    return found
