"""The month, the ledger's errors, and whether the rows add up."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from typing import TYPE_CHECKING

import pytest

from offcut.reports.close.month import read_month
from offcut.reports.net_income import Tie
from offcut.reports.period import PeriodError

if TYPE_CHECKING:
    from tests.reports.close.closing_desk import Desk


@pytest.mark.parametrize("text", ["2025", "2025-13", "march", "2025-3", "", "9999-12"])
def test_text_that_names_no_month(text: str) -> None:
    with pytest.raises(PeriodError, match="MONTH: expected a month such as 2025-03"):
        read_month(text)


@pytest.mark.parametrize(
    ("text", "last", "after"),
    [
        ("2024-02", "2024-02-29", "2024-03-01"),
        ("2025-12", "2025-12-31", "2026-01-01"),
        ("0001-01", "0001-01-31", "0001-02-01"),
    ],
)
def test_month_ends(text: str, last: str, after: str) -> None:
    month = read_month(text)
    assert (month.last.isoformat(), month.after.isoformat()) == (last, after)
    assert month.name == text


def test_month_in_progress_is_not_done(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Equipment
    """
    desk.today = datetime.date(2025, 3, 31)
    point = desk.point("The month is not over")
    assert point.severity == "to do"
    assert "31 March 2025" in point.detail
    assert not desk.close().done
    desk.today = datetime.date(2025, 2, 28)
    assert desk.points("The month has not begun")
    desk.today = datetime.date(2025, 4, 1)
    assert desk.close().done


def test_empty_ledger_is_done_and_says_what_was_looked_at(desk: Desk) -> None:
    """ """
    closing = desk.close()
    assert [point.what for point in closing.points] == ["No transactions in the month"]
    assert closing.done
    assert len({each.what for each in closing.in_order}) == len(closing.in_order) > 12


def test_first_and_last_months_that_there_are(desk: Desk) -> None:
    """
    0001-01-01 open Assets:Bank:Checking
    0001-01-01 open Equity:Capital
    0001-01-02 * "Long ago"
      Assets:Bank:Checking  1.00 USD
      Equity:Capital
    """
    for month in ("0001-01", "9999-11"):
        desk.month = month
        desk.today = datetime.date.max
        desk.settle(desk.point("Balance not asserted"))
        assert desk.points("Balance not asserted") == []
        assert desk.errors() == []


def test_errors_of_the_ledger(desk: Desk) -> None:
    """
    2025-01-01 open Assets:Equipment
    2025-03-02 * "No such account"
      Assets:Equipment  1.00 USD
      Equity:Nowhere
    2025-04-02 * "Nor this"
      Assets:Equipment  1.00 USD
      Equity:Later
    """
    point = desk.point("Error in the ledger")
    assert point.severity == "to do"
    assert "Equity:Nowhere" in point.detail
    assert "No such account" in desk.line(point)
    assert desk.point("Errors of later days").severity == "to know"
    desk.add("2025-01-01 open Equity:Nowhere\n2025-01-01 open Equity:Later")
    assert desk.points("Error in the ledger") == []
    assert desk.points("Errors of later days") == []


def test_many_errors_are_counted(new_desk: Callable[..., Desk]) -> None:
    lines = "".join(
        f'2025-03-02 * "x"\n  Assets:A{n}  1 USD\n  Assets:B{n}\n' for n in range(30)
    )
    desk = new_desk("")
    desk.add(lines)
    points = desk.points("Error in the ledger")
    assert len(points) == 20
    assert "40 more errors" in desk.point("More errors in the ledger").detail


def test_error_that_is_of_no_day(desk: Desk) -> None:
    """
    2025-01-01 opened Assets:Bank
    """
    assert {point.severity for point in desk.points("Error in the ledger")} == {"to do"}


def test_rows_that_do_not_add_up(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    """
    2025-01-01 open Assets:Equipment
    2025-01-01 open Income:Sales:Web
    2025-03-01 * "Sale"
      Assets:Equipment  5.00 USD
      Income:Sales:Web
    2025-03-01 * "Sale"
      Assets:Equipment  500 JPY
      Income:Sales:Web
    """
    found = {each.what: each.found for each in desk.close().in_order}
    assert found["Profit adds up"] == "net income 500 JPY, net income 5.00 USD."
    monkeypatch.setattr(Tie, "holds", property(lambda _: False))
    assert {point.currency for point in desk.points("The profit does not add up")} == {
        "JPY",
        "USD",
    }
