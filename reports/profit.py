"""Group the order table into profit per design, product, order, channel and event."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from beancount.core import data

from offcut.importers.splitting import ZERO
from offcut.plugins.collector import collector_paused
from offcut.reports.allocation import Rule, read_allocation
from offcut.reports.books import Books
from offcut.reports.net_income import Tie
from offcut.reports.order_table import in_period as in_period
from offcut.reports.order_table import of_currency
from offcut.reports.period import Period
from offcut.reports.profit_figures import Figures, figures_by, together
from offcut.reports.profit_lines import Group, Grouping, ProfitLine, grouped_lines
from offcut.reports.profit_of_orders import lines_of_orders
from offcut.reports.working_hours import working_hours

ALL_GROUPINGS: tuple[Grouping, ...] = ("design", "product", "channel", "event", "order")
# What is reported where nothing else is asked for.
GROUPINGS: tuple[Grouping, ...] = ("design", "channel")


@dataclass(frozen=True)
class ProfitReport:
    """Profit by one grouping; every row of the period is in it exactly once.

    Attributes:
      grouping: What the lines are.
      currency: The currency of all amounts.
      lines: By contribution, then name; orders by date.
      grouped: The lines together.
      unallocated: What belongs to no line, by account.
      unallocated_total: That together.
      total: Everything.
      tie: The total held against the ledger.
    """

    grouping: Grouping
    currency: str
    lines: tuple[ProfitLine, ...]
    grouped: Figures
    unallocated: tuple[ProfitLine, ...]
    unallocated_total: Figures
    total: Figures
    tie: Tie


@dataclass(frozen=True)
class ProfitReports:
    """The reports on one period of one ledger.

    Attributes:
      title: The ledger's title.
      period: The days.
      currency: The currency of all.
      rule: By what shared costs are split.
      reports: The report of each grouping.
      elsewhere: The ledger's net income over the same days in other currencies.
      weightless: Products sold that say no weight, where costs are split by it.
      untimed: Products sold that were printed, nobody says in what time.
      has_minutes: Whether any print run says its minutes.
    """

    title: str
    period: Period
    currency: str
    rule: Rule
    reports: Mapping[Grouping, ProfitReport]
    elsewhere: Mapping[str, Decimal]
    weightless: tuple[str, ...] = ()
    untimed: tuple[str, ...] = ()
    has_minutes: bool = False


def profit_reports(
    entries: Iterable[data.Directive],
    options_map: Mapping[str, Any],
    period: Period,
    currency: str | None = None,
    groupings: Sequence[Grouping] = GROUPINGS,
    rule: Rule = "value",
) -> ProfitReports:
    """Report the profit of a loaded ledger; see `profit_of`.

    Args:
      entries: The ledger's directives, after its plugins.
      options_map: The ledger's options.
      period: The days to report on.
      currency: The currency; by default the ledger's first operating currency.
      groupings: What to report by.
      rule: By what shared costs are split.
    """
    return profit_of(Books(list(entries), options_map), period, currency, groupings, rule)


def profit_of(
    books: Books,
    period: Period,
    currency: str | None = None,
    groupings: Sequence[Grouping] = GROUPINGS,
    rule: Rule = "value",
) -> ProfitReports:
    """Report the profit of loaded books.

    Args:
      books: The books.
      period: The days to report on.
      currency: The currency; by default that of the books.
      groupings: What to report by.
      rule: By what the lines of an order share its costs, and what was sold those of its
        event and its channel.
    """
    with collector_paused():
        return _reports(books, period, currency or books.currency, groupings, rule)


def _reports(
    books: Books,
    period: Period,
    currency: str,
    groupings: Sequence[Grouping],
    rule: Rule,
) -> ProfitReports:
    """Report as `profit_of` says."""
    incomes = books.net_income(period)
    ledger = incomes.pop(currency, ZERO)
    hours = working_hours(books.entries, books.catalogue, period)
    names = {item.currency: item.name for item in books.catalogue.values()}

    table = books.allocated(rule)
    mine = in_period(of_currency(table, currency), period)
    groups = {
        Group(*key): figures
        for key, figures in figures_by(mine, Group._fields, hours).items()
    }
    reports: dict[Grouping, ProfitReport] = {}
    for grouping in groupings:
        if grouping == "order":
            lines, unallocated = lines_of_orders(books, period, currency, rule, hours)
        else:
            lines, unallocated = grouped_lines(groups, grouping, names)
        reports[grouping] = _report(grouping, currency, lines, unallocated, ledger)
    sold = {group.product for group, figures in groups.items() if figures.units} - {""}
    allocation = read_allocation(books.entries, rule)
    return ProfitReports(
        title=str(books.options.get("title") or ""),
        period=period,
        currency=currency,
        rule=rule,
        reports=reports,
        elsewhere=dict(sorted(incomes.items())),
        weightless=tuple(sorted(sold - allocation.grams.keys()))
        if rule == "weight"
        else (),
        untimed=tuple(sorted(sold & hours.unknown)),
        has_minutes=bool(hours.minutes),
    )


def _report(
    grouping: Grouping,
    currency: str,
    lines: tuple[ProfitLine, ...],
    unallocated: tuple[ProfitLine, ...],
    ledger: Decimal,
) -> ProfitReport:
    """Return a report with its totals."""
    grouped = together(line.figures for line in lines)
    unallocated_total = together(line.figures for line in unallocated)
    total = together([grouped, unallocated_total])
    return ProfitReport(
        grouping=grouping,
        currency=currency,
        lines=lines,
        grouped=grouped,
        unallocated=unallocated,
        unallocated_total=unallocated_total,
        total=total,
        tie=Tie(total.contribution, ledger, currency),
    )
