"""What must be sold to pay for what is fixed.

Textbook: Franklin, Graybeal, Cooper, Principles of Accounting, Volume 2 (OpenStax),
chapter on cost, volume and profit: break-even in units and money, target income, margin
of safety, and mixes of products.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from offcut.reports.order_table import order_table
from offcut.reports.plan.break_even import (
    FixedCost,
    MixPart,
    break_even_sales,
    fair_break_even,
    mix_break_even,
)

D = Decimal


def mix(*parts: tuple[str, ...]) -> list[MixPart]:
    return [MixPart(*map(D, part)) for part in parts]


@pytest.mark.parametrize(
    ("fixed", "price", "variable", "target", "units", "sales"),
    [
        (18000, "100", "20", 0, 225, 22500),
        (85000, "90", "40", 0, 1700, 153000),
        (85000, "90", "40", 10000, 1900, 171000),
    ],
)
def test_textbook_of_one_product(
    fixed: int, price: str, variable: str, target: int, units: int, sales: int
) -> None:
    found = mix_break_even(D(fixed), mix((price, variable)), D(target))
    assert (found.units, found.sales) == ((D(units),), D(sales))
    ratio = found.contribution / found.price
    if not target:
        assert abs(break_even_sales(D(fixed), ratio, "USD") - sales) <= D("0.01")


def test_textbook_loss_and_margin_of_safety() -> None:
    # 175 of the first are 4,000 short; 2,500 of the second sell for 72,000 beyond.
    first = mix_break_even(D(18000), mix(("100", "20")))
    assert (175 - first.units[0]) * first.contribution == D(-4000)
    second = mix_break_even(D(85000), mix(("90", "40")))
    assert 2500 * second.price - second.sales == D(72000)
    assert (2500 * second.price - second.sales) / (2500 * second.price) == D("0.32")


def test_textbook_mixes() -> None:
    found = mix_break_even(
        D(145000), mix(("6.25", "3.25", "5"), ("7.75", "4.50", "3"), ("9.25", "6.25", "2"))
    )
    assert (found.price, found.variable) == (D(73), D("42.25"))
    assert found.contribution == D("30.75")
    assert found.baskets.quantize(D("0.01")) == D("4715.45")
    assert [round(units) for units in found.units] == [23577, 14146, 9431]
    found = mix_break_even(D(220000), mix(("10", "4", "3"), ("9", "5", "1")))
    assert (found.contribution, found.baskets) == (D(22), D(10000))
    assert found.units == (D(30000), D(10000))


def test_fair(sound_ledger: Any) -> None:
    """
    2025-01-01 commodity HERON
      stock: "product"
      design: "Heron"
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Fair
    2025-01-01 open Income:Tips:Fair
    2025-01-01 open Expenses:Fees:Reader
    2025-01-01 open Expenses:COGS
    2025-01-01 open Expenses:Events:TableFee
    2025-01-01 open Expenses:Events:Travel
    2025-01-01 open Expenses:Software
    2025-03-08 * "Tally" #event-harbour
      Income:Sales:Fair  -200.00 USD
        item: "HERON"
        quantity: 50
      Expenses:COGS  50.00 USD
        item: "HERON"
      Assets:Cash
    2025-03-09 * "Card payments, booked apart" #event-harbour
      Expenses:Fees:Reader  6.00 USD
      Assets:Cash
    2025-03-09 * "Tips" #event-harbour
      Income:Tips:Fair  -6.00 USD
      Assets:Cash
    2025-02-01 * "Table, two parts" #event-harbour
      Expenses:Events:TableFee  45.00 USD
      Expenses:Events:TableFee  15.00 USD
      Assets:Cash
    2025-03-08 * "Train" #event-harbour
      Expenses:Events:Travel  30.00 USD
      Assets:Cash
    2025-03-08 * "Not of the fair"
      Expenses:Software  9.00 USD
      Assets:Cash
    2025-04-08 * "Table of the next" #event-spring
      Expenses:Events:TableFee  70.00 USD
      Assets:Cash
    """
    table = order_table(sound_ledger.entries, sound_ledger.options)
    fair = fair_break_even(table, "harbour", "USD")
    # 200 less 50 and 6, and 6 of tips: three quarters are left. 90 / 0.75 = 120.
    assert (fair.sales, fair.variable, fair.contribution) == (D(200), D(-50), D(150))
    assert fair.ratio == D("0.75")
    assert fair.fixed == (
        FixedCost("Expenses:Events:TableFee", D(60)),
        FixedCost("Expenses:Events:Travel", D(30)),
    )
    assert (fair.fixed_total, fair.needed, fair.beyond) == (D(90), D(120), D(80))
    assert (fair.result, fair.safety) == (D(60), D("0.4"))

    with pytest.raises(ValueError, match="Nothing was sold at spring yet"):
        fair_break_even(table, "spring", "USD")
    with pytest.raises(ValueError, match=r"#event-harbor; there is: harbour, spring"):
        fair_break_even(table, "harbor", "USD")
    with pytest.raises(ValueError, match="Nothing in EUR is tagged #event-harbour"):
        fair_break_even(table, "harbour", "EUR")


def test_fair_that_loses_on_every_sale(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Fair
    2025-01-01 open Expenses:COGS
    2025-01-01 open Expenses:Events:TableFee
    2025-03-08 * "Tally" #event-harbour
      Income:Sales:Fair  -20.00 USD
        item: "HERON"
        quantity: 5
      Expenses:COGS  25.00 USD
        item: "HERON"
      Assets:Cash
    2025-03-08 * "Table" #event-harbour
      Expenses:Events:TableFee  10.00 USD
      Assets:Cash
    """
    table = order_table(sound_ledger.entries, sound_ledger.options)
    fair = fair_break_even(table, "harbour", "USD")
    assert (fair.contribution, fair.needed, fair.beyond) == (D(-5), None, None)
    assert (fair.safety, fair.result) == (None, D(-15))


@settings(max_examples=80, deadline=None)
@given(
    st.integers(0, 10**6).map(lambda number: D(number) / 100),
    st.integers(1, 200).map(lambda number: D(number) / 100),
)
def test_sales_needed_are_the_least_that_pay(fixed: D, ratio: D) -> None:
    needed = break_even_sales(fixed, ratio, "USD")
    assert needed * ratio >= fixed
    assert needed == 0 or (needed - D("0.01")) * ratio < fixed
    assert needed == needed.quantize(D("0.01"))


def test_bad_figures() -> None:
    with pytest.raises(ValueError, match="There is no product in the mix"):
        mix_break_even(D(1), [])
    with pytest.raises(ValueError, match="The price of a piece must be more than zero"):
        mix_break_even(D(1), mix(("0", "0")))
    with pytest.raises(ValueError, match="Sales of 3 cost 3: nothing is left of them"):
        mix_break_even(D(1), mix(("3", "3")))
    with pytest.raises(ValueError, match="What is fixed must not be less than zero"):
        mix_break_even(D(-1), mix(("3", "1")))
    with pytest.raises(ValueError, match="What is left of sales, as a share of them, must"):
        break_even_sales(D(1), D(0), "USD")
    with pytest.raises(ValueError, match="What the fair costs must not be less than zero"):
        break_even_sales(D(-1), D(1), "USD")
