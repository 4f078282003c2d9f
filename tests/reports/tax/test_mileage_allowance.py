"""What the rules allow for miles; figures of IRS notices as the rules name them."""

from __future__ import annotations

import datetime
from decimal import Decimal
from typing import Any

import pytest
from beancount.core import data

from offcut.plugins.mileage import Trip
from offcut.reports.period import Period
from offcut.reports.tax.mileage_allowance import (
    CarClaim,
    MileageSettings,
    car_claim,
    read_mileage,
)
from offcut.reports.tax.rules import Rules
from offcut.reports.tax.rules_files import find_rules, read_rules
from offcut.reports.tax.tax_settings import TaxSettingsError

D = Decimal
TWO_RATES = """
jurisdiction = "elsewhere"
title = "Elsewhere"
year = "2025"
first-day = 2025-01-01
last-day = 2025-12-31
currency = "EUR"
statuses = ["anyone"]
[figures.mileage-rate]
value = 0.45
source = "made up for this test"
[figures.mileage-first]
value = 100
source = "made up for this test"
[figures.mileage-rate-beyond]
value = 0.25
source = "made up for this test"
"""


def trip(day: str, miles: str, vehicle: str = "") -> Trip:
    date = datetime.date.fromisoformat(day)
    entry = data.Custom({}, date, "mileage", [])
    return Trip(date, D(miles), "A fair", "", "", vehicle, entry)


def claim(rules: Rules, trips: list[Trip], spent: str = "0", **settings: Any) -> CarClaim:
    year = Period(rules.first, rules.last)
    return car_claim(trips, rules, MileageSettings(**settings), year, D(spent))


def test_one_rate_by_vehicle() -> None:
    found = claim(
        find_rules("us-federal", "2025"),
        [
            trip("2025-03-01", "84", "van"),
            trip("2025-03-02", "16"),
            trip("2024-12-31", "9"),
        ],
    )
    assert found.miles == {"van": D(84), "": D(16)}
    # Notice 2025-5: 70 cents
    assert found.allowance == D("70.00")
    assert found.notes == ()


def test_two_dated_rates_only_where_the_settings_say_so() -> None:
    rules = find_rules("us-federal", "2026")
    trips = [trip("2026-06-30", "100"), trip("2026-07-01", "100")]
    # Notice 2026-10: 72.5 cents; Announcement 2026-11: 76 cents from 1 July, unsettled
    single = claim(rules, trips)
    assert single.allowance == D("145.00")
    assert "second-half-rate = true" in single.notes[0]
    double = claim(rules, trips, second_half_rate=True)
    assert double.allowance == D("148.50")
    assert "confirm it" in double.notes[0]


def test_a_second_rate_set_for_another_year_changes_nothing_and_is_said() -> None:
    rules = find_rules("us-federal", "2025")
    trips = [trip("2025-03-01", "84"), trip("2025-07-01", "10")]
    found = claim(rules, trips, second_half_rate=True)
    assert found.allowance == claim(rules, trips).allowance == D("65.80")
    assert found.notes == (
        "second-half-rate is set, but the rules of 2025 have one rate only: all miles "
        "count at 0.70.",
    )


def test_beyond_so_many_miles_a_lower_rate() -> None:
    rules = read_rules(TWO_RATES, "elsewhere.toml")
    assert claim(rules, [trip("2025-02-01", "100")]).allowance == D("45.00")
    found = claim(rules, [trip("2025-02-01", "80"), trip("2025-02-02", "60")])
    assert found.allowance == D("45.00") + D("10.00")
    assert found.notes == ("Beyond 100 miles a lower rate counts.",)


def test_rules_without_a_rate_deduct_nothing_and_say_so() -> None:
    text = TWO_RATES[: TWO_RATES.index("[figures.mileage-rate]")]
    found = claim(read_rules(text, "elsewhere.toml"), [trip("2025-02-01", "100")])
    assert found.allowance == D(0)
    assert "no mileage rate" in found.notes[0]


def test_settings_are_read() -> None:
    found = read_mileage(
        {
            "method": "rate",
            "commuting": 400,
            "other": D("3000.5"),
            "placed-in-service": datetime.date(2024, 5, 1),
        }
    )
    assert found.commuting == D(400)
    assert found.other == D("3000.5")
    assert found.placed_in_service == datetime.date(2024, 5, 1)
    assert read_mileage({}) == MileageSettings()


def test_each_mistake_in_the_settings_is_a_line() -> None:
    with pytest.raises(TaxSettingsError) as caught:
        read_mileage(
            {
                "methud": "rate",
                "method": "milage",
                "second-half-rate": 1,
                "other": -3,
                "placed-in-service": "2024",
            }
        )
    lines = str(caught.value).splitlines()
    assert len(lines) == 5
    assert all(line.startswith("offcut.toml: tax.mileage: ") for line in lines)
    assert "did you mean method?" in lines[0]
