"""Sums in whole numbers are those of Decimals, or are not made."""

from __future__ import annotations

import decimal
from decimal import Decimal

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from offcut.importers.splitting import EXACT
from offcut.reports.exact_sums import (
    MOST,
    PLACES,
    groups_together,
    sum_of,
    sums_of_groups,
    whole_name,
    whole_numbers,
)

D = Decimal

cents = st.integers(-(10**9), 10**9).map(lambda number: D(number).scaleb(-2))
fine = st.integers(-(10**15), 10**15).map(lambda number: D(number).scaleb(-PLACES))
finer = st.integers(1, 10**30).map(lambda number: D(number).scaleb(-28))
rows = st.lists(
    st.tuples(st.integers(0, 4), st.one_of(cents, fine, st.just(D(0)))), min_size=1
)


def fit(amounts: list[Decimal]) -> bool:
    """Return whether amounts together, signs aside, are within 64 bits."""
    with decimal.localcontext(EXACT):
        return sum(map(abs, amounts)) <= D(MOST).scaleb(-PLACES)


def table_of(amounts: list[Decimal], currency: str = "USD") -> pd.DataFrame:
    """Return a table of one column, with its whole numbers if it can have them."""
    table = pd.DataFrame(
        {
            "gross": pd.Series(amounts, dtype=object),
            "currency": [currency] * len(amounts),
        }
    )
    whole = whole_numbers(amounts)
    return table if whole is None else table.assign(**{whole_name("gross"): whole})


@given(rows)
def test_sums_of_groups_are_those_of_decimals(some: list[tuple[int, Decimal]]) -> None:
    numbers = np.array([group for group, _ in some])
    amounts = [amount for _, amount in some]
    table = table_of(amounts)
    assert (whole_name("gross") in table) == fit(amounts)
    (found,) = sums_of_groups(table, ["gross"], *groups_together(numbers))
    with decimal.localcontext(EXACT):
        expected = [
            sum(amount for group, amount in some if group == each)
            for each in sorted(set(numbers.tolist()))
        ]
        assert found == expected
        assert sum_of(table, "gross") == sum(amount for _, amount in some)


@given(st.lists(st.one_of(cents, finer), min_size=1))
def test_amounts_of_more_digits_are_summed_as_decimals(amounts: list[Decimal]) -> None:
    with decimal.localcontext(EXACT):
        exact = all(amount == amount.quantize(D(1).scaleb(-PLACES)) for amount in amounts)
        total = sum(amounts)
    table = table_of(amounts)
    assert (whole_name("gross") in table) == (exact and fit(amounts))
    assert sum_of(table, "gross") == total


@pytest.mark.parametrize(("more", "fits"), [(0, True), (1, False)])
def test_what_is_too_large_together_has_no_whole_numbers(more: int, fits: bool) -> None:
    # Of two signs, so that their sum alone would fit.
    half = MOST // 2
    amounts = [D(half).scaleb(-PLACES), -D(MOST - half + more).scaleb(-PLACES)]
    assert (whole_numbers(amounts) is not None) == fits
    with decimal.localcontext(EXACT):
        assert sum_of(table_of(amounts), "gross") == sum(amounts)


def test_one_amount_beyond_64_bits_has_no_whole_number() -> None:
    assert whole_numbers([D(2**64)]) is None


@pytest.mark.parametrize(
    ("currency", "amounts", "written"),
    [
        ("USD", ["4.00", "4.00"], "8.00"),
        ("USD", ["4", "0.5"], "4.50"),
        ("JPY", ["400", "400"], "800"),
        ("USD", ["0.40", "0.4125"], "0.8125"),
        ("USD", ["4.00", "-4.00"], "0"),
    ],
)
def test_sums_have_the_digits_of_their_currency_or_more(
    currency: str, amounts: list[str], written: str
) -> None:
    assert f"{sum_of(table_of(list(map(D, amounts)), currency), 'gross'):f}" == written


def test_sum_of_some_rows_and_of_none() -> None:
    table = table_of([D("1.00"), D("2.00"), D("4.00")])
    assert sum_of(table, "gross", np.array([0, 2])) == 5
    assert sum_of(table, "gross", np.array([], dtype=np.int64)) == 0
    assert sum_of(table.iloc[:0], "gross") == 0
