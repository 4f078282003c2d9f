"""How a product sold, week by week."""

from __future__ import annotations

import datetime
import statistics
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

import pandas as pd
from hypothesis import given, settings
from hypothesis import strategies as st

from offcut.reports.order_table import order_table
from offcut.reports.period import Period
from offcut.reports.plan import weekly_sales as weekly
from offcut.reports.plan.weekly_sales import WeeklySales, sample_deviation, sold_by_product

D = Decimal
TODAY = datetime.date(2025, 3, 31)


def sold(*rows: tuple[str, int], product: str = "HERON") -> pd.DataFrame:
    return pd.DataFrame(
        {
            "product": [product for _ in rows],
            "date": [datetime.date.fromisoformat(date) for date, _ in rows],
            "quantity": [D(quantity) for _, quantity in rows],
        }
    )


def weekly_sales(
    table: pd.DataFrame, product: str, period: Period, today: datetime.date
) -> WeeklySales | None:
    return weekly.weekly_sales(
        product, sold_by_product(table).get(product, []), period, today
    )


def day(number: int) -> datetime.date:
    return datetime.date(2025, 3, number)


def test_weeks_of_a_ledger(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Income:Refunds:Web
    2025-03-03 * "Monday"
      Income:Sales:Web  -12.00 USD
        item: "HERON"
        quantity: 3
      Income:Sales:Web  -40.00 USD
        item: "MOTH"
        quantity: 10
      Assets:Cash
    2025-03-09 * "Sunday"
      Income:Sales:Web  -8.00 USD
        item: "HERON"
        quantity: 2
      Assets:Cash
    2025-03-17 * "Monday two weeks later"
      Income:Sales:Web  -16.00 USD
        item: "HERON"
        quantity: 4
      Assets:Cash
    2025-03-20 * "One came back"
      Income:Refunds:Web  4.00 USD
        item: "HERON"
        quantity: 1
      Assets:Cash
    """
    table = order_table(sound_ledger.entries, sound_ledger.options)
    weeks = weekly_sales(table, "HERON", Period(day(1), day(23)), TODAY)
    assert weeks is not None
    # 1 and 2 March make no whole week; the week from the 10th sold nothing.
    assert weeks == WeeklySales(
        product="HERON",
        first=day(3),
        last=day(23),
        days_left_out=2,
        weeks=(D(5), D(0), D(3)),
        total=D(8),
        rate=weeks.rate,
        spread=weeks.spread,
    )
    # The mean is 8/3; 49/9, 64/9 and 1/9 over two make 19/3.
    assert weeks.rate.quantize(D("0.000001")) == D("2.666667")
    assert weeks.spread is not None
    assert (weeks.spread**2).quantize(D("0.000001")) == D("6.333333")
    assert weeks.a_year.quantize(D("0.0001")) == D("138.6667")


def test_period_without_ends_runs_from_the_first_sale_to_today() -> None:
    table = sold(("2025-03-18", 7), ("2025-03-31", 7), ("2025-04-01", 90))
    weeks = weekly_sales(table, "HERON", Period(), TODAY)
    assert weeks is not None
    assert (weeks.first, weeks.last) == (day(18), TODAY)
    assert (weeks.weeks, weeks.rate, weeks.spread) == ((D(7), D(7)), D(7), D(0))


def test_one_week_has_no_spread() -> None:
    weeks = weekly_sales(sold(("2025-03-25", 3)), "HERON", Period(), TODAY)
    assert weeks is not None
    assert (weeks.weeks, weeks.rate, weeks.spread) == ((D(3),), D(3), None)


def test_nothing_to_say() -> None:
    table = sold(("2025-03-25", 3))
    assert weekly_sales(table, "MOTH", Period(), TODAY) is None
    assert weekly_sales(table, "HERON", Period(last=day(20)), TODAY) is None
    # Six days only.
    assert weekly_sales(sold(("2025-03-26", 3)), "HERON", Period(), TODAY) is None
    assert weekly_sales(table.iloc[:0], "HERON", Period(), TODAY) is None


@settings(max_examples=80, deadline=None)
@given(
    st.lists(
        st.tuples(st.dates(day(1), day(31)), st.integers(-2, 9)), min_size=1, max_size=20
    )
)
def test_whole_weeks_hold_what_was_sold_in_them(
    rows: list[tuple[datetime.date, int]],
) -> None:
    table = sold(*((str(date), quantity) for date, quantity in rows))
    weeks = weekly_sales(table, "HERON", Period(day(1), day(31)), TODAY)
    if weeks is None:
        assert not any(quantity for _, quantity in rows)
        return
    assert len(weeks.weeks) == 4
    assert weeks.first == day(4)
    assert weeks.total == sum(quantity for date, quantity in rows if date >= day(4))
    assert sum(weeks.weeks) == weeks.total


@settings(max_examples=80, deadline=None)
@given(st.lists(st.integers(0, 200), min_size=2, max_size=60))
def test_deviation_is_that_of_the_standard_library(numbers: Sequence[int]) -> None:
    ours = sample_deviation([D(number) for number in numbers])
    assert ours is not None
    assert abs(ours - D(statistics.stdev(numbers))) < D("1E-9")
