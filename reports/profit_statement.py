"""State the profit by design, order, channel: its columns, its lines, how to read them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from offcut.reports.profit import ProfitReport, ProfitReports
from offcut.reports.profit_figures import Figures, together
from offcut.reports.profit_lines import Grouping, ProfitLine
from offcut.reports.profit_notes import elsewhere, reading
from offcut.reports.profit_sources import NO_SOURCES, ProfitSources
from offcut.reports.statement import (
    Bar,
    Cell,
    Chart,
    Check,
    Column,
    Headline,
    Line,
    Note,
    Statement,
    Table,
)

# Orders that are listed one by one, the latest of them.
ORDERS_ON_A_TERMINAL = 40
ORDERS_ON_A_PAGE = 400


class _Shown(NamedTuple):
    """How a kind of figure is shown: its column, and where it is in the figures."""

    column: Column
    key: str


# The amounts before the contribution add up to it; on a narrow terminal, carriage and
# charges stand for two columns each.
MAIN = (
    _Shown(Column("Units", "units", adds_up=True), "units"),
    _Shown(Column("Sales", adds_up=True), "sales"),
    _Shown(Column("Shipping", shown="wide", adds_up=True), "shipping"),
    _Shown(Column("Carriage", shown="narrow", adds_up=True), "carriage"),
    _Shown(Column("Fees", shown="wide", adds_up=True), "fees"),
    _Shown(Column("Post, pack", shown="wide", adds_up=True), "delivery"),
    _Shown(Column("Charges", shown="narrow", adds_up=True), "charges"),
    _Shown(Column("Goods", adds_up=True), "goods"),
    _Shown(Column("Other", shown="wide", adds_up=True), "rest"),
    _Shown(Column("Contribution", adds_up=True, is_result=True), "contribution"),
    _Shown(Column("Margin", "share"), "margin"),
)
DETAIL = (
    _Shown(Column("Units", "units", adds_up=True), "units"),
    _Shown(Column("Gross sales", adds_up=True), "gross"),
    _Shown(Column("Discounts", adds_up=True), "discounts"),
    _Shown(Column("Refunds", adds_up=True), "refunds"),
    _Shown(Column("Shipping", adds_up=True), "shipping"),
    _Shown(Column("Fees", adds_up=True), "fees"),
    _Shown(Column("Postage", adds_up=True), "postage"),
    _Shown(Column("Packaging", adds_up=True), "packaging"),
    _Shown(Column("Goods", adds_up=True), "goods"),
    _Shown(Column("Giveaways", adds_up=True), "giveaways"),
    _Shown(Column("Spoilage", adds_up=True), "spoilage"),
    _Shown(Column("Selling", adds_up=True), "selling"),
    _Shown(Column("Other", adds_up=True), "other"),
    _Shown(Column("Contribution", adds_up=True, is_result=True), "contribution"),
    _Shown(Column("Margin", "share"), "margin"),
    _Shown(Column("A piece", is_result=True), "each"),
    _Shown(Column("Hours", "number"), "hours"),
    _Shown(Column("An hour", is_result=True), "hourly"),
)
# How a line is named: an order by its number and day; on a narrow terminal, where names are
# cut short, a product by its commodity, as many begin with the same design. Fairs often
# differ at the end of their names only, in the year, and need the room.
NAMED: dict[Grouping, tuple[Column, ...]] = {
    "design": (Column("Design", "text"),),
    "product": (
        Column("Product", "text", shown="wide"),
        Column("Product", "text", shown="narrow"),
    ),
    "channel": (Column("Channel", "text"),),
    "event": (Column("Event", "text"),),
    "order": (
        Column("Order", "text"),
        Column("Date", "date"),
        Column("Channel", "text", shown="wide"),
    ),
}
TOO_WIDE: dict[Grouping, frozenset[str]] = {
    "event": frozenset({"units"}),
    "order": frozenset({"units", "margin"}),
}
# A share of what was sold in other lines says nothing of what belongs to none.
SHARES = frozenset({"margin", "each", "hours", "hourly"})


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
    tables = [_table(report, lines, MAIN, _title(grouping), slug, sources)]
    if detail and report.lines:
        title, slug = f"{_title(grouping)} in detail", f"{slug}-in-detail"
        # An order's sources are few, and stand below its first table.
        told = NO_SOURCES if grouping == "order" else sources
        tables.append(_table(report, lines, DETAIL, title, slug, told))
    if report.unallocated:
        tables.append(_unallocated(report, sources))
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


def _table(
    report: ProfitReport,
    lines: Sequence[ProfitLine],
    shown: Sequence[_Shown],
    title: str,
    slug: str,
    sources: ProfitSources,
) -> Table:
    """Return a table of a report with some kinds of figures."""
    is_main = shown is MAIN
    too_wide = TOO_WIDE.get(report.grouping, frozenset()) if is_main else frozenset()
    columns = [
        each.column._replace(shown="wide") if each.key in too_wide else each.column
        for each in shown
    ]
    return Table(
        title=title,
        columns=(*NAMED[report.grouping], *columns),
        lines=tuple(_lines(report, lines, shown, sources)),
        slug=slug,
        currency=report.currency,
        empty="No income and no costs on these days.",
        chart=_chart(report) if is_main and lines and report.grouping != "order" else None,
        in_bands=not is_main,
    )


def _lines(
    report: ProfitReport,
    lines: Sequence[ProfitLine],
    shown: Sequence[_Shown],
    sources: ProfitSources,
) -> Iterator[Line]:
    """Yield the lines, totals last."""
    grouping = report.grouping
    names = len(NAMED[grouping])
    keys = [each.key if each.column.adds_up else "" for each in shown]
    own: list[int] = []
    at = 0
    for line in lines:
        own.append(at)
        cells = (*_named(line, grouping), *_cells(line.figures, shown))
        told = sources.of_line(grouping, line).cells(cells, names, keys)
        yield Line(cells, code=line.code, sources=told)
        for part in line.parts:
            cells = (*_named(part, grouping), *_cells(part.figures, shown))
            told = sources.of_part(part).cells(cells, names, keys)
            yield Line(cells, "part", part.code, sources=told)
        at += 1 + len(line.parts)
    if not lines and not report.unallocated:
        return
    summed = own
    if report.unallocated:
        summed = []
        if lines:
            name = _named(ProfitLine(f"All {grouping}s", report.grouped), grouping)
            cells = (*name, *_cells(report.grouped, shown))
            yield Line(cells, "subtotal", sums=tuple(own))
            summed.append(at)
            at += 1
        loose = ProfitLine("Unallocated", report.unallocated_total)
        amounts = [
            None if each.key in SHARES else cell
            for each, cell in zip(shown, _cells(loose.figures, shown), strict=True)
        ]
        yield Line((*_named(loose, grouping), *amounts), "subtotal")
        summed.append(at)
    total = ProfitLine("Total", report.total)
    cells = (*_named(total, grouping), *_cells(total.figures, shown))
    yield Line(cells, "total", sums=tuple(summed))


def _named(line: ProfitLine, grouping: Grouping) -> tuple[Cell, ...]:
    """Return the cells that name a line."""
    match grouping:
        case "order":
            return line.name, line.date, line.channel
        case "product":
            return line.name, line.code or line.name
        case _:
            return (line.name,)


def _cells(figures: Figures, shown: Sequence[_Shown]) -> Iterator[Cell]:
    """Yield a line's figures."""
    return (getattr(figures, each.key) for each in shown)


def _chart(report: ProfitReport) -> Chart:
    return Chart(
        tuple(
            Bar(line.name, line.figures.income, line.figures.contribution)
            for line in report.lines
        ),
        whole="what buyers paid",
        part="contribution",
    )


def _unallocated(report: ProfitReport, sources: ProfitSources) -> Table:
    """Return the accounts of what is unallocated, and their amounts."""
    accounts = []
    for line in report.unallocated:
        cells = (line.name, line.figures.contribution)
        some = sources.of_unallocated(report.grouping, line)
        told = some.cells(cells, 1, ("contribution",))
        accounts.append(Line(cells, sources=told))
    if len(accounts) > 1:
        whole = ("Total", report.unallocated_total.contribution)
        accounts.append(Line(whole, "total", sums=tuple(range(len(accounts)))))
    return Table(
        title=f"Unallocated: belongs to no {report.grouping}",
        columns=(Column("Account", "text"), Column("Amount", adds_up=True)),
        lines=tuple(accounts),
        slug=f"unallocated-per-{report.grouping}",
        currency=report.currency,
    )
