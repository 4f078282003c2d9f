"""Banks, cash and processors at the month's end, and tax that is passed through."""

from __future__ import annotations

import datetime
from decimal import Decimal
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tests.reports.close.closing_desk import Desk

D = Decimal


def test_bank_without_an_assertion(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Bank:Checking
    2025-01-01 open Equity:Capital
    2025-01-01 * "Begin"
      Assets:Bank:Checking  100.00 USD
      Equity:Capital
    2025-02-01 balance Assets:Bank:Checking  100.00 USD
    2025-04-02 * "Later"
      Assets:Bank:Checking  7.00 USD
      Equity:Capital
    """
    point = desk.point("Balance not asserted")
    assert (point.amount, point.currency) == (D("100.00"), "USD")
    assert "last asserted on 2025-02-01" in point.detail
    assert "Assets:Bank:Checking  100.00 USD" in desk.line(point)
    line = "2025-04-01 balance Assets:Bank:Checking 100.00 USD"
    assert point.settle.split() == line.split()
    desk.settle(point)
    assert desk.errors() == []
    assert desk.points("Balance not asserted") == []
    (looked,) = [
        each for each in desk.close().in_order if each.what == "Bank and cash asserted"
    ]
    assert "Assets:Bank:Checking 100.00 USD (on 2025-04-01)" in looked.found


def test_assertion_of_the_last_day_counts_and_one_that_fails_does_not(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Bank:Checking
    2025-01-01 open Assets:Cash
    2025-01-01 open Equity:Capital
    2025-01-01 * "Begin"
      Assets:Bank:Checking  100.00 USD
      Assets:Cash            20.00 USD
      Equity:Capital
    2025-03-31 balance Assets:Bank:Checking  100.00 USD
    2025-04-01 balance Assets:Cash  21.00 USD
    """
    point = desk.point("Balance not asserted")
    assert point.detail.startswith("Assets:Cash was never asserted")
    # A balance of the day after is of the month's end: its failing is the month's.
    error = desk.point("Error in the ledger")
    assert error.severity == "to do"
    assert "balance Assets:Cash  21.00" in desk.line(error)


def test_each_currency_of_an_account_is_asserted(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Bank:Checking
    2025-01-01 open Equity:Capital
    2025-01-01 * "Begin"
      Assets:Bank:Checking  100.00 USD
      Equity:Capital
    2025-01-01 * "Begin"
      Assets:Bank:Checking  40 JPY
      Equity:Capital
    2025-04-01 balance Assets:Bank:Checking  100.00 USD
    """
    point = desk.point("Balance not asserted")
    assert (point.amount, point.currency) == (D("40"), "JPY")
    desk.settle(point)
    assert desk.errors() == []
    assert desk.points("Balance not asserted") == []


def test_empty_cash_box_and_closed_bank_need_none(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Bank:Old
    2025-01-01 open Assets:Cash
    2025-01-01 open Equity:Capital
    2025-01-01 * "In and out"
      Assets:Cash   5.00 USD
      Equity:Capital
    2025-01-02 * "In and out"
      Assets:Cash  -5.00 USD
      Equity:Capital
    2025-01-03 * "Left on a closed account"
      Assets:Bank:Old  1.00 USD
      Equity:Capital
    2025-02-01 close Assets:Bank:Old
    """
    assert desk.points("Balance not asserted") == []
    # In the month that it moves, it is to be counted.
    desk.month = "2025-01"
    points = desk.points("Balance not asserted")
    assert {point.detail.split()[0] for point in points} == {
        "Assets:Cash",
        "Assets:Bank:Old",
    }


def test_layout_says_which_account_is_a_bank(desk: Desk) -> None:
    """
    2025-01-01 open Liabilities:CreditCard
    2025-01-01 open Expenses:Paper
    2025-03-01 * "Paper"
      Expenses:Paper  9.00 USD
      Liabilities:CreditCard
    """
    assert desk.points("Balance not asserted") == []
    desk.set("""
        [layouts.my-card]
        kind = "bank"
        source = "credit-card"
        currency = "USD"
        columns = { date = "Day", text = "What", gross = "Sum" }
        accounts = { clearing = "Liabilities:CreditCard" }
        """)
    assert desk.point("Balance not asserted").amount == D("-9.00")


def test_processor_with_a_balance(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Clearing:Card
    2025-01-01 open Income:Sales:Web
    2025-03-20 * "Sale" ^order-1
      Assets:Clearing:Card  30.00 USD
      Income:Sales:Web
    """
    point = desk.point("Clearing account not at zero")
    assert point.amount == D("30.00")
    desk.settle(point)
    assert desk.errors() == []
    assert desk.points("Clearing account not at zero") == []
    found = {each.what: each.found for each in desk.close().in_order}
    assert "(on 2025-04-01)" in found["Processors' balances asserted"]


def test_processor_that_paid_it_out_since(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Clearing:Card
    2025-01-01 open Assets:Clearing:Payouts
    2025-01-01 open Income:Sales:Web
    2025-03-30 * "Sale" ^order-1
      Assets:Clearing:Card  30.00 USD
      Income:Sales:Web
    2025-04-03 * "Payout" ^payout-1
      Assets:Clearing:Payouts  30.00 USD
      Assets:Clearing:Card
    """
    assert desk.points("Clearing account not at zero") == []
    point = desk.point("Clearing account, paid out since")
    assert (point.severity, point.amount) == ("to know", D("30.00"))
    assert "2025-04-03" in point.detail


def test_processor_that_came_to_zero_long_after(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Clearing:Card
    2025-01-01 open Assets:Clearing:Payouts
    2025-01-01 open Income:Sales:Web
    2025-03-30 * "Sale" ^order-1
      Assets:Clearing:Card  30.00 USD
      Income:Sales:Web
    2025-04-23 * "Payout" ^payout-1
      Assets:Clearing:Payouts  30.00 USD
      Assets:Clearing:Card
    """
    assert desk.point("Clearing account not at zero").severity == "to do"


def test_tax_kept_back_and_not_charged(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Clearing:Market
    2025-01-01 open Assets:Clearing:RemittedTax:Market
    2025-01-01 open Expenses:Fees:Market
    2025-01-01 open Income:Sales:Market
    2025-03-20 * "Sale" ^order-M1
      Assets:Clearing:Market               9.00 USD
      Assets:Clearing:RemittedTax:Market   1.00 USD
      Income:Sales:Market                -10.00 USD
    2025-03-21 * "Sale" ^order-M2
      Assets:Clearing:Market              10.00 USD
      Assets:Clearing:RemittedTax:Market   1.00 USD
      Assets:Clearing:RemittedTax:Market  -1.00 USD
      Income:Sales:Market                -10.00 USD
    """
    point = desk.point("Remitted tax not at zero")
    assert (point.amount, point.date) == (D("1.00"), datetime.date(2025, 3, 20))
    assert "order M1" in point.detail
    desk.settle(point)
    assert desk.errors() == []
    assert desk.points("Remitted tax not at zero") == []


def test_tax_kept_back_that_is_owed_as_well(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Clearing:Market
    2025-01-01 open Assets:Clearing:RemittedTax:Market
    2025-01-01 open Liabilities:SalesTax
    2025-01-01 open Income:Sales:Market
    2025-03-20 * "Sale" ^order-M1
      Assets:Clearing:Market              10.80 USD
      Liabilities:SalesTax                -0.80 USD
      Income:Sales:Market                -10.00 USD
    2025-03-20 * "Tax" ^order-M1
      Assets:Clearing:Market              -0.80 USD
      Assets:Clearing:RemittedTax:Market   0.80 USD
    """
    point = desk.point("Remitted tax not at zero")
    assert "booked as owed in Liabilities:SalesTax" in point.detail
    assert "Expenses" not in point.settle
    desk.settle(point)
    assert desk.errors() == []
    assert desk.points("Remitted tax not at zero") == []


def test_tax_charged_and_not_kept_back_is_owed(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Clearing:RemittedTax:Market
    2025-01-01 open Assets:Receivable:Market
    2025-01-01 open Income:Sales:Market
    2025-03-20 * "Order" ^order-M1
      Assets:Receivable:Market            11.00 USD
      Assets:Clearing:RemittedTax:Market  -1.00 USD
      Income:Sales:Market                -10.00 USD
    """
    point = desk.point("Remitted tax not at zero")
    assert point.amount == D("-1.00")
    assert "Liabilities:SalesTax" in point.settle
    desk.settle(point)
    assert desk.errors() == []
    assert desk.points("Remitted tax not at zero") == []


def test_tax_that_came_to_nothing_after_the_month(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Clearing:RemittedTax:Market
    2025-01-01 open Assets:Receivable:Market
    2025-01-01 open Income:Sales:Market
    2025-03-31 * "Order" ^order-M1
      Assets:Receivable:Market            11.00 USD
      Assets:Clearing:RemittedTax:Market  -1.00 USD
      Income:Sales:Market                -10.00 USD
    2025-04-01 * "Payment" ^order-M1
      Assets:Clearing:RemittedTax:Market   1.00 USD
      Assets:Receivable:Market
    """
    assert desk.points("Remitted tax not at zero") == []
    assert desk.point("Remitted tax was on its way").severity == "to know"
