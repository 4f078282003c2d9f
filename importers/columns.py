"""Read the columns of a file, each different cell once."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Hashable, Iterable, Sequence
from decimal import Decimal
from typing import TypeVar

from offcut.importers import values
from offcut.importers.money import money_reader, price_reader
from offcut.importers.problems import Problem
from offcut.importers.source_file import SourceFile

ReadRows = Callable[[SourceFile, list[Problem]], object]
"""Reads all rows of a file, and adds a problem for each cell that cannot be read."""

In = TypeVar("In", bound=Hashable)
Out = TypeVar("Out")


def read_column(
    source: SourceFile, key: str, read: Callable[[str], Out], problems: list[Problem]
) -> list[Out]:
    """Return the values of a column.

    Args:
      source: The file.
      key: The layout's name for the column.
      read: Returns the value of a cell, blanks around it dropped; raises ValueError
        saying what is wrong.
      problems: Takes a problem for each row that has no value; what is returned is
        then [].
    """
    return _read(source, key, source.cells(key), lambda cell: read(cell.strip()), problems)


def read_dates(source: SourceFile, problems: list[Problem]) -> list[datetime.date]:
    """Return the date of each row; problems as in `read_column`."""
    layout = source.layout
    read = values.date_reader(layout.dates, layout.date_locale)
    return read_column(source, "date", read, problems)


def read_currencies(source: SourceFile, problems: list[Problem]) -> Sequence[str]:
    """Return the currency of each row; problems as in `read_column`."""
    layout = source.layout
    if "currency" not in layout.columns:
        return [layout.currencies[0]] * len(source.numbers)
    return read_column(
        source, "currency", values.currency_reader(layout.currencies), problems
    )


def read_money(
    source: SourceFile,
    key: str,
    currencies: Sequence[str],
    problems: list[Problem],
    *,
    needed: bool = False,
    exact: bool = False,
) -> list[Decimal]:
    """Return the amounts of a column, in whole minor units; zeros where it has no column.

    Args:
      source: The file.
      key: The layout's name for the column.
      currencies: The currency of each row.
      problems: As in `read_column`.
      needed: Whether an empty cell is a problem, and not zero.
      exact: Whether an amount may have more digits than the minor unit, as the price of
        one piece may.
    """
    if key not in source.layout.columns:
        return [values.ZERO] * len(source.numbers)
    reader = price_reader if exact else money_reader
    read_amount = reader(source.layout.locale)

    def read(pair: tuple[str, str]) -> Decimal:
        cell, currency = pair
        return read_amount(cell.strip() or ("" if needed else "0"), currency)

    cells = source.cells(key)
    if len(set(currencies)) == 1:
        only = currencies[0]
        return _read(source, key, cells, lambda cell: read((cell, only)), problems)
    return _read(source, key, list(zip(cells, currencies, strict=True)), read, problems)


def problems_of_all_rows(
    source: SourceFile, problems: Sequence[Problem], read: ReadRows
) -> list[Problem]:
    """Return the problems of a file, with those of rows that were not looked at further.

    A cell that cannot be read ends the reading of its column, and what builds on it; the
    rows without a problem are read again by themselves, until none has one.

    Args:
      source: The file.
      problems: What was found at first.
      read: Reads rows.
    """
    found = list(problems)
    while True:
        more: list[Problem] = []
        source = without_problems(source, found)
        if source.numbers:
            read(source, more)
        if not more:
            return found
        found += more


def without_problems(source: SourceFile, problems: Sequence[Problem]) -> SourceFile:
    """Return a file without the rows that have problems."""
    wrong = {problem.row for problem in problems}
    return source.without([at for at, row in enumerate(source.numbers) if row in wrong])


def _read(
    source: SourceFile,
    key: str,
    cells: Sequence[In],
    read: Callable[[In], Out],
    problems: list[Problem],
) -> list[Out]:
    """Return what a function makes of cells; [] and problems where it raises."""
    found: dict[In, Out] = {}
    wrong: dict[In, str] = {}
    for cell in set(cells):
        try:
            found[cell] = read(cell)
        except ValueError as error:
            wrong[cell] = str(error)
    if wrong:
        problems.extend(_problems(source, key, cells, wrong))
        return []
    return list(map(found.__getitem__, cells))


def _problems(
    source: SourceFile, key: str, cells: Iterable[In], wrong: dict[In, str]
) -> Iterable[Problem]:
    for row, cell in zip(source.numbers, cells, strict=True):
        if cell in wrong:
            yield Problem(source.name, row, source.header(key), wrong[cell])
