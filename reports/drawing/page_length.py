"""Keep a page at a length that a browser opens and a reader gets through.

Of a long table the first lines stand on it, the last ones, and one line of all between, so
that its columns still add up. Of what is behind the lines as much is told as there is
room for. A sentence at the place says so.
"""

from __future__ import annotations

import decimal
from collections.abc import Iterable, Sequence
from dataclasses import replace
from decimal import Decimal

from offcut.importers.splitting import EXACT
from offcut.reports.sources import MOST_OF_A_PAGE, more_text, sum_of
from offcut.reports.statement import Line, Source, Statement, Table
from offcut.reports.statement_cells import Cell

# The lines of a table that stand on a page: the first, which earned most or are oldest, and
# the last, which lost most or are youngest.
FIRST_LINES, LAST_LINES = 400, 100
# What the sources of a line come down to where a page has too many.
FEWER = (20, 10, 5, 3, 1)
OWN = ("line", "part")


def at_length(statements: Iterable[Statement]) -> list[Statement]:
    """Return statements as a page has them.

    Args:
      statements: The statements.
    """
    return within(
        [
            replace(each, tables=tuple(with_lines_between(table) for table in each.tables))
            for each in statements
        ]
    )


def with_lines_between(
    table: Table, first: int = FIRST_LINES, last: int = LAST_LINES
) -> Table:
    """Return a table with its first lines, its last ones, and one of all between.

    A table that is drawn over time, a tree, or cards to be worked off stays whole.

    Args:
      table: The table.
      first: How many of its lines, but for totals, to keep before that line.
      last: How many after it.
    """
    lines = table.lines
    own = [at for at, line in enumerate(lines) if line.role in OWN]
    is_list = not table.has_cards and not table.plots and not any(map(_depth, lines))
    if len(own) <= first + last + 1 or not is_list:
        return table
    # A part stays with the line that it is part of.
    begin, end = (_whole(lines, own, at) for at in (first, len(own) - last))
    between = own[begin:end]
    if not between:
        return table
    kept = [*own[:begin], between[0], *own[end:]]
    kept += [at for at, line in enumerate(lines) if line.role not in OWN]
    number = sum(lines[at].role == "line" for at in between)
    rest = Line(_together(table, between, f"{number:,} more"))
    place = {at: kept.index(between[0]) for at in between}
    place |= {at: new for new, at in enumerate(kept)}
    return replace(
        table,
        lines=tuple(
            rest
            if at == between[0]
            else lines[at]._replace(
                sums=tuple(dict.fromkeys(place[each] for each in lines[at].sums))
            )
            for at in kept
        ),
        more=f"{number:,} lines between the first {begin:,} and the last "
        f"{len(own) - end:,} stand together in one; the CSV file that --csv FOLDER writes "
        "has each.",
    )


def _depth(line: Line) -> int:
    return line.depth


def _whole(lines: Sequence[Line], own: Sequence[int], at: int) -> int:
    """Return the position, from one on, at which no line is parted from its parts."""
    while at < len(own) and lines[own[at]].role == "part":
        at += 1
    return at


def _together(table: Table, between: Sequence[int], name: str) -> tuple[Cell, ...]:
    """Return the cells of one line for several, parts not counted again."""
    several = [table.lines[at] for at in between if table.lines[at].role == "line"]
    cells: list[Cell] = []
    with decimal.localcontext(EXACT):
        for at, column in enumerate(table.columns):
            numbers = [line.cells[at] for line in several]
            has_any = any(isinstance(number, Decimal) for number in numbers)
            cells.append(sum_of(numbers) if column.adds_up and has_any else None)
    cells[table.shown_columns(False)[0]] = name
    return tuple(cells)


def within(statements: Iterable[Statement], most: int = MOST_OF_A_PAGE) -> list[Statement]:
    """Return statements that tell no more sources than a page should have.

    What is not told any more is added up, so that each line's sources still come to it;
    where there are too many lines for that, some have no sources.

    Args:
      statements: The statements.
      most: How many sources they may have in all.
    """
    several = list(statements)
    for fewer in FEWER:
        if _count(several) <= most:
            return several
        several = [_map_lines(each, fewer) for each in several]
    # Too many lines for that: the longest tables tell the sources of their first lines.
    by_length = sorted(
        (_count([each]), at) for at, each in enumerate(several) if _count([each])
    )
    while by_length and (excess := _count(several) - most) > 0:
        count, at = by_length.pop()
        several[at] = _first_told(several[at], count - excess)
    return several


def _first_told(statement: Statement, most: int) -> Statement:
    """Return a statement of which only the first lines have sources."""
    left = most
    tables = []
    for table in statement.tables:
        lines, told, untold = [], 0, 0
        for line in table.lines:
            left -= len(line.sources)
            lines.append(line if left >= 0 else line._replace(sources=()))
            told += bool(lines[-1].sources)
            untold += bool(line.sources) and not lines[-1].sources
        if untold:
            # Fewer days have fewer lines.
            note = (
                f"This page has room for what is behind {told:,} of {told + untold:,} "
                "lines of this table; a report on fewer days has it of more."
            )
            table = replace(table, untold=note)
        tables.append(replace(table, lines=tuple(lines)))
    return replace(statement, tables=tuple(tables))


def _count(statements: Iterable[Statement]) -> int:
    return sum(
        len(line.sources)
        for statement in statements
        for table in statement.tables
        for line in table.lines
    )


def _map_lines(statement: Statement, most: int) -> Statement:
    """Return a statement whose lines have so many sources, and one for the rest."""
    return replace(
        statement,
        tables=tuple(
            replace(
                table, lines=tuple(_shortened(line, table, most) for line in table.lines)
            )
            for table in statement.tables
        ),
    )


def _shortened(line: Line, table: Table, most: int) -> Line:
    """Return a line with so many sources, and one for the rest."""
    if len(line.sources) <= most + 1:
        return line
    kept, rest = line.sources[:most], line.sources[most:]
    covers = sum(each.covers for each in rest)
    width = table.shown_columns(False)
    with decimal.localcontext(EXACT):
        cells: list[Cell] = [
            sum_of(amounts) if any(isinstance(cell, Decimal) for cell in amounts) else None
            for amounts in zip(*(each.cells for each in rest), strict=True)
        ]
    for at in range(width[0] + 1):
        cells[at] = more_text(covers)
    # The last says how to see what is not told, where there is more of that already.
    place = next((each.place for each in rest if each.covers != 1), "in the same way")
    return line._replace(sources=(*kept, Source(tuple(cells), place, covers)))
