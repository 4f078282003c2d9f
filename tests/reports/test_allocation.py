"""What an order's lines share, by sales value, by pieces and by weight."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pandas as pd
import pytest

from offcut.reports.allocation import RULES, Allocation, Rule, Sold, read_allocation
from offcut.reports.order_table import order_table

D = Decimal


def table_of(ledger: Any, rule: Rule) -> pd.DataFrame:
    return order_table(ledger.entries, ledger.options, rule)


def column(ledger: Any, rule: Rule, name: str) -> dict[str, Decimal]:
    """Return a column's sums by product."""
    table = table_of(ledger, rule)
    return {product: sum(rows[name], D(0)) for product, rows in table.groupby("product")}


@pytest.mark.parametrize(
    ("rule", "postage", "fees"),
    [
        # 18.00 and 6.00 of 24.00; one and three of four pieces; 62 and 9 of 71 grams.
        ("value", ("-3.00", "-1.00"), ("-0.75", "-0.25")),
        ("units", ("-1.00", "-3.00"), ("-0.25", "-0.75")),
        ("weight", ("-3.49", "-0.51"), ("-0.87", "-0.13")),
    ],
)
def test_an_order_by_each_rule(
    sound_ledger: Any, rule: Rule, postage: tuple[str, str], fees: tuple[str, str]
) -> None:
    """
    2025-01-01 commodity HERON-PRT
      stock: "product"
      weight: 62
    2025-01-01 commodity MOTH-STK
      stock: "product"
      weight: 3
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Income:Discounts:Web
    2025-01-01 open Income:Refunds:Web
    2025-01-01 open Expenses:Fees:Card
    2025-01-01 open Expenses:Postage
    2025-03-01 * "Order" ^order-1
      Income:Sales:Web  -18.00 USD
        item: "HERON-PRT"
        quantity: 1
      Income:Sales:Web  -6.00 USD
        item: "MOTH-STK"
        quantity: 3
      Income:Discounts:Web  2.40 USD
      Expenses:Fees:Card  1.00 USD
      Assets:Cash
    2025-03-02 * "Label" ^order-1
      Expenses:Postage  4.00 USD
      Assets:Cash
    2025-03-09 * "Something back" ^order-1
      Income:Refunds:Web  8.00 USD
      Assets:Cash
    """
    # To the cent, largest remainder first: 4.00 * 62 / 71 is 3.4929…, 1.00 is 0.8732….
    assert tuple(map(str, column(sound_ledger, rule, "postage").values())) == postage
    assert tuple(map(str, column(sound_ledger, rule, "fees").values())) == fees
    # What is taken off prices follows the prices by every rule.
    assert column(sound_ledger, rule, "discount") == {
        "HERON-PRT": D("-1.80"),
        "MOTH-STK": D("-0.60"),
    }
    assert column(sound_ledger, rule, "refund") == {
        "HERON-PRT": D("-6.00"),
        "MOTH-STK": D("-2.00"),
    }


def test_parcels_are_shared_by_the_rule_too(sound_ledger: Any) -> None:
    """
    plugin "offcut.plugins"
    2025-01-01 commodity HERON-PRT
      stock: "product"
      weight: 60
    2025-01-01 commodity MOTH-STK
      stock: "product"
      weight: 20
    2025-01-01 commodity MAILER
      stock: "material"
    2025-01-01 open Assets:Cash
    2025-01-01 open Assets:Materials:MAILER
    2025-01-01 open Assets:Stock:HERON-PRT
    2025-01-01 open Assets:Stock:MOTH-STK
    2025-01-01 open Income:Sales:Web
    2025-01-02 * "Bought"
      Assets:Stock:HERON-PRT  5 HERON-PRT {1.00 USD}
      Assets:Stock:MOTH-STK  5 MOTH-STK {0.20 USD}
      Assets:Materials:MAILER  10 MAILER {0.80 USD}
      Assets:Cash
    2025-01-02 custom "packing" "letter" 1 MAILER
    2025-03-04 * "Order" ^order-1
      packing: "letter"
      Assets:Cash
      Income:Sales:Web  -5.00 USD
        item: "HERON-PRT"
        quantity: 1
      Income:Sales:Web  -5.00 USD
        item: "MOTH-STK"
        quantity: 2
    """
    by_rule = {
        rule: list(map(str, column(sound_ledger, rule, "packaging").values()))
        for rule in RULES
    }
    assert by_rule == {
        "value": ["-0.40", "-0.40"],
        "units": ["-0.27", "-0.53"],
        "weight": ["-0.48", "-0.32"],
    }


def test_without_a_weight_an_order_is_split_by_sales_value(sound_ledger: Any) -> None:
    """
    2025-01-01 commodity HERON-PRT
      stock: "product"
      weight: 62
    2025-01-01 commodity MOTH-STK
      stock: "product"
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Expenses:Postage
    2025-03-01 * "Order" ^order-1
      Income:Sales:Web  -18.00 USD
        item: "HERON-PRT"
        quantity: 1
      Income:Sales:Web  -6.00 USD
        item: "MOTH-STK"
        quantity: 3
      Expenses:Postage  4.00 USD
      Assets:Cash
    """
    assert list(column(sound_ledger, "weight", "postage").values()) == [D(-3), D(-1)]


def test_order_without_pieces_is_split_by_sales_value(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Suspense:Web
    2025-01-01 open Expenses:Postage
    2025-03-01 * "Order" ^order-1
      Income:Suspense:Web  -18.00 USD
        item-text: "A print"
      Income:Suspense:Web  -6.00 USD
        item-text: "A sticker"
      Expenses:Postage  4.00 USD
      Assets:Cash
    """
    for rule in RULES:
        assert sorted(table_of(sound_ledger, rule)["postage"]) == [D(-3), D(-1)]


def test_weights_that_are_none(ledger: Any) -> None:
    """
    2025-01-01 commodity A
      weight: 12.5
    2025-01-01 commodity B
      weight: "12"
    2025-01-01 commodity C
      weight: 0
    2025-01-01 commodity D
      weight: -3
    2025-01-01 commodity E
    """
    allocation = read_allocation(ledger.entries, "weight")
    assert allocation.grams == {"A": D("12.5")}
    assert allocation.grams_of("A", D(2)) == 25
    assert allocation.grams_of("B", D(2)) is None
    assert allocation.grams_of("B", D(0)) == 0


def test_more_given_back_than_sold_has_no_weight() -> None:
    sold = [Sold(D(-4), D(-1), D(-12)), Sold(D(8), D(2), D(6))]
    for rule, weights in (("value", [0, 8]), ("units", [0, 2]), ("weight", [0, 6])):
        assert Allocation(rule).of(sold) == weights
