"""Keys of orders and ids of rows."""

from __future__ import annotations

import pytest
from beancount.parser import parser
from hypothesis import given
from hypothesis import strategies as st

from offcut.importers.records import order_key, row_id
from offcut.importers.values import one_line


@pytest.mark.parametrize(
    ("number", "key"),
    [
        ("W1042", "W1042"),
        ("#1042", "1042"),
        ("2025/03-1042.a_b", "2025/03-1042.a_b"),
        ("", ""),
        ("#", ""),
    ],
)
def test_key_of_an_order(number: str, key: str) -> None:
    assert order_key(number) == key


def test_prefix_is_put_before_the_number() -> None:
    assert order_key("#1042", "M-") == "M-1042"
    assert order_key("", "M-") == ""


def test_numbers_that_differ_in_other_characters_stay_apart() -> None:
    keys = {order_key(number) for number in ("10 1", "10-1", "10:1", "注文1", "订单1")}

    assert len(keys) == 5


@given(st.text(st.characters(exclude_categories=["Cs"])).map(one_line))
def test_every_key_is_a_link(number: str) -> None:
    if key := order_key(number):
        (entry,), errors, _ = parser.parse_string(f'2025-01-01 * "x" ^order-{key}\n')
        assert errors == []
        assert entry.links == {f"order-{key}"}


def test_ids_of_rows_depend_on_cells_and_occurrence() -> None:
    ids = {row_id(("a", "b"), 0), row_id(("a", "b"), 1), row_id(("ab", ""), 0)}

    assert len(ids) == 3
    assert row_id(("a", "b"), 0) == row_id(("a", "b"), 0)
    assert all(len(each) == 16 for each in ids)
