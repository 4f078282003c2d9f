"""State each year beside the others: profit and loss, orders and pieces."""

from __future__ import annotations

import calendar
import datetime
from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal
from typing import NamedTuple

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.account_columns import AMOUNT_COLUMNS, DISCOUNT, GROSS, REFUND
from offcut.reports.books import Books
from offcut.reports.figures import money
from offcut.reports.net_income import Tie
from offcut.reports.order_table import of_currency
from offcut.reports.other_currencies import other_currencies
from offcut.reports.period import Period
from offcut.reports.statement import (
    Cell,
    Check,
    Column,
    Line,
    Note,
    Plot,
    Role,
    Statement,
    Table,
)
from offcut.reports.years import (
    OTHER,
    Year,
    YearFigures,
    same_days_before,
    year_figures,
    years_of_period,
)

TITLE = "Year by year"
# What the columns of the order table are called in a year; others go by their own name.
LABELS = {
    "shipping": "Shipping charged",
    "cost_of_goods": "Cost of goods",
    OTHER: "All other",
}
SALES_PARTS = {GROSS: "Before discounts", DISCOUNT: "Discounts", REFUND: "Refunds"}

Figure = Callable[[YearFigures], Decimal | None]


class _Told(NamedTuple):
    """A year of the statement.

    Attributes:
      heading: How it is written.
      year: Its days.
      figures: What it came to.
    """

    heading: str
    year: Year
    figures: YearFigures


class _Years(NamedTuple):
    """The years of the statement, and what the last is held against.

    Attributes:
      told: The years, the earliest first.
      same_days: The same days of the year before; None where the last year is whole, or
        the books have no such days.
    """

    told: list[_Told]
    same_days: _Told | None

    @property
    def before(self) -> _Told | None:
        """What the last year is compared with."""
        if self.same_days is not None:
            return self.same_days
        if len(self.told) < 2 or self.told[-1].year.period.last != datetime.date(
            self.told[-1].year.number, 12, 31
        ):
            return None
        return self.told[-2]


def years_statement(
    books: Books, period: Period, currency: str, today: datetime.date
) -> Statement:
    """Return the statement of the years of a period.

    Args:
      books: The books.
      period: The days; years are cut to them.
      currency: The currency of all amounts.
      today: The day that the year in progress is known by.
    """
    table = of_currency(books.table, currency)
    told = [
        _Told(_heading(year), year, year_figures(table, year.period))
        for year in years_of_period(table, period, today)
    ]
    years = _Years(told, None)
    if told and not told[-1].year.whole:
        before = same_days_before(told[-1].year.period)
        if before and before.last and before.last >= table["date"].iloc[0]:
            year = Year(told[-1].year.number - 1, before, False)
            figures = year_figures(table, before)
            years = _Years(told, _Told(_heading(year), year, figures))
    others = tuple(other_currencies(books.net_income(period), currency))
    if not told:
        empty = "No income and no costs on these days."
        heading_column = Column("Year by year", "text")
        blank = Table(TITLE, (heading_column,), (), "years", currency, empty)
        return Statement(TITLE, period.label, (blank,), notes=others)
    return Statement(
        title=TITLE,
        period=period.label,
        tables=tuple(_tables(years, currency)),
        checks=_checks(books, told, currency),
        notes=(*_notes(years), *others),
    )


def _tables(years: _Years, currency: str) -> Iterator[Table]:
    """Yield the tables."""
    yield _profit_and_loss(years.told, None, currency)
    if years.before:
        last = years.told[-1]
        yield _profit_and_loss([last, years.before], (last, years.before), currency)
    yield _orders(years, currency)


def _heading(year: Year) -> str:
    """Return how a year is written: `2025`, `2025 to 12 Oct`."""
    first, last = year.period.first, year.period.last
    assert first and last
    heading = f"{year.number:04}"
    if (first.month, first.day) != (1, 1):
        heading += f" from {_day(first)}"
    if (last.month, last.day) != (12, 31):
        heading += f" to {_day(last)}"
    return heading


def _day(date: datetime.date) -> str:
    return f"{date.day} {calendar.month_abbr[date.month]}"


def _profit_and_loss(
    shown: Sequence[_Told], compared: tuple[_Told, _Told] | None, currency: str
) -> Table:
    """Return the table of which each year is a column, and the change where it is asked."""
    columns = [
        Column("What", "text"),
        *(Column(each.heading, adds_up=True) for each in shown),
    ]
    if compared:
        columns += [Column("Change", adds_up=True), Column("Change, %", "share")]
    rows = list(_rows([each.figures for each in shown]))
    own = tuple(at for at, (_, role, _) in enumerate(rows) if role == "line")
    lines = []
    for name, role, figure in rows:
        cells: list[Cell] = [figure(each.figures) for each in shown]
        if compared:
            cells += _change(figure, *compared)
        sums = own if role == "total" else ()
        lines.append(Line((name, *cells), role, sums=sums))
    versus = ""
    if compared:
        versus = " against ".join(f"{each.year.number:04}" for each in compared)
        versus += "" if all(each.year.whole for each in compared) else ", same days"
    return Table(
        title=versus or TITLE,
        columns=tuple(columns),
        lines=tuple(lines),
        slug="years-compared" if versus else "years",
        currency=currency,
        in_bands=True,
    )


def _rows(several: Sequence[YearFigures]) -> Iterator[tuple[str, Role, Figure]]:
    """Yield the lines: their names, what they are, and where their figures are."""
    yield "Sales", "line", lambda year: year.sales
    if any(year.amounts[DISCOUNT] or year.amounts[REFUND] for year in several):
        for at, name in SALES_PARTS.items():
            yield name, "part", _amount(at)
    for at, column in enumerate(AMOUNT_COLUMNS):
        if at in SALES_PARTS or not any(year.amounts[at] for year in several):
            continue
        label = LABELS.get(column, column.replace("_", " ").capitalize())
        yield label, "line", _amount(at)
        if column == OTHER:
            accounts = {
                account for year in several for account in year.other if year.other[account]
            }
            for account in sorted(accounts) if len(accounts) > 1 else ():
                # What it is comes after the first colon; the rest is cut short first.
                name = account.partition(":")[2] or "In orders"
                yield name, "part", _other(account)
    yield "Net income", "total", lambda year: year.net_income


def _amount(at: int) -> Figure:
    return lambda year: year.amounts[at]


def _other(account: str) -> Figure:
    return lambda year: year.other.get(account, ZERO)


def _change(figure: Figure, now: _Told, before: _Told) -> list[Cell]:
    """Return the change of a figure, in itself and as a share of what it was."""
    new, old = figure(now.figures), figure(before.figures)
    if new is None or old is None:
        return [None, None]
    by = EXACT.subtract(new, old)
    return [by, by / abs(old) if old else None]


def _orders(years: _Years, currency: str) -> Table:
    """Return the table of which each year is a line: orders, pieces, margin."""
    figures: tuple[tuple[Column, Figure], ...] = (
        (Column("Buyers paid"), lambda year: year.paid),
        (Column("Net income", is_result=True), lambda year: year.net_income),
        (Column("Margin", "share"), lambda year: year.margin),
        (Column("Orders", "units"), lambda year: Decimal(year.orders)),
        (Column("Pieces", "units"), lambda year: year.pieces),
        (Column("Average order"), lambda year: year.average_order),
    )
    told = [*years.told]
    lines = [
        Line((each.heading, *(figure(each.figures) for _, figure in figures)))
        for each in told
    ]
    if years.same_days:
        cells = (figure(years.same_days.figures) for _, figure in figures)
        lines.append(Line((years.same_days.heading, *cells)))
    paid, income = 1, 2
    every = tuple(range(len(told)))
    return Table(
        title="Orders and pieces by year",
        columns=(Column("Year", "text"), *(column for column, _ in figures)),
        lines=tuple(lines),
        slug="years-orders",
        currency=currency,
        plots=(
            Plot("What buyers paid by year", paid, None, every),
            Plot("Net income by year", income, None, every),
        )
        if len(told) > 1
        else (),
    )


def _checks(books: Books, told: Sequence[_Told], currency: str) -> tuple[Check, ...]:
    """Return each year held against the ledger."""
    ties = [
        Tie(
            each.figures.net_income,
            books.net_income(each.year.period).get(currency, ZERO),
            currency,
        )
        for each in told
    ]
    broken = [tie.sentence for tie in ties if not tie.holds]
    if broken:
        return tuple(Check(sentence, False) for sentence in broken)
    incomes = ", ".join(
        f"{money(tie.ledger, currency)} in {each.year.number:04}"
        for each, tie in zip(told, ties, strict=True)
    )
    return (
        Check(
            "Each year adds up to the net income of the ledger's income and expense "
            f"accounts on its days: {incomes}.",
            True,
        ),
    )


def _notes(years: _Years) -> Iterator[Note]:
    """Yield how to read the statement."""
    yield Note(
        "Costs are negative, so a year adds up to its net income. Margin is net income as "
        "a share of what buyers paid: sales and shipping. An order is one that has a "
        "number; what is sold without one, as at a fair, is in the sales but in no average "
        "order."
    )
    if years.same_days is not None:
        yield Note(
            "A year that is not over is told up to the last entry, and compared with the "
            "same days of the year before."
        )
    yield Note(
        "Spoilage is what print runs spoiled beyond the usual and what counts found "
        "missing; selling is the cost of fairs and of advertising."
    )
