"""Find what is behind the lines of a year: the latest sales and costs of each."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pandas as pd

from offcut.reports.line_sources import Amounts, amounts_behind
from offcut.reports.order_table import in_period
from offcut.reports.period import Period
from offcut.reports.sources import behind, numbered_transactions
from offcut.reports.years import OTHER

# So many of each line are told.
MOST_OF_A_LINE = 5
# The key of a line's figures; what the figures of no account go by.
LINE, NO_ACCOUNT = "line", "\nnone"


class YearRows:
    """The rows of years, and what of them is behind a line."""

    def __init__(
        self, table: pd.DataFrame, periods: Sequence[Period], folder: Path
    ) -> None:
        """Take the rows of some days.

        Args:
          table: The rows of one currency, sorted by date.
          periods: The days of each year, the earliest first; none overlaps another.
          folder: The main ledger's, from which files are named.
        """
        several = [in_period(table, each) for each in periods]
        self._rows = pd.concat(several) if len(several) > 1 else several[0]
        self._folder = folder
        self._numbers = numbered_transactions(self._rows)

    def of_column(self, column: str) -> Amounts:
        """Return what is behind a column of the order table, by LINE.

        Args:
          column: The column.
        """
        line = pd.Series(LINE, self._rows.index)
        return self._behind(self._where(column, line), [column])

    def of_accounts(self) -> Amounts:
        """Return what is behind all other income and costs, by account or NO_ACCOUNT."""
        accounts = self._rows["account"]
        names = accounts.mask(accounts == "", NO_ACCOUNT)
        return self._behind(self._where(OTHER, names), [OTHER])

    def of_years(self, columns: Sequence[str]) -> Amounts:
        """Return what is behind each year, by its number.

        Args:
          columns: The columns of the order table to add up.
        """
        dates = self._rows["date"]
        years = dates.map({date: str(date.year) for date in dates.unique()})
        return self._behind(years, columns)

    def _where(self, column: str, figure: pd.Series[str]) -> pd.Series[str]:
        """Return a figure for the rows that have anything in a column."""
        return figure.where(self._rows[column].to_numpy().astype(bool), "")

    def _behind(self, figure: pd.Series[str], columns: Sequence[str]) -> Amounts:
        found = behind(self._rows, figure, self._folder, MOST_OF_A_LINE, self._numbers)
        return amounts_behind(found, columns)
