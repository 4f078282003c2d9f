"""Write statements as one workbook (XLSX): real numbers and dates, sums as formulas.

A sheet a table. Text is written as text, whatever it begins with, so that no name turns
into a formula. The only formulas are the sums, and each has the report's own figure
beside it, for programs that do not calculate.
"""

from __future__ import annotations

import datetime
import io
import re
from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import xlsxwriter
from rich.cells import cell_len
from xlsxwriter.utility import xl_range

from offcut.importers.values import minor_unit
from offcut.reports.figures import plain
from offcut.reports.statement import Cell, Column, Line, Statement, Table, cell_text

if TYPE_CHECKING:
    from xlsxwriter.format import Format
    from xlsxwriter.workbook import Workbook
    from xlsxwriter.worksheet import Worksheet

LONGEST_SHEET_NAME = 31
NOT_IN_SHEET_NAMES = re.compile(r"[\[\]:*?/\\']")
LONGEST_CELL = 32_767
WIDEST = 48
# Built in, so that the reader's own date form shows.
DATE_FORMAT = 14


def workbook(statements: Sequence[Statement], title: str) -> bytes:
    """Return statements as the bytes of a workbook.

    Args:
      statements: The statements; each of their tables is a sheet.
      title: The title of the books.
    """
    written = io.BytesIO()
    book = xlsxwriter.Workbook(
        written,
        {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False},
    )
    # The same books on the same day make the same file.
    book.set_properties({"title": plain(title), "created": datetime.datetime(2000, 1, 1)})
    names: set[str] = set()
    for statement in statements:
        for table in statement.tables:
            sheet = book.add_worksheet(_sheet_name(table.title, names))
            _write_table(book, sheet, statement, table)
    book.close()
    return written.getvalue()


def _sheet_name(title: str, taken: set[str]) -> str:
    """Return a name that a sheet can have, and that no other has."""
    base = NOT_IN_SHEET_NAMES.sub(" ", plain(title)).strip()[:LONGEST_SHEET_NAME] or "Sheet"
    name, number = base, 1
    while name.casefold() in taken:
        number += 1
        ending = f" {number}"
        name = base[: LONGEST_SHEET_NAME - len(ending)] + ending
    taken.add(name.casefold())
    return name


def _write_table(
    book: Workbook, sheet: Worksheet, statement: Statement, table: Table
) -> None:
    """Write a table with what there is to say about it."""
    formats = _Formats(book, table.currency)
    above = [f"{statement.title}, {statement.period}"]
    above += [f"In {table.currency}"] if table.currency else []
    above += [statement.caution] if statement.caution else []
    above += [check.sentence for check in statement.checks]
    for row, sentence in enumerate(above):
        style = formats.of("text", bold=row == 0)
        sheet.write_string(row, 0, _short(plain(sentence)), style)

    at = table.shown_columns(narrow=False)
    first = len(above) + 2
    columns = [table.columns[each] for each in at]
    for place, column in enumerate(columns):
        sheet.write_string(first - 1, place, plain(column.heading), formats.heading(column))
        sheet.set_column(place, place, _width(table, at[place]))
    sheet.freeze_panes(first, 1)
    sheet.repeat_rows(first - 1)
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)
    if not table.lines:
        sheet.write_string(first, 0, _short(table.empty))
    for row, line in enumerate(table.lines, first):
        for place, (each, column) in enumerate(zip(at, columns, strict=True)):
            cell = line.cells[each]
            bold = line.role in ("subtotal", "total")
            style = formats.of(column.kind, bold, indent=not place and line.role == "part")
            if line.sums and column.adds_up and isinstance(cell, Decimal):
                formula = f"=SUM({','.join(_ranges(line, first, place))})"
                sheet.write_formula(row, place, formula, style, _number(cell))
            else:
                _write(sheet, row, place, cell, style)


def _ranges(line: Line, first: int, place: int) -> Iterator[str]:
    """Yield the ranges of cells that a line sums in a column, as few as they can be."""
    begin = end = None
    for each in sorted(line.sums):
        if end is not None and each == end + 1:
            end = each
            continue
        if begin is not None and end is not None:
            yield xl_range(first + begin, place, first + end, place)
        begin = end = each
    if begin is not None and end is not None:
        yield xl_range(first + begin, place, first + end, place)


def _write(sheet: Worksheet, row: int, place: int, cell: Cell, style: Format) -> None:
    """Write a cell that is no sum."""
    match cell:
        case None:
            sheet.write_blank(row, place, None, style)
        case Decimal():
            sheet.write_number(row, place, _number(cell), style)
        case datetime.date():
            midnight = datetime.datetime.combine(cell, datetime.time())
            sheet.write_datetime(row, place, midnight, style)
        case _:
            sheet.write_string(row, place, _short(plain(cell)), style)


def _number(cell: Decimal) -> float:
    """Return a number as a workbook stores it, in binary with some fifteen digits.

    From here on nothing is calculated with it but by the reader's own program.
    """
    return float(cell)


def _short(text: str) -> str:
    """Return a text as long as a cell can have it."""
    return text[:LONGEST_CELL]


def _width(table: Table, at: int) -> float:
    """Return a column's width, in characters."""
    column = table.columns[at]
    texts = [cell_text(line.cells[at], column, table.currency) for line in table.lines]
    return min(WIDEST, max(map(cell_len, [column.heading, *texts])) + 2)


class _Formats:
    """The number formats of a workbook's cells."""

    def __init__(self, book: Workbook, currency: str) -> None:
        self._book = book
        self._made: dict[tuple[str, bool, bool], Format] = {}
        places = -int(minor_unit(currency).as_tuple().exponent)
        money = "#,##0" + ("." + "0" * places if places else "")
        self._forms: dict[str, dict[str, Any]] = {
            "text": {"num_format": "@"},
            "money": {"num_format": f"{money};[Red]-{money}"},
            "units": {"num_format": "#,##0.####"},
            "number": {"num_format": "#,##0.00"},
            "share": {"num_format": "0%"},
            "date": {"num_format": DATE_FORMAT},
        }

    def of(self, kind: str, bold: bool = False, indent: bool = False) -> Format:
        """Return the format of a cell of a kind."""
        key = kind, bold, indent
        if key not in self._made:
            form = {**self._forms[kind], "bold": bold, "indent": int(indent)}
            self._made[key] = self._book.add_format(form)
        return self._made[key]

    def heading(self, column: Column) -> Format:
        """Return the format of a column's heading."""
        align = "left" if column.kind == "text" else "right"
        return self._book.add_format({"bold": True, "bottom": 1, "align": align})
