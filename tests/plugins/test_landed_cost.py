"""Freight, duty and set-up as a part of what lots cost."""

from __future__ import annotations

from decimal import Decimal

import pytest

from tests.conftest import Loaded, load_text
from tests.plugins.books import complaints, costs, on_hand, total, value_on_hand

D = Decimal

HEAD = """\
plugin "offcut.plugins"
plugin "beancount.plugins.auto_accounts"
2025-01-01 commodity AA
  stock: "product"
2025-01-01 commodity BB
  stock: "product"
2025-01-01 commodity CC
  stock: "product"
"""


def purchase(lots: str, charge: str = "", rule: str = "value") -> Loaded:
    """Load one purchase of lots, with a charge that is spread over them."""
    lines = "".join(f"  Assets:Box  {lot}\n" for lot in lots.split("; "))
    if charge:
        lines += f'  Expenses:Freight  {charge} USD\n    spread: "{rule}"\n'
    return load_text(HEAD + f'2025-02-01 * "Bought" ^purchase-1\n{lines}  Assets:Bank\n')


def test_freight_in_is_a_part_of_what_a_lot_cost() -> None:
    # OpenStax, Principles of Accounting, Volume 1, section 6.5: 30 at 80, 1,000 freight.
    loaded = purchase("30 AA {80 USD}", "1000")
    assert complaints(loaded) == []
    assert value_on_hand(loaded, "AA") == D(3400)
    assert total(loaded, "Expenses:Freight") == 0


def test_freight_by_quantity_is_the_same_for_each_unit() -> None:
    # OpenStax, section 6.5: 40 at 60, 5 each for freight: 2,600.
    loaded = purchase("40 AA {60 USD}", "200", "quantity")
    assert on_hand(loaded, "AA") == [(D(40), D(65))]


def test_carriage_over_three_lines_by_value() -> None:
    # A question on the AAT's students' forum (no textbook): 20 at 50, 30 at 75, 40 at 100,
    # carriage 750. Units 55.1724 and 82.7586 are its answers, 110.3448 follows.
    loaded = purchase("20 AA {50 USD}; 30 BB {75 USD}; 40 CC {100 USD}", "750")
    assert complaints(loaded) == []
    for item, cost in {"AA": "55.1724", "BB": "82.7586", "CC": "110.3448"}.items():
        for _, each in on_hand(loaded, item):
            assert each.quantize(D("0.0001")) == D(cost)
    assert sum(value_on_hand(loaded, item) for item in ("AA", "BB", "CC")) == D(8000)


def test_a_charge_by_quantity_over_several_lots() -> None:
    # Worked by hand: 10 and 30 units, 8.00, that is 0.20 each.
    loaded = purchase("10 AA {1 USD}; 30 BB {9 USD}", "8", "quantity")
    assert on_hand(loaded, "AA") == [(D(10), D("1.2"))]
    assert on_hand(loaded, "BB") == [(D(30), D("9.2"))]


def test_a_charge_without_the_word_stays_an_expense() -> None:
    loaded = load_text(
        HEAD + '2025-02-01 * "Bought"\n  Assets:Box  10 AA {1 USD}\n'
        "  Expenses:Freight  5 USD\n  Assets:Bank\n"
    )
    assert total(loaded, "Expenses:Freight") == D(5)
    assert value_on_hand(loaded, "AA") == D(10)


BOUGHT = (
    HEAD + '2025-02-01 * "Bought" ^purchase-1\n  Assets:Box  10 AA {1 USD}\n  Assets:Bank\n'
)
SOLD = (
    '2025-02-02 * "Sale"\n  Assets:Till  8 USD\n  Income:Sales:Web  -8 USD\n'
    '    item: "AA"\n    quantity: 4\n'
)
BILL = (
    '2025-02-03 * "Bill" ^purchase-1\n  Expenses:Freight  5 USD\n    spread: "value"\n'
    "  Assets:Bank\n"
)


@pytest.mark.parametrize("method", ["FIFO", "AVERAGE"])
def test_a_later_bill_corrects_what_is_left_and_expenses_the_share_that_was_sold(
    method: str,
) -> None:
    loaded = load_text(f'option "booking_method" "{method}"\n' + BOUGHT + SOLD + BILL)
    assert complaints(loaded) == []
    assert total(loaded, "Expenses:Freight") == 0
    assert on_hand(loaded, "AA") == [(D(6), D("1.5"))]
    assert costs(loaded) == {"Sale": D(4), "Bill": D(2)}


def test_a_later_bill_for_goods_that_are_all_sold_is_cost_of_goods() -> None:
    loaded = load_text(BOUGHT + SOLD.replace("quantity: 4", "quantity: 10") + BILL)
    assert complaints(loaded) == []
    assert costs(loaded) == {"Sale": D(10), "Bill": D(5)}


def test_what_is_sold_after_the_bill_costs_what_it_landed_at() -> None:
    loaded = load_text(BOUGHT + BILL + SOLD.replace("02-02", "02-09"))
    assert costs(loaded) == {"Sale": D(6)}


def test_a_bill_for_no_lots_is_an_error_on_its_posting_and_stays_an_expense() -> None:
    loaded = load_text(BOUGHT + BILL.replace("^purchase-1", "^purchase-2"))
    ((line, message),) = complaints(loaded)
    assert line == BOUGHT.count("\n") + 2
    assert "no lots to spread this over" in message
    assert total(loaded, "Expenses:Freight") == D(5)


def test_a_spread_by_another_word_is_an_error_on_its_posting() -> None:
    loaded = purchase("10 AA {1 USD}", "5", "weight")
    ((line, message),) = complaints(loaded)
    assert line == HEAD.count("\n") + 3
    assert 'spread must be "value" or "quantity", not \'weight\'' in message
    assert value_on_hand(loaded, "AA") == D(10)


def test_a_spread_in_another_currency_is_an_error_on_its_posting() -> None:
    loaded = load_text(
        HEAD + '2025-02-01 * "Bought"\n  Assets:Box  10 AA {1 USD}\n'
        '  Expenses:Freight  5 EUR\n    spread: "value"\n  Assets:Bank\n'
    )
    ((line, message),) = complaints(loaded)
    assert line == HEAD.count("\n") + 3
    assert "5 EUR cannot be spread over lots that cost USD" in message


@pytest.mark.parametrize("rule", ["value", "quantity"])
def test_a_discount_lowers_what_lots_cost(rule: str) -> None:
    loaded = purchase("10 AA {2 USD}", "-5", rule)
    assert complaints(loaded) == []
    assert on_hand(loaded, "AA") == [(D(10), D("1.5"))]


def test_a_discount_above_what_the_goods_cost_is_an_error() -> None:
    loaded = purchase("10 AA {2 USD}", "-50")
    ((_, message),) = complaints(loaded)
    assert "more than the goods cost" in message
    assert on_hand(loaded, "AA") == [(D(10), D(2))]


def test_a_discount_by_quantity_never_makes_a_cost_negative() -> None:
    # By quantity AA, worth 1.00, would bear half of 20.00.
    loaded = purchase("100 AA {0.01 USD}; 100 BB {1 USD}", "-20", "quantity")
    for item in ("AA", "BB"):
        assert all(cost >= 0 for _, cost in on_hand(loaded, item))
    ((_, message),) = complaints(loaded)
    assert "more than the goods cost" in message


def test_a_later_discount_on_what_was_written_down_goes_no_lower_than_nothing() -> None:
    # Ten at 1.00 are carried at 0.10; of a discount of 5 they take 1, the rest is income.
    written_down = '2025-02-02 custom "net-realisable-value" "AA" 0.10 USD\n'
    average = 'option "booking_method" "AVERAGE"\n'
    loaded = load_text(average + BOUGHT + written_down + BILL.replace("5 USD", "-5 USD"))
    assert complaints(loaded) == []
    assert on_hand(loaded, "AA") == [(D(10), D(0))]
    assert costs(loaded) == {"Bill": D(-4)}
