"""Print statements on a terminal of 80 columns, or into a pipe.

Where all columns of a table are too wide, fewer stand for them, or they are printed in
bands below each other. Names are shortened to fit; numbers never are.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Literal, NamedTuple

from rich import box
from rich.cells import cell_len
from rich.console import Console
from rich.padding import Padding
from rich.table import Table as Grid
from rich.text import Text

from offcut.reports.drawing.block_bars import block_bars
from offcut.reports.figures import plain
from offcut.reports.statement import Line, Statement, Table
from offcut.reports.statement_cells import BELOW, cell_text, is_loss
from offcut.reports.statement_charts import Course, Plot

ENOUGH_FOR_A_NAME = 16
# Rather a name cut shorter than a line that is too long.
LEAST_FOR_A_NAME = 12
INDENT = "  "


class _Shape(NamedTuple):
    """What of a table is printed, and how.

    Attributes:
      at: The positions of its columns.
      gap: The blanks before each column after the first.
      widths: The width of each of these, without the gap.
      longest: The width of the longest name.
    """

    at: list[int]
    gap: int
    widths: list[int]
    longest: int

    def least(self, of_a_name: int = ENOUGH_FOR_A_NAME) -> int:
        """Return the least width of the whole, with so much for a name."""
        return min(self.longest, of_a_name) + sum(self.widths) + self._gaps

    @property
    def _gaps(self) -> int:
        return self.gap * len(self.widths)

    def name_width(self, width: int) -> int:
        """Return the width that a table of a width has for its names."""
        return min(self.longest, width - sum(self.widths) - self._gaps)


def print_statements(console: Console, statements: Sequence[Statement]) -> None:
    """Print statements one after another, and once what is to be said about them.

    Args:
      console: Where to print; its width decides how.
      statements: The statements.
    """
    tables = [table for statement in statements for table in statement.tables]
    whole = [_shape(table, False) for table in tables if not table.in_bands]
    narrow = any(shape.least() > console.width for shape in whole)
    # Rather wider than the terminal than with a number cut short.
    shapes = [each for table in tables for each in _shapes(table, narrow, console.width)]
    console.width = max(console.width, *(shape.least(LEAST_FOR_A_NAME) for shape in shapes))
    for statement in statements:
        _print_statement(console, statement, narrow)
    notes = [note for statement in statements for note in statement.shown_notes(narrow)]
    for note in dict.fromkeys(notes):
        console.print(Text(plain(note), style="dim"))


def _print_statement(console: Console, statement: Statement, narrow: bool) -> None:
    """Print one statement without its notes."""
    heading = f"{statement.title}, {statement.period}"
    first = statement.tables[0]
    of_itself = first.title == statement.title
    if of_itself:
        heading += _in_currency(first)
    console.print(Text(plain(heading), style="bold"))
    if statement.caution:
        console.print(Text(statement.caution))
    console.print()
    for table in statement.tables:
        if not (of_itself and table is first):
            console.print(Text(plain(f"{table.title}{_in_currency(table)}")))
        _print_table(console, table, narrow)
    for check in statement.checks:
        console.print(Text(plain(check.sentence), style="" if check.holds else "bold red"))
    if statement.checks:
        console.print()


def _in_currency(table: Table) -> str:
    return f", in {table.currency}" if table.currency else ""


def _print_table(console: Console, table: Table, narrow: bool) -> None:
    """Print one table."""
    if not table.lines:
        console.print(Text(f"{table.empty}\n"))
        return
    if table.has_cards:
        _print_with_below(console, table, narrow)
        return
    for plot in table.plots:
        drawing = _drawing(table, plot)
        if cell_len(drawing) <= console.width:
            console.print(Text(drawing))
    for shape in _shapes(table, narrow, console.width):
        console.print(_grid(table, shape, console.width))
        console.print()


def _drawing(table: Table, plot: Plot) -> str:
    """Return a plot as one line of characters between its first step and its last."""
    cells = [table.lines[at].cells[plot.column] for at in plot.lines]
    bars = block_bars(cell if isinstance(cell, Decimal) else None for cell in cells)
    first, last = (
        cell_text(table.lines[at].cells[0], table.columns[0], table.currency)
        for at in (plot.lines[0], plot.lines[-1])
    )
    return f"{plain(plot.title)}: {first} {bars} {last}"


def _small(line: Line, course: Course) -> Text:
    """Return a line's steps in time as characters."""
    cells = [line.cells[at] for at in course.columns]
    return Text(block_bars(cell if isinstance(cell, Decimal) else None for cell in cells))


def _print_with_below(console: Console, table: Table, narrow: bool) -> None:
    """Print a table of whose columns some stand below each line."""
    shape = _shape(table, narrow)
    below = [at for at in table.shown_columns(narrow) if table.columns[at].kind in BELOW]
    for number, line in enumerate(table.lines):
        of_one = replace(table, lines=(line,))
        console.print(_grid(of_one, shape, console.width, heading=not number))
        for at in below:
            column = table.columns[at]
            text = cell_text(line.cells[at], column, table.currency)
            if column.kind == "prose" and text:
                console.print(Padding(Text(text), (0, 0, 0, len(INDENT)), expand=False))
            # What is to be copied is not broken, however long it is.
            elif text:
                for copied in text.split("\n"):
                    console.print(Text(INDENT * 2 + copied, style="bold"), soft_wrap=True)
        if len(below) > 1 or number == len(table.lines) - 1:
            console.print()


def _shapes(table: Table, narrow: bool, width: int) -> list[_Shape]:
    """Return how a table is printed: in one piece, or in as many bands as it needs."""
    whole = _shape(table, narrow)
    if not table.in_bands:
        return [whole]
    name, *rest = whole.at
    bands: list[_Shape] = []
    for at, needed in zip(rest, whole.widths, strict=True):
        if bands:
            last = bands[-1]
            wider = last._replace(at=[*last.at, at], widths=[*last.widths, needed])
            if wider.least() <= width:
                bands[-1] = wider
                continue
        bands.append(_Shape([name, at], whole.gap, [needed], whole.longest))
    return bands or [whole]


def _shape(table: Table, narrow: bool) -> _Shape:
    """Return how a table is printed in one piece."""
    at = [
        each
        for each in table.shown_columns(narrow)
        if table.columns[each].kind not in BELOW
    ]
    texts = [
        [
            table.columns[each].heading,
            *(_text(table, line, each, each == at[0]) for line in table.lines),
        ]
        for each in at
    ]
    widths = [max(map(cell_len, column)) for column in texts]
    return _Shape(at, 1 if narrow else 2, widths[1:], widths[0])


def _grid(table: Table, shape: _Shape, width: int, heading: bool = True) -> Grid:
    """Return a table to print, with its heading or without."""
    # A column's divider is one of the blanks of the gap before it.
    grid = Grid(
        box=box.HORIZONTALS,
        show_edge=False,
        padding=0,
        pad_edge=False,
        show_header=heading,
    )
    first = table.columns[shape.at[0]]
    name_width = shape.name_width(width)
    grid.add_column(first.heading, width=name_width, no_wrap=True, overflow="ellipsis")
    for each, needed in zip(shape.at[1:], shape.widths, strict=True):
        column = table.columns[each]
        justify: Literal["left", "right"] = "left" if column.kind == "text" else "right"
        padded = needed + shape.gap - 1
        title = column.heading
        if justify == "left":
            title = " " * (shape.gap - 1) + title
        grid.add_column(title, width=padded, justify=justify, no_wrap=True)
    course = table.course
    if course is not None:
        # Only beside the figures, and only where there is room.
        drawn = max(cell_len(course.heading), len(course.columns))
        taken = name_width + sum(shape.widths) + shape.gap * (len(shape.widths) + 1)
        if taken + drawn > width:
            course = None
        else:
            grid.add_column(" " * (shape.gap - 1) + course.heading, no_wrap=True)
    for line, following in zip(table.lines, [*table.lines[1:], None], strict=True):
        cells = [Text(_text(table, line, shape.at[0], is_name=True))]
        for each in shape.at[1:]:
            text = _text(table, line, each, is_name=False)
            if table.columns[each].kind == "text":
                text = " " * (shape.gap - 1) + text
            # A loss is red besides its minus sign.
            loss = is_loss(line.cells[each], table.columns[each])
            cells.append(Text(text, style="red" if loss else ""))
        if course is not None:
            cells.append(Text(" " * (shape.gap - 1)) + _small(line, course))
        grid.add_row(
            *cells,
            style="bold" if line.role == "total" else "",
            end_section=_ends_section(line, following),
        )
    return grid


def _ends_section(line: Line, following: Line | None) -> bool:
    """Return whether a rule follows a line: before subtotals, and before totals."""
    if following is None:
        return False
    rank = {"line": 0, "part": 0, "subtotal": 1, "total": 2}
    return rank[line.role] < rank[following.role]


def _text(table: Table, line: Line, at: int, is_name: bool) -> str:
    """Return a cell as text; a part goes by its code, which is shorter than its name."""
    text = cell_text(line.cells[at], table.columns[at], table.currency)
    if is_name and line.role == "part":
        return INDENT + (plain(line.code) or text)
    return INDENT * line.depth + text if is_name else text
