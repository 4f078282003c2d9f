"""Put profit into tables: their columns, their lines, and what is behind these."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from offcut.reports.profit import ProfitReport
from offcut.reports.profit_figures import Figures
from offcut.reports.profit_lines import Grouping, ProfitLine
from offcut.reports.profit_sources import ProfitSources
from offcut.reports.statement import Line, Table
from offcut.reports.statement_cells import Cell, Column
from offcut.reports.statement_charts import Bar, Chart


class Shown(NamedTuple):
    """How a kind of figure is shown: its column, and where it is in the figures."""

    column: Column
    key: str


# The amounts before the contribution add up to it; on a narrow terminal, carriage and
# charges stand for two columns each.
MAIN = (
    Shown(Column("Units", "units", adds_up=True), "units"),
    Shown(Column("Sales", adds_up=True), "sales"),
    Shown(Column("Shipping", shown="wide", adds_up=True), "shipping"),
    Shown(Column("Carriage", shown="narrow", adds_up=True), "carriage"),
    Shown(Column("Fees", shown="wide", adds_up=True), "fees"),
    Shown(Column("Post, pack", shown="wide", adds_up=True), "delivery"),
    Shown(Column("Charges", shown="narrow", adds_up=True), "charges"),
    Shown(Column("Goods", adds_up=True), "goods"),
    Shown(Column("Other", shown="wide", adds_up=True), "rest"),
    Shown(Column("Contribution", adds_up=True, is_result=True), "contribution"),
    Shown(Column("Margin", "share"), "margin"),
)
DETAIL = (
    Shown(Column("Units", "units", adds_up=True), "units"),
    Shown(Column("Gross sales", adds_up=True), "gross"),
    Shown(Column("Discounts", adds_up=True), "discounts"),
    Shown(Column("Refunds", adds_up=True), "refunds"),
    Shown(Column("Shipping", adds_up=True), "shipping"),
    Shown(Column("Fees", adds_up=True), "fees"),
    Shown(Column("Postage", adds_up=True), "postage"),
    Shown(Column("Packaging", adds_up=True), "packaging"),
    Shown(Column("Goods", adds_up=True), "goods"),
    Shown(Column("Giveaways", adds_up=True), "giveaways"),
    Shown(Column("Spoilage", adds_up=True), "spoilage"),
    Shown(Column("Selling", adds_up=True), "selling"),
    Shown(Column("Other", adds_up=True), "other"),
    Shown(Column("Contribution", adds_up=True, is_result=True), "contribution"),
    Shown(Column("Margin", "share"), "margin"),
    Shown(Column("A piece", is_result=True), "each"),
    Shown(Column("Hours", "number"), "hours"),
    Shown(Column("An hour", is_result=True), "hourly"),
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


def profit_table(
    report: ProfitReport,
    lines: Sequence[ProfitLine],
    shown: Sequence[Shown],
    title: str,
    slug: str,
    sources: ProfitSources,
) -> Table:
    """Return a table of a report with some kinds of figures.

    Args:
      report: The report.
      lines: Those of its lines that stand in the table.
      shown: The kinds of figures: MAIN or DETAIL.
      title: The title of the table.
      slug: Its name in files.
      sources: What is behind the lines.
    """
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
        folded=not is_main,
    )


def _lines(
    report: ProfitReport,
    lines: Sequence[ProfitLine],
    shown: Sequence[Shown],
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


def _cells(figures: Figures, shown: Sequence[Shown]) -> Iterator[Cell]:
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


def unallocated_table(report: ProfitReport, sources: ProfitSources) -> Table:
    """Return the accounts of what is unallocated, and their amounts.

    Args:
      report: The report.
      sources: What is behind them.
    """
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
