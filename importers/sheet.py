"""Read a sheet of the maker's own: a CSV file with known headings, and notes in it.

A row whose first cell begins with `#` is a note, and blank rows say nothing; both count
where a problem names a row, as they do in a spreadsheet.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Sequence
from typing import NamedTuple, TypeVar

from offcut.importers.problems import ImportRefused, Problem

NOTE = "#"
# What spreadsheets put between cells, by the country that they are set to.
DELIMITERS = (",", ";", "\t")

T = TypeVar("T")


class SheetRow(NamedTuple):
    """A row of a sheet.

    Attributes:
      number: Its number as a spreadsheet counts it, the heading being row 1.
      cells: Its cells, in the order of the columns asked for, without blanks around them.
    """

    number: int
    cells: tuple[str, ...]


def read_sheet(name: str, contents: bytes, columns: Sequence[str]) -> list[SheetRow]:
    """Return the rows of a sheet, without notes and blank rows.

    Args:
      name: The file's name, for problems.
      contents: Its bytes.
      columns: The headings to look for, of which a file may have more.

    Raises:
      ImportRefused: It is no CSV file in UTF-8, or a column is missing.
    """
    try:
        text = contents.decode("utf-8-sig")
        if "\0" in text:
            raise ValueError("a NUL in the text")
        mark = _delimiter(text, columns)
        rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=mark, strict=True))
    except (ValueError, csv.Error) as error:
        message = f"expected a CSV file in UTF-8 ({error}); save it as such"
        raise ImportRefused([Problem(name, None, None, message)]) from error
    heading = [cell.strip().casefold() for cell in rows[0]] if rows else []
    missing = [column for column in columns if column.casefold() not in heading]
    if missing:
        message = f"expected the columns {', '.join(columns)}; add {', '.join(missing)}"
        raise ImportRefused([Problem(name, 1, None, message)])
    places = [heading.index(column.casefold()) for column in columns]
    found = []
    problems = []
    for number, row in enumerate(rows[1:], start=2):
        if not any(map(str.strip, row)) or row[0].lstrip().startswith(NOTE):
            continue
        if any(map(str.strip, row[len(heading) :])):
            message = (
                f"expected {len(heading)} cells as in the heading, found {len(row)}; put "
                "quotes around a text or a number that has the mark between cells in it"
            )
            problems.append(Problem(name, number, None, message))
            continue
        cells = (row[at].strip() if at < len(row) else "" for at in places)
        found.append(SheetRow(number, tuple(cells)))
    if problems:
        raise ImportRefused(problems)
    return found


def read_cell(
    problems: list[Problem],
    place: tuple[str, int, str],
    cell: str,
    read: Callable[[str], T],
) -> T | None:
    """Return what a cell says; None where it cannot be read, which is a new problem.

    Args:
      problems: The problems found so far, which a new one is added to.
      place: The file's name, the row and the column.
      cell: The cell.
      read: Reads it; raises ValueError with what was expected.
    """
    try:
        return read(cell)
    except ValueError as error:
        # Some readers are a layout's, of which there is none here.
        what = str(error).partition("; correct")[0]
        problems.append(Problem(*place, f"{what}; correct the row"))
        return None


def _delimiter(text: str, columns: Sequence[str]) -> str:
    """Return the mark between cells: that which parts the heading into most columns."""
    heading = text.partition("\n")[0].casefold()
    wanted = {column.casefold() for column in columns}

    def parted(mark: str) -> int:
        cells = (cell.strip(' "\r') for cell in heading.split(mark))
        return len(wanted.intersection(cells))

    return max(DELIMITERS, key=parted)
