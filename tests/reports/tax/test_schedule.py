"""Tax by brackets: examples by hand, and what holds of every schedule."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from offcut.reports.tax.rules_files import find_rules, known_rules
from offcut.reports.tax.schedule import Schedule

D = Decimal
SMALL = Schedule((D("0.10"), D("0.20"), D("0.40")), (D(100), D(300)))
CENT = D("0.01")


@st.composite
def schedules(draw: st.DrawFn) -> Schedule:
    """Rising rates, as progressive taxes have them, and edges."""
    count = draw(st.integers(1, 6))
    rates = draw(
        st.lists(st.decimals(0, 1, places=3), min_size=count, max_size=count).map(sorted)
    )
    edges = draw(
        st.sets(
            st.decimals("0.01", 1_000_000, places=2), min_size=count - 1, max_size=count - 1
        )
    )
    return Schedule(tuple(rates), tuple(sorted(edges)))


amounts = st.decimals(0, 2_000_000, places=2)


@pytest.mark.parametrize(
    ("amount", "tax", "marginal"),
    [
        ("0", "0", "0.10"),
        ("0.01", "0.001", "0.10"),
        ("99.99", "9.999", "0.10"),
        ("100", "10", "0.20"),
        ("100.01", "10.002", "0.20"),
        ("300", "50", "0.40"),
        ("1000", "330", "0.40"),
        ("-5", "0", "0.10"),
    ],
)
def test_each_part_is_taxed_at_its_brackets_rate(
    amount: str, tax: str, marginal: str
) -> None:
    assert SMALL.tax(D(amount)) == D(tax)
    assert SMALL.marginal(D(amount)) == D(marginal)


def test_the_slices_are_the_working() -> None:
    assert SMALL.slices(D(350)) == [
        (D("0.10"), D(100), D(10)),
        (D("0.20"), D(200), D(40)),
        (D("0.40"), D(50), D(20)),
    ]
    assert SMALL.slices(D(0)) == []


def test_one_rate_has_no_edges() -> None:
    assert Schedule((D("0.05"),), ()).tax(D("12345.67")) == D("617.2835")


def test_no_digit_is_lost() -> None:
    amount = D("123456789012345678901234567890.1234567891")
    tax = Schedule((D("0.333"),), ()).tax(amount)
    assert Fraction(tax) == Fraction(amount) * Fraction(333, 1000)


@given(schedules(), amounts)
def test_slices_add_up_to_the_amount_and_the_tax(schedule: Schedule, amount: D) -> None:
    slices = schedule.slices(amount)
    assert sum((each.amount for each in slices), D(0)) == amount
    assert sum((each.tax for each in slices), D(0)) == schedule.tax(amount)
    assert all(each.amount > 0 for each in slices)


@given(schedules(), amounts, amounts)
def test_tax_rises_never_faster_than_the_top_rate(
    schedule: Schedule, one: D, other: D
) -> None:
    low, high = sorted((one, other))
    rise = schedule.tax(high) - schedule.tax(low)
    assert 0 <= rise <= (high - low) * max(schedule.rates)
    assert rise >= (high - low) * schedule.marginal(low)
    assert schedule.tax(D(0)) == 0


@given(schedules())
def test_nothing_jumps_at_an_edge(schedule: Schedule) -> None:
    for edge, below, above in zip(
        schedule.edges, schedule.rates[:-1], schedule.rates[1:], strict=True
    ):
        assert schedule.tax(edge) - schedule.tax(edge - CENT) == below * CENT
        assert schedule.tax(edge + CENT) - schedule.tax(edge) == above * CENT
        assert schedule.marginal(edge - CENT) <= below
        assert schedule.marginal(edge) == above


@given(schedules(), amounts)
def test_the_marginal_rate_is_that_of_the_next_cent(schedule: Schedule, amount: D) -> None:
    more = schedule.tax(amount + CENT) - schedule.tax(amount)
    assert more == schedule.marginal(amount) * CENT


@pytest.mark.parametrize("key", [key for key in known_rules() if key[0] == "us-federal"])
def test_the_shipped_schedules_begin_at_nothing_and_rise(key: tuple[str, str]) -> None:
    rules = find_rules(*key)
    for schedule in rules.schedules["income"].values():
        assert schedule.tax(D(0)) == 0
        assert list(schedule.rates) == sorted(schedule.rates)
        taxes = [schedule.tax(edge) for edge in schedule.edges]
        assert taxes == sorted(taxes)
        top = schedule.tax(D(10_000_000)) / D(10_000_000)
        assert top < schedule.marginal(D(10_000_000)) == schedule.rates[-1]
