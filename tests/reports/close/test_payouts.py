"""Payouts that have not met their row of a bank, and rows that wait."""

from __future__ import annotations

import datetime
from decimal import Decimal
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tests.reports.close.closing_desk import Desk

D = Decimal


def test_payout_without_its_row(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Bank:Checking
    2025-01-01 open Assets:Clearing:Card
    2025-01-01 open Assets:Clearing:Payouts
    2025-03-10 * "Payout" ^payout-T-1
      movement: "payout"
      Assets:Clearing:Card     -80.00 USD
      Assets:Clearing:Payouts   80.00 USD
    """
    point = desk.point("Payout has not arrived")
    assert (point.severity, point.amount, point.currency) == ("to do", D("80.00"), "USD")
    assert point.date == datetime.date(2025, 3, 10)
    assert "Assets:Clearing:Payouts" in desk.line(point)
    assert "due by 2025-03-17" in point.detail

    desk.settle(point)
    assert desk.errors() == []
    assert desk.points("Payout has not arrived") == []
    assert any(each.what == "Payouts have arrived" for each in desk.close().in_order)


def test_payout_of_the_last_days_may_still_come(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Clearing:Card
    2025-01-01 open Assets:Clearing:Payouts
    2025-03-28 * "Payout" ^payout-T-1
      Assets:Clearing:Card     -80.00 USD
      Assets:Clearing:Payouts   80.00 USD
    """
    point = desk.point("Payout has not arrived")
    assert point.severity == "to know"
    # It opens the bank where the ledger has none.
    assert "open Assets:Bank:Checking" in point.settle
    # Once the bank has rows of later days, it is late.
    desk.add("""
        2025-01-01 open Assets:Bank:Checking
        2025-01-01 open Expenses:Paper
        2025-04-20 * "Paper"
          Expenses:Paper         4.00 USD
          Assets:Bank:Checking
        """)
    assert desk.point("Payout has not arrived").severity == "to do"


def test_payout_that_arrived_after_the_month(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Bank:Checking
    2025-01-01 open Assets:Clearing:Card
    2025-01-01 open Assets:Clearing:Payouts
    2025-03-31 * "Payout" ^payout-T-1
      Assets:Clearing:Card     -80.00 USD
      Assets:Clearing:Payouts   80.00 USD
    2025-04-02 * "The bank" ^payout-T-1
      Assets:Bank:Checking      80.00 USD
      Assets:Clearing:Payouts  -80.00 USD
    """
    point = desk.point("Payout was on its way")
    assert point.severity == "to know"
    assert "2025-04-02" in point.detail
    assert desk.points("Payout has not arrived") == []
    desk.month = "2025-04"
    assert desk.points("Payout was on its way") == []


def test_arrival_by_hand_without_a_link(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Bank:Checking
    2025-01-01 open Assets:Clearing:Card
    2025-01-01 open Assets:Clearing:Payouts
    2025-03-10 * "Payout" ^payout-T-1
      Assets:Clearing:Card     -80.00 USD
      Assets:Clearing:Payouts   80.00 USD
    2025-03-12 * "The bank"
      Assets:Bank:Checking      80.00 USD
      Assets:Clearing:Payouts  -80.00 USD
    """
    whats = {point.what for point in desk.close().points}
    assert not {what for what in whats if "ayout" in what}


def test_row_in_suspense_with_the_amount_of_a_payout(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Bank:Checking
    2025-01-01 open Assets:Clearing:Card
    2025-01-01 open Assets:Clearing:Payouts
    2025-01-01 open Equity:Suspense
    2025-03-10 * "Payout" ^payout-T-1
      movement: "payout"
      Assets:Clearing:Card     -80.00 USD
      Assets:Clearing:Payouts   80.00 USD
    2025-03-12 * "Processor" "Transfer" ^bank-checking-B1
      movement: "bank"
      source-id: "checking/B1"
      Assets:Bank:Checking      80.00 USD
      Equity:Suspense          -80.00 USD
    """
    point = desk.point("Payout and its row not matched")
    assert "Equity:Suspense          -80.00" in desk.line(point)
    assert desk.points("Row of the bank waits") == []
    assert desk.points("In suspense") == []
    desk.settle(point)
    assert desk.errors() == []
    whats = {each.what for each in desk.close().points}
    assert not {what for what in whats if "ayout" in what or "Row" in what}


def test_row_that_nothing_is_known_of(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Bank:Checking
    2025-01-01 open Equity:Suspense
    2025-03-12 * "Stranger" "Thing 7" ^bank-checking-B1
      movement: "bank"
      source-id: "checking/B1"
      Assets:Bank:Checking     -12.50 USD
      Equity:Suspense           12.50 USD
    """
    point = desk.point("Row of the bank waits")
    assert (point.amount, point.currency) == (D("-12.50"), "USD")
    assert "open Expenses:Other" in point.settle
    desk.settle(point)
    assert desk.errors() == []
    assert desk.points("Row of the bank waits") == []


def test_row_like_an_earlier_one(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Bank:Checking
    2025-01-01 open Expenses:Paper
    2025-01-01 open Equity:Suspense
    2025-02-12 * "Paper Mill" "Invoice 4"
      Assets:Bank:Checking     -30.00 USD
      Expenses:Paper            30.00 USD
    2025-03-12 * "Paper Mill" "Invoice 7" ^bank-checking-B1
      movement: "bank"
      source-id: "checking/B1"
      Assets:Bank:Checking     -12.50 USD
      Equity:Suspense           12.50 USD
    """
    point = desk.point("Row of the bank waits")
    assert "Expenses:Paper" in point.settle
    assert "Paper Mill of 2025-02-12" in point.detail
    desk.settle(point)
    assert desk.errors() == []
    assert desk.points("Row of the bank waits") == []


def test_arrival_booked_by_a_rule_before_its_payout(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Bank:Checking
    2025-01-01 open Assets:Clearing:Market
    2025-01-01 open Assets:Clearing:Payouts
    2025-03-12 * "Market" "Transfer" ^bank-checking-B1
      movement: "bank"
      source-id: "checking/B1"
      Assets:Bank:Checking      80.00 USD
      Assets:Clearing:Payouts  -80.00 USD
    """
    point = desk.point("Arrival without its payout")
    assert point.amount == D("80.00")
    desk.settle(point)
    assert desk.errors() == []
    assert desk.points("Arrival without its payout") == []


def test_arrival_by_a_rule_and_its_payout_are_one(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Bank:Checking
    2025-01-01 open Assets:Clearing:Market
    2025-01-01 open Assets:Clearing:Payouts
    2025-03-10 * "Payout" ^payout-T-1
      movement: "payout"
      Assets:Clearing:Market   -80.00 USD
      Assets:Clearing:Payouts   80.00 USD
    2025-03-12 * "Market" "Transfer" ^bank-checking-B1
      movement: "bank"
      source-id: "checking/B1"
      Assets:Bank:Checking      80.00 USD
      Assets:Clearing:Payouts  -80.00 USD
    """
    whats = {each.what for each in desk.close().points}
    assert not {what for what in whats if "ayout" in what or "Row" in what}


def test_payouts_of_two_currencies_and_banks(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Bank:Checking  USD
    2025-01-01 open Assets:Bank:Euro  EUR
    2025-01-01 open Assets:Clearing:Card
    2025-01-01 open Assets:Clearing:Payouts
    2025-02-10 * "Payout" ^payout-T-0
      Assets:Clearing:Card     -50.00 EUR
      Assets:Clearing:Payouts   50.00 EUR
    2025-02-12 * "Arrived" ^payout-T-0
      Assets:Bank:Euro          50.00 EUR
      Assets:Clearing:Payouts  -50.00 EUR
    2025-03-10 * "Payout" ^payout-T-1
      Assets:Clearing:Card     -80.00 EUR
      Assets:Clearing:Payouts   80.00 EUR
    2025-03-11 * "Payout" ^payout-T-2
      Assets:Clearing:Card     -80.00 USD
      Assets:Clearing:Payouts   80.00 USD
    2025-02-11 * "Interest"
      Assets:Bank:Checking       1.00 USD
      Assets:Clearing:Card
    """
    points = desk.points("Payout has not arrived")
    assert [each.currency for each in points] == ["EUR", "USD"]
    for point in points:
        desk.settle(point)
    assert desk.errors() == []
    assert desk.points("Payout has not arrived") == []
