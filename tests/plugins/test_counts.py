"""Stock counts: the shelf is right, and the books adjust at cost."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

import pytest

from tests.conftest import Loaded, load_text
from tests.plugins.books import complaints, costs, on_hand, total, units_on_hand

D = Decimal


def shop(kind: str = "product", method: str = "FIFO") -> str:
    """Return a ledger with 2 THING at 1.00 and 3 at 2.00; it has eleven lines."""
    return f"""\
plugin "beancount.plugins.auto_accounts"
plugin "offcut.plugins"
2025-01-01 commodity THING
  stock: "{kind}"
2025-01-01 open Assets:Shelf THING "{method}"
2025-01-02 * "Bought"
  Assets:Shelf  2 THING {{1.00 USD}}
  Assets:Bank
2025-01-03 * "Bought"
  Assets:Shelf  3 THING {{2.00 USD}}
  Assets:Bank
"""


SALE = """\
2025-02-01 * "Sale"
  Assets:Bank         8.00 USD
  Income:Sales:Web   -8.00 USD
    item: "THING"
    quantity: {}
"""


def test_what_is_missing_goes_at_the_oldest_cost_first_in_first_out() -> None:
    loaded = load_text(shop() + '2025-02-01 custom "stock-count" 2 THING\n')
    assert complaints(loaded) == []
    # 2 at 1.00 and 1 at 2.00
    assert costs(loaded, "Expenses:Shrinkage:THING") == {"Stock count: 2 THING": D("4.00")}
    assert on_hand(loaded, "THING") == [(D(2), D("2.00"))]


def test_what_is_missing_goes_at_the_average() -> None:
    loaded = load_text(shop(method="AVERAGE") + '2025-02-01 custom "stock-count" 2 THING\n')
    # 8.00 for 5
    assert total(loaded, "Expenses:Shrinkage:THING") == D("4.80")
    assert on_hand(loaded, "THING") == [(D(2), D("1.6"))]


@pytest.mark.parametrize("method", ["FIFO", "AVERAGE"])
def test_what_is_over_comes_at_the_last_cost(method: str) -> None:
    loaded = load_text(shop(method=method) + '2025-02-01 custom "stock-count" 7 THING\n')
    assert complaints(loaded) == []
    assert total(loaded, "Expenses:Shrinkage:THING") == D("-4.00")
    assert units_on_hand(loaded, "THING") == D(7)


@pytest.mark.parametrize("method", ["FIFO", "AVERAGE"])
def test_a_count_that_agrees_books_nothing(method: str) -> None:
    loaded = load_text(shop(method=method) + '2025-02-01 custom "stock-count" 5 THING\n')
    assert complaints(loaded) == []
    assert costs(loaded, "Expenses:Shrinkage") == {}
    assert units_on_hand(loaded, "THING") == D(5)


def test_a_count_of_zero_empties_the_shelf() -> None:
    loaded = load_text(shop() + '2025-02-01 custom "stock-count" 0 THING\n')
    assert total(loaded, "Expenses:Shrinkage:THING") == D("8.00")
    assert on_hand(loaded, "THING") == []


@pytest.mark.parametrize(
    ("kind", "account"),
    [
        ("product", "Expenses:Shrinkage:THING"),
        ("material", "Expenses:Shrinkage:THING"),
        ("stamp", "Expenses:Postage:THING"),
    ],
)
def test_the_kind_of_item_says_where_its_loss_is_booked(kind: str, account: str) -> None:
    loaded = load_text(shop(kind) + '2025-02-01 custom "stock-count" 4 THING\n')
    assert costs(loaded, account) == {"Stock count: 4 THING": D("1.00")}


def test_fractions_of_a_unit_are_counted_too() -> None:
    loaded = load_text(shop("material") + '2025-02-01 custom "stock-count" 4.25 THING\n')
    assert total(loaded, "Expenses:Shrinkage:THING") == D("0.75")


@pytest.mark.parametrize("method", ["FIFO", "AVERAGE"])
def test_a_count_on_a_day_of_sales_is_of_its_close(method: str) -> None:
    loaded = load_text(
        shop(method=method) + '2025-02-01 custom "stock-count" 2 THING\n' + SALE.format(3)
    )
    assert complaints(loaded) == []
    assert costs(loaded, "Expenses:Shrinkage") == {}


@pytest.mark.parametrize("method", ["FIFO", "AVERAGE"])
def test_after_a_count_the_books_hold_what_was_counted_though_pieces_are_owed(
    method: str,
) -> None:
    loaded = load_text(
        shop(method=method)
        + SALE.format(8)  # three more than there were: a pre-order, say
        + '2025-02-05 custom "stock-count" 4 THING\n'
    )
    ((_, message),) = complaints(loaded)
    assert "3 short" in message
    assert units_on_hand(loaded, "THING") == D(4)


@pytest.mark.parametrize("method", ["FIFO", "AVERAGE"])
def test_an_empty_shelf_with_pieces_owed_agrees_with_a_count_of_none(method: str) -> None:
    loaded = load_text(
        shop(method=method) + SALE.format(8) + '2025-02-05 custom "stock-count" 0 THING\n'
    )
    assert costs(loaded, "Expenses:Shrinkage") == {}


def test_owed_pieces_are_still_costed_from_the_next_receipt_after_a_count() -> None:
    loaded = load_text(
        shop()
        + SALE.format(8)
        + '2025-02-05 custom "stock-count" 0 THING\n'
        + '2025-02-06 * "Bought"\n  Assets:Shelf  9 THING {5.00 USD}\n  Assets:Bank\n'
    )
    assert total(loaded, "Expenses:COGS") == D("8.00") + 3 * D("5.00")
    assert units_on_hand(loaded, "THING") == D(6)


def test_what_was_found_is_sold_at_what_it_was_booked_with() -> None:
    loaded = load_text(
        shop() + '2025-01-20 custom "stock-count" 6 THING\n' + SALE.format(6)
    )
    assert complaints(loaded) == []
    assert total(loaded, "Expenses:COGS") == D("10.00")
    assert on_hand(loaded, "THING") == []


def test_two_equal_counts_of_a_day_are_one() -> None:
    loaded = load_text(shop() + 2 * '2025-02-01 custom "stock-count" 4 THING\n')
    assert complaints(loaded) == []
    assert total(loaded, "Expenses:Shrinkage") == D("1.00")


def test_two_counts_of_a_day_that_differ_are_an_error_on_one_of_their_lines() -> None:
    loaded = load_text(
        shop()
        + '2025-02-01 custom "stock-count" 4 THING\n'
        + '2025-02-01 custom "stock-count" 3 THING\n'
    )
    ((line, message),) = complaints(loaded)
    assert line in (12, 13)
    assert "THING was counted twice on 2025-02-01: 3 and 4" in message


def test_a_count_of_what_was_never_stocked_is_an_error_on_its_line(
    ledger: Loaded, line_of: Callable[[str], int]
) -> None:
    """
    plugin "beancount.plugins.auto_accounts"
    plugin "offcut.plugins"
    2025-01-01 commodity THING
      stock: "product"
    2025-02-01 custom "stock-count" 4 THING
    """
    ((line, message),) = complaints(ledger)
    assert line == line_of("stock-count")
    assert "4 THING were counted, but none was ever received" in message
    assert units_on_hand(ledger, "THING") == 0


def test_a_count_of_none_of_what_was_never_stocked_agrees(sound_ledger: Loaded) -> None:
    """
    plugin "beancount.plugins.auto_accounts"
    plugin "offcut.plugins"
    2025-01-01 commodity THING
      stock: "product"
    2025-02-01 custom "stock-count" 0 THING
    """
    assert on_hand(sound_ledger, "THING") == []


def test_a_count_of_an_unknown_item_is_an_error_and_the_rest_is_costed() -> None:
    loaded = load_text(shop() + '2025-02-01 custom "stock-count" 4 TING\n' + SALE.format(1))
    ((line, message),) = complaints(loaded)
    assert line == 12
    assert "What is counted is TING" in message
    assert "did you mean THING?" in message
    assert costs(loaded) == {"Sale": D("1.00")}
