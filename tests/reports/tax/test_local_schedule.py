"""Taxes of the maker's own place, worked out by hand."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from offcut.reports.tax.local_schedule import local_taxes
from offcut.reports.tax.local_settings import LocalSchedule
from offcut.reports.tax.schedule import Schedule
from offcut.reports.tax.tax_settings import TaxSettings

D = Decimal
STATE = LocalSchedule("State income tax", "income", Schedule((D("0.05"),), ()), "Form 1")
CITY = LocalSchedule(
    "City business tax",
    "profit",
    Schedule((D(0), D("0.01"), D("0.02")), (D(10_000), D(50_000))),
    "Ordinance",
)
SETTINGS = TaxSettings(local=(STATE, CITY))


@pytest.mark.parametrize(
    ("profit", "income", "state", "city"),
    [
        ("60000", "30000", "1500", "600"),  # 40,000 at 1 %, 10,000 at 2 %
        ("10000", "0.01", "0.0005", "0"),
        ("-500", "-20", "0", "0"),  # nothing below zero is taxed
    ],
)
def test_each_is_of_its_base(profit: str, income: str, state: str, city: str) -> None:
    found = local_taxes(SETTINGS, D(profit), D(income))
    assert [(each.schedule, each.tax) for each in found] == [
        (STATE, D(state)),
        (CITY, D(city)),
    ]
    assert [each.base for each in found] == [max(D(income), D(0)), max(D(profit), D(0))]


def test_without_schedules_there_are_no_local_taxes() -> None:
    assert local_taxes(TaxSettings(), D(5), D(5)) == []


amounts = st.decimals(-(10**6), 10**6, places=2)


@given(amounts, amounts)
def test_none_is_negative_or_more_than_its_base(profit: D, income: D) -> None:
    for each in local_taxes(SETTINGS, profit, income):
        assert 0 <= each.tax <= each.base
