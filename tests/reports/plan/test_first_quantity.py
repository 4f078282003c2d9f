"""How many to print first; the rules of thumb are common practice, with no source."""

from __future__ import annotations

import datetime
from decimal import Decimal

import pytest
from beancount.core import data
from hypothesis import given, settings
from hypothesis import strategies as st

from offcut.plugins.stock_directives import Bill, Quantity
from offcut.reports.plan.first_quantity import (
    Rounded,
    first_quantity,
    on_whole_sheets,
    pieces_to_a_sheet,
)

D = Decimal


def bill(pieces: str, **inputs: str) -> Bill:
    entry = data.Custom({}, datetime.date(2025, 1, 1), "bill-of-materials", [])
    parts = tuple(Quantity(D(units), item) for item, units in inputs.items())
    return Bill(entry, Quantity(D(pieces), "HERON"), parts)


def test_ten_thousand_followers() -> None:
    # 100 buy, 5 to 10 of them take one product; six to a sheet.
    plan = first_quantity(D(10000), D(6))
    assert plan.buyers == D(100)
    assert plan.low == Rounded(pieces=D(5), sheets=D(1), on_sheets=D(6))
    assert plan.high == Rounded(pieces=D(10), sheets=D(2), on_sheets=D(12))


def test_never_under_four() -> None:
    for following in (D(0), D(10), D(2000)):
        plan = first_quantity(following)
        assert (plan.low.pieces, plan.high.pieces) == (D(4), D(4))
    assert first_quantity(D(5000)).high.pieces == D(5)


def test_fractions_are_rounded_up() -> None:
    # 35 buy; 1.75 and 3.5 of them, of which no fewer than one is printed here.
    plan = first_quantity(D(3500), least=D(1))
    assert (plan.low.pieces, plan.high.pieces) == (D(2), D(4))


def test_other_shares() -> None:
    plan = first_quantity(D(1000), D(1), D("0.05"), D("0.2"), D("0.4"))
    assert (plan.buyers, plan.low.pieces, plan.high.pieces) == (D(50), D(10), D(20))


@settings(max_examples=80, deadline=None)
@given(st.integers(0, 10**6).map(D), st.integers(1, 50).map(D))
def test_whole_sheets_hold_the_pieces_and_no_sheet_is_idle(pieces: D, per_sheet: D) -> None:
    rounded = on_whole_sheets(pieces, per_sheet)
    assert rounded.on_sheets == rounded.sheets * per_sheet
    assert rounded.on_sheets - per_sheet < rounded.pieces <= rounded.on_sheets


def test_pieces_to_a_sheet() -> None:
    assert pieces_to_a_sheet(bill("6", VINYL="1", FILM="1", INK="5.4")) == D(6)
    assert pieces_to_a_sheet(bill("100", CARD="25")) == D(4)
    assert pieces_to_a_sheet(bill("6", VINYL="2", INK="5")) == D(6)
    assert pieces_to_a_sheet(bill("6", VINYL="2", INK="5"), "VINYL") == D(3)
    assert pieces_to_a_sheet(bill("6", INK="5.4")) == D(6)
    with pytest.raises(ValueError, match="The bill of HERON has no FILM"):
        pieces_to_a_sheet(bill("6", VINYL="1"), "FILM")
    with pytest.raises(ValueError, match="What the bill of HERON makes must be a whole"):
        pieces_to_a_sheet(bill("0.5", VINYL="1"))


def test_bad_figures() -> None:
    with pytest.raises(ValueError, match="The following must not be less than zero"):
        first_quantity(D(-1))
    with pytest.raises(ValueError, match="The followers who buy must be a share above 0"):
        first_quantity(D(1), buying=D(0))
    with pytest.raises(ValueError, match=r"0\.2 at the least and 0\.10 at the most; ex"):
        first_quantity(D(1), low_share=D("0.2"))
    with pytest.raises(ValueError, match="The pieces to a sheet must be a whole number"):
        first_quantity(D(1), per_sheet=D("1.5"))
    with pytest.raises(ValueError, match="The pieces to print must not be less than zero"):
        on_whole_sheets(D(-1), D(1))
