"""Find the transactions behind a figure that was grouped from the order table.

A figure is the sum of rows; behind it stand the transactions that these rows come from.
The latest are told one by one, and the others together, so that what is told adds up to
the figure.
"""

from __future__ import annotations

import datetime
import decimal
import os
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any, NamedTuple

import pandas as pd

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.statement import Cell, Line, Source, Statement, Table

# So many of a line are told one by one, and so many on a page.
MOST_OF_A_LINE = 30
MOST_OF_A_PAGE = 2000
# What the parts of a line come down to where a page has too many.
FEWER = (20, 10, 5, 3, 1, 0)
ALL_ORDERS = "offcut report --csv FOLDER: profit-per-order.csv"


class Transaction(NamedTuple):
    """A transaction, or what of it is about one order.

    Attributes:
      date: Its date.
      about: The order's number, or what else it is about.
      place: The file and line where it begins.
    """

    date: datetime.date
    about: str
    place: str

    @property
    def name(self) -> str:
        """How it is called among others."""
        return f"{self.date} {self.about}"


class Behind(NamedTuple):
    """The transactions behind figures.

    Attributes:
      rows: The rows of the latest of each figure, with two columns more: `figure`, the
        key of the figure, and `at`, the position of the transaction.
      transactions: The latest of all figures, each figure's from the latest on.
      figures: The positions of each figure's.
      left_out: How many more each figure has.
    """

    rows: pd.DataFrame
    transactions: list[Transaction]
    figures: dict[Hashable, list[int]]
    left_out: dict[Hashable, int]


def behind(
    rows: pd.DataFrame, figure: pd.Series[Any], folder: Path, most: int = MOST_OF_A_LINE
) -> Behind:
    """Return the transactions behind figures.

    Args:
      rows: Rows of an order table.
      figure: The key of the figure that each row is part of; empty where it is of none.
      folder: The main ledger's, from which files are named.
      most: How many transactions of each figure to return.
    """
    is_part = (figure != "").to_numpy()
    rows, figure = rows[is_part], figure[is_part]
    if rows.empty:
        return Behind(rows.assign(figure=figure, at=0), [], {}, {})
    figures, keys = pd.factorize(figure)
    origin = pd.DataFrame(
        {
            "figure": figures,
            "order": pd.factorize(rows["order"])[0],
            "file": pd.factorize(rows["file"])[0],
            "line": rows["line"].to_numpy().astype("int64"),
        }
    )
    # Rows stand by date, so from the end the latest come first.
    each = origin[::-1].drop_duplicates()
    counts = each.groupby("figure").size()
    latest = each.groupby("figure", sort=False).head(most)
    latest = latest.assign(at=range(len(latest)))
    found = origin.reset_index().merge(latest, on=list(origin.columns)).sort_values("index")
    taken = rows.iloc[found["index"].to_numpy()]
    taken = taken.assign(
        figure=[keys[number] for number in found["figure"].tolist()],
        at=found["at"].to_numpy(),
    )
    positions: dict[Hashable, list[int]] = {}
    for number, at in zip(latest["figure"].tolist(), latest["at"].tolist(), strict=True):
        positions.setdefault(keys[number], []).append(at)
    return Behind(
        rows=taken,
        transactions=_transactions(taken, folder),
        figures=positions,
        left_out={
            key: int(counts[number]) - len(positions[key])
            for number, key in enumerate(keys)
            if int(counts[number]) > len(positions[key])
        },
    )


def place_from(folder: Path, file: str, line: int) -> str:
    """Return where something stands, as seen from the main ledger's folder.

    Args:
      folder: The folder.
      file: The file, as beancount names it.
      line: The line.
    """
    return f"{os.path.relpath(file, folder) if os.path.isabs(file) else file}:{line}"


def rest_of(
    line: Sequence[Cell],
    shown: Iterable[Source],
    name: Sequence[Cell],
    place: str,
    more: int,
) -> Source:
    """Return what of a line its sources do not tell.

    Args:
      line: The cells of the line.
      shown: Its sources that are told one by one; at least one.
      name: The cells that name the rest, the first ones of it.
      place: How to see the rest.
      more: How many transactions it is.
    """
    told = list(shown)
    cells: list[Cell] = list(name)
    for at in range(len(name), len(line)):
        amounts = [each.cells[at] for each in told]
        whole = line[at]
        if not isinstance(whole, Decimal) or not any(
            isinstance(amount, Decimal) for amount in amounts
        ):
            cells.append(None)
            continue
        with decimal.localcontext(EXACT):
            cells.append(whole - _sum(amounts))
    return Source(tuple(cells), place, more)


def within(statements: Iterable[Statement], most: int = MOST_OF_A_PAGE) -> list[Statement]:
    """Return statements that tell no more sources than a page should have.

    What is not told any more is added up, so that each line's sources still come to it.

    Args:
      statements: The statements.
      most: How many sources they may have in all.
    """
    several = list(statements)
    for fewer in FEWER:
        if _count(several) <= most:
            break
        several = [_map_lines(each, fewer) for each in several]
    left = most
    if _count(several) > left:
        # Not even one for each line: those of the first lines.
        dropped = []
        for statement in several:
            tables = []
            for table in statement.tables:
                lines = []
                for line in table.lines:
                    left -= len(line.sources)
                    lines.append(line if left >= 0 else line._replace(sources=()))
                tables.append(replace(table, lines=tuple(lines)))
            dropped.append(replace(statement, tables=tuple(tables)))
        return dropped
    return several


def _count(statements: Iterable[Statement]) -> int:
    return sum(
        len(line.sources)
        for statement in statements
        for table in statement.tables
        for line in table.lines
    )


def _map_lines(statement: Statement, most: int) -> Statement:
    """Return a statement whose lines have so many sources, and one for the rest."""
    return replace(
        statement,
        tables=tuple(
            replace(table, lines=tuple(_shortened(line, table, most) for line in table.lines))
            for table in statement.tables
        ),
    )


def _shortened(line: Line, table: Table, most: int) -> Line:
    """Return a line with so many sources, and one for the rest."""
    if len(line.sources) <= most + 1:
        return line
    kept, rest = line.sources[:most], line.sources[most:]
    covers = sum(each.covers for each in rest)
    width = table.shown_columns(False)
    with decimal.localcontext(EXACT):
        cells: list[Cell] = [
            _sum(amounts) if any(isinstance(cell, Decimal) for cell in amounts) else None
            for amounts in zip(*(each.cells for each in rest), strict=True)
        ]
    for at in range(width[0] + 1):
        cells[at] = more_text(covers)
    # The last says how to see what is not told, where there is more of that already.
    place = next((each.place for each in rest if each.covers != 1), "in the same way")
    return line._replace(sources=(*kept, Source(tuple(cells), place, covers)))


def more_text(count: int) -> str:
    """Return how transactions that are not told one by one are named.

    Args:
      count: How many they are.
    """
    return f"and {count:,} earlier"


def _sum(cells: Iterable[Cell]) -> Decimal:
    """Return the sum of the numbers among cells, in the context of the caller."""
    return sum((cell for cell in cells if isinstance(cell, Decimal)), ZERO)


def _transactions(rows: pd.DataFrame, folder: Path) -> list[Transaction]:
    """Return the transactions of rows, by position."""
    found: dict[int, Transaction] = {}
    names = ("at", "date", "order", "account", "channel", "file", "line")
    for at, date, order, account, channel, file, line in zip(
        *(rows[name].tolist() for name in names), strict=True
    ):
        if at not in found:
            about = f"order {order}" if order else account or channel or "sold"
            found[at] = Transaction(date, about, place_from(folder, file, line))
    return [found[at] for at in range(len(found))]
