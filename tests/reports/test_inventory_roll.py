"""The inventory roll: every movement in its column, closing, and tied to the accounts.

The textbook set is OpenStax, Principles of Accounting 1 (Franklin, Graybeal, Cooper),
section 10.3: 150 at 21, 225 at 27, 210 at 33; sold 120 and 180; first in first out.
"""

from __future__ import annotations

from decimal import Decimal

import pytest
from beancount.core import data
from beancount.parser import parser

from offcut.reports.currencies import stock_currency
from offcut.reports.inventory_roll import (
    NOTHING,
    InventoryRoll,
    Moved,
    inventory_roll,
)
from offcut.reports.period import Period, choose_period

D = Decimal


def roll_of(ledger: object, period: Period | None = None) -> InventoryRoll:
    return inventory_roll(ledger.entries, ledger.options, period or Period(), "USD")


def test_textbook_cost_of_goods_and_closing_inventory(sound_ledger: object) -> None:
    """
    option "operating_currency" "USD"
    plugin "offcut.plugins"
    2024-01-01 open Assets:Cash
    2024-01-01 open Income:Sales:Shop
    2024-01-01 commodity UNIT
      stock: "product"
    2024-07-01 * "Opening stock"
      Assets:Stock:UNIT  150 UNIT {21 USD}
      Assets:Cash
    2024-07-05 * "Sale"
      Assets:Cash  4320 USD
      Income:Sales:Shop
        item: "UNIT"
        quantity: 120
    2024-07-10 * "Purchase"
      Assets:Stock:UNIT  225 UNIT {27 USD}
      Assets:Cash
    2024-07-15 * "Sale"
      Assets:Cash  7020 USD
      Income:Sales:Shop
        item: "UNIT"
        quantity: 180
    2024-07-25 * "Purchase"
      Assets:Stock:UNIT  210 UNIT {33 USD}
      Assets:Cash
    """
    roll = roll_of(sound_ledger)
    assert roll.total.bought.value == D("16155")
    assert roll.total.sold == Moved(D("-300"), D("-7200"))
    assert roll.total.closing == Moved(D("285"), D("8955"))
    assert roll.cost_of_goods == D("7200")
    assert roll.ties


EVERYTHING = """
    option "operating_currency" "USD"
    plugin "offcut.plugins"
    2025-01-01 open Assets:Cash
    2025-01-01 open Expenses:Freight
    2025-01-01 open Expenses:Giveaways
    2025-01-01 open Expenses:COGS:Commissions
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Income:Refunds:Web
    2025-01-01 open Assets:Stock:MOTH-STK  MOTH-STK "AVERAGE"
    2025-01-01 commodity HERON-STK
      stock: "product"
    2025-01-01 commodity MOTH-STK
      stock: "product"
    2025-01-01 commodity VINYL
      stock: "material"
    2025-01-01 commodity STAMP
      stock: "stamp"
    2025-01-01 custom "packing" "letter" 1 STAMP
    2025-01-01 custom "bill-of-materials" 6 HERON-STK 1 VINYL
    2025-01-02 * "Sheets and stamps"
      Assets:Materials:VINYL  37 VINYL {{12.60 USD}}
      Assets:Stamps:STAMP  20 STAMP {0.78 USD}
      Assets:Cash
    2025-01-03 * "Manufacturer"
      Assets:Stock:MOTH-STK  100 MOTH-STK {0.30 USD}
      Expenses:Freight  7.00 USD
        spread: "value"
      Assets:Cash
    2025-01-04 * "Manufacturer"
      Assets:Stock:MOTH-STK  50 MOTH-STK {0.37 USD}
      Assets:Cash
    2025-01-05 custom "print-run" 58 HERON-STK
      spoiled: 2
    2025-02-01 * "Order" ^order-1
      packing: "letter"
      Assets:Cash  12.00 USD
      Income:Sales:Web  -8.00 USD
        item: "HERON-STK"
        quantity: 2
      Income:Sales:Web  -4.00 USD
        item: "MOTH-STK"
        quantity: 1
    2025-02-03 * "Refund" ^order-1
      Assets:Cash  -4.00 USD
      Income:Refunds:Web  4.00 USD
        item: "MOTH-STK"
        quantity: 1
    2025-02-04 custom "stock-out" 3 HERON-STK Expenses:Giveaways
    2025-02-05 custom "consignment" 12 HERON-STK "Harbour Books"
    2025-02-06 custom "net-realisable-value" "MOTH-STK" 0.25 USD
    2025-02-28 custom "stock-count" 40 HERON-STK
    2025-02-28 * "A frame for a commission"
      Expenses:COGS:Commissions  5.00 USD
      Assets:Cash
"""


def test_each_movement_has_its_column(load: object) -> None:
    """Two stickers left, two spoiled of sixty: the run took 10 of 37 sheets at 12.60."""
    roll = roll_of(load(EVERYTHING))
    heron, moth = roll.items["HERON-STK"], roll.items["MOTH-STK"]
    vinyl, stamp = roll.items["VINYL"], roll.items["STAMP"]
    assert vinyl.bought == Moved(D(37), D("12.60"))
    assert vinyl.used.units == D(-10)
    assert abs(vinyl.used.value + D("12.60") * 10 / 37) < D("0.000001")
    assert heron.made.units == D(58)
    assert (heron.sold.units, heron.other.units, heron.corrected.units) == (-2, -3, -1)
    assert heron.closing.units == D(52)
    assert moth.bought == Moved(D(150), D("48.50"))
    assert moth.freight == Moved(D(0), D("7.00"))
    assert moth.sold == NOTHING
    assert moth.written_down == Moved(D(0), D("37.50") - D("55.50"))
    assert moth.closing == Moved(D(150), D("37.50"))
    assert stamp.packed == Moved(D(-1), D("-0.78"))
    assert roll.by_hand == D("5.00")
    assert roll.ties


@pytest.mark.parametrize("month", ["2025-01", "2025-02", "2025-03"])
def test_months_follow_one_another(load: object, month: str) -> None:
    ledger = load(EVERYTHING)
    roll = roll_of(ledger, choose_period(month=month))
    assert roll.ties
    year = roll_of(ledger, choose_period(year="2025"))
    closing = roll_of(ledger, choose_period(last=f"{month}-28")).total.closing
    assert roll.total.closing == closing
    if month == "2025-03":
        assert roll.total.opening == year.total.closing


def test_a_relief_without_its_expense_does_not_tie(load: object) -> None:
    ledger = load(EVERYTHING)
    cut = [
        entry._replace(
            postings=[p for p in entry.postings if "COGS:HERON" not in p.account]
        )
        if isinstance(entry, data.Transaction)
        else entry
        for entry in ledger.entries
    ]
    assert not inventory_roll(cut, ledger.options, Period(), "USD").ties


def test_an_empty_ledger_has_nothing_to_roll() -> None:
    entries, _, options = parser.parse_string("")
    roll = inventory_roll(entries, options, Period(), "USD")
    assert roll.items == {}
    assert roll.ties


def test_currency_without_an_operating_currency_is_that_of_most_lots(
    sound_ledger: object,
) -> None:
    """
    2025-01-01 open Assets:Cash
    2025-01-01 open Assets:Stock
    2025-01-02 * "Lots"
      Assets:Stock  1 HERON-STK {2 EUR}
      Assets:Stock  1 MOTH-STK {3 EUR}
      Assets:Stock  1 FERN-STK {3 CAD}
      Assets:Cash  -5 EUR
      Assets:Cash  -3 CAD
    """
    assert stock_currency(sound_ledger.entries, {"operating_currency": []}) == "EUR"
    assert stock_currency(sound_ledger.entries, {"operating_currency": ["CAD"]}) == "CAD"
    assert stock_currency([], {"operating_currency": []}) == ""
