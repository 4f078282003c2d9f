"""From which quantity on the other way is the cheaper, against every quantity tried."""

from __future__ import annotations

from decimal import Decimal
from itertools import groupby, pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from offcut.reports.plan.make_or_order import OwnMaking, compare
from offcut.reports.plan.order_break_even import Crossing, Stretch, break_even
from offcut.reports.plan.price_breaks import PriceBreak, PriceTable

D = Decimal


def table(*lines: tuple[str, ...]) -> PriceTable:
    return PriceTable(tuple(PriceBreak(*map(D, line)) for line in lines))


def test_one_crossing_at_a_fraction() -> None:
    # Made: 1.00 each; ordered: 50.00 and 0.40 each. 50 / 0.60 = 83.33...
    prices = table(("1", "0.40", "50"))
    found = break_even(OwnMaking(D(1), D(0), D(0)), prices)
    assert found.stretches == (Stretch(D(1), D(83), "make"), Stretch(D(84), None, "order"))
    (crossing,) = found.crossings
    assert crossing.quantity is not None
    assert crossing.quantity.quantize(D("0.0001")) == D("83.3333")
    assert crossing[1:] == (D(84), "make", "order", prices.breaks[0])


def test_crossing_at_a_whole_quantity_is_a_tie() -> None:
    found = break_even(OwnMaking(D(0), D(1), D(20)), table(("1", "0.20", "40")))
    assert found.stretches == (
        Stretch(D(1), D(299), "make"),
        Stretch(D(300), D(300), "same"),
        Stretch(D(301), None, "order"),
    )
    (crossing,) = found.crossings
    assert (crossing.quantity, crossing.first) == (D(300), D(301))


def test_several_crossings() -> None:
    # Made: 0.70 each, and 20.00 to set up. Ordered: 1.00 up to 99, then 0.80, then 0.60.
    prices = table(("1", "1.00"), ("100", "0.80"), ("300", "0.60"))
    found = break_even(OwnMaking(D("0.70"), D(0), D(20), D(0)), prices)
    # Without set-up making is cheaper from the first piece on, until 0.60 a piece.
    assert [stretch.cheaper for stretch in found.stretches] == ["make", "order"]

    found = break_even(OwnMaking(D("0.70"), D(0), D(20), D(60)), prices)
    # 1.00 q = 20 + 0.70 q at 66.67; 80.00 for 100 already at 80: 20 + 0.70 q = 80 at
    # 85.71; 0.80 q = 20 + 0.70 q at 200; 300 for 180.00: 20 + 0.70 q = 180 at 228.57.
    assert found.stretches == (
        Stretch(D(1), D(66), "order"),
        Stretch(D(67), D(85), "make"),
        Stretch(D(86), D(199), "order"),
        Stretch(D(200), D(200), "same"),
        Stretch(D(201), D(228), "make"),
        Stretch(D(229), None, "order"),
    )
    rounded = [
        each.quantity.quantize(D("0.01")) if each.quantity is not None else None
        for each in found.crossings
    ]
    assert rounded == [D("66.67"), D("85.71"), D(200), D("228.57")]
    assert [each.line.minimum for each in found.crossings] == [1, 100, 100, 300]


def test_none_at_all() -> None:
    dear = table(("1", "3.00"), ("1000", "2.00"))
    found = break_even(OwnMaking(D(1), D(0), D(0)), dear)
    assert found.stretches == (Stretch(D(1), None, "make"),)
    assert found.crossings == ()
    same = break_even(OwnMaking(D(3), D(0), D(0)), table(("1", "3.00")))
    assert same.stretches == (Stretch(D(1), None, "same"),)
    assert same.crossings == ()


def test_crossing_between_two_steps_has_no_exact_quantity() -> None:
    # Freight that rises with the step makes ordering jump past making.
    prices = table(("1", "0.50"), ("100", "0.50", "0", "200"))
    found = break_even(OwnMaking(D("0.60"), D(0), D(0)), prices)
    assert found.crossings[0] == Crossing(None, D(100), "order", "make", prices.breaks[1])
    assert found.crossings[1][:4] == (D(2000), D(2001), "make", "order")


def test_tie_over_several_steps_counts_from_its_beginning() -> None:
    # A run costs 80.00 whatever its size; so do 80 pieces, and the 100 for 0.80 each.
    prices = table(("1", "1.00"), ("100", "0.80"))
    found = break_even(OwnMaking(D(0), D(0), D(80), D(60)), prices)
    assert found.stretches == (
        Stretch(D(1), D(79), "order"),
        Stretch(D(80), D(100), "same"),
        Stretch(D(101), None, "make"),
    )
    assert found.crossings == (Crossing(D(80), D(101), "order", "make", prices.breaks[1]),)


cents = st.integers(0, 200).map(lambda number: D(number) / 100)
prices_of_pieces = st.integers(1, 200).map(lambda number: D(number) / 100)


@st.composite
def tables(draw: st.DrawFn) -> PriceTable:
    minima = sorted(draw(st.sets(st.integers(1, 60), min_size=1, max_size=4)))
    fixed = st.integers(0, 3000).map(lambda number: D(number) / 100)
    return PriceTable(
        tuple(
            PriceBreak(D(minimum), draw(prices_of_pieces), draw(fixed), draw(fixed))
            for minimum in minima
        )
    )


@settings(max_examples=80, deadline=None)
@given(
    tables(),
    st.builds(OwnMaking, cents, st.integers(0, 7).map(D), st.integers(0, 30).map(D), cents),
)
def test_every_quantity_is_in_the_stretch_of_its_cheaper_way(
    prices: PriceTable, own: OwnMaking
) -> None:
    found = break_even(own, prices)
    tried = 150
    ways = [compare(own, prices, D(quantity)).cheaper for quantity in range(1, tried + 1)]
    said = [
        stretch.cheaper
        for stretch in found.stretches
        for _ in range(
            int(stretch.first),
            int(min(stretch.last, D(tried)) if stretch.last is not None else tried) + 1,
        )
    ]
    assert said == ways
    for one, two in pairwise(found.stretches):
        assert one.last is not None
        assert two.first == one.last + 1
        assert one.cheaper != two.cheaper
    assert found.stretches[0].first == 1
    assert found.stretches[-1].last is None
    # A crossing where the decided ways, ties apart, change; and nowhere else.
    decided = [each.cheaper for each in found.stretches if each.cheaper != "same"]
    changes = [way for way, _ in groupby(decided)]
    assert [each.after for each in found.crossings] == changes[1:]
    for crossing in found.crossings:
        quantity = crossing.quantity
        if quantity is None:
            continue
        if quantity % 1:
            assert crossing.first == int(quantity) + 1
        else:
            assert compare(own, prices, quantity).cheaper == "same"
