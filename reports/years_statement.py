"""State each year beside the others: profit and loss, orders and pieces."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from pathlib import Path

import pandas as pd

from offcut.importers.splitting import ZERO
from offcut.reports.books import Books
from offcut.reports.figures import money
from offcut.reports.net_income import Tie
from offcut.reports.order_table import of_currency
from offcut.reports.other_currencies import other_currencies
from offcut.reports.period import Period
from offcut.reports.statement import Check, Note, Statement, Table
from offcut.reports.statement_cells import Column
from offcut.reports.told_years import ToldYear, ToldYears, told_years
from offcut.reports.years_in_columns import years_in_columns
from offcut.reports.years_in_lines import years_in_lines

TITLE = "Year by year"


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
    years = told_years(table, period, today)
    others = tuple(other_currencies(books.net_income(period), currency))
    if not years.told:
        empty = "No income and no costs on these days."
        heading_column = Column("Year by year", "text")
        blank = Table(TITLE, (heading_column,), (), "years", currency, empty)
        return Statement(TITLE, period.label, (blank,), notes=others)
    folder = books.path.resolve().parent
    return Statement(
        title=TITLE,
        period=period.label,
        tables=tuple(_tables(years, table, folder, currency)),
        checks=_checks(books, years.told, currency),
        notes=(*_notes(years), *others),
    )


def _tables(
    years: ToldYears, table: pd.DataFrame, folder: Path, currency: str
) -> Iterator[Table]:
    """Yield the tables."""
    of_rows = (table, folder, currency)
    yield years_in_columns(years.told, False, *of_rows, TITLE)
    if years.before:
        shown = [years.told[-1], years.before]
        title = " against ".join(f"{each.year.number:04}" for each in shown)
        title += "" if all(each.year.whole for each in shown) else ", same days"
        yield years_in_columns(shown, True, *of_rows, title)
    yield years_in_lines(years, *of_rows)


def _checks(books: Books, told: Sequence[ToldYear], currency: str) -> tuple[Check, ...]:
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


def _notes(years: ToldYears) -> Iterator[Note]:
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
