"""Make lines of a table of what things earned, in the columns of a profit report."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from offcut.reports.profit_figures import Figures, together
from offcut.reports.profit_table import MAIN
from offcut.reports.statement import Line
from offcut.reports.statement_cells import Cell, Column

# Pages and files show all columns but those of a narrow terminal.
SHOWN = tuple(each for each in MAIN if each.column.shown != "narrow")
COLUMNS: tuple[Column, ...] = tuple(each.column for each in SHOWN)
# Orders and steps in time that have a line each, the latest of them.
MOST_LINES = 200


class Earned(NamedTuple):
    """A line to be: what it is of, and what that earned.

    Attributes:
      names: The cells that name it.
      figures: What it comes to.
      code: The commodity, the link or the like that it is about.
    """

    names: tuple[Cell, ...]
    figures: Figures
    code: str = ""


def position(heading: str) -> int:
    """Return where a figure is among the columns.

    Args:
      heading: Its heading.
    """
    return [column.heading for column in COLUMNS].index(heading)


def by_contribution(lines: Iterable[Earned]) -> list[Earned]:
    """Return lines by contribution, the largest first, then by name.

    Args:
      lines: The lines.
    """
    return sorted(lines, key=lambda line: (-line.figures.contribution, str(line.names[0])))


def latest(lines: Sequence[Earned], what: str) -> list[Earned]:
    """Return the latest lines after one of all earlier ones, where there are many.

    Args:
      lines: The lines, the earliest first.
      what: What they are, in the plural.
    """
    left_out = len(lines) - MOST_LINES
    # One alone is not summed up: its own line is no longer.
    if left_out < 2:
        return list(lines)
    earlier = together(line.figures for line in lines[:left_out])
    blank = [None] * (len(lines[0].names) - 1)
    name = f"{left_out:,} earlier {what}"
    return [Earned((name, *blank), earlier), *lines[left_out:]]


def with_total(lines: Sequence[Earned]) -> Iterator[Line]:
    """Yield the lines of a table, and their total.

    Args:
      lines: The lines.
    """
    for line in lines:
        yield Line((*line.names, *_cells(line.figures)), code=line.code)
    if lines:
        whole = together(line.figures for line in lines)
        blank = [None] * (len(lines[0].names) - 1)
        cells = ("Total", *blank, *_cells(whole))
        yield Line(cells, "total", sums=tuple(range(len(lines))))


def _cells(figures: Figures) -> Iterator[Cell]:
    return (getattr(figures, each.key) for each in SHOWN)
