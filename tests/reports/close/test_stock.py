"""Counts that are due, and what went out before it was made."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from tests.reports.close.closing_desk import Desk


def test_item_that_was_never_counted(desk: Desk) -> None:
    """
    2024-12-01 commodity OWL-STK
      name: "Owl"
      stock: "product"
    2024-12-01 commodity VINYL
      stock: "material"
    2024-12-01 commodity NEW
      stock: "material"
    2024-12-01 commodity GONE
      stock: "material"
    2024-12-01 open Equity:Opening-Balances
    2024-12-01 open Assets:Stock:OWL-STK
    2024-12-01 open Assets:Materials:VINYL
    2024-12-01 open Assets:Materials:NEW
    2024-12-01 open Assets:Materials:GONE
    2024-12-31 * "Opening"
      Assets:Stock:OWL-STK    50 OWL-STK {0.30 USD}
      Assets:Materials:VINYL  7.25 VINYL {0.50 USD}
      Assets:Materials:GONE   2 GONE {0.50 USD}
      Equity:Opening-Balances
    2025-01-01 custom "stock-out" 2 GONE Expenses:Samples
    2024-12-01 open Expenses:Samples
    2025-01-02 * "Bought"
      Assets:Materials:NEW    1 NEW {0.50 USD}
      Equity:Opening-Balances
    """
    point = desk.point("2 items not counted")
    assert point.severity == "to do"
    assert "OWL-STK, VINYL: never counted" in point.detail
    assert point.settle.split("\n") == [
        '2025-03-31 custom "stock-count" 50 OWL-STK',
        '2025-03-31 custom "stock-count" 7.25 VINYL',
    ]
    desk.settle(point)
    assert desk.errors() == []
    assert desk.points("2 items not counted") == []
    found = {each.what: each.found for each in desk.close().in_order}
    assert found["Stock is counted"] == "2 items, all on 2025-03-31 or later."


COUNTED = """
    2024-11-01 commodity OWL-STK
      stock: "product"
    2024-11-01 open Equity:Opening-Balances
    2024-11-01 open Assets:Stock:OWL-STK
    2024-11-30 * "Opening"
      Assets:Stock:OWL-STK    50 OWL-STK {0.30 USD}
      Equity:Opening-Balances
    2024-12-31 custom "stock-count" 50 OWL-STK
    """


@pytest.mark.parametrize(
    ("month", "due"),
    [
        ("2024-12", False),
        ("2025-01", False),
        ("2025-02", False),
        ("2025-03", True),
        ("2025-12", True),
    ],
)
def test_count_is_due_every_three_months(new_desk, month: str, due: bool) -> None:  # type: ignore[no-untyped-def]
    desk = new_desk(COUNTED, month)
    points = desk.points("1 item not counted")
    assert bool(points) is due
    if points:
        assert "last counted on 2024-12-31" in points[0].detail


@pytest.mark.parametrize(("months", "due"), [(1, True), (2, True), (3, False), (6, False)])
def test_how_often_is_set(new_desk, months: int, due: bool) -> None:  # type: ignore[no-untyped-def]
    desk = new_desk(COUNTED, "2025-02")
    desk.set(f"[close]\ncount-every-months = {months}\n")
    assert bool(desk.points("1 item not counted")) is due


def test_count_at_a_shop_is_none_of_the_own_shelf(desk: Desk) -> None:
    """
    2024-11-01 commodity OWL-STK
      stock: "product"
    2024-11-01 open Equity:Opening-Balances
    2024-11-01 open Assets:Stock:OWL-STK
    2024-11-30 * "Opening"
      Assets:Stock:OWL-STK    50 OWL-STK {0.30 USD}
      Equity:Opening-Balances
    2024-12-01 custom "consignment" 12 OWL-STK "Harbour Books"
    2025-03-31 custom "stock-count" 12 OWL-STK
      place: "Harbour Books"
    """
    point = desk.point("1 item not counted")
    assert point.settle == '2025-03-31 custom "stock-count" 38 OWL-STK'


def test_oversold_product_with_a_bill(desk: Desk) -> None:
    """
    2025-01-01 commodity OWL-STK
      stock: "product"
    2025-01-01 commodity VINYL
      stock: "material"
    2025-01-01 open Equity:Opening-Balances
    2025-01-01 open Assets:Cash
    2025-01-01 open Assets:Materials:VINYL
    2025-01-01 open Income:Sales:Web
    2025-01-01 * "Opening"
      Assets:Materials:VINYL  100 VINYL {0.50 USD}
      Equity:Opening-Balances
    2025-01-01 custom "bill-of-materials" 6 OWL-STK 1 VINYL
    2025-03-04 * "Order" ^order-1
      Assets:Cash  12.00 USD
      Income:Sales:Web  -12.00 USD
        item: "OWL-STK"
        quantity: 3
    """
    point = desk.point("OWL-STK oversold")
    assert point.severity == "to do"
    assert point.settle == '2025-03-04 custom "print-run" 3 OWL-STK'
    assert desk.ledger.read_text().split("\n")[point.line - 1].strip().startswith("2025-03")
    # It is one point, and no error besides.
    assert desk.points("Error in the ledger") == []
    desk.settle(point)
    assert desk.errors() == []
    assert desk.points("OWL-STK oversold") == []
    # What is short in a later month does not stand in an earlier one's way.
    desk.add("""
        2025-04-04 * "Order" ^order-2
          Assets:Cash  4.00 USD
          Income:Sales:Web  -4.00 USD
            item: "OWL-STK"
            quantity: 1
        """)
    assert desk.points("OWL-STK oversold") == []
    assert desk.point("Errors of later days").severity == "to know"


@pytest.mark.parametrize("earlier", ["", "2025-01-01 open Equity:Opening-Balances"])
def test_oversold_without_a_bill_is_a_purchase(new_desk, earlier: str) -> None:  # type: ignore[no-untyped-def]
    desk = new_desk(f"""
        {earlier}
        2025-01-01 commodity OWL-STK
          stock: "product"
        2025-01-01 open Assets:Cash
        2025-01-01 open Income:Sales:Web
        2025-03-04 * "Order" ^order-1
          Assets:Cash  12.00 USD
          Income:Sales:Web  -12.00 USD
            item: "OWL-STK"
            quantity: 3
        """)
    point = desk.point("OWL-STK oversold")
    desk.settle(point)
    assert desk.errors() == []
    assert desk.points("OWL-STK oversold") == []


def test_oversold_takes_the_cost_of_the_newest_lot(desk: Desk) -> None:
    """
    2025-01-01 commodity OWL-STK
      stock: "product"
    2025-01-01 open Assets:Cash
    2025-01-01 open Assets:Shelf
    2025-01-01 open Assets:Stock:OWL-STK
    2025-01-01 open Equity:Opening-Balances
    2025-01-01 open Income:Sales:Web
    2025-02-01 * "Bought"
      Assets:Stock:OWL-STK  2 OWL-STK {0.75 USD}
      Assets:Cash
    2025-03-04 * "Order" ^order-1
      Assets:Cash  12.00 USD
      Income:Sales:Web  -12.00 USD
        item: "OWL-STK"
        quantity: 3
    """
    point = desk.point("OWL-STK oversold")
    assert "1 OWL-STK {0.75 USD}" in point.settle
    desk.settle(point)
    assert desk.errors() == []
