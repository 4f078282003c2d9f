"""The month-end list on a terminal, a page, in a workbook and in CSV; and its command."""

from __future__ import annotations

import csv
import datetime
import io
from collections.abc import Callable
from typing import TYPE_CHECKING

import openpyxl
import pytest
from click.testing import CliRunner, Result
from rich.cells import cell_len
from rich.console import Console

from offcut.reports.close_statement import close_statement
from offcut.reports.command import main
from offcut.reports.drawing.page import page
from offcut.reports.drawing.table_csv import table_csv
from offcut.reports.drawing.terminal import print_statements
from offcut.reports.drawing.workbook import workbook
from offcut.reports.statement import Statement

if TYPE_CHECKING:
    from tests.reports.close.closing_desk import Desk

NAMES = {
    "arabic": "فراشة الليل عند الميناء",
    "chinese": "夜の灯台と月の海・夜の灯台と月の海・夜の灯台と月の海・夜の灯台と月の海",
    "emoji": "Owl 🦉👩🏽‍🎨 in ink",
    "formula": '=HYPERLINK(\\"x\\")',
    "html": "<script>alert('ink')</script> $x_1$",
    "turned": "abc\u202edef",
    "escape": "red \x1b[31m and \x07 bell",
    "lines": "two\nlines",
    "quotes": 'say \\"owl\\" and C:\\\\\\\\',
    "long": "a very long text " * 20,
}


def ledger_with(name: str) -> str:
    """Return a ledger in which a name stands wherever somebody else may write one."""
    return f"""
2025-01-01 open Assets:Bank:Checking
2025-01-01 open Assets:Clearing:Labels
2025-01-01 open Assets:Receivable:Web
2025-01-01 open Equity:Suspense
2025-01-01 open Expenses:Postage:Labels
2025-01-01 open Income:Sales:Web
2025-01-01 open Income:Suspense:Web
2025-01-01 open Liabilities:Deposits
2025-02-12 * "{name}" "{name}" ^bank-checking-B1
  source-id: "checking/B1"
  Assets:Bank:Checking  -12.50 USD
  Equity:Suspense        12.50 USD
2025-02-13 * "{name}" "{name}"
  movement: "postage"
  Assets:Clearing:Labels  -4.15 USD
  Expenses:Postage:Labels
2025-02-14 * "{name}" "{name}" ^order-1
  lines-id: "shop/1"
  Assets:Receivable:Web  1234567.89 EUR
  Income:Suspense:Web
    item-text: "{name}"
    quantity: 1
2025-02-15 * "{name}" "{name}" ^order-2
  Assets:Bank:Checking  8.00 USD
  Liabilities:Deposits
2025-02-16 * "{name}" "{name}"
  source-id: "{name}/1"
  Assets:Bank:Checking  8.00 USD
  Income:Suspense:Web
    note: "{name}"
"""


def statement_of(desk: Desk) -> Statement:
    return close_statement(desk.close(), desk.ledger, "USD")


def printed(statement: Statement, width: int) -> str:
    output = io.StringIO()
    print_statements(Console(file=output, width=width), [statement])
    return output.getvalue()


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
@pytest.mark.parametrize("width", [80, 200])
def test_names_of_all_kinds_fit_a_terminal(
    new_desk: Callable[..., Desk], name: str, width: int
) -> None:
    desk = new_desk("")
    desk.add(ledger_with(name))
    assert desk.errors() == []
    statement = statement_of(desk)
    text = printed(statement, width)
    assert "\x1b" not in text
    assert "\u202e" not in text
    copied = {
        f"    {line}"
        for point in desk.close().points
        for line in point.settle.split("\n")
        if point.settle
    }
    assert len(copied) > 8
    lines = text.split("\n")
    for line in lines:
        assert cell_len(line.rstrip()) <= width or line in copied
    # What is to be copied stands there whole.
    assert copied <= set(lines)
    assert "order 1" in text
    assert "1,234,567.89 EUR" in text


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
def test_what_settles_a_point_loads_whatever_the_names(
    new_desk: Callable[..., Desk], name: str
) -> None:
    desk = new_desk("")
    desk.add(ledger_with(name))
    for point in desk.close().points:
        if point.settle and not point.settle.startswith("offcut"):
            if "note:" in point.settle:
                continue
            desk.settle(point)
            assert desk.errors() == [], point.settle
    left = {point.what for point in desk.close().points}
    assert not left & {"Row of the bank waits", "In suspense", "Order not paid yet"}


@pytest.mark.parametrize("name", NAMES.values(), ids=NAMES)
def test_page_workbook_and_csv_have_the_same(
    new_desk: Callable[..., Desk], name: str
) -> None:
    desk = new_desk("")
    desk.add(ledger_with(name))
    statement = statement_of(desk)
    html = page([statement], "Month end", "Books", datetime.date(2025, 4, 1))
    assert "<script>alert" not in html
    assert "NOT DONE" in html

    book = openpyxl.load_workbook(io.BytesIO(workbook([statement], "Books")))
    assert {"To do", "To know", "In order"} <= set(book.sheetnames)
    cells = [cell for row in book["To do"].iter_rows() for cell in row]
    assert all(cell.data_type != "f" for cell in cells)
    texts = [cell.value for cell in cells if isinstance(cell.value, str)]
    (bank,) = [each for each in desk.close().points if each.what == "Row of the bank waits"]
    assert bank.settle in texts

    (row,) = [
        row
        for row in csv.reader(io.StringIO(table_csv(statement.tables[0]), newline=""))
        if row[1] == "Row of the bank waits"
    ]
    assert bank.settle in row
    assert not any(cell.startswith(("=", "@")) for cell in row)


def test_what_several_points_need_is_said_once(new_desk: Callable[..., Desk]) -> None:
    desk = new_desk("")
    inbox = desk.ledger.parent / "inbox"
    inbox.mkdir()
    for name in ("one", "two"):
        (inbox / f"{name}.csv").write_text(
            "Date,Type,Order,Description,Gross,Fee,Net,Currency,Reference\n"
            f"2025-03-04,Fee,,Monthly fee,-2.00,0.00,-2.00,USD,{name}\n"
        )
    text = printed(statement_of(desk), 80)
    assert text.count("offcut import") == 1
    assert text.count("File not imported") == 2


def test_empty_ledger_is_stated(new_desk: Callable[..., Desk]) -> None:
    text = printed(statement_of(new_desk("")), 80)
    assert text.startswith("Month end, March 2025\n\nTo do\nNothing.\n")
    assert "March 2025 is done: nothing is left to do." in text


def run(desk: Desk, month: str = "2025-03") -> Result:
    return CliRunner().invoke(main, ["close", month, str(desk.ledger)])


def test_exit_code_says_done_or_not(new_desk: Callable[..., Desk]) -> None:
    desk = new_desk("2025-01-01 open Assets:Bank:Checking\n")
    assert run(desk).exit_code == 0
    desk.add("""
        2025-01-01 open Equity:Capital
        2025-03-01 * "Begin"
          Assets:Bank:Checking  1.00 USD
          Equity:Capital
        """)
    result = run(desk)
    assert result.exit_code == 3
    assert "March 2025 is NOT DONE: 1 point stands between it and done." in result.stdout
    desk.settle(desk.point("Balance not asserted"))
    assert run(desk).exit_code == 0


def test_errors_of_later_days_do_not_stand_in_the_way(
    new_desk: Callable[..., Desk],
) -> None:
    desk = new_desk('2025-05-01 * "x"\n  Assets:A  1 USD\n  Assets:B\n')
    result = run(desk)
    assert result.exit_code == 0
    assert "Errors of later days" in result.stdout
    assert "Invalid reference to unknown account" in result.stderr
    assert run(desk, "2025-05").exit_code == 3


def test_bad_words_are_refused(new_desk: Callable[..., Desk]) -> None:
    desk = new_desk("")
    result = run(desk, "March")
    assert result.exit_code == 2
    assert "MONTH: expected a month such as 2025-03, found 'March'" in result.stderr
    desk.set("[close]\ncount-every-month = 3\n")
    result = run(desk)
    assert result.exit_code == 1
    assert "did you mean count-every-months?" in result.stderr
    assert result.stderr.count("\n") == 1
