"""Amounts are split without losing or inventing any of them."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from offcut.importers.splitting import EXACT, split_in_cents

D = Decimal

amounts = st.one_of(
    st.decimals("-99999.99", "99999.99", places=2),
    st.decimals("-99", "99", places=28),
    st.integers(-(10**9), 10**9).map(Decimal),
)
weights = st.lists(st.decimals("0", "9999.99", places=2), min_size=1, max_size=9)


def exact_sum(parts: list[Decimal]) -> Decimal:
    total = D(0)
    for part in parts:
        total = EXACT.add(total, part)
    return total


def test_largest_remainder_first() -> None:
    # Shares 1.666…, 0.555…, 2.777…: cut to 1.66, 0.55, 2.77 they leave 0.02, which go to
    # the two largest remainders, 0.777… and 0.666… of a cent.
    assert split_in_cents(D("5.00"), [D(3), D(1), D(5)]) == [
        D("1.67"),
        D("0.55"),
        D("2.78"),
    ]


def test_equal_remainders_go_to_the_first() -> None:
    assert split_in_cents(D("1.00"), [D(1), D(1), D(1)]) == [
        D("0.34"),
        D("0.33"),
        D("0.33"),
    ]


def test_cost_is_split_as_income_with_the_other_sign() -> None:
    parts = split_in_cents(D("-0.61"), [D("8.00"), D("6.50")])
    assert parts == [D("-0.34"), D("-0.27")]


def test_without_weights_of_any_size_parts_are_equal() -> None:
    assert split_in_cents(D("0.03"), [D(0), D(0)]) == [D("0.02"), D("0.01")]


def test_digits_beyond_the_cent_are_kept() -> None:
    # 0.125 in thirds, in thousandths: 0.041666… and 0.083333….
    assert split_in_cents(D("0.125"), [D(1), D(2)]) == [D("0.042"), D("0.083")]


def test_trailing_zeros_are_no_digits_beyond_the_cent() -> None:
    assert split_in_cents(D("1.0000"), [D(1), D(2)]) == [D("0.33"), D("0.67")]


def test_currency_without_cents() -> None:
    assert split_in_cents(D(100), [D(1), D(1), D(1)], D(1)) == [D(34), D(33), D(33)]


def test_no_weights() -> None:
    with pytest.raises(ValueError, match="no weights"):
        split_in_cents(D(1), [])


def test_negative_weight() -> None:
    with pytest.raises(ValueError, match="not be negative: 1, -2"):
        split_in_cents(D(1), [D(1), D(-2)])


@given(amounts, weights)
def test_parts_add_up_exactly(amount: Decimal, weights: list[Decimal]) -> None:
    assert exact_sum(split_in_cents(amount, weights)) == amount


@given(amounts, weights)
def test_each_part_is_within_a_cent_of_its_share(
    amount: Decimal, weights: list[Decimal]
) -> None:
    total = sum(map(Fraction, weights))
    for part, weight in zip(split_in_cents(amount, weights), weights, strict=True):
        share = Fraction(weight) / total if total else Fraction(1, len(weights))
        assert abs(Fraction(part) - Fraction(amount) * share) < Fraction(1, 100)


@given(st.decimals("-9999.99", "9999.99", places=2), weights)
def test_parts_of_cents_are_cents_of_the_same_sign(
    amount: Decimal, weights: list[Decimal]
) -> None:
    for part in split_in_cents(amount, weights):
        assert part == part.quantize(D("0.01"))
        assert part * amount >= 0


@given(amounts, weights, st.integers(1, 1000))
def test_only_proportions_of_weights_count(
    amount: Decimal, weights: list[Decimal], factor: int
) -> None:
    scaled = [weight * factor for weight in weights]
    assert split_in_cents(amount, scaled) == split_in_cents(amount, weights)
