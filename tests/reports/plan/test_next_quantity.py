"""When to print again, held against textbooks.

Sources, by their worked examples:

* Snyder and Shen, Fundamentals of Supply Chain Theory, example 5.5 (order
  quantity with safety stock), as its figures stand in the documentation of the program
  library that goes with the book, which was not seen: demand 1,300 a year with a standard
  deviation of 150, lead time a twelfth of a year, shortage 7.5 and holding 0.225, so a
  service level of 7.5 / 7.725. Example 4.3 (a newsvendor) for the normal quantile.
* Heizer and Render, Operations Management: 350 pieces of lead-time demand, deviation 10,
  95 %. From memory; the book takes 1.65 for the quantile 1.6449 and has 366.5.
"""

from __future__ import annotations

import datetime
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from offcut.reports.plan.first_quantity import on_whole_sheets
from offcut.reports.plan.next_quantity import (
    ONE_WEEK_ONLY,
    next_quantity,
    reorder_point,
    to_print_now,
)
from offcut.reports.plan.weekly_sales import WeeklySales, sample_deviation

D = Decimal


def sales(*weeks: int) -> WeeklySales:
    last = datetime.date(2025, 3, 31)
    return WeeklySales(
        product="HERON",
        first=last - datetime.timedelta(days=7 * len(weeks) - 1),
        last=last,
        days_left_out=0,
        weeks=tuple(map(D, weeks)),
        total=D(sum(weeks)),
        rate=D(sum(weeks)) / len(weeks),
        spread=sample_deviation([D(week) for week in weeks]),
    )


def test_snyder_and_shen_example_5_5() -> None:
    # Everything by the year here, the lead time too.
    point = reorder_point(D(1300), D(150), D(1) / 12, D("7.5") / D("7.725"))
    assert point is not None
    assert point.exact.quantize(D("1E-6")) == D("190.336997")
    assert point.point == D(191)


def test_snyder_and_shen_example_4_3() -> None:
    point = reorder_point(D(50), D(8), D(1), D("0.70") / D("0.88"))
    assert point is not None
    assert point.exact.quantize(D("1E-6")) == D("56.603956")


def test_heizer_and_render_from_memory() -> None:
    point = reorder_point(D(350), D(10), D(1), D("0.95"))
    assert point is not None
    assert point.z.quantize(D("0.01")) == D("1.64")
    assert (point.lead_demand, point.reserve.quantize(D("0.01"))) == (D(350), D("16.45"))
    assert point.point == D(367)


def test_spread_grows_with_the_root_of_the_lead_time() -> None:
    point = reorder_point(D(10), D(3), D(4), D("0.975"))
    assert point is not None
    assert (point.lead_demand, point.lead_spread) == (D(40), D(6))
    assert point.reserve == point.z * 6
    assert point.exact == 40 + point.reserve


def test_even_service_holds_no_reserve() -> None:
    # A rate of 2/3 over three weeks is two pieces, though 2/3 has no last digit.
    point = reorder_point(D(2) / 3, D(1), D(3), D("0.5"))
    assert point is not None
    assert (point.reserve, point.point) == (D(0), D(2))
    assert point.due(D(2))
    assert not point.due(D(3))


def test_one_week_says_so() -> None:
    point = reorder_point(D(3), None, D(2), D("0.95"))
    assert point is not None
    assert (point.lead_spread, point.reserve, point.point) == (None, D(0), D(6))
    assert point.note == ONE_WEEK_ONLY


@settings(max_examples=80, deadline=None)
@given(
    st.integers(1, 100).map(D),
    st.integers(0, 50).map(D),
    st.integers(0, 12).map(D),
    st.integers(1, 98).map(lambda number: D(number) / 100),
)
def test_more_service_never_needs_less_stock(
    rate: D, spread: D, lead_weeks: D, service: D
) -> None:
    point = reorder_point(rate, spread, lead_weeks, service)
    more = reorder_point(rate, spread, lead_weeks, service + D("0.01"))
    assert point is not None
    assert more is not None
    assert point.exact <= more.exact
    assert 0 <= point.point <= more.point


def test_next_run_of_a_product() -> None:
    # 260 a year; sqrt(2 * 260 * 5 / 0.26) = 100, on sheets of six.
    plan = next_quantity(
        sales(4, 6, 5), D(1), D("0.95"), D(5), D("0.26"), D(7), per_sheet=D(6)
    )
    assert plan is not None
    assert (plan.reorder.spread, plan.reorder.point) == (D(1), D(7))
    assert plan.size is not None
    assert plan.run is not None
    assert (plan.size.demand, plan.size.exact, plan.size.quantity) == (D(260), 100, 100)
    assert (plan.run.sheets, plan.run.on_sheets) == (D(17), D(102))
    assert plan.due
    # Seven are there, the point: one run brings them above it.
    assert plan.now is not None
    assert plan.now.on_sheets == D(102)
    # 7 pieces at 5 a week last 9.8 days.
    assert plan.weeks_left == D("1.4")
    assert plan.runs_out == datetime.date(2025, 4, 9)


def test_as_many_runs_as_bring_the_stock_above_the_point() -> None:
    point = reorder_point(D(100), D(0), D(1), D("0.5"))
    assert point is not None
    run = on_whole_sheets(D(30), D(6))
    # 101 are needed: 30, 60, 90, 120.
    assert to_print_now(point, D(0), D(6), run).on_sheets == D(120)
    assert to_print_now(point, D(11), D(6), run).on_sheets == D(90)
    assert to_print_now(point, D(100), D(6), run).on_sheets == D(30)
    # Sold before it was made.
    assert to_print_now(point, D(-5), D(6), run).on_sheets == D(120)
    # Where a run has no size, the sheets that hold what is missing.
    assert to_print_now(point, D(0), D(6), None).on_sheets == D(102)


def test_costs_that_are_not_known_give_no_size() -> None:
    for costs in ((None, D(1)), (D(1), None), (None, None)):
        plan = next_quantity(sales(4, 6, 5), D(1), D("0.95"), *costs, D(8))
        assert plan is not None
        assert (plan.size, plan.run, plan.now, plan.due) == (None, None, None, False)


def test_stock_for_centuries_has_no_day() -> None:
    plan = next_quantity(sales(1, 0), D(1), D("0.5"), None, None, D(10**9))
    assert plan is not None
    assert plan.runs_out is None


@settings(max_examples=80, deadline=None)
@given(st.integers(1, 60), st.integers(-20, 99), st.integers(1, 9), st.integers(1, 50))
def test_what_is_printed_now_is_enough_and_no_run_too_many(
    rate: int, on_hand: int, per_sheet: int, size: int
) -> None:
    point = reorder_point(D(rate), D(0), D(1), D("0.5"))
    assert point is not None
    run = on_whole_sheets(D(size), D(per_sheet))
    now = to_print_now(point, D(on_hand), D(per_sheet), run).on_sheets
    assert now % run.on_sheets == 0
    if point.due(D(on_hand)):
        assert on_hand + now > point.point
        assert now == run.on_sheets or on_hand + now - run.on_sheets <= point.point


def test_nothing_asked_for() -> None:
    assert reorder_point(D(0), D(1), D(1), D("0.95")) is None
    came_back = next_quantity(sales(1, -2), D(1), D("0.9"), D(1), D(1), D(0))
    assert came_back is None


@pytest.mark.parametrize("service", ["0", "1", "-0.1", "95", "NaN"])
def test_service_between_nothing_and_certainty(service: str) -> None:
    with pytest.raises(ValueError, match="The service level must lie between 0 and 1"):
        reorder_point(D(1), D(1), D(1), D(service))


def test_bad_figures() -> None:
    with pytest.raises(ValueError, match="The lead time must not be less than zero"):
        reorder_point(D(1), D(1), D(-1), D("0.9"))
    with pytest.raises(ValueError, match="The spread must not be less than zero"):
        reorder_point(D(1), D(-1), D(1), D("0.9"))
    with pytest.raises(ValueError, match="What an order costs must be more than zero"):
        next_quantity(sales(1, 2), D(1), D("0.9"), D(0), D(1), D(0))
