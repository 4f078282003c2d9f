"""A year foreseen from a part of it: by its days, and by last year's season."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from offcut.reports.tax.projection import Profit, Projection, Way, project

D = Decimal
Day = datetime.date
FIRST, LAST = Day(2025, 1, 1), Day(2025, 12, 31)


def profits(by_day: Mapping[Day, Decimal]) -> Profit:
    return lambda first, last: sum(
        (amount for day, amount in by_day.items() if first <= day <= last), D(0)
    )


def projected(
    by_day: Mapping[Day, Decimal], today: Day, began: Day | None, way: Way = "year-to-date"
) -> Projection:
    return project(profits(by_day), FIRST, LAST, today, began, way)


# Half of last year's profit came in its last month, as with a shop that sells gifts.
LAST_YEAR = {Day(2024, 3, 31): D(300), Day(2024, 8, 1): D(200), Day(2024, 12, 5): D(500)}


def test_a_year_by_its_days() -> None:
    # 90 days to 31 March: 900 x 365 / 90.
    found = projected({Day(2025, 2, 1): D(900)}, Day(2025, 3, 31), FIRST)
    assert (found.to_date, found.by_days) == (D(900), D(3650))
    assert found.by_season is None
    assert (found.way, found.profit, found.range) == ("year-to-date", D(3650), (3650, 3650))
    assert found.earned_share == D(900) / D(3650)
    assert found.days_share == D(90) / D(365)


def test_a_year_by_last_year_s_season() -> None:
    # 30 % of last year's were earned by 31 March: 900 x 1000 / 300.
    known = {**LAST_YEAR, Day(2025, 2, 1): D(900)}
    for way, profit in (("year-to-date", D(3650)), ("last-year", D(3000))):
        found = projected(known, Day(2025, 3, 31), Day(2024, 1, 20), way)  # type: ignore[arg-type]
        assert (found.by_days, found.by_season) == (D(3650), D(3000))
        assert (found.way, found.profit) == (way, profit)
        assert found.range == (D(3000), D(3650))


@pytest.mark.parametrize(
    ("began", "last_year"),
    [
        (Day(2024, 2, 2), LAST_YEAR),  # began more than a month into last year
        (None, LAST_YEAR),
        (Day(2023, 1, 1), {Day(2024, 8, 1): D(200)}),  # nothing by the same day
        (Day(2023, 1, 1), {Day(2024, 1, 5): D(200), Day(2024, 8, 1): D(-300)}),  # a loss
    ],
)
def test_no_season_to_go_by(began: Day | None, last_year: dict[Day, Decimal]) -> None:
    found = projected(
        {**last_year, Day(2025, 2, 1): D(900)}, Day(2025, 3, 31), began, "last-year"
    )
    assert found.by_season is None
    assert (found.way, found.profit) == ("year-to-date", D(3650))


def test_a_loss_so_far_has_no_season() -> None:
    found = projected(
        {**LAST_YEAR, Day(2025, 2, 1): D(-90)}, Day(2025, 3, 31), Day(2023, 1, 1)
    )
    assert found.by_season is None
    assert found.profit == D(-365)
    assert found.earned_share == 1


def test_a_business_that_began_within_the_year_is_foreseen_from_its_first_day() -> None:
    # 1 July to 29 September: 91 of the 184 days to the year's end.
    found = projected({Day(2025, 7, 1): D(91)}, Day(2025, 9, 29), Day(2025, 7, 1))
    assert (found.first, found.by_days) == (Day(2025, 7, 1), D(184))
    assert found.days_share == D(91) / D(184)


@pytest.mark.parametrize("today", [LAST, Day(2026, 4, 1)])
def test_a_year_that_is_over_is_as_it_was(today: Day) -> None:
    found = projected(
        {**LAST_YEAR, Day(2025, 2, 1): D(900), Day(2026, 1, 3): D(7)},
        *(today, Day(2023, 1, 1), "last-year"),
    )
    assert (found.way, found.profit, found.until) == ("actual", D(900), LAST)
    assert (found.earned_share, found.days_share) == (1, 1)


def test_what_is_deducted_once_is_not_multiplied() -> None:
    # 900 to 31 March, after equipment of 450: (900 + 450) x 365 / 90 - 450, and by last
    # year's season, when nothing was deducted once, 1,350 x 1,000 / 300 - 450.
    by_day = {**LAST_YEAR, Day(2025, 2, 1): D(900)}
    running = profits({**by_day, Day(2025, 2, 2): D(450)})
    found = project(
        *(profits(by_day), FIRST, LAST, Day(2025, 3, 31), Day(2024, 1, 1), "year-to-date"),
        running=running,
        after=lambda year: year - 450,
    )
    assert found.to_date == D(900)
    assert (found.by_days, found.by_season) == (D(5025), D(4050))


def test_leap_days() -> None:
    # 366 days; and 29 February is held against 28 February of the year before.
    known = {Day(2023, 2, 28): D(50), Day(2023, 3, 1): D(50), Day(2024, 2, 1): D(60)}
    first, last, today = Day(2024, 1, 1), Day(2024, 12, 31), Day(2024, 2, 29)
    found = project(profits(known), first, last, today, Day(2023, 1, 1), "last-year")
    assert (found.by_days, found.by_season) == (D(366), D(120))


def test_more_earned_than_the_year_will_come_to() -> None:
    # Last year the rest of the year lost money: all of the year's profit is earned.
    last_year = {Day(2024, 1, 5): D(400), Day(2024, 12, 1): D(-100)}
    known = {**last_year, Day(2025, 1, 5): D(800)}
    found = projected(known, Day(2025, 3, 31), Day(2023, 1, 1), "last-year")
    assert (found.profit, found.earned_share) == (D(600), 1)


@given(
    st.dictionaries(
        st.dates(Day(2024, 1, 1), Day(2025, 12, 31)),
        st.decimals(-10_000, 10_000, places=2),
        max_size=8,
    ),
    st.dates(FIRST, LAST),
    st.none() | st.dates(Day(2024, 1, 1), LAST),
    st.sampled_from(["year-to-date", "last-year"]),
)
def test_whatever_comes_to_pass(
    by_day: dict[Day, Decimal], today: Day, began: Day | None, way: Way
) -> None:
    found = projected(by_day, today, began, way)
    low, high = found.range
    assert low <= found.profit <= high
    assert 0 <= found.earned_share <= 1
    assert 0 < found.days_share <= 1
    assert FIRST <= found.first <= found.until <= found.last
    assert found.to_date == profits(by_day)(found.first, found.until)
    # By its days, a profit stays one and a loss one, and is never less for the rest.
    assert abs(found.by_days) >= abs(found.to_date)
    assert (found.by_days > 0) == (found.to_date > 0)
