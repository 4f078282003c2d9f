"""Order quantities, held against textbooks and against every quantity tried.

Sources, by their worked examples:

* Snyder and Shen, Fundamentals of Supply Chain Theory, example 3.1, as
  its figures stand in the documentation of the program library that goes with the book;
  the example of all-units discounts is from there too. The book was not seen.
* Heizer and Render, Operations Management, chapter on inventory: the order quantity and
  the quantity discount. From memory; the arithmetic was done again here.
"""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from offcut.reports.plan.order_size import (
    OrderSize,
    order_size,
    order_size_over_breaks,
)
from offcut.reports.plan.price_breaks import PriceBreak, PriceTable

D = Decimal


def table(*lines: tuple[str, ...]) -> PriceTable:
    return PriceTable(tuple(PriceBreak(*map(D, line)) for line in lines))


def test_snyder_and_shen_example_3_1() -> None:
    size = order_size(D(1300), D(8), D("0.225"))
    assert size is not None
    assert size.exact.quantize(D("1E-9")) == D("304.046780026")
    # The book's cost, 68.4105, is of the exact quantity; 304 pieces cost as good as that.
    assert size.quantity == D(304)
    assert size.total.quantize(D("0.0001")) == D("68.4105")


def test_heizer_and_render_from_memory() -> None:
    size = order_size(D(1000), D(10), D("0.50"))
    assert size is not None
    assert (size.exact, size.quantity, size.orders) == (D(200), D(200), D(5))
    assert (size.ordering, size.keeping, size.total) == (D(50), D(50), D(100))


def test_all_units_discounts_of_snyder_and_shen() -> None:
    prices = table(("1", "500"), ("200", "475"), ("500", "450"))
    sizes = order_size_over_breaks(D(1000), D(200), D("0.20"), prices)
    assert sizes is not None
    assert (sizes.best.quantity, sizes.best.total) == (D(500), D(472900))
    assert sizes.best.line == prices.breaks[2]


def test_quantity_discount_of_heizer_and_render_from_memory() -> None:
    prices = table(("1", "5.00"), ("1000", "4.80"), ("2000", "4.75"))
    sizes = order_size_over_breaks(D(5000), D(49), D("0.20"), prices)
    assert sizes is not None
    # 700, and the beginnings of the other two steps: 714 and 718 are below them.
    assert [step.quantity for step in sizes.steps] == [D(700), D(1000), D(2000)]
    assert [step.total for step in sizes.steps] == [D(25700), D(24725), D("24822.50")]
    assert [int(step.exact) for step in sizes.steps] == [700, 714, 718]
    assert sizes.best == sizes.steps[1]
    assert (sizes.best.goods, sizes.best.ordering, sizes.best.keeping) == (
        *(D(24000), D(245), D(480)),
    )


def test_set_up_and_freight_are_part_of_what_an_order_costs() -> None:
    prices = table(("1", "1.00", "6", "2"))
    sizes = order_size_over_breaks(D(100), D(0), D("0.25"), prices)
    assert sizes is not None
    assert (sizes.best.order_cost, sizes.best.exact) == (D(8), D(80))


cents = st.integers(1, 500).map(lambda number: D(number) / 100)


def cost(size: OrderSize, quantity: int) -> Decimal:
    """Return what another quantity would cost, by the formula of the textbooks."""
    ordering = size.order_cost * size.demand / quantity
    return ordering + size.holding * quantity / 2 + size.goods


@settings(max_examples=80, deadline=None)
@given(st.integers(1, 400).map(D), cents, cents)
def test_no_other_whole_quantity_costs_less(demand: D, order_cost: D, hold: D) -> None:
    size = order_size(demand, order_cost, hold)
    assert size is not None
    least = min(cost(size, quantity) for quantity in range(1, int(size.exact) + 50))
    assert abs(cost(size, int(size.quantity)) - least) < D("1E-20")
    assert abs(size.total - least) < D("1E-9")


@settings(max_examples=80, deadline=None)
@given(
    st.integers(1, 400).map(D),
    cents,
    st.lists(st.tuples(st.integers(1, 60), cents), min_size=1, max_size=4),
)
def test_no_quantity_over_the_breaks_costs_less(
    demand: D, order_cost: D, lines: list[tuple[int, D]]
) -> None:
    by_minimum = dict(lines)
    prices = PriceTable(
        tuple(PriceBreak(D(least), by_minimum[least]) for least in sorted(by_minimum))
    )
    sizes = order_size_over_breaks(demand, order_cost, D("0.25"), prices)
    assert sizes is not None
    first = int(prices.minimum)
    last = max(int(step.exact) for step in sizes.steps) + 100
    totals = []
    for quantity in range(first, last):
        line = [each for each in prices.breaks if each.minimum <= quantity][-1]
        keeping = line.unit_price * D("0.25") * quantity / 2
        totals.append(order_cost * demand / quantity + keeping + line.unit_price * demand)
    assert abs(sizes.best.total - min(totals)) < D("1E-9")


def test_nothing_to_order_without_demand() -> None:
    assert order_size(D(0), D(1), D(1)) is None
    assert order_size_over_breaks(D(0), D(1), D(1), table(("1", "1"))) is None


def test_bad_figures() -> None:
    with pytest.raises(ValueError, match="The demand must not be less than zero"):
        order_size(D(-1), D(1), D(1))
    with pytest.raises(ValueError, match="What an order costs must be more than zero"):
        order_size(D(1), D(0), D(1))
    with pytest.raises(ValueError, match="What keeping a piece for a year costs must be"):
        order_size(D(1), D(1), D(0))
    with pytest.raises(ValueError, match="What keeping a piece costs, as a share of its"):
        order_size_over_breaks(D(1), D(1), D(0), table(("1", "1")))
    with pytest.raises(ValueError, match="What an order from 1 pieces on costs besides"):
        order_size_over_breaks(D(1), D(0), D(1), table(("1", "1")))
