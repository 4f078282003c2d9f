"""Which products lose money at half of their list price."""

from __future__ import annotations

import datetime
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from offcut.plugins.catalogue import read_catalogue
from offcut.reports.order_table import order_table
from offcut.reports.plan.newest_costs import newest_lot_costs
from offcut.reports.plan.piece_cost import PieceCost, bills_on, piece_costs
from offcut.reports.plan.wholesale import (
    LeftOut,
    PieceCharges,
    charges_of_products,
    wholesale,
    wholesale_list,
)

D = Decimal


def piece(cost: str, currency: str = "USD") -> PieceCost:
    date = datetime.date(2025, 1, 1)
    return PieceCost("HERON", currency, "lots", (), D(cost), D(0), D(cost), date)


def test_each_piece_loses_half_a_dollar() -> None:
    line = wholesale(piece("2.00"), D("3.00"))
    assert (line.price, line.full_cost) == (D("1.50"), D("2.00"))
    assert line.contribution == D("-0.50")
    assert (line.floor, line.least_retail) == (D("2.00"), D("3.99"))
    assert line.warning == (
        "HERON at 1.50 USD: each piece costs 2.00 USD and loses 0.50 USD"
    )


def test_packing_and_fees_are_part_of_the_full_cost() -> None:
    line = wholesale(piece("1.10"), D("4.00"), D("0.5"), D("0.15"), D("0.25"))
    assert (line.price, line.full_cost, line.contribution) == (D(2), D("1.50"), D("0.50"))
    assert (line.margin, line.warning) == (D("0.25"), "")
    assert line.markup is not None
    assert line.markup.quantize(D("0.0001")) == D("0.3333")


def test_no_warning_where_nothing_is_lost_nor_earned() -> None:
    line = wholesale(piece("1.50"), D("3.00"))
    assert (line.contribution, line.margin, line.warning) == (D(0), D(0), "")


def test_price_is_rounded_to_the_coin_of_its_currency() -> None:
    assert wholesale(piece("1"), D("3.25")).price == D("1.63")
    assert wholesale(piece("1", "JPY"), D(325)).price == D(163)


cents = st.integers(1, 5000).map(lambda number: D(number) / 100)


@settings(max_examples=80, deadline=None)
@given(
    st.integers(0, 10**6).map(lambda number: D(number) / 10**4),
    cents,
    st.sampled_from([D("0.5"), D("0.45"), D("0.6"), D("0.333"), D(1)]),
)
def test_floor_and_least_retail_are_the_least(cost: D, retail: D, rate: D) -> None:
    try:
        line = wholesale(piece(str(cost)), retail, rate)
    except ValueError:
        assert (retail * rate).quantize(D("0.01"), "ROUND_HALF_UP") == 0
        return
    cent = D("0.01")
    assert line.floor >= cost > line.floor - cent
    assert line.price == (retail * rate).quantize(cent, "ROUND_HALF_UP")
    at_least = wholesale(piece(str(cost)), line.least_retail, rate) if line.floor else line
    assert at_least.contribution >= 0
    assert (line.contribution < 0) == (line.warning != "") == (line.price < line.floor)
    if line.least_retail > cent and (line.least_retail - cent) * rate >= cent:
        cheaper = wholesale(piece(str(cost)), line.least_retail - cent, rate)
        assert cheaper.contribution < 0


def test_every_product_of_a_ledger(sound_ledger: Any) -> None:
    """
    plugin "offcut.plugins"
    option "operating_currency" "USD"
    2025-01-01 commodity HERON
      stock: "product"
      list-price: 3.00 USD
    2025-01-01 commodity MOTH
      stock: "product"
      list-price: 8.00 USD
    2025-01-01 commodity FERN
      stock: "product"
    2025-01-01 commodity TIDE
      stock: "product"
      list-price: 8.00 USD
    2025-01-01 commodity KITE
      stock: "product"
      list-price: 8.00 EUR
    2025-01-01 commodity PENNY
      stock: "product"
      list-price: 0.004 USD
    2025-01-01 commodity VINYL
      stock: "material"
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Income:Sales:Wholesale
    2025-01-01 open Income:Refunds:Web
    2025-01-01 open Expenses:Fees:Card
    2025-01-01 open Expenses:Packaging
    2025-01-02 * "Pieces"
      Assets:Stock:HERON  50 HERON {2.00 USD}
      Assets:Stock:MOTH  50 MOTH {1.00 USD}
      Assets:Stock:KITE  50 KITE {1.00 USD}
      Assets:Stock:PENNY  50 PENNY {1.00 USD}
      Assets:Cash
    2025-03-01 * "Order" ^order-1
      Income:Sales:Web  -32.00 USD
        item: "MOTH"
        quantity: 4
      Expenses:Fees:Card  1.60 USD
      Expenses:Packaging  0.80 USD
      Assets:Cash
    2025-03-02 * "Order" ^order-2
      Income:Sales:Wholesale  -16.00 USD
        item: "MOTH"
        quantity: 4
      Expenses:Packaging  0.40 USD
      Assets:Cash
    2025-03-03 * "Came back" ^order-3
      Income:Refunds:Web  8.00 USD
        item: "HERON"
        quantity: 1
      Assets:Cash
    """
    entries, options = sound_ledger.entries, sound_ledger.options
    table = order_table(entries, options)
    charges = charges_of_products(table, "USD")
    assert charges == {"MOTH": PieceCharges(D(8), D("1.20"), D("1.60"))}
    assert charges["MOTH"].packing_each == D("0.15")
    assert charges["MOTH"].fees_each == D("0.2")
    assert charges_of_products(table, "USD", ["Wholesale"]) == {
        "MOTH": PieceCharges(D(4), D("0.40"), D(0))
    }
    assert charges_of_products(table, "EUR") == {}

    costs = newest_lot_costs(entries, options)
    catalogue = read_catalogue(entries)
    pieces = piece_costs(catalogue, bills_on(entries), costs, "lots")
    report = wholesale_list(catalogue, pieces, charges)
    assert [(line.product, line.contribution) for line in report.lines] == [
        ("HERON", D("-0.50")),
        ("MOTH", D("2.65")),
    ]
    assert report.left_out == (
        LeftOut("FERN", "It has no list-price"),
        LeftOut("KITE", "Its list-price is in EUR, its cost in USD"),
        LeftOut("PENNY", "Its wholesale price rounds to nothing"),
        LeftOut("TIDE", "TIDE has no cost yet; record its print run or its purchase"),
    )


@pytest.mark.parametrize(
    ("retail", "rate", "packing", "words"),
    [
        ("0", "0.5", "0", "The list price of HERON must be more than zero, not 0"),
        ("-3", "0.5", "0", "The list price of HERON must be more than zero, not -3"),
        ("NaN", "0.5", "0", "The list price of HERON must be more than zero"),
        ("3", "0", "0", "The wholesale price must be a share above 0 and up to 1"),
        ("3", "50", "0", "such as 0.5 for half, not 50"),
        ("3", "0.5", "-1", "What packing a piece costs must not be less than zero"),
        ("0.009", "0.5", "0", "The wholesale price of HERON must be more than zero"),
    ],
)
def test_bad_figures(retail: str, rate: str, packing: str, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        wholesale(piece("1"), D(retail), D(rate), D(packing))
