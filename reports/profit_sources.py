"""Find what is behind the lines of a profit report: a row an order, a refund, a cost."""

from __future__ import annotations

import shlex
from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

import pandas as pd

from offcut.reports.books import Books
from offcut.reports.order_table import in_period
from offcut.reports.profit import ProfitReports
from offcut.reports.profit_figures import Figures, figures_by
from offcut.reports.profit_lines import NO_CHANNEL, Grouping, ProfitLine
from offcut.reports.sources import ALL_ORDERS, Behind, Transaction, behind
from offcut.reports.working_hours import working_hours

# Lines of orders are their own sources, one by one; all others are sums.
SOURCED: tuple[Grouping, ...] = ("design", "product", "channel", "event")


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
    """

    told: tuple[Told, ...] = ()
    left_out: int = 0
    see: str = ""


@dataclass(frozen=True)
class ProfitSources:
    """What is behind the lines of all groupings but orders.

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
        key = line.code if grouping == "product" and line.code else line.name
        return self.lines.get((grouping, key), LineSources())

    def of_part(self, line: ProfitLine) -> LineSources:
        """Return what is behind a product of a design."""
        return self.parts.get(line.code, LineSources())

    def of_unallocated(self, grouping: Grouping, line: ProfitLine) -> LineSources:
        """Return what is behind an account of which nothing belongs to any line."""
        return self.unallocated.get((grouping, line.name), LineSources())


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
    designs = {item.currency: item.design for item in books.catalogue.values()}

    def lines_of(figure: pd.Series[str]) -> dict[Hashable, LineSources]:
        found = behind(rows, figure, folder)
        each = figures_by(found.rows, ("figure", "at"), hours)
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
    for grouping in SOURCED:
        if grouping not in reports.reports:
            continue
        for key, some in lines_of(rows[grouping]).items():
            lines[grouping, key] = some
        for key, some in lines_of(_loose(rows, grouping)).items():
            unallocated[grouping, key] = some
        if grouping == "design":
            parts = lines_of(rows["product"])
    return ProfitSources(lines, parts, unallocated)


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
    design = designs.get(str(key), str(key))
    if design in designs.values():
        month = f"{found.transactions[positions[-1]].date:%Y-%m}"
        return f"offcut trace {shlex.quote(f'{design} {month}')}, and months before"
    return ALL_ORDERS
