"""Numbers and names as a reader sees them."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from offcut.reports.figures import money, percentage, pieces, plain, rounded, unit_price

D = Decimal


@pytest.mark.parametrize(
    ("amount", "currency", "text"),
    [
        ("1234567.005", "USD", "1,234,567.01"),
        ("-1234.5", "USD", "-1,234.50"),
        ("-0.004", "USD", "0.00"),
        ("0", "USD", "0.00"),
        ("0.005", "USD", "0.01"),
        ("-0.005", "USD", "-0.01"),
        ("1234.5", "JPY", "1,235"),
        ("1E+3", "USD", "1,000.00"),
        ("1.5", "HERON-STK", "1.50"),
        (
            "12345678901234567890123456789.99",
            "USD",
            "12,345,678,901,234,567,890,123,456,789.99",
        ),
    ],
)
def test_money(amount: str, currency: str, text: str) -> None:
    assert money(D(amount), currency) == text


@pytest.mark.parametrize(
    ("amount", "currency", "text"),
    [
        ("0.42", "USD", "0.42"),
        ("0.425", "USD", "0.425"),
        ("0.03125", "USD", "0.0313"),
        ("-0.03125", "USD", "-0.0313"),
        ("0.00004", "USD", "0.00"),
        ("1234.5", "USD", "1,234.50"),
        ("12.5", "JPY", "12.5"),
        ("1200", "JPY", "1,200"),
    ],
)
def test_unit_price(amount: str, currency: str, text: str) -> None:
    assert unit_price(D(amount), currency) == text


@given(st.decimals("-1E12", "1E12", places=6))
def test_rounding_moves_an_amount_by_half_a_cent_at_most(amount: Decimal) -> None:
    assert abs(rounded(amount, "USD") - amount) <= D("0.005")


@pytest.mark.parametrize(
    ("quantity", "text"),
    [
        ("0", "0"),
        ("1250", "1,250"),
        ("2.50", "2.5"),
        ("100", "100"),
        ("-3", "-3"),
        ("1E+2", "100"),
    ],
)
def test_pieces(quantity: str, text: str) -> None:
    assert pieces(D(quantity)) == text


@pytest.mark.parametrize(
    ("share", "text"),
    [
        (None, "\N{EN DASH}"),
        ("0.425", "43%"),
        ("-0.001", "0%"),
        ("-12.5", "-1,250%"),
        ("1", "100%"),
    ],
)
def test_percentage(share: str | None, text: str) -> None:
    assert percentage(None if share is None else D(share)) == text


@pytest.mark.parametrize(
    "name",
    ["Heron at Dusk", "فراشة الليل", "夜の灯台", "👩🏽‍🎨 Zoë's <b>&", "\u0646\u200c\u0647"],
)
def test_names_of_any_script_stay(name: str) -> None:
    assert plain(name) == name


@pytest.mark.parametrize(
    "control", ["\x1b[2J", "\r", "\n", "\u202e", "\u2066", "\u2028", "\x9b"]
)
def test_controls_of_a_terminal_do_not(control: str) -> None:
    assert plain(f"a{control}b")[1] == "\N{REPLACEMENT CHARACTER}"
