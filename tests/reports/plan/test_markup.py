"""Markup and margin, held against a textbook.

Source: Contemporary Mathematics (OpenStax), section 6.2, "Discounts, Markups, and Sales
Tax": the exercises on markup. Margins beside them are worked from the same figures.
"""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from offcut.reports.plan.markup import cost_within, margin, marked_up, markup

D = Decimal
PLACES = D("0.0001")


@pytest.mark.parametrize(
    ("cost", "by", "price"),
    [
        ("62", "0.15", "71.30"),
        ("750", "0.45", "1087.50"),
        ("90", "0.15", "103.50"),
        ("8.85", "0.20", "10.62"),
        ("11.80", "1.25", "26.55"),
        ("1.30", "0.60", "2.08"),
        ("480", "0.75", "840"),
        ("25.00", "0.18", "29.50"),
        # Principles of Accounting, Volume 2 (OpenStax), cost-plus pricing.
        ("10", "0.30", "13.00"),
        ("12", "0.30", "15.60"),
        ("8", "0.20", "9.60"),
        ("9", "0.20", "10.80"),
    ],
)
def test_textbook(cost: str, by: str, price: str) -> None:
    assert marked_up(D(cost), D(by)) == D(price)
    assert markup(D(cost), D(price)) == D(by)
    assert cost_within(D(price), D(by)) == D(cost)


def test_textbook_rounded() -> None:
    assert markup(D("5.20"), D("9.90")).quantize(PLACES) == D("0.9038")
    assert margin(D("5.20"), D("9.90")).quantize(PLACES) == D("0.4747")
    assert margin(D(90), D("103.50")).quantize(PLACES) == D("0.1304")


@settings(max_examples=80, deadline=None)
@given(st.integers(1, 10**6), st.integers(0, 10**6))
def test_margin_is_markup_over_one_and_markup(cost: int, profit: int) -> None:
    by = markup(D(cost), D(cost + profit))
    assert abs(margin(D(cost), D(cost + profit)) * (1 + by) - by) < D("1E-5")


def test_bad_figures() -> None:
    with pytest.raises(ValueError, match="A cost to mark up must be more than zero, not 0"):
        markup(D(0), D(1))
    with pytest.raises(ValueError, match="A price must be more than zero, not -1"):
        margin(D(1), D(-1))
    with pytest.raises(ValueError, match="A markup must not be less than zero"):
        marked_up(D(1), D("-0.1"))
    with pytest.raises(ValueError, match="A markup must not be less than zero"):
        cost_within(D(1), D("-0.1"))
