"""State the trend: month by month, and beside the same days of the year before."""

from __future__ import annotations

import datetime
from collections.abc import Iterator

import pandas as pd

from offcut.importers.splitting import ZERO
from offcut.reports.books import Books
from offcut.reports.order_table import of_currency
from offcut.reports.other_currencies import other_currencies
from offcut.reports.period import Period, long_date
from offcut.reports.statement import Check, Note, Statement, Table
from offcut.reports.statement_cells import Column
from offcut.reports.trend import NONE, Grouping, trend_report
from offcut.reports.trend_by_month import months_table
from offcut.reports.trend_by_name import name_tables
from offcut.reports.trend_comparison import KnownTrend

TITLES: dict[Grouping, str] = {
    "all": "Trend",
    "design": "Trend per design",
    "channel": "Trend per channel",
}
# So many designs have a line each; the others are one line together.
LARGEST = 30


def trend_statement(
    books: Books,
    period: Period,
    currency: str,
    grouping: Grouping,
    today: datetime.date,
    largest: int = LARGEST,
) -> Statement:
    """Return the statement of the months of a period.

    Args:
      books: The books.
      period: The days.
      currency: The currency of all amounts.
      grouping: What the lines are: designs, channels, or the months of all.
      today: The day that the month in progress is known by.
      largest: How many designs or channels have a line each.
    """
    table = of_currency(books.allocated("value"), currency)
    incomes = books.net_income(period)
    ledger = incomes.get(currency, ZERO)
    known = _known_days(table, period, today)
    report = trend_report(table, grouping, known, today, currency, ledger)
    begin = table["date"].iloc[0] if len(table) else datetime.date.max
    trend = KnownTrend(report, begin, today)
    folder = books.path.resolve().parent
    tables: list[Table]
    if not trend.report.lines:
        empty = "No income and no costs on these days."
        heading = Column("Month", "month")
        tables = [Table(TITLES[grouping], (heading,), (), f"trend-{grouping}", empty=empty)]
    elif grouping == "all":
        tables = [months_table(trend, table, folder, TITLES[grouping])]
    else:
        tables = list(name_tables(trend, table, folder, TITLES[grouping], largest))
    return Statement(
        title=TITLES[grouping],
        period=period.label,
        tables=tuple(tables),
        checks=(Check(report.tie.sentence, report.tie.holds),),
        notes=(*_notes(trend, largest), *other_currencies(incomes, currency)),
    )


def _known_days(table: pd.DataFrame, period: Period, today: datetime.date) -> Period:
    """Return a period that is not over up to the last entry, as files come once a month."""
    if table.empty or period.last is None or period.last <= today:
        return period
    end = table["date"].iloc[-1]
    if end >= period.last or (period.first and end < period.first):
        return period
    return Period(period.first, end)


def _notes(trend: KnownTrend, largest: int) -> Iterator[Note]:
    """Yield how to read the statement."""
    report = trend.report
    if not report.lines:
        return
    yield Note(
        "Sales are after discounts and refunds, contribution is what is left of them after "
        "all costs. A change is against the same days of the year before; of a loss, in % "
        "of its size, so that better is always more. Days that are not over are told up to "
        "the last entry."
    )
    compared = [at for at in trend.last_year if trend.known[at]]
    if not compared:
        yield Note(
            f"The books begin on {long_date(trend.begin)}: there is no year before to "
            "compare with."
        )
    elif len(compared) < len(trend.last_year):
        first = trend.months[compared[0]].label
        yield Note(
            f"The books begin on {long_date(trend.begin)}: changes are of the months from "
            f"{first}, which have a year before."
        )
    if report.grouping == "all":
        return
    named = sum(line.name != NONE for line in report.lines)
    if named > largest:
        yield Note(
            f"The {largest} {report.grouping}s that earned or lost most, this year or the "
            f"year before, have a line each; --largest {named} shows all."
        )
    parts = [
        f"{month.label} {days}" for month in trend.months if (days := trend.days(month))
    ]
    if parts:
        yield Note(f"Not whole months: {', '.join(parts)}.")
