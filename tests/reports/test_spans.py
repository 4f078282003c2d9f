"""Months side by side: every month is in one span, and spans are as short as can be."""

from __future__ import annotations

import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from offcut.reports.months import months_of
from offcut.reports.period import Period
from offcut.reports.spans import spans_of, years_of

TODAY = datetime.date(2030, 1, 1)
days = st.dates(datetime.date(2010, 1, 1), datetime.date(2025, 12, 31))


def months(first: datetime.date, last: datetime.date) -> list:
    return list(months_of(Period(first, last), TODAY))


@pytest.mark.parametrize(
    ("last", "unit", "labels"),
    [
        ("2025-02-28", "month", ["2024-11", "2024-12", "2025-01", "2025-02"]),
        ("2025-04-01", "quarter", ["2024 Q4", "2025 Q1", "2025 Q2"]),
        ("2026-12-31", "year", ["2024", "2025", "2026"]),
    ],
)
def test_the_shortest_of_which_there_are_few(
    last: str, unit: str, labels: list[str]
) -> None:
    found = spans_of(
        months(datetime.date(2024, 11, 5), datetime.date.fromisoformat(last)), 4
    )
    assert found.unit == unit
    assert [span.label for span in found.spans] == labels


@given(days, days, st.integers(1, 12))
def test_every_month_is_in_one_span(
    one: datetime.date, other: datetime.date, most: int
) -> None:
    several = months(min(one, other), max(one, other))
    found = spans_of(several, most)
    every = [at for span in found.spans for at in span.at]
    assert every == list(range(len(several)))
    assert found.unit == "year" or len(found.spans) <= most
    for span in years_of(several):
        assert {several[at].first.year for at in span.at} == {int(span.label)}
