"""State the profit by design and by channel: its columns, its lines, how to read them."""

from __future__ import annotations

from collections.abc import Iterator

from offcut.reports.figures import money, plain
from offcut.reports.profit import (
    Figures,
    Grouping,
    ProfitReport,
    ProfitReports,
)
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

TITLES: dict[Grouping, str] = {
    "design": "Profit per design",
    "channel": "Profit per channel",
}
UNALLOCATED_TITLES: dict[Grouping, str] = {
    "design": "Unallocated: belongs to no design",
    "channel": "Unallocated: belongs to no channel",
}
# The amounts before the contribution add up to it; on a narrow terminal, carriage and
# charges stand for two columns each.
COLUMNS = {
    "units": Column("Units", "units", adds_up=True),
    "sales": Column("Sales", adds_up=True),
    "shipping": Column("Shipping", shown="wide", adds_up=True),
    "carriage": Column("Carriage", shown="narrow", adds_up=True),
    "fees": Column("Fees", shown="wide", adds_up=True),
    "delivery": Column("Post, pack", shown="wide", adds_up=True),
    "charges": Column("Charges", shown="narrow", adds_up=True),
    "goods": Column("Goods", adds_up=True),
    "other": Column("Other", shown="wide", adds_up=True),
    "contribution": Column("Contribution", adds_up=True, is_result=True),
    "margin": Column("Margin", "share"),
}
_SIGNS = (
    "Costs are negative, so a line adds up to its contribution. Sales are after discounts "
    "and refunds; "
)
_MARGIN = (
    "goods is the cost of what was sold. Margin is the contribution's share of sales and "
    "shipping. An unallocated sale stands here after its share of its order's fees, "
    "shipping and postage."
)
READING = (
    Note(
        f"{_SIGNS}shipping is what buyers were charged for it; post, pack is postage and "
        f"packaging; {_MARGIN}",
        "wide",
    ),
    Note(
        f"{_SIGNS}carriage is shipping charged to buyers less postage and packaging; "
        f"charges are fees and all other costs; {_MARGIN} A terminal of 110 columns or the "
        "page that `offcut report` writes shows each by itself.",
        "narrow",
    ),
)


def profit_statement(reports: ProfitReports, grouping: Grouping) -> Statement:
    """Return the statement of one grouping.

    Args:
      reports: The reports of the period.
      grouping: Which of them to state.
    """
    report = reports.reports[grouping]
    tables = [_table(report)]
    if report.unallocated:
        tables.append(_unallocated(report))
    notes = READING if report.lines else ()
    return Statement(
        title=TITLES[grouping],
        period=reports.period.label,
        tables=tuple(tables),
        headlines=_headlines(report.total),
        checks=(Check(report.tie.sentence, report.tie.holds),),
        notes=(*notes, *_elsewhere(reports)),
    )


def _headlines(whole: Figures) -> tuple[Headline, ...]:
    """Return what all lines come to."""
    if not whole.income and not whole.contribution:
        return ()
    return (
        Headline("What buyers paid", whole.income),
        Headline("All costs and other income", whole.contribution - whole.income),
        Headline("Net income", whole.contribution),
    )


def _table(report: ProfitReport) -> Table:
    """Return the table of a report."""
    lines = list(_lines(report))
    return Table(
        title=TITLES[report.grouping],
        columns=(Column(report.grouping.capitalize(), "text"), *COLUMNS.values()),
        lines=tuple(lines),
        slug=f"profit-per-{report.grouping}",
        currency=report.currency,
        empty="No income and no costs on these days.",
        chart=_chart(report) if report.lines else None,
    )


def _lines(report: ProfitReport) -> Iterator[Line]:
    """Yield the lines, totals last."""
    own: list[int] = []
    at = 0
    for line in report.lines:
        own.append(at)
        yield Line(_cells(line.name, line.figures), code=line.code)
        for part in line.parts:
            yield Line(_cells(part.name, part.figures), "part", part.code)
        at += 1 + len(line.parts)
    if not report.lines and not report.unallocated:
        return
    summed = own
    if report.unallocated:
        summed = []
        if report.lines:
            name = f"All {report.grouping}s"
            yield Line(_cells(name, report.grouped), "subtotal", sums=tuple(own))
            summed.append(at)
            at += 1
        # A share of what was sold in other lines says nothing of these.
        cells = _cells("Unallocated", report.unallocated_total)
        yield Line((*cells[:-1], None), "subtotal")
        summed.append(at)
    yield Line(_cells("Total", report.total), "total", sums=tuple(summed))


def _cells(name: str, figures: Figures) -> tuple[Cell, ...]:
    return (name, *(getattr(figures, key) for key in COLUMNS))


def _chart(report: ProfitReport) -> Chart:
    return Chart(
        tuple(
            Bar(line.name, line.figures.income, line.figures.contribution)
            for line in report.lines
        ),
        whole="what buyers paid",
        part="contribution",
    )


def _unallocated(report: ProfitReport) -> Table:
    """Return the accounts of what is unallocated, and their amounts."""
    accounts = [Line((line.name, line.figures.contribution)) for line in report.unallocated]
    if len(accounts) > 1:
        whole = ("Total", report.unallocated_total.contribution)
        accounts.append(Line(whole, "total", sums=tuple(range(len(accounts)))))
    return Table(
        title=UNALLOCATED_TITLES[report.grouping],
        columns=(Column("Account", "text"), Column("Amount", adds_up=True)),
        lines=tuple(accounts),
        slug=f"unallocated-per-{report.grouping}",
        currency=report.currency,
    )


def _elsewhere(reports: ProfitReports) -> Iterator[Note]:
    """Yield what the ledger has in other currencies."""
    for currency, amount in reports.elsewhere.items():
        code = plain(currency)
        yield Note(
            f"Besides, the ledger has {money(amount, currency)} {code} of net income on "
            f"these days, which is not in these figures; --currency {code} reports on it."
        )
