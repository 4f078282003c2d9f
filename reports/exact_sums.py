"""Sum amounts of a table by group, fast and to the last digit.

A sum of a hundred thousand Decimals takes long, most of it to fetch each from where it
lies. So the order table has its amounts twice: as Decimals, and in a column beside each as
whole numbers of the finest grain that a cost is kept in, which lie next to one another.
Whole numbers of 64 bits do not overflow here: they are made only where all amounts of the
table together, signs aside, are within them. A table that comes to more, or has an amount
with more digits than the grain, has none, and is summed as Decimals.
"""

from __future__ import annotations

import decimal
from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from offcut.importers.splitting import EXACT, ZERO
from offcut.importers.values import minor_unit
from offcut.plugins.shelf import GRAIN

# Digits behind the point of the finest cost.
PLACES = max(GRAIN.values())
MOST = 2**63 - 1
QUANTITY = "quantity"

Numbers = npt.NDArray[np.integer[Any]]


def whole_name(column: str) -> str:
    """Return the name of the column with the whole numbers of another.

    Args:
      column: The name of a column of Decimals.
    """
    return f"whole_{column}"


def whole_numbers(amounts: Sequence[Decimal]) -> Numbers | None:
    """Return amounts as whole numbers of grains; None where that would lose anything.

    Args:
      amounts: The amounts.

    Returns:
      As many numbers, of which no sum is too large for them.
    """
    # Nearly all others are this very zero.
    places = [place for place, amount in enumerate(amounts) if amount is not ZERO]
    known: dict[Decimal, int] = {}
    found = []
    for place in places:
        amount = amounts[place]
        number = known.get(amount)
        if number is None:
            grains = amount.scaleb(PLACES, EXACT)
            known[amount] = number = int(grains)
            if number != grains:
                return None
        found.append(number)
    if sum(map(abs, found)) > MOST:
        return None
    numbers = np.zeros(len(amounts), dtype=np.int64)
    numbers[places] = found
    return numbers


def with_whole_numbers(table: pd.DataFrame, columns: Sequence[str]) -> list[str]:
    """Return names of columns, and of their whole numbers as far as a table has them.

    Args:
      table: Rows of an order table.
      columns: The names of columns of Decimals.
    """
    names = (*columns, *map(whole_name, columns))
    return [name for name in names if name in table.columns]


def groups_together(numbers: Numbers) -> tuple[Numbers, Numbers]:
    """Return positions of rows that bring groups together, and where each group starts.

    Args:
      numbers: The number of each row's group, from zero on.
    """
    together = np.argsort(numbers, kind="stable")
    return together, np.flatnonzero(np.diff(numbers[together], prepend=-1))


def sums_of_groups(
    table: pd.DataFrame, columns: Iterable[str], together: Numbers, starts: Numbers
) -> list[list[Decimal]]:
    """Return the sum of each group in columns of a table.

    Args:
      table: Rows of an order table.
      columns: The names of columns of Decimals.
      together: Positions of rows that bring the groups together.
      starts: Where each group starts among these.

    Returns:
      For each column, the sums of the groups in their order.
    """
    return [_sums(table, column, together, starts) for column in columns]


def sum_of(table: pd.DataFrame, column: str, rows: Numbers | None = None) -> Decimal:
    """Return the sum of a column.

    Args:
      table: Rows of an order table.
      column: The name of a column of Decimals.
      rows: The positions of the rows to sum; None for all.
    """
    rows = np.arange(len(table)) if rows is None else rows
    if not len(rows):
        return ZERO
    (total,) = _sums(table, column, rows, np.zeros(1, dtype=np.int64))
    return total


def _sums(
    table: pd.DataFrame, column: str, together: Numbers, starts: Numbers
) -> list[Decimal]:
    """Return the sums of the groups in a column."""
    whole = whole_name(column)
    if whole not in table.columns:
        amounts = table[column].to_numpy()[together]
        with decimal.localcontext(EXACT):
            decimals: list[Decimal] = np.add.reduceat(amounts, starts).tolist()
        return decimals
    totals = np.add.reduceat(table[whole].to_numpy()[together], starts)
    is_money = column != QUANTITY
    return decimals_of(totals, digits_of(table["currency"].iloc[0]) if is_money else 0)


def digits_of(currency: str) -> int:
    """Return how many digits behind the point a currency's amounts have.

    Args:
      currency: The currency.
    """
    return -int(minor_unit(currency).as_tuple().exponent)


def decimals_of(numbers: Numbers, digits: int) -> list[Decimal]:
    """Return whole numbers of grains as amounts.

    Args:
      numbers: The whole numbers.
      digits: How many digits behind the point amounts have that need no more.
    """
    grains = 10 ** (PLACES - digits)
    known: dict[int, Decimal] = {}
    (places,) = numbers.nonzero()
    found = []
    for number in numbers[places].tolist():
        amount = known.get(number)
        if amount is None:
            coins, finer = divmod(number, grains)
            if finer:
                amount = Decimal(number).scaleb(-PLACES, EXACT).normalize(EXACT)
            else:
                amount = Decimal(coins).scaleb(-digits, EXACT)
            known[number] = amount
        found.append(amount)
    amounts = np.full(len(numbers), ZERO, dtype=object)
    amounts[places] = found
    decimals: list[Decimal] = amounts.tolist()
    return decimals
