"""Draw a table's charts on its sheet; a program for tables draws them from the cells."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from xlsxwriter.utility import xl_range

from offcut.reports.drawing.workbook_formats import MONTH_FORMAT, Formats
from offcut.reports.figures import plain
from offcut.reports.statement import Table
from offcut.reports.statement_cells import Column

if TYPE_CHECKING:
    from xlsxwriter.chart import Chart
    from xlsxwriter.workbook import Workbook
    from xlsxwriter.worksheet import Worksheet

# In pixels, and in rows of a sheet.
SIZE = {"width": 560, "height": 300}
ROWS = 16
# As the page's light colours.
MAIN, BESIDE, LOSS = "#11645f", "#1f2a2b", "#a1301f"


def write_course(
    sheet: Worksheet,
    name: str,
    table: Table,
    at: Sequence[int],
    first: int,
    place: int,
    formats: Formats,
) -> int:
    """Draw each line's steps in time in a cell beside it.

    Args:
      sheet: The sheet.
      name: Its name.
      table: The table; it has a course.
      at: The positions of the columns that are shown, as they stand from the left.
      first: The row of its first line.
      place: The column of the sheet to draw in.
      formats: The formats of its cells.

    Returns:
      The next free column.
    """
    assert table.course is not None
    columns = [at.index(each) for each in table.course.columns]
    heading = formats.heading(Column(table.course.heading, "text"))
    sheet.write_string(first - 1, place, plain(table.course.heading), heading)
    sheet.set_column(place, place, max(16, len(columns) * 2))
    for row in range(first, first + len(table.lines)):
        cells = xl_range(row, columns[0], row, columns[-1])
        sheet.add_sparkline(
            row,
            place,
            {
                "range": f"'{name}'!{cells}",
                "type": "column",
                "series_color": MAIN,
                "negative_points": True,
                "negative_color": LOSS,
                "axis": True,
            },
        )
    return place + 1


def write_charts(
    book: Workbook,
    sheet: Worksheet,
    name: str,
    table: Table,
    at: Sequence[int],
    first: int,
    place: int,
) -> None:
    """Draw a table's plots beside it, below each other.

    Args:
      book: The workbook.
      sheet: The sheet.
      name: Its name.
      table: The table.
      at: The positions of the columns that are shown, as they stand from the left.
      first: The row of its first line.
      place: The column of the sheet to begin at.
    """
    for number, plot in enumerate(table.plots):
        chart = _chart(book, "column")
        chart.add_series(
            {
                **_series(name, at.index(plot.column), plot.lines, first),
                "fill": {"color": MAIN},
                "invert_if_negative": True,
                "invert_if_negative_color": LOSS,
                "gap": 40,
            }
        )
        if plot.beside is not None:
            line = _chart(book, "line")
            line.add_series(
                {
                    **_series(name, at.index(plot.beside), plot.lines, first),
                    "line": {"color": BESIDE, "width": 1.5},
                }
            )
            chart.combine(line)
        axis = {"text_axis": True, "label_position": "low"}
        if table.columns[0].kind == "month":
            axis["num_format"] = MONTH_FORMAT
        chart.set_x_axis(axis)
        chart.set_title({"name": plain(plot.title), "name_font": {"size": 11}})
        chart.set_legend({"position": "bottom"})
        chart.set_size(SIZE)
        description = f"{plain(plot.title)}; the figures are those of the table."
        options = {"description": description}
        sheet.insert_chart(first + number * ROWS, place, chart, options)


def _chart(book: Workbook, kind: str) -> Chart:
    """Return a new chart of a kind that there is."""
    chart = book.add_chart({"type": kind})
    assert chart is not None
    return chart


def _series(name: str, place: int, lines: Sequence[int], first: int) -> dict[str, object]:
    """Return what a series is of: lines that stand together, the earliest first."""
    top, bottom = first + lines[0], first + lines[-1]
    return {
        "name": [name, first - 1, place],
        "categories": [name, top, 0, bottom, 0],
        "values": [name, top, place, bottom, place],
    }
