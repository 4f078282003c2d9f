"""Draw a table's steps in time for a page, with what they show in words."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import NamedTuple

from markupsafe import Markup

from offcut.importers.splitting import ZERO
from offcut.reports.drawing import time_charts
from offcut.reports.drawing.page_cells import page_cell
from offcut.reports.figures import plain
from offcut.reports.statement import Table
from offcut.reports.statement_cells import Cell, cell_text
from offcut.reports.statement_charts import Plot


class Small(NamedTuple):
    """The small charts of a table as the page has them.

    Attributes:
      svg: An SVG element.
      drawn: How many lines are in it.
      lines: How many lines there are.
    """

    svg: Markup
    drawn: int
    lines: int


def plotted(table: Table, plot: Plot) -> Markup:
    """Draw a table's lines as steps in time.

    Args:
      table: The table.
      plot: Which of its columns to draw.
    """
    label, column = table.columns[0], table.columns[plot.column]
    steps = [
        time_charts.Step(
            cell_text(line.cells[0], label, table.currency),
            _figure(line.cells[plot.column]),
            None if plot.beside is None else _figure(line.cells[plot.beside]),
        )
        for line in (table.lines[at] for at in plot.lines)
    ]
    drawn = [
        figure
        for step in steps
        for figure in (step.value, step.beside)
        if figure is not None
    ]
    highest, lowest = max(drawn, default=ZERO), min(drawn, default=ZERO)
    return Markup(
        time_charts.time_chart(
            steps,
            page_cell(highest, column, table.currency),
            page_cell(lowest, column, table.currency) if lowest < ZERO else "",
            f"{plain(plot.title)}, chart over time",
            _described(table, plot, steps),
        )
    )


def _described(table: Table, plot: Plot, steps: Sequence[time_charts.Step]) -> str:
    """Return what a chart shows, in sentences."""
    column = table.columns[plot.column]
    unit = f" in {plain(table.currency)}" if column.kind == "money" else ""
    beside = table.columns[plot.beside].heading.lower() if plot.beside else ""
    text = (
        f"{plain(plot.title)}{unit}: {len(steps)} upright bars from {steps[0].label} to "
        f"{steps[-1].label}{f', and {beside} as a line' if beside else ''}."
    )
    values = [(step.value, step.label) for step in steps if step.value is not None]
    if values:
        (low, when_low), (high, when_high) = min(values), max(values)
        text += (
            f" The lowest is {page_cell(low, column, table.currency)} in {when_low}, the "
            f"highest {page_cell(high, column, table.currency)} in {when_high}."
        )
    return f"{text} The table has all figures."


def small(table: Table) -> Small:
    """Draw the largest lines of a table whose columns are steps in time.

    Args:
      table: The table; it has a course.
    """
    assert table.course is not None
    columns = table.course.columns
    kind = table.columns[columns[0]]
    lines = [
        (line, [_figure(line.cells[at]) for at in columns])
        for line in table.lines
        if line.role == "line"
    ]
    sizes = {
        at: max((abs(figure) for figure in figures if figure is not None), default=ZERO)
        for at, (_, figures) in enumerate(lines)
    }
    largest = sorted(sizes, key=lambda at: -sizes[at])[: time_charts.MOST_SMALL]
    smalls = []
    for at in sorted(largest):
        line, figures = lines[at]
        highest = max((figure for figure in figures if figure is not None), default=None)
        label = "" if highest is None else page_cell(highest, kind, table.currency)
        name = cell_text(line.cells[0], table.columns[0], table.currency)
        smalls.append(time_charts.Small(name, tuple(figures), label))
    highest_of = "; ".join(f"{small.name} {small.label}" for small in smalls)
    first, last = (table.columns[at].heading for at in (columns[0], columns[-1]))
    description = (
        f"{len(smalls)} small charts of {len(columns)} upright bars each, from {first} to "
        f"{last}. The highest of each: {highest_of}. The table has all figures."
    )
    svg = time_charts.small_charts(
        smalls, f"{plain(table.title)}, small charts", description
    )
    return Small(Markup(svg), len(smalls), len(lines))


def _figure(cell: Cell) -> Decimal | None:
    return cell if isinstance(cell, Decimal) else None
