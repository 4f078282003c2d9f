"""Write statements as one workbook (XLSX): real numbers and dates, sums as formulas.

A sheet of contents, then a sheet a table. Text is written as text, whatever it begins
with, so that no name turns into a formula. The only formulas are the sums, and each has
the report's own figure beside it, for programs that do not calculate.
"""

from __future__ import annotations

import datetime
import io
import re
from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

import xlsxwriter
from rich.cells import cell_len
from xlsxwriter.utility import xl_range, xl_range_abs

from offcut.reports.drawing.workbook_charts import write_charts, write_course
from offcut.reports.drawing.workbook_contents import CONTENTS, write_contents
from offcut.reports.drawing.workbook_formats import Formats, cut, short
from offcut.reports.figures import plain
from offcut.reports.statement import Line, Statement, Table
from offcut.reports.statement_cells import Cell, Column, cell_text

if TYPE_CHECKING:
    from xlsxwriter.format import Format
    from xlsxwriter.workbook import Workbook
    from xlsxwriter.worksheet import Worksheet

LONGEST_SHEET_NAME = 31
NOT_IN_SHEET_NAMES = re.compile(r"[\[\]:*?/\\']")
WIDEST = 48
# What a workbook can indent a cell by.
DEEPEST = 15
# A formula has at most 255 arguments, and 8,192 characters.
MOST_RANGES = 100
SUMMED_IN = "Summed in row"
FOOTER = "&L&A&RPage &P of &N"


class _Grid(NamedTuple):
    """Where a table stands on its sheet.

    Attributes:
      table: The table.
      at: The positions of the columns that are shown, as they stand from the left.
      first: The row of its first line.
    """

    table: Table
    at: list[int]
    first: int

    @property
    def columns(self) -> list[Column]:
        """The columns that are shown."""
        return [self.table.columns[each] for each in self.at]


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
    contents = book.add_worksheet(CONTENTS)
    names = {CONTENTS.casefold()}
    sheets: list[list[str]] = []
    for statement in statements:
        sheets.append([])
        for table in statement.tables:
            name = _sheet_name(table.title, names)
            _write_table(book, book.add_worksheet(name), name, statement, table)
            sheets[-1].append(name)
    write_contents(book, contents, title, statements, sheets)
    book.close()
    return written.getvalue()


def _sheet_name(title: str, taken: set[str]) -> str:
    """Return a name that a sheet can have, and that no other has."""
    legal = NOT_IN_SHEET_NAMES.sub(" ", plain(title)).strip()
    base = cut(legal, LONGEST_SHEET_NAME).strip()
    # Programs for tables keep this name for themselves.
    base = base if base and base.casefold() != "history" else "Sheet"
    name, number = base, 1
    while name.casefold() in taken:
        number += 1
        ending = f" {number}"
        name = cut(base, LONGEST_SHEET_NAME - len(ending)) + ending
    taken.add(name.casefold())
    return name


def _write_table(
    book: Workbook, sheet: Worksheet, name: str, statement: Statement, table: Table
) -> None:
    """Write a table with what there is to say about it."""
    formats = Formats(book, table.currency)
    above = [f"{statement.title}, {statement.period}"]
    above += [f"In {table.currency}"] if table.currency else []
    above += [statement.caution] if statement.caution else []
    above += [check.sentence for check in statement.checks]
    for row, sentence in enumerate(above):
        style = formats.of("text", bold=row == 0)
        sheet.write_string(row, 0, short(plain(sentence)), style)

    grid = _Grid(table, table.shown_columns(narrow=False), len(above) + 2)
    for place, column in enumerate(grid.columns):
        heading = plain(column.heading)
        sheet.write_string(grid.first - 1, place, heading, formats.heading(column))
        sheet.set_column(place, place, _width(table, grid.at[place]))
    _set_up(sheet, grid)
    if not table.lines:
        sheet.write_string(grid.first, 0, short(table.empty))
    has_mark = any(len(list(_stretches(line))) > MOST_RANGES for line in table.lines)
    for row, line in enumerate(table.lines, grid.first):
        _write_line(sheet, row, line, grid, formats)
    end = len(grid.columns)
    if has_mark:
        _write_marks(sheet, grid, formats)
        end += 1
    if table.course is not None and table.lines:
        end = write_course(sheet, name, table, grid.at, grid.first, end, formats)
    write_charts(book, sheet, name, table, grid.at, grid.first, end + 1)


def _set_up(sheet: Worksheet, grid: _Grid) -> None:
    """Keep headings in sight, on the screen and on paper."""
    sheet.freeze_panes(grid.first, 1)
    sheet.repeat_rows(grid.first - 1)
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)
    sheet.set_footer(FOOTER)
    # A year or an order's number in a column of names is no number stored as text.
    last = grid.first + max(len(grid.table.lines), 1)
    everything = xl_range(0, 0, last, len(grid.columns))
    sheet.ignore_errors({"number_stored_as_text": everything})


def _write_line(
    sheet: Worksheet, row: int, line: Line, grid: _Grid, formats: Formats
) -> None:
    """Write a line; its sums as formulas."""
    table = grid.table
    bold = line.role in ("subtotal", "total")
    steps = line.depth or int(line.role == "part")
    for place, column in enumerate(grid.columns):
        cell = line.cells[grid.at[place]]
        style = formats.of(_kind(cell, column), bold, 0 if place else min(steps, DEEPEST))
        if line.sums and column.adds_up and isinstance(cell, Decimal):
            formula = _sum(row, line, grid, place)
            sheet.write_formula(row, place, formula, style, _number(cell))
        elif column.kind == "verbatim" and isinstance(cell, str):
            text = short(cell_text(cell, column, table.currency))
            sheet.write_string(row, place, text, style)
        else:
            _write(sheet, row, place, cell, style)


def _kind(cell: Cell, column: Column) -> str:
    """Return the kind of a cell: its column's, but for units in parts."""
    if column.kind == "units" and isinstance(cell, Decimal) and cell != int(cell):
        return "fraction"
    return column.kind if column.kind != "month" or not isinstance(cell, str) else "text"


def _sum(row: int, line: Line, grid: _Grid, place: int) -> str:
    """Return the formula of a sum that stands in a row."""
    stretches = list(_stretches(line))
    if len(stretches) <= MOST_RANGES:
        ranges = (
            xl_range(grid.first + begin, place, grid.first + end, place)
            for begin, end in stretches
        )
        return f"=SUM({','.join(ranges)})"
    # Not its own cell: a sum of itself would never come to an end.
    last = grid.first + max(line.sums)
    marks = xl_range_abs(grid.first, len(grid.columns), last, len(grid.columns))
    return f"=SUMIF({marks},{row + 1},{xl_range(grid.first, place, last, place)})"


def _stretches(line: Line) -> Iterator[tuple[int, int]]:
    """Yield the lines that a line sums: each first and last of those without a gap."""
    begin = end = None
    for each in sorted(line.sums):
        if end is not None and each == end + 1:
            end = each
            continue
        if begin is not None and end is not None:
            yield begin, end
        begin = end = each
    if begin is not None and end is not None:
        yield begin, end


def _write_marks(sheet: Worksheet, grid: _Grid, formats: Formats) -> None:
    """Write beside each line the row that sums it, where a formula cannot name them all."""
    place = len(grid.columns)
    heading = formats.heading(Column(SUMMED_IN, "units"))
    sheet.write_string(grid.first - 1, place, SUMMED_IN, heading)
    sheet.set_column(place, place, len(SUMMED_IN) + 2)
    style = formats.of("units")
    for row, line in enumerate(grid.table.lines, grid.first):
        if len(list(_stretches(line))) > MOST_RANGES:
            for each in line.sums:
                sheet.write_number(grid.first + each, place, row + 1, style)


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
            sheet.write_string(row, place, short(plain(cell)), style)


def _number(cell: Decimal) -> float:
    """Return a number as a workbook stores it, in binary with some fifteen digits.

    From here on nothing is calculated with it but by the reader's own program.
    """
    return float(cell)


def _width(table: Table, at: int) -> float:
    """Return a column's width, in characters."""
    column = table.columns[at]
    texts = [cell_text(line.cells[at], column, table.currency) for line in table.lines]
    return min(WIDEST, max(map(cell_len, [column.heading, *texts])) + 2)
