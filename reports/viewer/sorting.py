"""Sort a table by one of its columns, parts staying below their lines."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Literal, NamedTuple

from offcut.reports.statement import Line, Table
from offcut.reports.statement_cells import BELOW

Direction = Literal["up", "down"]


class Sorting(NamedTuple):
    """How a table is to be sorted.

    Attributes:
      slug: The table.
      column: The position of the column.
      direction: Whether its figures go up, or down.
    """

    slug: str
    column: int
    direction: Direction

    def __str__(self) -> str:
        return f"{self.slug}.{self.column}.{self.direction}"


def read_sorting(text: str) -> Sorting | None:
    """Return what the text of a sorting says; None where it says nothing.

    Args:
      text: As in `shelf-products.3.down`.
    """
    match text.split("."):
        case [slug, column, ("up" | "down") as direction] if (
            column.isascii() and column.isdigit()
        ):
            return Sorting(slug, int(column), "up" if direction == "up" else "down")
        case _:
            return None


def can_be_sorted(table: Table) -> bool:
    """Tell whether the lines of a table may stand in any order.

    Args:
      table: The table. Steps in time, a statement with subtotals between its lines, and
        cards have an order of their own.
    """
    roles = [line.role for line in table.lines]
    own = [role in ("line", "part") for role in roles]
    totals_last = own == sorted(own, reverse=True)
    is_list = not any(line.depth for line in table.lines) and not table.plots
    has_many = roles.count("line") > 1
    prose = any(column.kind in BELOW for column in table.columns)
    return totals_last and is_list and has_many and not prose


def sorted_table(table: Table, sorting: Sorting | None) -> Table:
    """Return a table with its lines in another order, for drawing its lines only.

    Args:
      table: The table.
      sorting: How to sort it; another table's sorting, or none, leaves it as it is.
    """
    if sorting is None or sorting.slug != table.slug or not can_be_sorted(table):
        return table
    if sorting.column >= len(table.columns):
        return table
    groups: list[list[Line]] = []
    totals: list[Line] = []
    for line in table.lines:
        if line.role == "line":
            groups.append([line])
        elif line.role == "part" and groups:
            groups[-1].append(line)
        else:
            totals.append(line)
    known = [group for group in groups if group[0].cells[sorting.column] is not None]
    unknown = [group for group in groups if group[0].cells[sorting.column] is None]
    known.sort(
        key=lambda group: _rank(group, sorting.column), reverse=sorting.direction == "down"
    )
    lines = [line for group in (*known, *unknown) for line in group]
    return replace(table, lines=(*lines, *totals))


def first_lines(table: Table, most: int) -> Table:
    """Return a table with its first lines, and its totals, for drawing its lines only.

    Args:
      table: The table.
      most: How many lines it may have besides totals.
    """
    own = [line for line in table.lines if line.role in ("line", "part")]
    if len(own) <= most:
        return table
    totals = [line for line in table.lines if line.role not in ("line", "part")]
    return replace(table, lines=(*own[:most], *totals))


def _rank(group: Sequence[Line], column: int) -> tuple[int, Decimal, str]:
    """Return what a line is sorted by: figures and dates before texts."""
    cell = group[0].cells[column]
    if isinstance(cell, Decimal):
        return 0, cell, ""
    if isinstance(cell, datetime.date):
        return 0, Decimal(cell.toordinal()), ""
    return 1, Decimal(0), str(cell).casefold()
