"""State what one design or product earned: by step in time, channel, product, order."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal

import pandas as pd

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.books import Books
from offcut.reports.design.subject import Subject
from offcut.reports.figure_lines import (
    COLUMNS,
    Earned,
    by_contribution,
    latest,
    position,
    with_total,
)
from offcut.reports.figures import money
from offcut.reports.order_lines import ORDER_LINK
from offcut.reports.order_table import in_period, of_currency
from offcut.reports.period import Period
from offcut.reports.profit_figures import Figures, figures_by, together
from offcut.reports.profit_notes import READING
from offcut.reports.statement import Check, Headline, Note, Statement, Table
from offcut.reports.statement_cells import Column
from offcut.reports.steps import Step
from offcut.reports.steps_statement import SLUG, earned_by_step
from offcut.reports.working_hours import working_hours

NO_CHANNEL = "No channel"
NO_ORDER = "Belongs to no order"
ALLOCATED = Note(
    "Of what its orders, fairs and channels cost as a whole it bears its part, split by "
    "sales value, as in profit per design. What belongs to no order was sold at a fair, or "
    "is such a part."
)

Sums = Mapping[tuple[str, ...], Figures]


def earned_statement(
    books: Books, subject: Subject, period: Period, currency: str, step: Step
) -> Statement:
    """Return what a design or product earned.

    Args:
      books: The books.
      subject: The design or product.
      period: The days.
      currency: The currency of all amounts.
      step: The steps in time.
    """
    table = of_currency(books.allocated("value"), currency)
    rows = in_period(table[table[subject.kind] == subject.key], period)
    hours = working_hours(books.entries, books.catalogue, period)
    steps = earned_by_step(rows, step, currency, hours)
    if rows.empty:
        return Statement(subject.name, period.label, (steps,))
    channels = figures_by(rows, ("channel",), hours)
    tables = [steps, _by_channel(channels, currency)]
    if len(subject.products) > 1:
        names = {item.currency: item.name for item in books.catalogue.values()}
        products = figures_by(rows, ("product",), hours)
        tables.append(_by_product(products, names, currency))
    tables.append(_by_order(figures_by(rows, ("order", "channel"), hours), rows, currency))
    return Statement(
        title=subject.name,
        period=period.label,
        tables=tuple(tables),
        headlines=_headlines(together(channels.values())),
        checks=(_check(subject, rows, tables, currency),),
        notes=(READING[0], ALLOCATED),
    )


def _headlines(whole: Figures) -> tuple[Headline, ...]:
    """Return what it comes to."""
    return (
        Headline("What buyers paid", whole.income),
        Headline("Costs", EXACT.subtract(whole.contribution, whole.income)),
        Headline("Contribution", whole.contribution),
    )


def _check(
    subject: Subject, rows: pd.DataFrame, tables: Sequence[Table], currency: str
) -> Check:
    """Return each table's total held against the rows of the order table."""
    whole: Decimal = ZERO
    for amount in rows["contribution"].tolist():
        whole = EXACT.add(whole, amount)
    totals = [
        table.lines[-1].cells[len(table.columns) - len(COLUMNS) + position("Contribution")]
        for table in tables
    ]
    amount = f"{money(whole, currency)} {currency}"
    if all(total == whole for total in totals):
        return Check(
            f"Each of these tables adds up to {amount}, the contribution of this "
            f"{subject.kind} on these days.",
            True,
        )
    return Check(
        f"THIS REPORT DOES NOT ADD UP: the {subject.kind} contributed {amount}, and not "
        "every table comes to that. This is a fault in offcut: do not rely on these "
        "figures, and please report it.",
        False,
    )


def _by_channel(channels: Sums, currency: str) -> Table:
    """Return the table of channels."""
    lines = [Earned((name or NO_CHANNEL,), each) for (name,), each in channels.items()]
    return Table(
        title="By channel",
        columns=(Column("Channel", "text"), *COLUMNS),
        lines=tuple(with_total(by_contribution(lines))),
        slug=f"{SLUG}-channel",
        currency=currency,
    )


def _by_product(products: Sums, names: Mapping[str, str], currency: str) -> Table:
    """Return the table of a design's products."""
    lines = [
        Earned((names.get(code, code),), each, code) for (code,), each in products.items()
    ]
    return Table(
        title="By product",
        columns=(Column("Product", "text"), *COLUMNS),
        lines=tuple(with_total(by_contribution(lines))),
        slug=f"{SLUG}-product",
        currency=currency,
    )


def _by_order(orders: Sums, rows: pd.DataFrame, currency: str) -> Table:
    """Return the table of the latest orders, and of what belongs to none."""
    dates = _first_days(rows)
    numbered = sorted(
        (dates[order, channel], order, channel) for order, channel in orders if order
    )
    lines = latest(
        [
            Earned((order, day, channel), orders[order, channel], f"^{ORDER_LINK}{order}")
            for day, order, channel in numbered
        ],
        "orders",
    )
    loose = [each for (order, _), each in orders.items() if not order]
    if loose:
        lines.append(Earned((NO_ORDER, None, None), together(loose)))
    return Table(
        title="By order",
        columns=(
            Column("Order", "text"),
            Column("Date", "date"),
            Column("Channel", "text"),
            *COLUMNS,
        ),
        lines=tuple(with_total(lines)),
        slug=f"{SLUG}-order",
        currency=currency,
    )


def _first_days(rows: pd.DataFrame) -> dict[tuple[str, str], datetime.date]:
    """Return the first day of each order, by its number and channel."""
    days: dict[tuple[str, str], datetime.date] = {}
    keys: Iterable[tuple[str, str, datetime.date]] = zip(
        rows["order"].tolist(), rows["channel"].tolist(), rows["date"].tolist(), strict=True
    )
    for order, channel, day in keys:
        days.setdefault((order, channel), day)
    return days
