"""Goods at a shop stay the maker's stock until they are sold there."""

from __future__ import annotations

from decimal import Decimal

import pytest

from tests.conftest import Loaded, load_text
from tests.plugins.books import complaints, costs, total, weights

D = Decimal
HEAD = """\
plugin "offcut.plugins"
plugin "beancount.plugins.auto_accounts"
option "booking_method" "{}"
2025-01-01 commodity PRINT
  stock: "product"
2025-01-02 * "Bought"
  Assets:Stock:PRINT  4 PRINT {{1 USD}}
  Assets:Stock:PRINT  6 PRINT {{2 USD}}
  Assets:Bank
"""
AWAY = "Assets:Consignment:Harbour-Books:PRINT"
SENT = '2025-02-01 custom "consignment" 6 PRINT "Harbour Books"\n'
BACK = '2025-03-01 custom "consignment-return" 2 PRINT "Harbour Books"\n'


def shop(then: str, method: str = "FIFO") -> Loaded:
    """Load 4 PRINT at 1.00 and 6 at 2.00, and what comes after them."""
    return load_text(HEAD.format(method) + then)


def sold(units: int, date: str = "2025-02-10", place: str = "Harbour Books") -> str:
    """Return a sale at a place."""
    return (
        f'{date} * "Sale"\n  place: "{place}"\n  Assets:Till  8 USD\n'
        f"  Income:Sales:Shops  -8 USD\n"
        f'    item: "PRINT"\n    quantity: {units}\n'
    )


def test_goods_that_go_to_a_shop_stay_stock_at_their_cost() -> None:
    loaded = shop(SENT)
    assert complaints(loaded) == []
    assert weights(loaded)[AWAY] == 4 * D(1) + 2 * D(2)
    assert weights(loaded)["Assets:Stock:PRINT"] == 4 * D(2)
    assert total(loaded, "Expenses:COGS") == 0


def test_a_sale_at_the_shop_relieves_what_is_there() -> None:
    loaded = shop(SENT + sold(5))
    assert complaints(loaded) == []
    assert costs(loaded) == {"Sale": 4 * D(1) + D(2)}
    assert weights(loaded)[AWAY] == D(2)


def test_what_comes_back_unsold_is_the_makers_again() -> None:
    loaded = shop(SENT + sold(3) + BACK)
    assert complaints(loaded) == []
    assert weights(loaded)[AWAY] == D(2)
    # Three at 1.00 were sold; of the one at 1.00 and two at 2.00 the older two came.
    assert weights(loaded)["Assets:Stock:PRINT"] == 4 * D(2) + D(1) + D(2)


def test_what_comes_back_unsold_leaves_by_the_age_of_its_lot() -> None:
    loaded = shop(
        '2025-02-01 custom "consignment" 2 PRINT "Harbour Books"\n'
        '2025-02-02 * "Bought"\n  Assets:Stock:PRINT  5 PRINT {5 USD}\n  Assets:Bank\n'
        + BACK
        + sold(12, "2025-03-02").replace('  place: "Harbour Books"\n', "")
    )
    assert complaints(loaded) == []
    # All of January's 4 at 1.00 and 6 at 2.00 before February's at 5.00.
    assert costs(loaded) == {"Sale": D(4) + D(12) + D(10)}


@pytest.mark.parametrize("method", ["FIFO", "AVERAGE"])
def test_moving_goods_about_costs_nothing(method: str) -> None:
    found = weights(shop(SENT + BACK, method))
    assert found[AWAY] + found["Assets:Stock:PRINT"] == D(16)
    assert not any(value for account, value in found.items() if "Expenses" in account)


def test_goods_back_from_a_shop_are_no_new_receipt() -> None:
    # What is found over is worth what was paid last, 2.00.
    loaded = shop(
        '2025-02-01 custom "consignment" 1 PRINT "Harbour Books"\n'
        '2025-03-01 custom "consignment-return" 1 PRINT "Harbour Books"\n'
        '2025-03-02 custom "stock-count" 11 PRINT\n'
    )
    assert complaints(loaded) == []
    assert total(loaded, "Expenses:Shrinkage") == D(-2)


def test_more_than_there_was_is_an_error_and_moves_what_there_was() -> None:
    loaded = shop(SENT.replace("6 PRINT", "16 PRINT"))
    ((line, message),) = complaints(loaded)
    assert line == 10
    assert "only 10 were" in message
    assert weights(loaded)[AWAY] == D(16)


def test_a_sale_at_a_shop_that_nothing_was_sent_to_is_an_error_with_a_near_name() -> None:
    loaded = shop(SENT + sold(1, place="Harbor Books"))
    ((line, message),) = complaints(loaded)
    assert line == 11
    assert "did you mean Harbour Books?" in message
    assert total(loaded, "Expenses:COGS") == 0


def test_a_refund_at_the_shop_goes_back_to_the_shop() -> None:
    refund = (
        '2025-02-11 * "Refund" ^order-1\n  place: "Harbour Books"\n  Assets:Till  -8 USD\n'
        "  Income:Refunds:Shops  8 USD\n"
        '    item: "PRINT"\n    quantity: 1\n'
    )
    loaded = shop(SENT + sold(5).replace('"Sale"', '"Sale" ^order-1') + refund)
    assert complaints(loaded) == []
    assert costs(loaded) == {"Sale": D(6), "Refund": D(-2)}
    assert weights(loaded)[AWAY] == D(4)


@pytest.mark.parametrize(
    "text",
    ["12 PRINT", '"Harbour Books" 12 PRINT', '0 PRINT "Harbour Books"', "12 PRINT 5"],
)
def test_a_consignment_that_is_wrong_is_an_error_on_its_line(text: str) -> None:
    loaded = shop(f'2025-02-01 custom "consignment" {text}\n')
    ((line, message),) = complaints(loaded)
    assert line == 10
    assert "Write it as" in message
