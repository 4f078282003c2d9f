"""Periods: what they include, what they are called, and how they are refused."""

from __future__ import annotations

import datetime

import pytest

from offcut.reports.period import Period, PeriodError, choose_period

DATE = datetime.date


@pytest.mark.parametrize(
    ("options", "first", "last", "label"),
    [
        ({}, None, None, "all dates"),
        ({"year": "2025"}, DATE(2025, 1, 1), DATE(2025, 12, 31), "2025"),
        ({"month": "2024-02"}, DATE(2024, 2, 1), DATE(2024, 2, 29), "February 2024"),
        (
            {"first": "2025-03-02", "last": "2025-05-31"},
            DATE(2025, 3, 2),
            DATE(2025, 5, 31),
            "2 March 2025 to 31 May 2025, both days included",
        ),
        (
            {"first": "2025-03-02", "last": "2025-03-02"},
            DATE(2025, 3, 2),
            DATE(2025, 3, 2),
            "2 March 2025",
        ),
        (
            {"first": "2025-03-02"},
            DATE(2025, 3, 2),
            None,
            "from 2 March 2025, that day included",
        ),
        (
            {"last": "2025-03-02"},
            None,
            DATE(2025, 3, 2),
            "up to 2 March 2025, that day included",
        ),
        (
            {"first": "2025-01-01", "last": "2025-12-31"},
            DATE(2025, 1, 1),
            DATE(2025, 12, 31),
            "2025",
        ),
    ],
)
def test_options_name_a_period(
    options: dict[str, str], first: DATE | None, last: DATE | None, label: str
) -> None:
    period = choose_period(**options)
    assert (period.first, period.last, period.label) == (first, last, label)


def test_both_ends_are_included() -> None:
    month = choose_period(month="2025-03")
    days = [DATE(2025, 2, 28), DATE(2025, 3, 1), DATE(2025, 3, 31), DATE(2025, 4, 1)]
    assert [day in month for day in days] == [False, True, True, False]
    assert all(day in Period() for day in days)


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ({"year": "25"}, "--year: expected a year such as 2025, found '25'"),
        ({"year": "٢٠٢٥"}, "--year: expected a year such as 2025, found '٢٠٢٥'"),
        ({"year": "0000"}, "--year: expected a year such as 2025, found '0000'"),
        ({"year": ""}, "--year: expected a year such as 2025, found ''"),
        (
            {"month": "2025-13"},
            "--month: expected a month such as 2025-03, found '2025-13'",
        ),
        (
            {"month": "03/2025"},
            "--month: expected a month such as 2025-03, found '03/2025'",
        ),
        (
            {"first": "2025-02-29"},
            "--from: expected a day such as 2025-03-01, found '2025-02-29'",
        ),
        ({"last": "20250331"}, "--to: expected a day such as 2025-03-31, found '20250331'"),
        (
            {"first": "2025-03-02", "last": "2025-03-01"},
            "The period ends on 2025-03-01, before it begins on 2025-03-02; exchange "
            "--from and --to",
        ),
        (
            {"year": "2025", "month": "2025-03"},
            "Name the period in one way only: --year or --month",
        ),
        (
            {"month": "2025-03", "last": "2025-03-31"},
            "Name the period in one way only: --month or --from/--to",
        ),
    ],
)
def test_words_that_name_no_period(options: dict[str, str], message: str) -> None:
    with pytest.raises(PeriodError) as caught:
        choose_period(**options)
    assert str(caught.value) == message


def test_a_period_that_is_not_over_is_known_up_to_a_day() -> None:
    day = datetime.date(2025, 6, 30)
    year = Period(datetime.date(2025, 1, 1), datetime.date(2025, 12, 31))
    assert year.up_to(day) == Period(year.first, day)
    assert Period(None, year.last).up_to(day) == Period(None, day)
    for over_or_to_come in (
        Period(),
        Period(year.first),
        Period(None, day),
        Period(datetime.date(2025, 7, 1), year.last),
    ):
        assert over_or_to_come.up_to(day) == over_or_to_come
