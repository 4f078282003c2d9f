"""Files that are missing, and files that lie in the inbox."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from tests.reports.close.closing_desk import Desk

OPENS = """
    2025-01-01 open Assets:Clearing:Card
    2025-01-01 open Income:Sales:Web
    """
PAYMENTS = "Date,Type,Order,Description,Gross,Fee,Net,Currency,Reference\n"


def row(day: str, source: str = "card", key: str = "source-id") -> str:
    """Return a transaction of a row of a source's file."""
    return f"""
    {day} * "Row"
      {key}: "{source}/{day}"
      Assets:Clearing:Card  1.00 USD
      Income:Sales:Web
    """


@pytest.mark.parametrize("key", ["source-id", "lines-id"])
def test_source_that_usually_has_rows(new_desk: Callable[..., Desk], key: str) -> None:
    desk = new_desk(OPENS + row("2025-01-09", key=key) + row("2025-02-09", key=key))
    point = desk.point("No rows of card")
    assert point.severity == "to do"
    assert "2 of the 3 months before" in point.detail
    desk.settle(point)
    assert desk.errors() == []
    assert desk.points("No rows of card") == []
    found = {each.what: each.found for each in desk.close().in_order}
    assert found["Nothing to import"] == "The ledger says so of card."


def test_source_with_rows_is_in_order(new_desk: Callable[..., Desk]) -> None:
    desk = new_desk(OPENS + row("2025-01-09") + row("2025-02-09") + row("2025-03-09"))
    assert desk.points("No rows of card") == []
    found = {each.what: each.found for each in desk.close().in_order}
    assert found["Files are imported"] == "Rows of card."
    # In the new year, too: December, January and February are before March.
    desk.month = "2025-04"
    assert desk.point("No rows of card").severity == "to do"


def test_source_of_one_month_is_not_expected(new_desk: Callable[..., Desk]) -> None:
    desk = new_desk(OPENS + row("2025-02-09"))
    assert desk.points("No rows of card") == []


def test_opening_balance_is_no_row(new_desk: Callable[..., Desk]) -> None:
    opening = row("2025-03-31").replace("card/", "card/opening-")
    desk = new_desk(OPENS + row("2025-01-09") + row("2025-02-09") + opening)
    assert desk.point("No rows of card").severity == "to do"


def test_source_that_is_not_monthly(new_desk: Callable[..., Desk]) -> None:
    desk = new_desk(OPENS + row("2025-01-09") + row("2025-02-09"))
    desk.set('[close]\nnot-expected = ["card"]\n')
    assert desk.points("No rows of card") == []


def test_own_layout_without_rows_is_told(new_desk: Callable[..., Desk]) -> None:
    desk = new_desk(OPENS)
    desk.set("""
        [layouts.my-shop]
        kind = "payments"
        source = "my-shop"
        channel = "Shop"
        currency = "USD"
        columns = { date = "Day", gross = "Sum" }
        types = { default = "sale" }
        """)
    point = desk.point("No rows of my-shop")
    assert point.severity == "to know"
    desk.settle(point)
    assert desk.points("No rows of my-shop") == []


def test_tallies_of_fairs_come_when_there_is_a_fair(new_desk: Callable[..., Desk]) -> None:
    rows = [row(f"2025-0{month}-09", "fair", "lines-id") for month in (1, 2)]
    desk = new_desk(OPENS + "".join(rows))
    assert desk.points("No rows of fair") == []


def test_file_in_the_inbox(new_desk: Callable[..., Desk]) -> None:
    desk = new_desk(OPENS + row("2025-01-09") + row("2025-02-09"))
    inbox = desk.ledger.parent / "inbox"
    inbox.mkdir()
    (inbox / "it's march.csv").write_text(
        f"{PAYMENTS}2025-03-04,Fee,,Monthly fee,-2.00,0.00,-2.00,USD,F-1\n"
        "2025-04-04,Fee,,Monthly fee,-2.00,0.00,-2.00,USD,F-2\n"
    )
    point = desk.point("File not imported")
    assert point.severity == "to do"
    assert "2 records of card in it's march.csv" in point.detail
    # The missing source is there, and need not be told twice.
    assert desk.points("No rows of card") == []
    desk.settle(point)
    assert desk.errors() == []
    assert desk.points("File not imported") == []
    found = {each.what: each.found for each in desk.close().in_order}
    assert "it's march.csv" in found["The inbox is imported"]


def test_file_of_a_later_month_waits_for_it(new_desk: Callable[..., Desk]) -> None:
    desk = new_desk(OPENS + row("2025-01-09") + row("2025-02-09"))
    inbox = desk.ledger.parent / "inbox"
    inbox.mkdir()
    (inbox / "april.csv").write_text(
        f"{PAYMENTS}2025-04-04,Fee,,Monthly fee,-2.00,0.00,-2.00,USD,F-2\n"
    )
    assert desk.points("File not imported") == []
    assert desk.point("No rows of card").severity == "to do"
    found = {each.what: each.found for each in desk.close().in_order}
    assert found["The inbox has later files"].startswith("april.csv in inbox/")
    desk.month = "2025-04"
    assert desk.point("File not imported").severity == "to do"


@pytest.mark.parametrize(
    ("name", "contents"),
    [
        ("scan.pdf", b"%PDF-1.7 x"),
        ("empty.csv", b""),
        ("strange.csv", b"Aber,Nicht\n1,2\n"),
        ("\x1b[31mred\u202e.csv", b"\x00\xff"),
    ],
)
def test_file_that_is_not_understood(
    new_desk: Callable[..., Desk], name: str, contents: bytes
) -> None:
    desk = new_desk(OPENS)
    inbox = desk.ledger.parent / "inbox"
    inbox.mkdir()
    (inbox / name).write_bytes(contents)
    (inbox / ".hidden").write_bytes(b"\x00")
    (inbox / "folder").mkdir()
    assert desk.point("File cannot be imported").severity == "to do"
    (inbox / name).unlink()
    assert desk.points("File cannot be imported") == []


def test_tally_of_a_fair_in_the_inbox(new_desk: Callable[..., Desk]) -> None:
    desk = new_desk(OPENS)
    inbox = desk.ledger.parent / "inbox"
    inbox.mkdir()
    (inbox / "fair.csv").write_text("Sold,Count,Price,Reduced by\nOwl,3,4.00,0.00\n")
    assert desk.point("Tally sheet of a fair").severity == "to know"
