"""State the trend: month by month, and beside the same days of the year before."""

from __future__ import annotations

import datetime
import decimal
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import NamedTuple

import pandas as pd

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.books import Books
from offcut.reports.months import Month
from offcut.reports.order_table import of_currency
from offcut.reports.other_currencies import other_currencies
from offcut.reports.period import Period, long_date
from offcut.reports.spans import Span, Spans, spans_of, years_of
from offcut.reports.statement import (
    Cell,
    Check,
    Column,
    Course,
    Kind,
    Line,
    Note,
    Plot,
    Role,
    Shown,
    Statement,
    Table,
)
from offcut.reports.trend import (
    NONE,
    NOTHING,
    Compared,
    Earned,
    Grouping,
    TrendLine,
    TrendReport,
    together,
    trend_report,
)

TITLES: dict[Grouping, str] = {
    "all": "Trend",
    "design": "Trend per design",
    "channel": "Trend per channel",
}
# So many designs have a line each; the others are one line together.
LARGEST = 30
YEAR = 12
# Columns side by side: on a page, and on a narrow terminal.
ABREAST, ABREAST_NARROW = 12, 4


class _Measure(NamedTuple):
    """A figure that is followed.

    Attributes:
      name: Its name.
      is_money: Whether it is money, not pieces.
    """

    name: str
    is_money: bool

    def of(self, earned: Earned) -> Decimal:
        """Return it of what a month came to."""
        figure: Decimal = getattr(earned, self.name)
        return figure


MEASURES = (
    _Measure("sales", True),
    _Measure("contribution", True),
    _Measure("units", False),
)


class _Versus(NamedTuple):
    """Months together, and those of them that can be compared.

    Attributes:
      earned: What all came to.
      comparable: What those came to that have a year before; None where none has.
      before: What their year before came to.
    """

    earned: Earned
    comparable: Earned | None
    before: Earned

    def change(self, measure: _Measure) -> tuple[Decimal | None, Decimal | None]:
        """Return the change of a figure, and that as a share of a year before."""
        if self.comparable is None:
            return None, None
        change = Compared(self.comparable, self.before)
        found = getattr(change, measure.name)
        return found.by, found.share


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
    trend = _Trend(report, begin, today)
    tables: list[Table]
    if not trend.report.lines:
        empty = "No income and no costs on these days."
        heading = Column("Month", "month")
        tables = [Table(TITLES[grouping], (heading,), (), f"trend-{grouping}", empty=empty)]
    elif grouping == "all":
        tables = [_months(trend)]
    else:
        tables = list(_by_name(trend, largest))
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


class _Trend:
    """A report, its months, and which of them have a year before."""

    def __init__(
        self, report: TrendReport, begin: datetime.date, today: datetime.date
    ) -> None:
        self.report, self.begin, self.today = report, begin, today
        total = report.total.months
        # A month to come has nothing to tell, but what is already booked for it.
        count = len(report.months)
        while count and report.months[count - 1].first > today:
            if any(total[count - 1].earned):
                break
            count -= 1
        self.months: tuple[Month, ...] = report.months[:count]
        self.known = [
            month.compared is not None
            and month.compared.last is not None
            and month.compared.last >= begin
            for month in self.months
        ]

    @property
    def last_year(self) -> tuple[int, ...]:
        """The positions of the last twelve months, or of all where they are fewer."""
        return tuple(range(len(self.months)))[-YEAR:]

    def versus(self, line: TrendLine, at: Sequence[int]) -> _Versus:
        """Return months of a line together."""
        known = [each for each in at if self.known[each]]
        return _Versus(
            together(line.months[each].earned for each in at),
            together(line.months[each].earned for each in known) if known else None,
            together(line.months[each].last_year for each in known),
        )

    def days(self, month: Month) -> str:
        """Return which days of a month are meant, where not all are."""
        if month.first > self.today:
            return "to come"
        if month.partial and self.today < month.last:
            return "so far"
        return f"{month.first.day} to {month.last.day}" if month.partial else ""


def _comparison() -> tuple[Column, ...]:
    """Return the columns of all figures, each with its change.

    On a narrow terminal the changes have shorter headings, and less is said.
    """
    columns: list[Column] = []
    for measure in MEASURES:
        name = measure.name.capitalize()
        unit: Kind = "money" if measure.is_money else "units"
        is_result = measure.name == "contribution"
        columns += [
            Column(name, unit, adds_up=True, is_result=is_result),
            Column(f"{name} the year before", unit, "wide"),
            Column(f"Change of {measure.name}", unit, "wide"),
            Column(f"Change of {measure.name}, %", "share", "wide"),
            Column("Change", unit, "narrow"),
        ]
        if measure.name == "sales":
            columns.append(Column("In %", "share", "narrow"))
    return tuple(columns)


def _compared_cells(versus: _Versus) -> tuple[Cell, ...]:
    """Return the cells of the columns of all figures."""
    cells: list[Cell] = []
    for measure in MEASURES:
        by, share = versus.change(measure)
        before = None if versus.comparable is None else measure.of(versus.before)
        cells += [measure.of(versus.earned), before, by, share, by]
        if measure.name == "sales":
            cells.append(share)
    return tuple(cells)


def _months(trend: _Trend) -> Table:
    """Return the table of the months of all."""
    whole, months = trend.report.total, trend.months
    days = [trend.days(month) for month in months]
    has_days = any(days)

    def cells(name: Cell, of_days: str, at: Sequence[int]) -> tuple[Cell, ...]:
        versus = trend.versus(whole, at)
        # A year of which some months cannot be compared is not, nor years with the years
        # before, which are among themselves.
        if len(at) > YEAR or not all(trend.known[each] for each in at):
            versus = _Versus(versus.earned, None, NOTHING)
        return (name, *([of_days] if has_days else []), *_compared_cells(versus))

    lines = [
        Line(cells(month.first.replace(day=1), days[at], [at]))
        for at, month in enumerate(months)
    ]
    years = years_of(months)
    if len(years) > 1:
        for year in years:
            lines.append(Line(cells(year.label, "", year.at), "subtotal", sums=year.at))
    every = tuple(range(len(months)))
    sums = tuple(range(len(months), len(lines))) if len(years) > 1 else every
    lines.append(Line(cells("Total", "", every), "total", sums=sums))
    columns = (
        Column("Month", "month"),
        *([Column("Days", "text")] if has_days else []),
        *_comparison(),
    )
    return Table(
        title=TITLES["all"],
        columns=columns,
        lines=tuple(lines),
        slug="trend",
        currency=trend.report.currency,
        plots=tuple(_plots(columns, every, any(trend.known))),
    )


def _plots(
    columns: Sequence[Column], at: tuple[int, ...], compared: bool
) -> Iterator[Plot]:
    """Yield a chart of each figure's months."""
    for place, column in enumerate(columns):
        if column.adds_up:
            yield Plot(
                f"{column.heading} by month", place, place + 1 if compared else None, at
            )


def _by_name(trend: _Trend, largest: int) -> Iterator[Table]:
    """Yield the tables of designs or channels: against last year, and over time."""
    lines = list(_lines(trend.report, largest))
    grouping, at = trend.report.grouping, trend.last_year
    title = TITLES[grouping]
    if len(trend.months) > YEAR:
        title = f"Last twelve months per {grouping}"
    yield Table(
        title=title,
        columns=(Column(grouping.capitalize(), "text"), *_comparison()),
        lines=_told(lines, lambda line: _compared_cells(trend.versus(line, at))),
        slug=f"trend-per-{grouping}",
        currency=trend.report.currency,
    )
    if len(trend.months) < 2:
        return
    wide, narrow = (spans_of(trend.months, most) for most in (ABREAST, ABREAST_NARROW))
    for measure in MEASURES:
        yield _over_time(trend, lines, measure, wide, narrow)


class _Told(NamedTuple):
    """A line of every table of designs or channels.

    Attributes:
      line: Its figures, and its name.
      role: What it is among the others.
    """

    line: TrendLine
    role: Role


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
            yield _Told(line, "line")
    if len(named) > len(shown):
        name = f"{len(named) - len(shown):,} other {report.grouping}s"
        yield _Told(replace(rest, name=name), "line")
    for line in loose:
        if named:
            grouped = _without(report.total, line, f"All {report.grouping}s")
            yield _Told(grouped, "subtotal")
        yield _Told(replace(line, name="Unallocated"), "subtotal")
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


def _told(
    lines: Sequence[_Told], cells: Callable[[TrendLine], tuple[Cell, ...]]
) -> tuple[Line, ...]:
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
    return tuple(
        Line((line.name, *cells(line)), role, sums=sums.get(at, ()))
        for at, (line, role) in enumerate(lines)
    )


def _over_time(
    trend: _Trend, lines: Sequence[_Told], measure: _Measure, wide: Spans, narrow: Spans
) -> Table:
    """Return the table of one figure, of which each span is a column.

    On a narrow terminal longer spans stand for the months.
    """
    in_bands = narrow.spans == wide.spans or len(narrow.spans) > ABREAST_NARROW
    shown: list[tuple[Span, Shown]] = [
        (span, "always" if in_bands else "wide") for span in wide.spans
    ]
    if not in_bands:
        shown += [(span, "narrow") for span in narrow.spans]
    unit: Kind = "money" if measure.is_money else "units"
    is_result = measure.name == "contribution"

    def cells(line: TrendLine) -> tuple[Cell, ...]:
        figures = [measure.of(month.earned) for month in line.months]
        with decimal.localcontext(EXACT):
            spans = [sum((figures[at] for at in span.at), ZERO) for span, _ in shown]
            return (*spans, sum(figures, ZERO))

    columns = [
        Column(span.label, unit, where, adds_up=True, is_result=is_result)
        for span, where in shown
    ]
    steps = tuple(range(1, len(wide.spans) + 1))
    name, grouping = measure.name.capitalize(), trend.report.grouping
    return Table(
        title=f"{name} per {grouping}",
        columns=(
            Column(grouping.capitalize(), "text"),
            *columns,
            Column("Total", unit, adds_up=True, is_result=is_result),
        ),
        lines=_told(lines, cells),
        slug=f"trend-{measure.name}-per-{grouping}",
        currency=trend.report.currency if measure.is_money else "",
        course=Course(f"By {wide.unit}", steps) if len(steps) > 2 else None,
        in_bands=in_bands,
    )


def _notes(trend: _Trend, largest: int) -> Iterator[Note]:
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
