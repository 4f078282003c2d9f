"""The costing of plain Decimals: textbook figures, and that nothing is ever lost."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from typing import Any, NamedTuple

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from offcut.plugins import costing
from tests.plugins.textbook_sets import EXAMPLES, Example

D = Decimal
GRAIN = 12
CENT = D("0.01")


class Lot(NamedTuple):
    """The least that costing needs of a lot."""

    unit_cost: Decimal


def played(textbook: Example, receive: Callable[..., Any]) -> tuple[list[Decimal], Decimal]:
    """Return the cost of each sale and the value that is left, by a method."""
    layers: costing.Layers[Lot] = deque()
    sales = []
    for move in textbook.moves:
        if move.unit_cost is None:
            sales.append(costing.value_of(costing.relieve(layers, move.units)))
        else:
            receive(layers, [(move.units, Lot(move.unit_cost))], Lot, GRAIN)
    assert costing.units_in(layers) == textbook.closing_units
    return sales, costing.value_of(layers)


# --- the textbooks -----------------------------------------------------------------


@pytest.mark.parametrize("textbook", EXAMPLES.values(), ids=EXAMPLES)
def test_first_in_first_out_gives_the_textbooks_figures(textbook: Example) -> None:
    sales, closing = played(textbook, costing.receive_first_in_first_out)
    assert sales == textbook.first_in_first_out
    assert closing == textbook.closing_first_in_first_out


@pytest.mark.parametrize("textbook", EXAMPLES.values(), ids=EXAMPLES)
def test_moving_average_gives_the_textbooks_figures_to_the_cent(textbook: Example) -> None:
    sales, closing = played(textbook, costing.receive_into_average)
    assert [sale.quantize(CENT) for sale in sales] == textbook.moving_average
    assert closing.quantize(CENT) == textbook.closing_moving_average


@pytest.mark.parametrize("textbook", EXAMPLES.values(), ids=EXAMPLES)
@pytest.mark.parametrize(
    "receive", [costing.receive_first_in_first_out, costing.receive_into_average]
)
def test_cost_of_goods_and_closing_stock_are_what_was_available(
    textbook: Example, receive: Callable[..., Any]
) -> None:
    sales, closing = played(textbook, receive)
    assert sum(sales) + closing == textbook.available


# --- spreading a value -------------------------------------------------------------

grains = st.integers(2, 12)
whole_units = st.integers(1, 10**6).map(D)


@st.composite
def values_on_a_grain(draw: st.DrawFn) -> tuple[Decimal, int]:
    """Draw a value of no more decimal places than a grain, and the grain."""
    grain = draw(grains)
    return D(draw(st.integers(0, 10**15))).scaleb(-grain), grain


@given(values_on_a_grain(), whole_units)
def test_a_spread_value_is_whole_again_when_added_up(
    value_and_grain: tuple[Decimal, int], units: Decimal
) -> None:
    value, grain = value_and_grain
    layers = costing.spread_evenly(value, units, grain)
    assert sum(Fraction(n) * Fraction(cost) for n, cost in layers) == Fraction(value)
    assert sum(n for n, _ in layers) == units


@given(values_on_a_grain(), whole_units)
@example((D("5999999999999999.999999999999"), 12), D(3))  # the division rounds up
def test_a_spread_keeps_whole_pieces_whole(
    value_and_grain: tuple[Decimal, int], units: Decimal
) -> None:
    value, grain = value_and_grain
    for pieces, _ in costing.spread_evenly(value, units, grain):
        assert pieces > 0
        assert pieces == pieces.to_integral_value()


@given(values_on_a_grain(), whole_units)
def test_spread_unit_costs_are_within_one_grain_of_the_exact_one(
    value_and_grain: tuple[Decimal, int], units: Decimal
) -> None:
    value, grain = value_and_grain
    exact = Fraction(value) / Fraction(units)
    unit_costs = [cost for _, cost in costing.spread_evenly(value, units, grain)]
    for cost in unit_costs:
        assert abs(Fraction(cost) - exact) < Fraction(1, 10**grain)
        assert -cost.as_tuple().exponent <= grain
        assert cost >= 0
    assert len(unit_costs) <= 2


@given(
    st.integers(0, 10**9).map(lambda n: D(n).scaleb(-4)),
    st.integers(1, 10**8).map(lambda n: D(n).scaleb(-4)),
)
def test_a_value_spreads_over_fractions_of_a_unit(value: Decimal, units: Decimal) -> None:
    layers = costing.spread_evenly(value, units, 8)
    assert sum(Fraction(n) * Fraction(cost) for n, cost in layers) == Fraction(value)
    assert sum(n for n, _ in layers) == units
    assert all(-n.as_tuple().exponent <= 4 for n, _ in layers)


def test_ten_over_three_costs_one_unit_a_grain_more() -> None:
    assert costing.spread_evenly(D("10.00"), D(3), 4) == [
        (D(2), D("3.3333")),
        (D(1), D("3.3334")),
    ]


@pytest.mark.parametrize(
    ("number", "written"),
    [("4.500", "4.5"), ("100", "100"), ("1E+2", "100"), ("0.00", "0"), ("0.10", "0.1")],
)
def test_trimmed_numbers_have_no_idle_zeros_and_no_exponent(
    number: str, written: str
) -> None:
    assert str(costing.trimmed(D(number))) == written


# --- sharing a value out -----------------------------------------------------------

weight_lists = st.lists(
    st.integers(0, 10**6).map(lambda n: D(n).scaleb(-2)), min_size=1, max_size=8
).filter(any)


@given(st.integers(0, 10**12).map(lambda n: D(n).scaleb(-6)), weight_lists, grains)
def test_shares_add_up_to_the_whole(
    value: Decimal, shares: list[Decimal], grain: int
) -> None:
    assert sum(map(Fraction, costing.apportion(value, shares, grain))) == Fraction(value)


@given(st.integers(0, 10**12).map(lambda n: D(n).scaleb(-6)), weight_lists, grains)
def test_a_share_is_within_a_grain_of_its_exact_part(
    value: Decimal, shares: list[Decimal], grain: int
) -> None:
    whole = sum(map(Fraction, shares))
    for part, share in zip(costing.apportion(value, shares, grain), shares, strict=True):
        exact = Fraction(value) * Fraction(share) / whole
        assert abs(Fraction(part) - exact) <= Fraction(1, 10**grain)


@given(st.integers(0, 10**12).map(lambda n: D(n).scaleb(-6)), weight_lists, grains)
@example(D("0.006"), [D(1), D(0)], 2)
def test_no_share_is_negative(value: Decimal, shares: list[Decimal], grain: int) -> None:
    assert min(costing.apportion(value, shares, grain)) >= 0


@given(st.integers(0, 10**12).map(lambda n: D(n).scaleb(-6)), weight_lists, grains)
@example(D("0.006"), [D(1), D(0)], 2)
def test_a_discount_is_shared_out_as_a_charge_is(
    value: Decimal, shares: list[Decimal], grain: int
) -> None:
    parts = costing.apportion(value, shares, grain)
    assert costing.apportion(-value, shares, grain) == [-part for part in parts]


@given(st.integers(0, 10**12).map(lambda n: D(n).scaleb(-6)), weight_lists)
def test_who_has_no_weight_bears_no_cost(value: Decimal, shares: list[Decimal]) -> None:
    parts = costing.apportion(value, shares, 6)
    assert all(not part for part, share in zip(parts, shares, strict=True) if not share)


# --- the queue ---------------------------------------------------------------------

unit_costs = st.integers(0, 10**6).map(lambda n: D(n).scaleb(-4))
quantities = st.integers(1, 10**6).map(lambda n: D(n).scaleb(-2))
queues = st.lists(st.tuples(quantities, unit_costs.map(Lot)), max_size=6)


@given(queues, quantities)
def test_what_is_taken_and_what_stays_are_what_there_was(
    before: list[tuple[Decimal, Lot]], wanted: Decimal
) -> None:
    layers = deque(before)
    taken = costing.relieve(layers, wanted)
    had = sum((units for units, _ in before), D(0))
    assert sum((units for units, _ in taken), D(0)) == min(wanted, had)
    assert costing.units_in(layers) == max(had - wanted, D(0))
    assert costing.value_of(taken) + costing.value_of(layers) == costing.value_of(before)
    assert all(units > 0 for units, _ in [*taken, *layers])


@given(queues, quantities, quantities)
def test_taking_twice_is_taking_the_sum(
    before: list[tuple[Decimal, Lot]], first: Decimal, second: Decimal
) -> None:
    apart, together = deque(before), deque(before)
    one = costing.value_of(costing.relieve(apart, first))
    other = costing.value_of(costing.relieve(apart, second))
    assert one + other == costing.value_of(costing.relieve(together, first + second))
    assert apart == together


@given(queues, quantities)
def test_the_oldest_leaves_first(
    before: list[tuple[Decimal, Lot]], wanted: Decimal
) -> None:
    taken = costing.relieve(deque(before), wanted)
    assert [lot for _, lot in taken] == [lot for _, lot in before[: len(taken)]]


@given(queues.filter(bool), quantities)
def test_what_left_and_came_back_is_as_if_it_had_never_left(
    before: list[tuple[Decimal, Lot]], wanted: Decimal
) -> None:
    # Neighbours of one lot may be one layer afterwards; what they are worth, unit by
    # unit from the front, is the same.
    layers = deque(before)
    for units, lot in reversed(costing.relieve(layers, wanted)):
        costing.put_back(layers, units, lot)
    for many in (D("0.01"), D(1), D(100), D(10000)):
        ours = costing.value_of(costing.relieve(deque(layers), many))
        assert ours == costing.value_of(costing.relieve(deque(before), many))


# --- the moving average ------------------------------------------------------------

arrivals = st.tuples(
    st.integers(1, 10**4).map(D), st.integers(0, 10**8).map(lambda n: D(n).scaleb(-6))
)
averaged_moves = st.lists(
    st.one_of(
        arrivals.map(lambda pair: ("in", *pair)),
        st.tuples(st.just("out"), st.integers(1, 10**4).map(D)),
    ),
    max_size=25,
)


@given(averaged_moves)
def test_every_unit_stays_within_a_grain_of_its_average(moves: list[Any]) -> None:
    """Each average is compared with the exact one of what the queue is worth."""
    layers: costing.Layers[Lot] = deque()
    for move in moves:
        if move[0] == "out":
            costing.relieve(layers, move[1])
            continue
        costing.receive_into_average(layers, [(move[1], Lot(move[2]))], Lot, GRAIN)
        exact = Fraction(costing.value_of(layers)) / Fraction(costing.units_in(layers))
        for _, lot in layers:
            assert abs(Fraction(lot.unit_cost) - exact) <= Fraction(1, 10**GRAIN)


@given(averaged_moves)
def test_a_sale_at_the_average_is_within_a_grain_a_unit_of_the_fraction(
    moves: list[Any],
) -> None:
    layers: costing.Layers[Lot] = deque()
    for move in moves:
        if move[0] == "in":
            costing.receive_into_average(layers, [(move[1], Lot(move[2]))], Lot, GRAIN)
        elif layers:
            exact = Fraction(costing.value_of(layers)) / Fraction(costing.units_in(layers))
            taken = costing.relieve(layers, move[1])
            units = Fraction(costing.units_in(deque(taken)))
            off = abs(Fraction(costing.value_of(taken)) - units * exact)
            assert off <= units * Fraction(1, 10**GRAIN)


@given(averaged_moves)
def test_averaging_loses_no_value_and_no_unit(moves: list[Any]) -> None:
    layers: costing.Layers[Lot] = deque()
    units_in, value_in, units_out, value_out = (Fraction(0),) * 4
    for move in moves:
        if move[0] == "in":
            costing.receive_into_average(layers, [(move[1], Lot(move[2]))], Lot, GRAIN)
            units_in += Fraction(move[1])
            value_in += Fraction(move[1]) * Fraction(move[2])
        else:
            taken = costing.relieve(layers, move[1])
            units_out += sum((Fraction(units) for units, _ in taken), Fraction(0))
            value_out += sum(
                (Fraction(units) * Fraction(lot.unit_cost) for units, lot in taken),
                Fraction(0),
            )
    left = [(Fraction(units), Fraction(lot.unit_cost)) for units, lot in layers]
    assert units_in == units_out + sum((units for units, _ in left), Fraction(0))
    assert value_in == value_out + sum((n * cost for n, cost in left), Fraction(0))


@given(averaged_moves)
def test_averages_of_averages_never_get_longer_than_the_grain(moves: list[Any]) -> None:
    layers: costing.Layers[Lot] = deque()
    for move in moves:
        if move[0] == "in":
            costing.receive_into_average(layers, [(move[1], Lot(move[2]))], Lot, GRAIN)
        else:
            costing.relieve(layers, move[1])
        for units, lot in layers:
            assert -lot.unit_cost.as_tuple().exponent <= GRAIN
            assert units == units.to_integral_value()


@given(averaged_moves)
def test_a_restated_queue_is_worth_what_was_withdrawn(moves: list[Any]) -> None:
    layers: costing.Layers[Lot] = deque()
    for move in moves:
        if move[0] == "out":
            costing.relieve(layers, move[1])
            continue
        arrival = costing.receive_into_average(
            layers, [(move[1], Lot(move[2]))], Lot, GRAIN
        )
        if arrival:
            assert costing.value_of(arrival.withdrawn) == costing.value_of(arrival.restated)
            assert list(layers) == arrival.restated


@given(
    st.lists(st.integers(1, 40), min_size=1, max_size=12),
    st.lists(st.integers(1, 40), min_size=12, max_size=12),
    st.integers(1, 10**6),
)
def test_a_chain_of_products_made_of_products_keeps_its_decimals_short(
    parts: list[int], pieces: list[int], cents: int
) -> None:
    """Each link uses some of the last one's pieces; its cost goes into the next."""
    value = D(cents).scaleb(-2)
    layers = deque(
        (units, Lot(cost)) for units, cost in costing.spread_evenly(value, D(40), GRAIN)
    )
    for used, made in zip(parts, pieces, strict=False):
        cost = costing.value_of(costing.relieve(layers, D(used)))
        layers = deque(
            (units, Lot(each))
            for units, each in costing.spread_evenly(cost, D(made), GRAIN)
        )
        assert costing.value_of(layers) == cost
        for units, lot in layers:
            assert -lot.unit_cost.as_tuple().exponent <= GRAIN
            assert units == units.to_integral_value()
