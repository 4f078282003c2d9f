"""The statement of the shelf: kinds, shops, marks in words, and the accounts' balance."""

from __future__ import annotations

import datetime
import io
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st
from rich.cells import cell_len
from rich.console import Console

from offcut.reports.books import Books
from offcut.reports.command import main
from offcut.reports.drawing.terminal import print_statements
from offcut.reports.period import Period, choose_period
from offcut.reports.shelf_statement import shelf_statement
from offcut.reports.statement import Statement, Table
from offcut.reports.statement_cells import Cell
from tests.plugins.test_stock_properties import FIRST_DAY, History, histories, methods
from tests.plugins.test_stock_properties import load as load_history

D = Decimal
SHOP = """
option "operating_currency" "USD"
option "booking_method" "FIFO"
plugin "offcut.plugins"
2025-01-01 open Assets:Cash
2025-01-01 open Income:Sales:Web
2025-01-01 commodity HERON-STK
  name: "Heron sticker"
  stock: "product"
2025-01-01 commodity MOTH-STK
  name: "Moth sticker"
  stock: "product"
2025-01-01 commodity FERN-STK
  name: "Fern sticker"
  stock: "product"
2025-01-01 commodity OWL-STK
  name: "Owl sticker"
  stock: "product"
2025-01-01 commodity VINYL
  name: "Vinyl sheet"
  stock: "material"
2025-01-01 commodity STAMP
  name: "Letter stamp"
  stock: "stamp"
2025-01-01 custom "bill-of-materials" 6 HERON-STK 1 VINYL
2025-01-01 open Assets:Stock:OWL-STK  OWL-STK "AVERAGE"
2025-01-01 * "Sheets and stamps"
  Assets:Materials:VINYL  40 VINYL {0.60 USD}
  Assets:Stamps:STAMP  10 STAMP {0.73 USD}
  Assets:Cash
2025-01-01 custom "print-run" 60 HERON-STK
2025-01-01 * "Printer"
  Assets:Stock:MOTH-STK  50 MOTH-STK {0.30 USD}
  Assets:Stock:FERN-STK  10 FERN-STK {0.20 USD}
  Assets:Stock:OWL-STK  10 OWL-STK {0.20 USD}
  Assets:Cash
2025-01-10 custom "consignment" 12 HERON-STK "Harbour Books"
2025-01-15 * "Printer"
  Assets:Stock:OWL-STK  10 OWL-STK {0.40 USD}
  Assets:Cash
2025-01-20 * "Order"
  Assets:Cash
  Income:Sales:Web  -12.00 USD
    item: "HERON-STK"
    quantity: 24
  Income:Sales:Web  -4.00 USD
    item: "MOTH-STK"
    quantity: 1
  Income:Sales:Web  -4.00 USD
    item: "FERN-STK"
    quantity: 10
2025-06-30 * "Order"
  Assets:Cash
  Income:Sales:Web  -4.00 USD
    item: "MOTH-STK"
    quantity: 1
"""
JANUARY = choose_period(month="2025-01")


def books_of(ledger: Any) -> Books:
    return Books(ledger.entries, ledger.options, ledger.errors)


def table_of(statement: Statement, slug: str) -> Table:
    (table,) = [table for table in statement.tables if table.slug == slug]
    return table


def cells_of(table: Table, name: str) -> dict[str, Cell]:
    """Return the cells of the one line of a name, by heading."""
    (line,) = [line for line in table.lines if line.cells[0] == name]
    headings = [column.heading for column in table.columns]
    return dict(zip(headings[2:], line.cells[2:], strict=True))


def printed(statement: Statement, width: int = 80) -> str:
    output = io.StringIO()
    print_statements(Console(file=output, width=width), [statement])
    return output.getvalue()


def test_each_kind_has_its_table_and_its_total(load: Any) -> None:
    statement = shelf_statement(books_of(load(SHOP)), JANUARY, "USD")
    assert [table.slug for table in statement.tables] == [
        *("shelf-products", "shelf-materials", "shelf-stamps", "shelf-consigned"),
        *("shelf-by-kind", "shelf-lots"),
    ]
    # 60 of 10 sheets at 0.60; 12 in the shop, 24 sold.
    heron = cells_of(table_of(statement, "shelf-products"), "Heron sticker")
    assert (heron["On hand"], heron["Unit cost"], heron["Value"]) == (
        *(D(24), D("0.1"), D("2.4")),
    )
    assert heron["Sell-through"] == D(24) / D(48)
    assert heron["Oldest, days"] == D(30)
    vinyl = cells_of(table_of(statement, "shelf-materials"), "Vinyl sheet")
    assert (vinyl["On hand"], vinyl["Used"], vinyl["Value"]) == (D(30), D(10), D(18))
    assert "Sell-through" not in vinyl and "Sold" not in vinyl
    away = table_of(statement, "shelf-consigned").lines[0]
    assert away.cells[:4] == ("Heron sticker", "HERON-STK", "Harbour Books", D(12))
    kinds = table_of(statement, "shelf-by-kind")
    assert [(line.cells[0], line.cells[2]) for line in kinds.lines] == [
        ("Products", D("24.30")),  # 2.40 + 49 * 0.30 + 20 * 0.30 + 1.20
        ("Materials", D("18.00")),
        ("Stamps", D("7.30")),
        ("All", D("49.60")),
    ]
    assert table_of(statement, "shelf-lots").lines[-1].cells[-1] == D("49.60")


def test_marks_are_words(load: Any) -> None:
    ledger = load(SHOP)
    products = table_of(shelf_statement(books_of(ledger), JANUARY, "USD"), "shelf-products")
    marks = {line.cells[0]: line.cells[-1] for line in products.lines}
    assert marks["Moth sticker"] == "slow"
    assert marks["Fern sticker"] == "out"
    assert marks["Heron sticker"] == ""
    year = choose_period(first="2025-01-01", last="2025-12-31")
    later = shelf_statement(books_of(ledger), year, "USD", D(26), 160)
    marks = {
        line.cells[0]: line.cells[-1] for line in table_of(later, "shelf-products").lines
    }
    assert marks["Moth sticker"] == marks["Heron sticker"] == "dead"
    assert "160 days" in printed(later)


def test_thresholds_move_the_marks(load: Any) -> None:
    books = books_of(load(SHOP))
    # 49 left, one sold in 31 days: 217 weeks.
    for weeks, mark in ((D(216), "slow"), (D(217), "")):
        table = table_of(
            shelf_statement(books, JANUARY, "USD", slow_weeks=weeks), "shelf-products"
        )
        assert cells_of(table, "Moth sticker")["Mark"] == mark


def test_a_moving_average_is_one_lot_without_an_age(load: Any) -> None:
    statement = shelf_statement(books_of(load(SHOP)), JANUARY, "USD")
    lots = cells_of(table_of(statement, "shelf-lots"), "Owl sticker")
    # (10 x 0.20 + 10 x 0.40) / 20
    assert (lots["Unit cost"], lots["Left"]) == (D("0.3"), D(20))
    assert lots["Came"] == datetime.date(2025, 1, 15)
    assert lots["Age, days"] is None
    assert any("moving average" in note.text for note in statement.notes)


def test_value_is_held_against_the_accounts(
    load: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    books = books_of(load(SHOP))
    statement = shelf_statement(books, JANUARY, "USD")
    assert statement.holds
    assert "49.60 USD, is the balance of the stock accounts" in statement.checks[0].sentence
    monkeypatch.setattr(
        "offcut.reports.shelf_statement.stock_balances", lambda *_: {"USD": D("49.61")}
    )
    broken = shelf_statement(books, JANUARY, "USD")
    assert not broken.holds
    assert broken.checks[0].sentence.startswith("THIS REPORT DOES NOT ADD UP")


def test_stock_that_cost_another_currency_is_told(load: Any) -> None:
    text = SHOP + (
        '2025-01-01 commodity TIN\n  stock: "product"\n2025-01-20 * "Abroad"\n'
        "  Assets:Stock:TIN  10 TIN {0.50 EUR}\n  Assets:Cash\n"
    )
    books = books_of(load(text))
    dollars = shelf_statement(books, JANUARY, "USD")
    assert any("5.00 EUR" in note.text for note in dollars.notes)
    euros = shelf_statement(books, JANUARY, "EUR")
    assert euros.holds and "5.00 EUR" in euros.checks[0].sentence


def test_nothing_in_stock(load: Any) -> None:
    statement = shelf_statement(books_of(load("")), Period(), "")
    assert printed(statement).startswith("On the shelf, all dates\n")
    assert "Nothing is in stock, or was on these days." in printed(statement)
    assert statement.holds


def test_fits_a_terminal(load: Any) -> None:
    text = printed(shelf_statement(books_of(load(SHOP)), JANUARY, "USD"))
    assert max(map(cell_len, text.splitlines())) <= 80
    assert "Harbour Books" in text


def test_command(tmp_path: Path) -> None:
    path = tmp_path / "main.beancount"
    path.write_text(SHOP)
    options = ["--month", "2025-01", "--slow-weeks", "300"]
    result = CliRunner().invoke(main, ["shelf", str(path), *options])
    assert result.exit_code == 0, result.output
    assert "slow lasts more than 300 weeks" in " ".join(result.output.split())
    assert CliRunner().invoke(main, ["shelf", str(path), "--dead-days", "0"]).exit_code == 2


days = st.integers(0, 30).map(lambda days: FIRST_DAY + datetime.timedelta(days=days))


@settings(max_examples=40, deadline=None)
@given(histories, methods, days)
def test_tables_add_up_to_the_accounts(
    history: History, method: str, last: datetime.date
) -> None:
    ledger = load_history(history, method)
    books = Books(ledger.entries, ledger.options)
    statement = shelf_statement(books, Period(FIRST_DAY, last), "USD")
    assert statement.holds
    shelves = [table for table in statement.tables if table.lines]
    value = {
        table.slug: table.lines[-1].cells[
            [column.heading for column in table.columns].index(
                "Closing" if table.slug == "shelf-by-kind" else "Value"
            )
        ]
        for table in shelves
    }
    for table in shelves:
        for at, column in enumerate(table.columns):
            if column.adds_up:
                total = table.lines[-1]
                parts = [table.lines[each].cells[at] for each in total.sums]
                assert (
                    sum(part for part in parts if isinstance(part, Decimal))
                    == (total.cells[at])
                )
    whole = value.pop("shelf-by-kind", D(0))
    assert value.pop("shelf-lots", D(0)) == whole == sum(value.values())
