"""State what was earned step by step in time: by day, week, month, quarter or year."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

import pandas as pd

from offcut.importers.splitting import ZERO
from offcut.reports.books import Books
from offcut.reports.figure_lines import COLUMNS, Earned, latest, position, with_total
from offcut.reports.net_income import Tie
from offcut.reports.order_table import in_period, of_currency
from offcut.reports.other_currencies import other_currencies
from offcut.reports.period import Period
from offcut.reports.profit_figures import Figures, figures_by
from offcut.reports.profit_notes import READING
from offcut.reports.statement import Check, Statement, Table
from offcut.reports.statement_cells import Column
from offcut.reports.statement_charts import Plot
from offcut.reports.steps import Step, step_of, steps_between
from offcut.reports.working_hours import WorkingHours, working_hours

SLUG = "earned-by"
# A drawing of more bars than these has none that can be told apart.
MOST_BARS = 60


def steps_statement(books: Books, period: Period, currency: str, step: Step) -> Statement:
    """Return what was earned step by step.

    Args:
      books: The books.
      period: The days.
      currency: The currency of all amounts.
      step: The kind of step.
    """
    rows = in_period(of_currency(books.allocated("value"), currency), period)
    hours = working_hours(books.entries, books.catalogue, period)
    table = earned_by_step(rows, step, currency, hours)
    incomes = books.net_income(period)
    total = table.lines[-1].cells[1 + position("Contribution")] if table.lines else ZERO
    assert isinstance(total, Decimal)
    tie = Tie(total, incomes.get(currency, ZERO), currency)
    return Statement(
        title=f"Earned by {step}",
        period=period.label,
        tables=(table,),
        checks=(Check(tie.sentence, tie.holds),),
        notes=(READING[0], *other_currencies(incomes, currency)),
    )


def earned_by_step(
    rows: pd.DataFrame, step: Step, currency: str, hours: WorkingHours
) -> Table:
    """Return the table of steps, those in which nothing happened among them.

    Args:
      rows: Rows of an order table, by date.
      step: The kind of step.
      currency: The currency of all of them.
      hours: What is known of the time that pieces took.
    """
    days = rows["date"].tolist()
    names = {day: step_of(day, step) for day in set(days)}
    sums = figures_by(rows.assign(step=[names[day] for day in days]), ("step",), hours)
    steps: Iterable[str] = sorted(name for (name,) in sums)
    if days and step != "day":
        steps = steps_between(days[0], days[-1], step)
    lines = latest(
        [Earned((name,), sums.get((name,), Figures())) for name in steps], f"{step}s"
    )
    first = 1 if len(lines) > 1 and lines[0].names[0] not in names.values() else 0
    drawn = tuple(range(first, len(lines)))[-MOST_BARS:]
    contribution, sales = 1 + position("Contribution"), 1 + position("Sales")
    return Table(
        title=f"By {step}",
        columns=(Column(step.capitalize(), "text"), *COLUMNS),
        lines=tuple(with_total(lines)),
        slug=f"{SLUG}-{step}",
        currency=currency,
        empty="No income and no costs on these days.",
        plots=(Plot("Contribution", contribution, sales, drawn),) if len(drawn) > 1 else (),
    )
