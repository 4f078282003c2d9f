"""What a manufacturer's price table makes of a number of pieces."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from offcut.reports.plan.price_breaks import PriceBreak, PriceTable, purchase

D = Decimal


def prices(*lines: tuple[str, ...]) -> PriceTable:
    return PriceTable(tuple(PriceBreak(*map(D, line)) for line in lines))


STICKERS = prices(("50", "1.20"), ("100", "0.80"), ("500", "0.55", "25", "18"))


@pytest.mark.parametrize(
    ("wanted", "ordered", "total"),
    [
        ("1", "50", "60.00"),
        ("50", "50", "60.00"),
        ("66", "66", "79.20"),
        ("67", "100", "80.00"),
        ("99", "100", "80.00"),
        ("100", "100", "80.00"),
        ("397", "397", "317.60"),
        ("398", "500", "318.00"),
        ("600", "600", "373.00"),
    ],
)
def test_cheapest_order(wanted: str, ordered: str, total: str) -> None:
    order = purchase(STICKERS, D(wanted))
    assert (order.ordered, order.total) == (D(ordered), D(total))
    assert order.beyond == D(ordered) - D(wanted)
    assert order.goods + order.line.fixed == order.total
    assert order.for_each_ordered * order.ordered == order.total


def test_order_that_costs_as_much_is_the_smaller() -> None:
    assert purchase(prices(("1", "1.00"), ("100", "0.50")), D(50)).ordered == D(50)


cents = st.integers(1, 300).map(lambda number: D(number) / 100)


@st.composite
def tables(draw: st.DrawFn) -> PriceTable:
    minima = sorted(draw(st.sets(st.integers(1, 60), min_size=1, max_size=4)))
    return PriceTable(
        tuple(
            PriceBreak(D(minimum), draw(cents), draw(cents), draw(cents))
            for minimum in minima
        )
    )


@settings(max_examples=80, deadline=None)
@given(tables(), st.integers(1, 80))
def test_no_order_that_is_large_enough_costs_less(table: PriceTable, wanted: int) -> None:
    def cost(pieces: int) -> Decimal:
        line = [each for each in table.breaks if each.minimum <= pieces][-1]
        return line.setup + line.freight + line.unit_price * pieces

    order = purchase(table, D(wanted))
    possible = range(max(wanted, int(table.minimum)), 200)
    assert order.total == cost(int(order.ordered)) == min(map(cost, possible))
    assert order.ordered == min(possible, key=cost)


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ((), "The price table is empty"),
        ((("100", "1"), ("50", "0.8")), "must increase from line to line, but 50 comes"),
        ((("100", "1"), ("100", "0.8")), "but 100 comes after 100"),
        ((("0", "1"),), "The pieces of a line of the price table must be more than zero"),
        ((("1.5", "1"),), "must be a whole number, not 1.5"),
        ((("1", "0"),), "The unit price from 1 pieces on must be more than zero, not 0"),
        ((("1", "-1"),), "The unit price from 1 pieces on must be more than zero"),
        ((("1", "1", "-5"),), "The set-up from 1 pieces on must not be less than zero"),
        ((("1", "1", "0", "-5"),), "The freight from 1 pieces on must not be less"),
    ],
)
def test_bad_tables(lines: tuple[tuple[str, ...], ...], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        prices(*lines)


def test_bad_quantity() -> None:
    with pytest.raises(ValueError, match="The pieces to order must be more than zero"):
        purchase(STICKERS, D(0))
    with pytest.raises(ValueError, match="must be a whole number"):
        purchase(STICKERS, D("2.5"))
