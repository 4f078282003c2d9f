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
from decimal import Decimal
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.order_columns import TRANSACTION
from offcut.reports.statement import Source
from offcut.reports.statement_cells import Cell

# So many of a line are told one by one, and so many on a page.
MOST_OF_A_LINE = 30
MOST_OF_A_PAGE = 2500
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


def most_of(lines: int) -> int:
    """Return how many transactions to tell of each of several lines on a page.

    Args:
      lines: How many lines there are, in all tables.
    """
    return max(1, min(MOST_OF_A_LINE, MOST_OF_A_PAGE // max(lines, 1) - 1))


def numbered_transactions(rows: pd.DataFrame) -> npt.NDArray[np.int64]:
    """Return a number for each row that is that of its transaction, and of its order.

    Args:
      rows: Rows of an order table.
    """
    return rows[TRANSACTION].to_numpy(np.int64)


def behind(
    rows: pd.DataFrame,
    figure: pd.Series[Any],
    folder: Path,
    most: int = MOST_OF_A_LINE,
    numbers: npt.NDArray[np.int64] | None = None,
) -> Behind:
    """Return the transactions behind figures.

    Args:
      rows: Rows of an order table.
      figure: The key of the figure that each row is part of; empty where it is of none.
      folder: The main ledger's, from which files are named.
      most: How many transactions of each figure to return.
      numbers: The rows' `numbered_transactions`, where they are known.
    """
    if numbers is None:
        numbers = numbered_transactions(rows)
    places = (figure != "").to_numpy().nonzero()[0]
    if not len(places):
        return Behind(rows.iloc[:0].assign(figure="", at=0), [], {}, {})
    figures, keys = pd.factorize(figure.iloc[places])
    pairs = figures.astype("int64") * (int(numbers.max()) + 1) + numbers[places]
    # Rows stand by date, so from the end the latest come first.
    each = pd.DataFrame({"figure": figures, "pair": pairs})[::-1].drop_duplicates("pair")
    counts = each.groupby("figure").size()
    latest = each.groupby("figure", sort=False).head(most)
    at = pd.Series(range(len(latest)), index=latest["pair"].to_numpy())
    latest = latest.assign(at=at.to_numpy())
    is_taken = np.isin(pairs, latest["pair"].to_numpy())
    found = pd.DataFrame(
        {"figure": figures[is_taken], "at": at[pairs[is_taken]].to_numpy()}
    )
    taken = rows.iloc[places[is_taken]]
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
      line: The line; 0 for the file as a whole.
    """
    name = os.path.relpath(file, folder) if os.path.isabs(file) else file
    return f"{name}:{line}" if line else name


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
            cells.append(whole - sum_of(amounts))
    return Source(tuple(cells), place, more)


def more_text(count: int) -> str:
    """Return how transactions that are not told one by one are named.

    Args:
      count: How many they are.
    """
    return f"and {count:,} earlier"


def sum_of(cells: Iterable[Cell]) -> Decimal:
    """Return the sum of the numbers among cells, in the context of the caller.

    Args:
      cells: The cells.
    """
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
