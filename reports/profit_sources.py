"""Find what is behind the lines of a profit report: a row an order, a refund, a cost."""

from __future__ import annotations

import shlex
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NamedTuple

import pandas as pd

from offcut.reports.books import Books
from offcut.reports.drawing.page_length import FIRST_LINES, LAST_LINES
from offcut.reports.order_table import in_period
from offcut.reports.profit import ProfitReport, ProfitReports
from offcut.reports.profit_figures import Figures, figures_by
from offcut.reports.profit_lines import NO_CHANNEL, Grouping, ProfitLine
from offcut.reports.sources import (
    ALL_ORDERS,
    Behind,
    Transaction,
    behind,
    more_text,
    most_of,
    numbered_transactions,
    rest_of,
)
from offcut.reports.statement import Source
from offcut.reports.statement_cells import Cell
from offcut.reports.working_hours import WorkingHours, working_hours

SUMS: tuple[Grouping, ...] = ("design", "product", "channel", "event")
# No page lists more orders than these, the latest.
MOST_ORDERS = 400
SHARED = "its part of what its event and its channel cost"


class Told(NamedTuple):
    """A transaction behind a line, with what of it is in the line."""

    transaction: Transaction
    figures: Figures


@dataclass(frozen=True)
class LineSources:
    """What is behind a line.

    Attributes:
      told: The latest transactions, the latest first.
      left_out: How many more there are.
      see: How to see these.
      bears_more: Whether there is a part of costs in the line besides.
    """

    told: tuple[Told, ...] = ()
    left_out: int = 0
    see: str = ""
    bears_more: bool = False

    def cells(
        self, line: Sequence[Cell], names: int, keys: Sequence[str]
    ) -> tuple[Source, ...]:
        """Return it as sources of a line of a table.

        Args:
          line: The cells of the line.
          names: How many of these name it.
          keys: Where the others are in its figures; empty for one that does not add up.
        """
        if not self.told:
            return ()
        blank = [None] * (names - 1)
        shown = [
            Source(
                (
                    *(told.transaction.name, *blank),
                    *(getattr(told.figures, key) if key else None for key in keys),
                ),
                told.transaction.place,
            )
            for told in self.told
        ]
        if self.left_out:
            name = [more_text(self.left_out), *blank]
            shown.append(rest_of(line, shown, name, self.see, self.left_out))
        elif self.bears_more:
            rest = rest_of(line, shown, [SHARED, *blank], "", 1)
            if any(rest.cells[names:]):
                shown.append(rest)
        return tuple(shown)


@dataclass(frozen=True)
class ProfitSources:
    """What is behind the lines of all groupings.

    Attributes:
      lines: By grouping and the line's own key.
      parts: Of a design's products, by commodity.
      unallocated: Of what belongs to no line, by grouping and name.
    """

    lines: Mapping[tuple[Grouping, Hashable], LineSources] = field(default_factory=dict)
    parts: Mapping[Hashable, LineSources] = field(default_factory=dict)
    unallocated: Mapping[tuple[Grouping, Hashable], LineSources] = field(
        default_factory=dict
    )

    def of_line(self, grouping: Grouping, line: ProfitLine) -> LineSources:
        """Return what is behind a line of a report."""
        return self.lines.get((grouping, _key(grouping, line)), LineSources())

    def of_part(self, line: ProfitLine) -> LineSources:
        """Return what is behind a product of a design."""
        return self.parts.get(line.code, LineSources())

    def of_unallocated(self, grouping: Grouping, line: ProfitLine) -> LineSources:
        """Return what is behind an account of which nothing belongs to any line."""
        return self.unallocated.get((grouping, line.name), LineSources())


NO_SOURCES = ProfitSources()


def profit_sources(books: Books, reports: ProfitReports) -> ProfitSources:
    """Return what is behind the lines of profit reports.

    Args:
      books: The books that the reports are of.
      reports: The reports.
    """
    table = books.allocated(reports.rule)
    rows = in_period(table[table["currency"] == reports.currency], reports.period)
    hours = working_hours(books.entries, books.catalogue, reports.period)
    folder = books.path.resolve().parent
    # A product's design, and a design's own.
    designs = {item.design: item.design for item in books.catalogue.values()}
    designs |= {item.currency: item.design for item in books.catalogue.values()}

    numbers = numbered_transactions(rows)
    # Most lines stand in two tables.
    most = most_of(2 * sum(map(_count, reports.reports.values())))

    def lines_of(figure: pd.Series[str]) -> dict[Hashable, LineSources]:
        found = behind(rows, figure, folder, most, numbers)
        each: dict[Any, Figures] = figures_by(found.rows, ("figure", "at"), hours)
        return {
            key: LineSources(
                tuple(Told(found.transactions[at], each[key, at]) for at in positions),
                found.left_out.get(key, 0),
                _see(key, found, positions, designs),
            )
            for key, positions in found.figures.items()
        }

    lines: dict[tuple[Grouping, Hashable], LineSources] = {}
    unallocated: dict[tuple[Grouping, Hashable], LineSources] = {}
    parts: dict[Hashable, LineSources] = {}
    for grouping in SUMS:
        if grouping not in reports.reports:
            continue
        for key, some in lines_of(_of_page(rows[grouping], reports, grouping)).items():
            lines[grouping, key] = some
        for key, some in lines_of(_loose(rows, grouping)).items():
            unallocated[grouping, key] = some
    if "product" in reports.reports:
        parts = {key: some for (of, key), some in lines.items() if of == "product"}
    elif "design" in reports.reports:
        parts = lines_of(rows["product"])
    if "order" in reports.reports:
        for key, some in _of_orders(books, reports, hours, folder).items():
            lines["order", key] = some
    return ProfitSources(lines, parts, unallocated)


def _count(report: ProfitReport) -> int:
    """Return how many lines with sources a report has, but for orders."""
    if report.grouping == "order":
        return 0
    own = sum(1 + len(line.parts) for line in _shown(report))
    return len(report.unallocated) + own


def _shown(report: ProfitReport) -> Sequence[ProfitLine]:
    """Return the lines of a report that a page has."""
    if len(report.lines) <= FIRST_LINES + LAST_LINES:
        return report.lines
    return (*report.lines[:FIRST_LINES], *report.lines[-LAST_LINES:])


def _of_page(
    keys: pd.Series[str], reports: ProfitReports, grouping: Grouping
) -> pd.Series[str]:
    """Return the keys of lines that a page has; empty where a row is of none of them.

    Products are lines, and parts of designs too.
    """
    report = reports.reports[grouping]
    shown = _shown(report)
    if len(shown) == len(report.lines):
        return keys
    names = {_key(grouping, line) for line in shown}
    if grouping == "product" and "design" in reports.reports:
        designs = _shown(reports.reports["design"])
        names |= {part.code for line in designs for part in line.parts}
    return keys.where(keys.isin(names), "")


def _key(grouping: Grouping, line: ProfitLine) -> str:
    """Return what the rows of a line have for a key."""
    if grouping == "order":
        return _order_key(line.channel, line.name)
    return line.code if grouping == "product" and line.code else line.name


def _order_key(channel: str, order: str) -> str:
    """Return what tells an order apart: two channels may number theirs alike."""
    return f"{channel}\n{order}"


def _of_orders(
    books: Books, reports: ProfitReports, hours: WorkingHours, folder: Path
) -> dict[Hashable, LineSources]:
    """Return what is behind each order: itself, its label, its refund."""
    table = books.table_by(reports.rule)
    rows = table[(table["order"] != "") & (table["currency"] == reports.currency)]
    listed = {line.name for line in reports.reports["order"].lines[-MOST_ORDERS:]}
    rows = in_period(rows[rows["order"].isin(listed)], reports.period)
    found = behind(rows, rows["channel"] + "\n" + rows["order"], folder)
    each: dict[Any, Figures] = figures_by(found.rows, ("figure", "at"), hours)
    return {
        key: LineSources(
            tuple(Told(found.transactions[at], each[key, at]) for at in positions),
            found.left_out.get(key, 0),
            ALL_ORDERS,
            bears_more=True,
        )
        for key, positions in found.figures.items()
    }


def _loose(rows: pd.DataFrame, grouping: Grouping) -> pd.Series[str]:
    """Return the name of what belongs to no line; empty where a row is of a line."""
    channel = rows["channel"]
    of_channel = (channel + f", of no {grouping}").where(channel != "", NO_CHANNEL)
    if grouping == "channel":
        of_channel = of_channel.where(channel != "", NO_CHANNEL)
    name = rows["account"].where(rows["account"] != "", of_channel)
    return name.where(rows[grouping] == "", "")


def _see(
    key: Hashable, found: Behind, positions: list[int], designs: Mapping[str, str]
) -> str:
    """Return how to see the transactions that are not told."""
    if not found.left_out.get(key):
        return ""
    if design := designs.get(str(key)):
        month = f"{found.transactions[positions[-1]].date:%Y-%m}"
        return f"offcut trace {shlex.quote(f'{design} {month}')}, and months before"
    return ALL_ORDERS
