"""Print statements on a terminal of 80 columns, or into a pipe.

Where all columns of a table are too wide, fewer stand for them. Names are shortened to
fit; numbers never are.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, NamedTuple

from rich import box
from rich.cells import cell_len
from rich.console import Console
from rich.table import Table as Grid
from rich.text import Text

from offcut.reports.figures import plain
from offcut.reports.statement import (
    Line,
    Statement,
    Table,
    cell_text,
    is_loss,
)

ENOUGH_FOR_A_NAME = 16
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

    @property
    def least(self) -> int:
        """The least width of the whole."""
        return min(self.longest, ENOUGH_FOR_A_NAME) + sum(self.widths) + self._gaps

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
    narrow = any(_shape(table, False).least > console.width for table in tables)
    # Rather wider than the terminal than with a number cut short.
    console.width = max(console.width, *(_shape(table, narrow).least for table in tables))
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
    console.print(_grid(table, _shape(table, narrow), console.width))
    console.print()


def _shape(table: Table, narrow: bool) -> _Shape:
    """Return how a table is printed."""
    at = table.shown_columns(narrow)
    texts = [
        [table.columns[each].heading, *(_text(table, line, each) for line in table.lines)]
        for each in at
    ]
    widths = [max(map(cell_len, column)) for column in texts]
    return _Shape(at, 1 if narrow else 2, widths[1:], widths[0])


def _grid(table: Table, shape: _Shape, width: int) -> Grid:
    """Return a table to print."""
    # A column's divider is one of the blanks of the gap before it.
    grid = Grid(box=box.HORIZONTALS, show_edge=False, padding=0, pad_edge=False)
    first = table.columns[shape.at[0]]
    name_width = shape.name_width(width)
    grid.add_column(first.heading, width=name_width, no_wrap=True, overflow="ellipsis")
    for each, needed in zip(shape.at[1:], shape.widths, strict=True):
        column = table.columns[each]
        justify: Literal["left", "right"] = "left" if column.kind == "text" else "right"
        padded = needed + shape.gap - 1
        heading = column.heading
        if justify == "left":
            heading = " " * (shape.gap - 1) + heading
        grid.add_column(heading, width=padded, justify=justify, no_wrap=True)
    for line, following in zip(table.lines, [*table.lines[1:], None], strict=True):
        cells = [Text(_text(table, line, shape.at[0]))]
        for each in shape.at[1:]:
            text = _text(table, line, each)
            if table.columns[each].kind == "text":
                text = " " * (shape.gap - 1) + text
            # A loss is red besides its minus sign.
            loss = is_loss(line.cells[each], table.columns[each])
            cells.append(Text(text, style="red" if loss else ""))
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


def _text(table: Table, line: Line, at: int) -> str:
    """Return a cell as text; a part goes by its code, which is shorter than its name."""
    text = cell_text(line.cells[at], table.columns[at], table.currency)
    if at == 0 and line.role == "part":
        return INDENT + (plain(line.code) or text)
    return text
