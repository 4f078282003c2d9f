"""Postage labels without an order."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

from offcut.reports.close.points import ClosePoint

if TYPE_CHECKING:
    from tests.reports.close.closing_desk import Desk

D = Decimal


def replace_first_line(desk: Desk, point: ClosePoint) -> None:
    """Do what the point of a label says: put its lines in place of the label's first."""
    lines = desk.ledger.read_text("utf-8").split("\n")
    first = point.settle.split("\n")[0]
    assert lines[point.line - 1].strip() == first
    lines[point.line - 1] = point.settle
    desk.ledger.write_text("\n".join(lines), "utf-8")


def test_label_without_an_order(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Clearing:Labels
    2025-01-01 open Expenses:Postage:Labels
    2025-03-04 * "Label seller" "Letter, \\"tracked\\"" #event-x
      movement: "postage"
      Assets:Clearing:Labels  -4.15 USD
      Expenses:Postage:Labels  4.15 USD
    """
    point = desk.point("Label without an order")
    assert (point.severity, point.amount, point.currency) == ("to do", D("4.15"), "USD")
    replace_first_line(desk, point)
    assert desk.errors() == []
    assert desk.points("Label without an order") == []
    found = {each.what: each.found for each in desk.close().in_order}
    assert found["Labels have their orders"].startswith("1 label ")


def test_label_of_an_order_that_the_books_lack(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Clearing:Labels
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Expenses:Postage:Labels
    2025-03-04 * "Letter" ^order-W8
      movement: "postage"
      Assets:Clearing:Labels  -4.15 USD
      Expenses:Postage:Labels  4.15 USD
    2025-03-05 * "Letter" ^order-W9
      movement: "postage"
      Assets:Clearing:Labels  -4.15 USD
      Expenses:Postage:Labels  4.15 USD
    2025-03-06 * "Later charge" ^order-W9
      movement: "postage"
      Assets:Clearing:Labels  -0.15 USD
      Expenses:Postage:Labels  0.15 USD
    2025-04-03 * "Order, dated when it was paid" ^order-W8
      Assets:Cash  9.00 USD
      Income:Sales:Web
    """
    points = desk.points("Label of an unknown order")
    assert [point.amount for point in points] == [D("4.15"), D("0.15")]
    assert all("W9" in point.detail for point in points)
    # From the end, so that the lines before stay where they are.
    for point in reversed(points):
        replace_first_line(desk, point)
    assert desk.errors() == []
    assert desk.points("Label of an unknown order") == []


def test_label_that_was_given_back(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Clearing:Labels
    2025-01-01 open Expenses:Postage:Labels
    2025-03-04 * "Letter"
      movement: "postage"
      Assets:Clearing:Labels  -4.15 USD
      Expenses:Postage:Labels  4.15 USD
    2025-03-05 * "Letter"
      movement: "postage"
      Assets:Clearing:Labels  -4.15 USD
      Expenses:Postage:Labels  4.15 USD
    2025-03-06 * "Label refund"
      movement: "postage"
      Assets:Clearing:Labels  4.15 USD
      Expenses:Postage:Labels  -4.15 USD
    """
    assert len(desk.points("Label without an order")) == 1
