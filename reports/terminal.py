"""Print the profit reports on a terminal of 80 columns, or into a pipe.

Where all columns are too wide, carriage and charges stand for two columns each. Names
are shortened to fit; numbers never are.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from rich import box
from rich.cells import cell_len
from rich.console import Console
from rich.table import Table
from rich.text import Text

from offcut.reports.figures import money, plain
from offcut.reports.profit import Figures, Grouping, ProfitReport, ProfitReports
from offcut.reports.splitting import ZERO
from offcut.reports.wording import (
    HEADINGS,
    NARROW_HEADINGS,
    NARROW_READING,
    READING,
    ROUNDING,
    TITLES,
    UNALLOCATED_TITLES,
    figure,
    rounding_shows,
)

ENOUGH_FOR_A_NAME = 16
INDENT = "  "


class _Columns(NamedTuple):
    """The columns of a table: their headings, the gap before each, how to read them."""

    headings: Mapping[str, str]
    gap: int
    reading: str


ALL_COLUMNS = _Columns(HEADINGS, gap=2, reading=READING)
FEWER_COLUMNS = _Columns(NARROW_HEADINGS, gap=1, reading=NARROW_READING)


class _Row(NamedTuple):
    """A line of the table; `ruled` says that a rule follows it."""

    name: str
    figures: Figures
    style: str = ""
    ruled: bool = False
    has_margin: bool = True

    def text(self, name: str, currency: str) -> str:
        """Return a figure as text."""
        if name == "margin" and not self.has_margin:
            return ""
        return figure(self.figures, name, currency)


def print_reports(
    console: Console, reports: ProfitReports, groupings: Sequence[Grouping]
) -> None:
    """Print reports, each with its tie to the ledger.

    Args:
      console: Where to print; its width decides how.
      reports: The reports.
      groupings: Which of them to print, in this order.
    """
    printed = [reports.reports[grouping] for grouping in groupings]
    fit = all(_width(report, ALL_COLUMNS) <= console.width for report in printed)
    columns = ALL_COLUMNS if fit else FEWER_COLUMNS
    # Rather wider than the terminal than with a number cut short.
    console.width = max(console.width, *(_width(report, columns) for report in printed))
    for report in printed:
        _print_report(console, reports.period.label, report, columns)
    if any(report.lines for report in printed):
        console.print(Text(columns.reading, style="dim"))
    if any(rounding_shows(report) for report in printed):
        console.print(Text(ROUNDING, style="dim"))
    for currency, amount in reports.elsewhere.items():
        code = plain(currency)
        console.print(
            Text(
                f"Besides, the ledger has {money(amount, currency)} {code} of net income "
                f"on these days; --currency {code} reports on it."
            )
        )


def _print_report(
    console: Console, period: str, report: ProfitReport, columns: _Columns
) -> None:
    """Print one report."""
    heading = f"{period}, in {plain(report.currency)}" if report.currency else period
    console.print(Text(f"{TITLES[report.grouping]}, {heading}", style="bold"))
    if not report.lines and not report.unallocated:
        console.print(Text("No income and no costs on these days.\n"))
        return
    console.print()
    console.print(_table(report, columns, console.width))
    if report.unallocated:
        console.print()
        console.print(Text(UNALLOCATED_TITLES[report.grouping]))
        console.print(_unallocated(report))
    console.print()
    console.print(Text(report.tie.sentence, style="" if report.tie.holds else "bold red"))
    console.print()


def _rows(report: ProfitReport) -> Iterator[_Row]:
    """Yield the lines of a report, totals last."""
    lines = [
        _Row(indent + plain(name), figures)
        for line in report.lines
        for indent, name, figures in [
            ("", line.name, line.figures),
            *((INDENT, part.code or part.name, part.figures) for part in line.parts),
        ]
    ]
    if lines:
        yield from lines[:-1]
        yield lines[-1]._replace(ruled=True)
    if report.unallocated:
        if lines:
            yield _Row(f"All {report.grouping}s", report.grouped)
        yield _Row("Unallocated", report.unallocated_total, ruled=True, has_margin=False)
    yield _Row("Total", report.total, style="bold")


def _widths(report: ProfitReport, columns: _Columns) -> list[int]:
    """Return the width of each column of figures, with the gap before it."""
    rows = list(_rows(report))
    return [
        columns.gap
        + max(
            cell_len(heading), *(cell_len(row.text(name, report.currency)) for row in rows)
        )
        for name, heading in columns.headings.items()
    ]


def _longest_name(report: ProfitReport) -> int:
    return max(
        cell_len(name) for name in (report.grouping, *(r.name for r in _rows(report)))
    )


def _width(report: ProfitReport, columns: _Columns) -> int:
    """Return the least width of a report's table."""
    least_for_names = min(_longest_name(report), ENOUGH_FOR_A_NAME)
    return least_for_names + sum(_widths(report, columns))


def _table(report: ProfitReport, columns: _Columns, width: int) -> Table:
    """Return the table of a report."""
    widths = _widths(report, columns)
    name_width = min(_longest_name(report), width - sum(widths))
    # A column's divider is one of the blanks of the gap before it.
    table = Table(box=box.HORIZONTALS, show_edge=False, padding=0, pad_edge=False)
    what = report.grouping.capitalize()
    table.add_column(what, width=name_width, no_wrap=True, overflow="ellipsis")
    for heading, column in zip(columns.headings.values(), widths, strict=True):
        table.add_column(heading, width=column - 1, justify="right", no_wrap=True)
    for row in _rows(report):
        table.add_row(
            Text(row.name),
            *(_cell(row, name, report.currency) for name in columns.headings),
            style=row.style,
            end_section=row.ruled,
        )
    return table


def _cell(row: _Row, name: str, currency: str) -> Text:
    """Return a figure; a loss is red besides its minus sign."""
    loss = name == "contribution" and row.figures.contribution < ZERO
    return Text(row.text(name, currency), style="red" if loss else "")


def _unallocated(report: ProfitReport) -> Table:
    """Return the accounts of what is unallocated, and their amounts."""
    table = Table.grid(padding=(0, 0, 0, 2))
    table.add_column(overflow="fold")
    table.add_column(justify="right", no_wrap=True)
    for line in report.unallocated:
        amount = money(line.figures.contribution, report.currency)
        table.add_row(Text(plain(line.name)), Text(amount))
    return table
