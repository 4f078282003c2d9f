"""Making pieces against ordering them, worked out by hand."""

from __future__ import annotations

from decimal import Decimal

import pytest

from offcut.reports.plan.make_or_order import OwnMaking, compare
from offcut.reports.plan.price_breaks import PriceBreak, PriceTable

D = Decimal
PRICES = PriceTable(
    (
        PriceBreak(D(100), D("0.50"), D(25), D(15)),
        PriceBreak(D(500), D("0.30"), D(25), D(15)),
    )
)
OWN = OwnMaking(materials=D("0.20"), minutes=D("1.5"), hour=D(20), setup_minutes=D(30))


def test_below_the_minimum() -> None:
    # 40 made: 8.00 of materials; 30 + 60 minutes at 20.00 an hour. Ordered: 100 pieces
    # at 0.50, with 25.00 and 15.00.
    both = compare(OWN, PRICES, D(40), demand=D(30))
    assert (both.materials, both.minutes, both.time) == (D(8), D(90), D(30))
    assert both.making == D(38)
    assert (both.order.ordered, both.order.total) == (D(100), D(90))
    assert (both.saved_by_ordering, both.cheaper) == (D(-52), "make")
    assert (both.left_of_making, both.value_left_of_making) == (D(10), D(2))
    assert (both.left_of_order, both.value_left_of_order) == (D(70), D(63))


def test_above_the_last_break() -> None:
    # 600 made: 120.00 and 930 minutes; ordered: 180.00 and 40.00.
    both = compare(OWN, PRICES, D(600))
    assert (both.making, both.order.total) == (D(430), D(220))
    assert (both.saved_by_ordering, both.cheaper) == (D(210), "order")
    assert (both.left_of_making, both.left_of_order) == (D(0), D(0))


def test_both_cost_the_same_to_the_last_digit() -> None:
    # A minute at 20.00 an hour is a third of a dollar, which has no last digit.
    own = OwnMaking(D(0), D(1), D(20))
    both = compare(own, PriceTable((PriceBreak(D(1), D("0.20"), D(40)),)), D(300))
    assert (both.making, both.order.total, both.cheaper) == (D(100), D(100), "same")


def test_demand_beyond_the_quantity_leaves_nothing() -> None:
    both = compare(OWN, PRICES, D(40), demand=D(400))
    assert (both.left_of_making, both.left_of_order) == (D(0), D(0))


def test_bad_figures() -> None:
    with pytest.raises(ValueError, match="The quantity must be more than zero, not 0"):
        compare(OWN, PRICES, D(0))
    with pytest.raises(ValueError, match="The demand must not be less than zero"):
        compare(OWN, PRICES, D(5), D(-1))
    with pytest.raises(ValueError, match="What an hour is worth must not be less than"):
        OwnMaking(D(1), D(1), D(-1))
    with pytest.raises(ValueError, match="What the materials of a piece cost must not"):
        OwnMaking(D(-1), D(1), D(1))
