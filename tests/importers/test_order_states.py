"""What a ledger has of one order is read from its transactions' text."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from offcut.importers.known import Known, scan_ledger
from offcut.importers.layout import shipped_layouts
from offcut.importers.order_states import (
    OrderState,
    lines_total,
    order_state,
    order_transactions,
)

ACCOUNTS = shipped_layouts()["card-payments"].accounts
ORDER = """
2025-03-03 * "Web order W1" ^order-W1
  channel: "Web"
  lines-id: "shop-orders/W1"
  Assets:Receivable:Web       1,010.50 USD ; by the lines
  Income:Sales:Web           -1,018.50 USD
    item: "HERON-STK"
    quantity: 2
  Income:Refunds:Web              8.00 USD
    item: "HERON-STK"
    quantity: 1
"""


def known(folder: Path, text: str) -> Known:
    """Return what a ledger of this text has."""
    path = folder / "main.beancount"
    path.write_text(text, "utf-8")
    return scan_ledger(path)


def state(folder: Path, text: str, channel: str = "Web") -> OrderState | None:
    """Return what a ledger of this text has of the order W1."""
    texts = order_transactions(known(folder, text), {"W1"})
    return order_state(texts.get("W1", ()), channel, ACCOUNTS)


def test_order_that_is_owed(tmp_path: Path) -> None:
    found = state(tmp_path, ORDER)

    assert found == OrderState(
        receivable={"USD": Decimal("1010.50")},
        suspense={},
        refunds={},  # the lines say what came back
        lines=True,
        returns=True,
        sold=False,
        refunded=False,
    )


def test_payment_and_refund_without_lines(tmp_path: Path) -> None:
    payments = """
2025-03-04 * "Web order W1" ^order-W1
  channel: "Web"
  source-id: "card/ch_1"
  Assets:Clearing:Card            10.00 USD
  Income:Suspense:Web            -10.00 USD
2025-03-05 * "Refund" ^order-W1
  channel: "Web"
  movement: "refund"
  source-id: "card/re_1"
  Assets:Clearing:Card            -4.00 USD
  Income:Refunds:Web               4.00 USD
"""
    assert state(tmp_path, payments) == OrderState(
        receivable={},
        suspense={"USD": Decimal("-10.00")},
        refunds={"USD": Decimal("4.00")},
        lines=False,
        returns=False,
        sold=True,
        refunded=True,
    )


def test_what_the_user_wrote_counts_too(tmp_path: Path) -> None:
    by_hand = """
2025-03-04 * "W1 by cheque" #cheque ^order-W1 ^order-W10
  Assets:Bank                 1,000.50 USD
  Assets:Receivable:Web      -1,000.50 USD
"""
    found = state(tmp_path, ORDER + by_hand)

    assert found is not None
    assert found.receivable == {"USD": Decimal("10.00")}
    assert not found.sold


def test_another_channels_order_of_the_same_number_is_not_ours(tmp_path: Path) -> None:
    assert state(tmp_path, ORDER, "Market") is None


def test_link_in_a_comment_or_within_a_longer_number_is_none(tmp_path: Path) -> None:
    assert state(tmp_path, "; see ^order-W1\n" + ORDER.replace("W1", "W10")) is None


@pytest.mark.parametrize("line_end", ["\n", "\r\n"])
def test_total_of_an_orders_lines(tmp_path: Path, line_end: str) -> None:
    text = """
2025-03-04 * "Web order" ^order-W1
  channel: "Web"
  lines-id: "shop-orders/W1"
  Assets:Clearing:Card            10.39 USD
  Expenses:Fees:Card               0.61 USD
  Liabilities:SalesTax            -0.50 USD
  Income:Shipping:Web             -2.50 USD
  Income:Sales:Web                -8.00 USD ; moved here by hand
    item-text: "Mystery"
  Income:Suspense:Web             -2.00 USD
    item-text: "Something"
  Income:Discounts:Web             1.00 USD
  Income:Suspense:Web              1.00 USD
    note: "payment and order lines differ"
"""
    texts = order_transactions(known(tmp_path, text.replace("\n", line_end)), {"W1"})["W1"]

    assert lines_total(texts, "shop-orders/W1", ACCOUNTS) == Decimal("12.00")
    assert lines_total(texts, "shop-orders/W2", ACCOUNTS) is None
