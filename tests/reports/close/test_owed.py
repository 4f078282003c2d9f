"""What buyers owe, what is held back, and what was paid ahead."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tests.reports.close.closing_desk import Desk

D = Decimal


def test_order_that_is_owed_too_long(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Bank:Checking
    2025-01-01 open Assets:Receivable:Wholesale
    2025-01-01 open Income:Sales:Wholesale
    2025-02-20 * "Harbour & Sons" "Invoice" ^order-H-1
      Assets:Receivable:Wholesale  60.00 USD
      Income:Sales:Wholesale
    2025-03-20 * "Harbour & Sons" "Invoice" ^order-H-2
      Assets:Receivable:Wholesale  40.00 USD
      Income:Sales:Wholesale
    2025-04-20 * "Harbour & Sons" "Part of it" ^order-H-1
      Assets:Bank:Checking  20.00 USD
      Assets:Receivable:Wholesale
    """
    late = desk.point("Order not paid")
    assert (late.severity, late.amount) == ("to do", D("40.00"))
    assert "order H-1 (Harbour & Sons)" in late.detail
    assert "for 39 days" in late.detail
    early = desk.point("Order not paid yet")
    assert (early.severity, early.amount) == ("to know", D("40.00"))
    for point in (late, early):
        desk.settle(point)
    assert desk.errors() == []
    assert desk.points("Order not paid") == desk.points("Order not paid yet") == []


def test_days_are_set(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Receivable:Wholesale
    2025-01-01 open Income:Sales:Wholesale
    2025-03-20 * "Shop" "Invoice" ^order-H-2
      Assets:Receivable:Wholesale  40.00 USD
      Income:Sales:Wholesale
    """
    assert desk.point("Order not paid yet").severity == "to know"
    desk.set("[close]\nreceivable-days = 10\n")
    assert desk.point("Order not paid").severity == "to do"


def test_orders_paid_together(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Bank:Checking
    2025-01-01 open Assets:Receivable:Web
    2025-01-01 open Income:Sales:Web
    2025-01-20 * "Order" ^order-W1
      Assets:Receivable:Web  10.00 USD
      Income:Sales:Web
    2025-01-21 * "Order" ^order-W2
      Assets:Receivable:Web  20.00 USD
      Income:Sales:Web
    2025-01-22 * "Order" ^order-W3
      Assets:Receivable:Web  25.00 USD
      Income:Sales:Web
    2025-01-25 * "Both" ^order-W1 ^order-W2
      Assets:Bank:Checking  30.00 USD
      Assets:Receivable:Web
    """
    assert desk.point("Order not paid").amount == D("25.00")
    assert "order W3" in desk.point("Order not paid").detail


def test_one_payment_says_the_order_of_each_posting(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Bank:Checking
    2025-01-01 open Assets:Receivable:Web
    2025-01-01 open Income:Sales:Web
    2025-01-20 * "Order" ^order-W1
      Assets:Receivable:Web  10.00 USD
      Income:Sales:Web
    2025-01-21 * "Order" ^order-W2
      Assets:Receivable:Web  20.00 USD
      Income:Sales:Web
    2025-01-25 * "Both" ^order-W1 ^order-W2
      Assets:Bank:Checking  25.00 USD
      Assets:Receivable:Web  -10.00 USD
        order: "W1"
      Assets:Receivable:Web  -15.00 USD
        order: "W2"
    """
    point = desk.point("Order not paid")
    assert point.amount == D("5.00")
    assert "order W2" in point.detail
    desk.settle(point)
    assert desk.errors() == []
    assert desk.points("Order not paid") == []


def test_buyer_who_is_to_be_paid_back(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Bank:Checking
    2025-01-01 open Assets:Receivable:Web
    2025-01-01 open Income:Refunds:Web
    2025-01-20 * "Cancelled" ^order-W1
      Assets:Receivable:Web  -10.00 USD
      Income:Refunds:Web
    """
    point = desk.point("Buyer not paid back")
    assert point.amount == D("-10.00")
    desk.settle(point)
    assert desk.errors() == []
    assert desk.points("Buyer not paid back") == []


def test_invoices_without_links_are_paid_the_oldest_first(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Bank:Checking
    2025-01-01 open Assets:Receivable:Wholesale
    2025-01-01 open Income:Sales:Wholesale
    2025-01-05 * "Shop" "One"
      Assets:Receivable:Wholesale  10.00 USD
      Income:Sales:Wholesale
    2025-01-06 * "Shop" "Two"
      Assets:Receivable:Wholesale  20.00 USD
      Income:Sales:Wholesale
    2025-01-07 * "Shop" "Three"
      Assets:Receivable:Wholesale  30.00 USD
      Income:Sales:Wholesale
    2025-02-01 * "Shop" "Pays the third, and some of the first"
      Assets:Bank:Checking  34.00 USD
      Assets:Receivable:Wholesale  -30.00 USD
      Assets:Receivable:Wholesale   -4.00 USD
    """
    points = desk.points("Order not paid")
    assert [point.amount for point in points] == [D("6.00"), D("20.00")]
    assert "10.00" in desk.line(points[0])


def test_held_money(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Clearing:Card
    2025-01-01 open Assets:Held:Card
    2025-03-10 * "Reserve"
      movement: "hold"
      Assets:Clearing:Card  -15.00 USD
      Assets:Held:Card       15.00 USD
    """
    point = desk.point("Held money not released")
    assert (point.severity, point.amount) == ("to know", D("15.00"))
    desk.month = "2025-04"
    point = desk.point("Held money not released")
    assert point.severity == "to do"
    desk.settle(point)
    assert desk.errors() == []
    assert desk.points("Held money not released") == []


def test_deposit_of_a_commission(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Bank:Checking
    2025-01-01 open Liabilities:Deposits
    2025-01-01 open Income:Sales:Commission
    2025-03-10 * "Portrait: deposit" ^order-C1
      channel: "Commission"
      Assets:Bank:Checking   60.00 USD
      Liabilities:Deposits  -60.00 USD
    2025-03-11 * "Map: deposit" ^order-C2
      Assets:Bank:Checking   30.00 USD
      Liabilities:Deposits  -30.00 USD
    2025-04-11 * "Map: handed over" ^order-C2
      Liabilities:Deposits   30.00 USD
      Income:Sales:Commission
    """
    one, two = desk.points("Deposit held")
    assert [one.severity, two.severity] == ["to know", "to know"]
    assert (one.amount, two.amount) == (D("60.00"), D("30.00"))
    assert two.settle == ""
    assert "delivered on 2025-04-11" in two.detail
    desk.settle(one)
    assert desk.errors() == []
    assert [point.amount for point in desk.points("Deposit held")] == [D("30.00")]
