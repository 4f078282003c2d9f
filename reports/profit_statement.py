"""State the profit by design, order, channel: its tables, and how to read them."""

from __future__ import annotations

from collections.abc import Sequence

from offcut.reports.findings import losses
from offcut.reports.profit import ProfitReports
from offcut.reports.profit_figures import Figures, together
from offcut.reports.profit_lines import Grouping, ProfitLine
from offcut.reports.profit_notes import elsewhere, reading
from offcut.reports.profit_sources import NO_SOURCES, ProfitSources
from offcut.reports.profit_table import DETAIL, MAIN, profit_table, unallocated_table
from offcut.reports.statement import Check, Headline, Note, Statement

# Orders that are listed one by one, the latest of them.
ORDERS_ON_A_TERMINAL = 40
ORDERS_ON_A_PAGE = 400


def profit_statement(
    reports: ProfitReports,
    grouping: Grouping,
    detail: bool = False,
    most_orders: int | None = ORDERS_ON_A_TERMINAL,
    sources: ProfitSources = NO_SOURCES,
) -> Statement:
    """Return the statement of one grouping.

    Args:
      reports: The reports of the period.
      grouping: Which of them to state.
      detail: Whether to add the table of all columns.
      most_orders: How many orders to list one by one, the latest; all where it is None.
      sources: What is behind the lines, for a page to show.
    """
    report = reports.reports[grouping]
    lines, left_out = report.lines, 0
    if grouping == "order" and most_orders is not None:
        lines, left_out = _latest(lines, most_orders)
    slug = f"profit-per-{grouping}"
    tables = [profit_table(report, lines, MAIN, _title(grouping), slug, sources)]
    if detail and report.lines:
        title, slug = f"{_title(grouping)} in detail", f"{slug}-in-detail"
        # An order's sources are few, and stand below its first table.
        told = NO_SOURCES if grouping == "order" else sources
        tables.append(profit_table(report, lines, DETAIL, title, slug, told))
    if report.unallocated:
        tables.append(unallocated_table(report, sources))
    has_any = report.lines or report.unallocated
    notes = [*reading(reports, detail)] if has_any else []
    if left_out:
        notes.append(
            Note(
                f"Of {len(report.lines):,} orders the latest {len(lines) - 1:,} are "
                "listed; the earlier ones are summed up in the first line. --all lists "
                "every one, and so does the CSV file that `offcut report` writes."
            )
        )
    return Statement(
        title=_title(grouping),
        period=reports.period.label,
        tables=tuple(tables),
        headlines=_headlines(report.total),
        checks=(Check(report.tie.sentence, report.tie.holds),),
        notes=(*notes, *elsewhere(reports)),
        findings=tuple(losses(report)) if grouping == "design" else (),
    )


def _title(grouping: Grouping) -> str:
    return f"Profit per {grouping}"


def _latest(lines: Sequence[ProfitLine], most: int) -> tuple[tuple[ProfitLine, ...], int]:
    """Return the latest orders after one line of the earlier ones, and how many these are.

    One order alone is not summed up: its own line is no longer.
    """
    left_out = len(lines) - most
    if left_out < 2:
        return tuple(lines), 0
    earlier = together(line.figures for line in lines[:left_out])
    first = ProfitLine(f"{left_out:,} earlier", earlier)
    return (first, *lines[left_out:]), left_out


def _headlines(whole: Figures) -> tuple[Headline, ...]:
    """Return what all lines come to."""
    if not whole.income and not whole.contribution:
        return ()
    return (
        Headline("What buyers paid", whole.income),
        Headline("All costs and other income", whole.contribution - whole.income),
        Headline("Net income", whole.contribution),
    )
