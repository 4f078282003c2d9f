"""The months of the example ledger: what the list finds, and that it can be settled."""

from __future__ import annotations

import datetime
import shutil
from decimal import Decimal
from pathlib import Path

import pytest

from offcut.importers.settings import load_settings
from offcut.reports.books import Books
from offcut.reports.close.closing import Closing, close_month
from offcut.reports.close.month import read_month
from offcut.reports.ledger_file import load_ledger

EXAMPLE = Path(__file__).parents[3] / "example_ledger"
TODAY = datetime.date(2026, 11, 25)


def closed(ledger: Path, month: str) -> Closing:
    loaded = load_ledger(ledger)
    books = Books(loaded.entries, loaded.options, loaded.errors, ledger)
    return close_month(books, load_settings(ledger), read_month(month), TODAY)


@pytest.fixture
def ledger(tmp_path: Path) -> Path:
    """The main file of a copy of the example ledger, October not imported yet."""
    copy = tmp_path / "example"
    left_out = shutil.ignore_patterns("exports", ".*", "*-2026-10.beancount")
    shutil.copytree(EXAMPLE, copy, ignore=left_out)
    return copy / "main.beancount"


def test_september_is_as_its_files_say_and_can_be_done(ledger: Path) -> None:
    closing = closed(ledger, "2026-09")
    # Both payouts of the last day reach the bank on 2 October (bank.beancount).
    ways = [each for each in closing.to_know if each.what == "Payout was on its way"]
    assert [each.amount for each in ways] == [Decimal("903.61"), Decimal("473.04")]
    assert all("arrived on 2026-10-02" in each.detail for each in ways)
    # The shelf was counted in June (workshop.beancount), which is enough where it is
    # counted twice a year; sheets and ink never were. Cash came in at a fair and went to
    # the bank, and was never asserted.
    assert [each.what for each in closing.to_do] == [
        "9 items not counted",
        "Balance not asserted",
    ]
    assert "Assets:Cash" in closing.to_do[1].detail
    found = {each.what: each.found for each in closing.in_order}
    assert "Assets:Bank:Checking 7,113.65 USD" in found["Bank and cash asserted"]

    with ledger.open("a") as file:
        file.write("\n".join(["", *(each.settle for each in closing.to_do), ""]))
    assert load_ledger(ledger).errors == []
    assert closed(ledger, "2026-09").done


def test_october_waits_for_its_files(ledger: Path) -> None:
    closing = closed(ledger, "2026-10")
    files = [each for each in closing.to_do if each.what == "File not imported"]
    assert {Path(each.file).name for each in files} == {
        path.name for path in (EXAMPLE / "inbox").iterdir()
    }
    (owed,) = [each for each in closing.points if each.what == "Order not paid yet"]
    assert owed.amount == Decimal("243.00")


def test_first_months_are_done() -> None:
    for month in ("2024-11", "2025-01"):
        assert closed(EXAMPLE / "main.beancount", month).done
