"""Steps in time follow each other, and each day is in one of them."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from offcut.reports.books import Books
from offcut.reports.ledger_file import load_ledger
from offcut.reports.period import Period
from offcut.reports.steps import Step, step_of, steps_between
from offcut.reports.steps_statement import steps_statement

STEPS: tuple[Step, ...] = ("day", "week", "month", "quarter", "year")
DAYS = st.dates(datetime.date(1900, 1, 1), datetime.date(2100, 12, 31))


@pytest.mark.parametrize(
    ("day", "week", "quarter"),
    [
        # ISO 8601: the first week of a year is that of its first Thursday.
        (datetime.date(2024, 12, 30), "2025-W01", "2024-Q4"),
        (datetime.date(2027, 1, 3), "2026-W53", "2027-Q1"),
        (datetime.date(2025, 6, 30), "2025-W27", "2025-Q2"),
    ],
)
def test_weeks_and_quarters(day: datetime.date, week: str, quarter: str) -> None:
    assert step_of(day, "week") == week
    assert step_of(day, "quarter") == quarter


@given(DAYS, st.integers(0, 800))
def test_steps_are_in_the_order_of_time(first: datetime.date, length: int) -> None:
    last = first + datetime.timedelta(days=length)
    for step in STEPS:
        steps = steps_between(first, last, step)
        assert steps == sorted(set(steps))
        assert (steps[0], steps[-1]) == (step_of(first, step), step_of(last, step))


@given(DAYS)
def test_fava_reads_each_step_as_the_days_in_it(day: datetime.date) -> None:
    from fava.util.date import parse_date

    for step in STEPS:
        begin, end = parse_date(step_of(day, step))
        assert begin and end and begin <= day < end
        before, after = begin - datetime.timedelta(days=1), end
        assert step_of(before, step) != step_of(day, step) != step_of(after, step)


@pytest.mark.parametrize("step", STEPS)
def test_steps_of_a_ledger_come_to_its_net_income(step: Step, shop_ledger: Path) -> None:
    ledger = load_ledger(shop_ledger)
    books = Books(ledger.entries, ledger.options, ledger.errors, shop_ledger)
    statement = steps_statement(books, Period(), "USD", step)
    assert statement.holds
    assert "732.62 USD" in statement.checks[0].sentence
