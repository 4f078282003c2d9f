"""Item texts that no rule knows, and what else waits in suspense."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import TYPE_CHECKING

import pytest

from offcut.importers.importing import import_files

if TYPE_CHECKING:
    from tests.reports.close.closing_desk import Desk

D = Decimal

SHOP = """
    2025-01-01 commodity OWL-STK
      name: "Owl sticker"
      stock: "product"
    2025-01-01 open Assets:Stock:OWL-STK
    2025-01-01 open Equity:Opening-Balances
    2025-01-01 * "Opening"
      Assets:Stock:OWL-STK  50 OWL-STK {0.30 USD}
      Equity:Opening-Balances
    """
ORDERS = "Order,Date,Item,Quantity,Unit price,Discount,Shipping,Sales tax,Currency\n"


def test_unknown_text_until_its_rule_is_learned(new_desk: Callable[..., Desk]) -> None:
    desk = new_desk(SHOP)
    file = desk.ledger.parent / "orders.csv"
    file.write_text(
        f"{ORDERS}W1,2025-03-04,Owl in ink; a sticker,2,4.00,0.00,0.00,0.00,USD\n"
        "W2,2025-03-05,Owl in ink; a sticker,1,4.00,0.00,0.00,0.00,USD\n"
        "W3,2025-04-05,Owl in ink; a sticker,1,4.00,0.00,0.00,0.00,USD\n"
    )
    import_files([file], desk.ledger)

    point = desk.point("Unknown item text")
    assert (point.severity, point.amount) == ("to do", D("12.00"))
    assert "“Owl in ink; a sticker”: 2 lines in Income:Suspense:Web" in point.detail
    assert "Income:Suspense:Web" in desk.line(point)
    assert "--rule 'Owl in ink; a sticker=OWL-STK'" in point.settle.replace(" \\\n ", "")
    assert desk.points("In suspense") == []

    desk.settle(point)
    assert desk.errors() == []
    assert desk.points("Unknown item text") == []


def test_line_that_somebody_moved_by_hand(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Suspense:Web
    2025-01-01 open Income:Sales:Web
    2025-03-04 * "Order" ^order-W1
      lines-id: "shop-orders/W1"
      Assets:Cash  9.00 USD
      Income:Suspense:Web  -4.00 USD
        item-text: "Fox"
        quantity: 1
      Income:Suspense:Web  -5.00 USD
        item-text: "Fox"
        quantity: 1
    2025-03-04 * "It was a commission" ^order-W1
      Income:Suspense:Web  4.00 USD
        item-text: "Fox"
      Income:Sales:Web
    """
    assert desk.point("Unknown item text").amount == D("5.00")


def test_sale_and_its_return_of_one_text_do_not_hide_each_other(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Suspense:Web
    2025-03-04 * "Order" ^order-W1
      lines-id: "shop-orders/W1"
      Assets:Cash  4.00 USD
      Income:Suspense:Web  -4.00 USD
        item-text: "Fox"
        quantity: 1
    2025-03-05 * "Cancelled" ^order-W2
      lines-id: "shop-orders/W2"
      Assets:Cash  -4.00 USD
      Income:Suspense:Web  4.00 USD
        item-text: "Fox"
        quantity: -1
    """
    point = desk.point("Unknown item text")
    assert (point.amount, "2 lines" in point.detail) == (D("0.00"), True)


def test_payment_without_the_lines_of_its_order(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Clearing:Card
    2025-01-01 open Income:Suspense:Web
    2025-03-04 * "Web order" ^order-W1
      Assets:Clearing:Card  11.00 USD
      Income:Suspense:Web  -11.00 USD
        note: "order lines not imported"
    """
    point = desk.point("In suspense")
    assert (point.severity, point.amount) == ("to do", D("11.00"))
    assert "order W1" in point.detail
    assert "order lines not imported" in point.detail
    desk.settle(point)
    assert desk.errors() == []
    assert desk.points("In suspense") == []


def test_lines_that_came_after_the_month(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Clearing:Card
    2025-01-01 open Income:Suspense:Web
    2025-01-01 open Income:Sales:Web
    2025-03-31 * "Web order" ^order-W1
      Assets:Clearing:Card  11.00 USD
      Income:Suspense:Web
    2025-04-01 * "Web order" ^order-W1
      Income:Suspense:Web  11.00 USD
      Income:Sales:Web
    """
    assert desk.points("In suspense") == []
    assert desk.point("Suspense, settled since").severity == "to know"


@pytest.mark.parametrize("amount", ["8.00", "-8.00"])
def test_payment_without_an_order(new_desk: Callable[..., Desk], amount: str) -> None:
    desk = new_desk(
        f"""
        2025-01-01 open Assets:Clearing:Card
        2025-01-01 open Income:Suspense:Web
        2025-03-04 * "Somebody" "Card payment"
          Assets:Clearing:Card  {amount} USD
          Income:Suspense:Web
            note: "no order number"
        """
    )
    point = desk.point("In suspense")
    assert point.amount == D(amount)
    assert "Somebody" in point.detail
    desk.settle(point)
    assert desk.errors() == []
    assert desk.points("In suspense") == []


def test_suspense_of_a_bank_without_a_link(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Bank:Checking
    2025-01-01 open Equity:Suspense
    2025-03-04 * "What was this?"
      Assets:Bank:Checking  -8.00 USD
      Equity:Suspense
    """
    point = desk.point("In suspense")
    assert point.amount == D("-8.00")
    assert "; put the account that it belongs to" in point.settle
    desk.settle(point)
    assert desk.errors() == []
    assert desk.points("In suspense") == []


def test_many_texts_and_products_are_not_all_compared(
    new_desk: Callable[..., Desk], monkeypatch: pytest.MonkeyPatch
) -> None:
    from offcut.reports.close import suspense

    desk = new_desk(
        SHOP
        + """
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Suspense:Web
    2025-03-04 * "Order" ^order-W1
      lines-id: "shop-orders/W1"
      Assets:Cash  4.00 USD
      Income:Suspense:Web  -4.00 USD
        item-text: "Owl sticker"
        quantity: 1
    """
    )
    assert "OWL-STK" in desk.point("Unknown item text").settle
    monkeypatch.setattr(suspense, "MOST_COMPARED", 0)
    point = desk.point("Unknown item text")
    assert point.settle.replace(" \\\n ", "") == f"offcut items {desk.ledger}"
