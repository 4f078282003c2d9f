"""Tell the trend of designs or channels: against the year before, and over time."""

from __future__ import annotations

import decimal
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import NamedTuple

import pandas as pd

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.line_sources import Amounts, in_sums
from offcut.reports.months import Month, month_of
from offcut.reports.sources import Transaction
from offcut.reports.spans import Span, Spans, spans_of
from offcut.reports.statement import Line, Role, Source, Table
from offcut.reports.statement_cells import Cell, Column, Kind, Shown
from offcut.reports.statement_charts import Course
from offcut.reports.trend import NONE, Compared, TrendLine, TrendReport
from offcut.reports.trend_comparison import (
    MEASURES,
    YEAR,
    KnownTrend,
    Measure,
    compared_cells,
    comparison,
)
from offcut.reports.trend_sources import (
    LOOSE,
    MOST_OF_A_YEAR,
    MOST_OVER_TIME,
    OTHERS,
    how_to_see,
    names_behind,
)

# Columns side by side: on a page, and on a narrow terminal.
ABREAST, ABREAST_NARROW = 12, 4
CellsOfLine = Callable[[TrendLine], tuple[Cell, ...]]


class _Told(NamedTuple):
    """A line of every table of designs or channels.

    Attributes:
      line: Its figures, and its name.
      role: What it is among the others.
      key: What its sources go by; empty where it is the sum of other lines.
    """

    line: TrendLine
    role: Role
    key: str = ""


class _Behind(NamedTuple):
    """What is behind the lines of a table.

    Attributes:
      amounts: What each transaction makes of them.
      cells: What gives the cells of a source that follow its name.
      see: How to see what is not told of a line.
    """

    amounts: Amounts
    cells: Callable[[Transaction, Sequence[Decimal]], tuple[Cell, ...]]
    see: Callable[[str], str]

    def sources(self, told: _Told, line: Sequence[Cell]) -> tuple[Source, ...]:
        """Return the sources of a line."""
        if not told.key:
            return ()
        return self.amounts.sources(told.key, line, self.cells, self.see(told.key))


def name_tables(
    trend: KnownTrend, rows: pd.DataFrame, folder: Path, title: str, largest: int
) -> Iterator[Table]:
    """Yield the tables of designs or channels: against last year, and over time.

    Args:
      trend: The trend of designs or channels.
      rows: The rows of the order table that it is of.
      folder: The main ledger's, from which files are named.
      title: The title of the first table, where it is of all months.
      largest: How many designs or channels have a line each.
    """
    lines = list(_lines(trend.report, largest))
    grouping, at = trend.report.grouping, trend.last_year
    shown = {told.key for told in lines}
    last_months = [trend.months[each] for each in at]
    columns = comparison()

    def see(key: str) -> str:
        return how_to_see("" if key in (OTHERS, LOOSE) else grouping, key, trend.months)

    def behind(months: Sequence[Month], most: int) -> Amounts:
        return names_behind(rows, months, grouping, shown, folder, most)

    of_year = _Behind(
        behind(last_months, MOST_OF_A_YEAR),
        lambda _, amounts: in_sums(columns, amounts),
        see,
    )
    yield Table(
        title=f"Last twelve months per {grouping}" if len(trend.months) > YEAR else title,
        columns=(Column(grouping.capitalize(), "text"), *columns),
        lines=_told(lines, lambda line: compared_cells(trend.versus(line, at)), of_year),
        slug=f"trend-per-{grouping}",
        currency=trend.report.currency,
    )
    if len(trend.months) < 2:
        return
    wide, narrow = (spans_of(trend.months, most) for most in (ABREAST, ABREAST_NARROW))
    amounts = behind(trend.months, MOST_OVER_TIME)
    for number, measure in enumerate(MEASURES):
        yield _over_time(trend, lines, (number, measure), (wide, narrow), (amounts, see))


def _lines(report: TrendReport, largest: int) -> Iterator[_Told]:
    """Yield the largest lines, the others as one, and totals."""
    named = [line for line in report.lines if line.name != NONE]
    loose = [line for line in report.lines if line.name == NONE]
    # By what they earned or lost, this year or last: what has stopped is told too.
    by_size = sorted(named, key=_size, reverse=True)
    shown = {line.name for line in by_size[:largest]}
    rest = report.total
    for line in (*loose, *(line for line in named if line.name in shown)):
        rest = _without(rest, line, "")
    for line in named:
        if line.name in shown:
            yield _Told(line, "line", line.name)
    if len(named) > len(shown):
        name = f"{len(named) - len(shown):,} other {report.grouping}s"
        yield _Told(replace(rest, name=name), "line", OTHERS)
    for line in loose:
        if named:
            grouped = _without(report.total, line, f"All {report.grouping}s")
            yield _Told(grouped, "subtotal")
        yield _Told(replace(line, name="Unallocated"), "subtotal", LOOSE)
    yield _Told(replace(report.total, name="Total"), "total")


def _size(line: TrendLine) -> Decimal:
    total = line.total
    return max(abs(total.earned.contribution), abs(total.last_year.contribution))


def _without(line: TrendLine, other: TrendLine, name: str) -> TrendLine:
    """Return a line less another."""
    return TrendLine(
        name,
        tuple(map(_less, line.months, other.months)),
        _less(line.total, other.total),
    )


def _less(one: Compared, other: Compared) -> Compared:
    return Compared(one.earned.minus(other.earned), one.last_year.minus(other.last_year))


def _told(lines: Sequence[_Told], cells: CellsOfLine, behind: _Behind) -> tuple[Line, ...]:
    """Return lines of a table, each total with what it sums."""
    plain = tuple(at for at, each in enumerate(lines) if each.role == "line")
    subtotals = tuple(at for at, each in enumerate(lines) if each.role == "subtotal")
    sums = {
        at: subtotals or plain if each.role == "total" else plain
        for at, each in enumerate(lines)
        if each.role == "total" or (each.role == "subtotal" and len(subtotals) > 1)
    }
    # What is unallocated is no sum, and stands right before the total.
    if subtotals:
        sums.pop(subtotals[-1], None)
    found = []
    for at, told in enumerate(lines):
        line = (told.line.name, *cells(told.line))
        sources = behind.sources(told, line)
        found.append(Line(line, told.role, sums=sums.get(at, ()), sources=sources))
    return tuple(found)


def _over_time(
    trend: KnownTrend,
    lines: Sequence[_Told],
    followed: tuple[int, Measure],
    spans: tuple[Spans, Spans],
    behind: tuple[Amounts, Callable[[str], str]],
) -> Table:
    """Return the table of one figure, of which each span is a column.

    On a narrow terminal longer spans stand for the months.
    """
    number, measure = followed
    wide, narrow = spans
    in_bands = narrow.spans == wide.spans or len(narrow.spans) > ABREAST_NARROW
    shown: list[tuple[Span, Shown]] = [
        (span, "always" if in_bands else "wide") for span in wide.spans
    ]
    if not in_bands:
        shown += [(span, "narrow") for span in narrow.spans]
    unit: Kind = "money" if measure.is_money else "units"
    is_result = measure.name == "contribution"
    place = {month_of(month.first): at for at, month in enumerate(trend.months)}

    def cells(line: TrendLine) -> tuple[Cell, ...]:
        figures = [measure.of(month.earned) for month in line.months]
        with decimal.localcontext(EXACT):
            sums = [sum((figures[at] for at in span.at), ZERO) for span, _ in shown]
            return (*sums, sum(figures, ZERO))

    def of_source(transaction: Transaction, amounts: Sequence[Decimal]) -> tuple[Cell, ...]:
        at, amount = place[month_of(transaction.date)], amounts[number]
        return (*(amount if at in span.at else None for span, _ in shown), amount)

    columns = [
        Column(span.label, unit, where, adds_up=True, is_result=is_result)
        for span, where in shown
    ]
    steps = tuple(range(1, len(wide.spans) + 1))
    name, grouping = measure.name.capitalize(), trend.report.grouping
    amounts_of_lines, see = behind
    return Table(
        title=f"{name} per {grouping}",
        columns=(
            Column(grouping.capitalize(), "text"),
            *columns,
            Column("Total", unit, adds_up=True, is_result=is_result),
        ),
        lines=_told(lines, cells, _Behind(amounts_of_lines, of_source, see)),
        slug=f"trend-{measure.name}-per-{grouping}",
        currency=trend.report.currency if measure.is_money else "",
        course=Course(f"By {wide.unit}", steps) if len(steps) > 2 else None,
        in_bands=in_bands,
    )
