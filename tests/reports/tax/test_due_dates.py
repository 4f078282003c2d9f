"""Due days against those that were printed, and what holds of every day."""

from __future__ import annotations

import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pandas.tseries.holiday import USFederalHolidayCalendar

from offcut.reports.tax.due_dates import SATURDAY, has_holidays, moved
from offcut.reports.tax.rules_files import find_rules

ONE_DAY = datetime.timedelta(days=1)
day = datetime.date.fromisoformat
# pandas' own calendar: a second source, written by other people than `holidays` is.
FEDERAL = {
    each.date() for each in USFederalHolidayCalendar().holidays("2021-01-01", "2061-12-31")
}


@pytest.mark.parametrize(
    ("year", "printed"),
    [
        # IRS, Form 1040-ES (2025) and its FAQ for individuals; 15 June 2025 is a Sunday.
        ("2025", ["2025-04-15", "2025-06-16", "2025-09-15", "2026-01-15"]),
        # As printed for 2026 in secondary pages that quote Form 1040-ES (2026).
        ("2026", ["2026-04-15", "2026-06-15", "2026-09-15", "2027-01-15"]),
    ],
)
def test_the_shipped_instalments_fall_due_as_printed(year: str, printed: list[str]) -> None:
    rules = find_rules("us-federal", year)
    found = [moved(each.due, rules.holidays) for each in rules.instalments]
    assert found == [day(each) for each in printed]


@pytest.mark.parametrize(
    ("by_rule", "due"),
    [
        # 2027: worked out from the calendar. 15 January 2028 is a Saturday, the Monday
        # after it Martin Luther King's day.
        ("2027-04-15", "2027-04-15"),
        ("2027-06-15", "2027-06-15"),
        ("2027-09-15", "2027-09-15"),
        ("2028-01-15", "2028-01-18"),
        # 2022, from memory of the printed days: the fourth payment on 17 January 2023,
        # after a Sunday and King's day; the return on 18 April 2023, after a weekend
        # and Emancipation Day, which the District of Columbia kept on the 17th.
        ("2023-01-15", "2023-01-17"),
        ("2023-04-15", "2023-04-18"),
        # From memory: the return for 2021 was due on 18 April 2022, as Emancipation Day
        # was kept on Friday the 15th.
        ("2022-04-15", "2022-04-18"),
    ],
)
def test_weekends_and_holidays_move_a_due_day(by_rule: str, due: str) -> None:
    assert moved(day(by_rule), "US-DC") == day(due)


def test_emancipation_day_is_kept_in_the_district_only() -> None:
    assert moved(day("2025-04-16"), "US-DC") == day("2025-04-17")
    assert moved(day("2025-04-16"), "US") == day("2025-04-16")


days = st.dates(datetime.date(2021, 1, 1), datetime.date(2060, 12, 31))


@given(days)
def test_no_due_day_is_a_weekend_a_holiday_or_too_early(by_rule: datetime.date) -> None:
    due = moved(by_rule, "US-DC")
    assert due >= by_rule
    assert due.weekday() < SATURDAY
    assert due not in FEDERAL
    assert moved(due, "US-DC") == due
    # And no day between would have done.
    between = [by_rule + ONE_DAY * n for n in range((due - by_rule).days)]
    assert all(moved(each, "US-DC") == due for each in between)
    assert len(between) <= 4


@given(days)
def test_nothing_moves_where_the_rules_name_no_country(by_rule: datetime.date) -> None:
    assert moved(by_rule, "") == by_rule


def test_england_keeps_its_bank_holidays() -> None:
    # gov.uk, UK bank holidays: Boxing Day 2026 is a Saturday, kept on Monday the 28th.
    assert moved(day("2026-12-25"), "GB-ENG") == day("2026-12-29")


@pytest.mark.parametrize("where", ["Narnia", "US-XX", "us-dc", "-DC"])
def test_an_unknown_country_is_refused(where: str) -> None:
    assert not has_holidays(where)
    with pytest.raises(ValueError, match="There are no holidays of"):
        moved(day("2025-04-15"), where)


def test_known_countries_are_told() -> None:
    assert has_holidays("US-DC")
    assert has_holidays("")
