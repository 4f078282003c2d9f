"""Find what is behind the lines of a trend: the latest sales and costs of each."""

from __future__ import annotations

import shlex
from collections.abc import Collection, Sequence
from pathlib import Path

import pandas as pd

from offcut.reports.figures import month_label
from offcut.reports.line_sources import Amounts, amounts_behind
from offcut.reports.months import Month
from offcut.reports.order_table import in_period
from offcut.reports.period import Period
from offcut.reports.sources import ALL_ORDERS, behind
from offcut.reports.trend import NONE

# Of each month so many are told, and of each design's year; of its months one by one fewer,
# as they stand in three tables.
MOST_OF_A_MONTH, MOST_OF_A_YEAR, MOST_OVER_TIME = 10, 10, 3
# The keys of lines that are no design or channel; no name begins like this.
OTHERS, LOOSE = "\nothers", "\nnone"
# In the order of the trend's measures.
COLUMNS = ("sales", "contribution", "quantity")


def months_behind(table: pd.DataFrame, months: Sequence[Month], folder: Path) -> Amounts:
    """Return what is behind months, by the month's label.

    Args:
      table: The rows of one currency, sorted by date.
      months: The months.
      folder: The main ledger's, from which files are named.
    """
    rows = _within(table, months)
    dates = rows["date"]
    labels = dates.map({date: month_label(date) for date in dates.unique()})
    return amounts_behind(behind(rows, labels, folder, MOST_OF_A_MONTH), COLUMNS)


def names_behind(
    table: pd.DataFrame,
    months: Sequence[Month],
    grouping: str,
    shown: Collection[str],
    folder: Path,
    most: int,
) -> Amounts:
    """Return what is behind designs or channels, by name; of others, OTHERS and LOOSE.

    Args:
      table: The rows of one currency, sorted by date.
      months: The months that are told.
      grouping: What the lines are: design, channel.
      shown: The names that have a line each.
      folder: The main ledger's, from which files are named.
      most: How many transactions of each to tell.
    """
    rows = _within(table, months)
    names = rows[grouping]
    figure = names.where(names.isin(shown), OTHERS).where(names != NONE, LOOSE)
    return amounts_behind(behind(rows, figure, folder, most), COLUMNS)


def how_to_see(grouping: str, name: str, months: Sequence[Month]) -> str:
    """Return how to see what is behind a line and is not told.

    Args:
      grouping: What the lines are.
      name: The line's own.
      months: The months that are told.
    """
    if grouping != "design" or not months:
        return ALL_ORDERS
    figure = f"{name} {months[-1].label}"
    return f"offcut trace {shlex.quote(figure)}, and months before"


def _within(table: pd.DataFrame, months: Sequence[Month]) -> pd.DataFrame:
    """Return the rows of some months that follow each other."""
    if not months:
        return table.iloc[:0]
    return in_period(table, Period(months[0].first, months[-1].last))
