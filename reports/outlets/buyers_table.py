"""Tell what each buyer on invoice bought, earned and owes, and what is behind it."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from decimal import Decimal
from pathlib import Path

import pandas as pd

from offcut.importers.splitting import ZERO
from offcut.reports.line_sources import amounts_behind, in_sums
from offcut.reports.outlets.buyers import Buyer
from offcut.reports.outlets.sums import exact_sum
from offcut.reports.sources import Transaction, behind
from offcut.reports.statement import Line, Table
from offcut.reports.statement_cells import Cell, Column

# More lines than these are summed up in one.
MOST_LINES = 40
MOST_OF_A_BUYER = 30
MORE = "\nmore"
COLUMNS = (
    Column("Invoices", "units", adds_up=True),
    Column("Pieces", "units", adds_up=True),
    Column("Sales", adds_up=True),
    Column("Contribution", adds_up=True, is_result=True),
    Column("Margin", "share"),
    Column("Owed", adds_up=True),
    Column("Days", "units"),
)


def buyers_table(
    shops: Sequence[Buyer],
    names: Mapping[str, str],
    rows: pd.DataFrame,
    folder: Path,
    day: datetime.date,
    currency: str,
) -> Table:
    """Return the table of buyers on invoice.

    Args:
      shops: The buyers, the largest first.
      names: The buyer of each order that was sold on invoice.
      rows: The rows of the order table that count, of one currency.
      folder: The main ledger's, from which files are named.
      day: The day that is owed on.
      currency: The currency of all amounts.
    """
    shown, rest = shops[:MOST_LINES], shops[MOST_LINES:]
    keys = {shop.name: shop.name for shop in shown}
    buyers = rows["order"].map(names).fillna("")
    figure = buyers.map(lambda name: keys.get(name, MORE) if name else "")
    found = amounts_behind(
        behind(rows, figure, folder, MOST_OF_A_BUYER),
        ("quantity", "sales", "contribution"),
    )
    lines = []
    for shop in shown:
        cells = _cells(shop, day)
        lines.append(Line(cells, sources=found.sources(shop.name, cells, _told)))
    if rest:
        cells = (
            f"{len(rest):,} more buyers",
            Decimal(sum(shop.invoices for shop in rest)),
            exact_sum(shop.pieces for shop in rest),
            exact_sum(shop.sales for shop in rest),
            exact_sum(shop.contribution for shop in rest),
            None,
            exact_sum(shop.owed for shop in rest),
            None,
        )
        lines.append(Line(cells, sources=found.sources(MORE, cells, _told)))
    return Table(
        title="Buyers on invoice",
        columns=(Column("Buyer", "text"), *COLUMNS),
        lines=tuple(lines),
        slug="buyers-on-invoice",
        currency=currency,
    )


def _cells(shop: Buyer, day: datetime.date) -> tuple[Cell, ...]:
    return (
        shop.name,
        Decimal(shop.invoices),
        shop.pieces,
        shop.sales,
        shop.contribution,
        shop.contribution / shop.sales if shop.sales > ZERO else None,
        shop.owed,
        Decimal((day - shop.oldest).days) if shop.oldest else None,
    )


def _told(_: Transaction, amounts: Sequence[Decimal]) -> tuple[Cell, ...]:
    """Return the cells of a source; what is owed has a table with its own."""
    pieces, sales, contribution = amounts
    return in_sums(COLUMNS, [None, pieces, sales, contribution, None])
