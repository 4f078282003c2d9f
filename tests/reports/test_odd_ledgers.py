"""Ledgers with hardly anything in them, or with very much: every drawing has them all."""

from __future__ import annotations

import csv
import datetime
import io
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import openpyxl
import pytest
from beancount import loader
from hypothesis import given, settings
from rich.cells import cell_len
from rich.console import Console

from offcut.reports.books import Books
from offcut.reports.drawing.page import page
from offcut.reports.drawing.table_csv import table_csv
from offcut.reports.drawing.terminal import print_statements
from offcut.reports.drawing.workbook import workbook
from offcut.reports.inventory_statement import inventory_statement
from offcut.reports.period import Period
from offcut.reports.shelf_statement import shelf_statement
from offcut.reports.statement import Statement
from offcut.reports.trend import GROUPINGS
from offcut.reports.trend_statement import trend_statement
from offcut.reports.years_statement import years_statement
from tests.reports.drawing.test_page import Page
from tests.reports.test_random_ledgers import ledgers, periods

D = Decimal
TODAY = datetime.date(2026, 2, 3)
NAMES = (
    "فراشة الليل",
    "夜の灯台と月の海",
    "Owl 🦉👩🏽‍🎨",
    "<b>=1+1</b>",
    "Heron at Dusk " * 6,
)
HEAD = """
option "operating_currency" "USD"
plugin "offcut.plugins"
2014-01-01 open Assets:Cash
2014-01-01 open Income:Sales:Web
2014-01-01 open Income:Refunds:Web
2014-01-01 open Expenses:Software
"""


def item(code: str, name: str, units: int = 1000) -> str:
    return (
        f'2014-01-01 commodity {code}\n  name: "{name}"\n  stock: "product"\n'
        f'2014-01-01 * "Printer"\n'
        f"  Assets:Stock:{code}  {units} {code} {{0.25 USD}}\n  Assets:Cash\n"
    )


def sale(date: str, code: str, amount: str = "4.00", account: str = "Sales") -> str:
    sign = "" if account == "Refunds" else "-"
    return (
        f'{date} * "Order"\n  Assets:Cash\n  Income:{account}:Web  {sign}{amount} USD\n'
        f'    item: "{code}"\n    quantity: 1\n'
    )


def many_designs(count: int) -> str:
    codes = [f"D{number:04}" for number in range(count)]
    return HEAD + "".join(
        item(code, f"Design {code}", 5) + sale("2025-03-01", code) for code in codes
    )


def twelve_years() -> str:
    dates = [
        f"{year}-{month:02}-10" for year in range(2014, 2026) for month in range(1, 13)
    ]
    return HEAD + item("HERON", "Heron") + "".join(sale(date, "HERON") for date in dates)


def names() -> str:
    text = HEAD
    for number, name in enumerate(NAMES):
        text += item(f"N{number}", name) + sale("2025-03-01", f"N{number}")
    return text


ODD = {
    "empty": "",
    "nothing happened": HEAD,
    "one sale": HEAD + item("HERON", "Heron") + sale("2025-03-01", "HERON"),
    "only refunds": HEAD
    + item("HERON", "Heron")
    + sale("2025-03-01", "HERON", "4.00", "Refunds"),
    "a loss": HEAD
    + '2025-03-01 * "Rent"\n  Expenses:Software  300.00 USD\n  Assets:Cash\n',
    "twelve years": twelve_years(),
    "many designs": many_designs(300),
    "names": names(),
}


def statements_of(text: str) -> list[Statement]:
    entries, errors, options = loader.load_string(text)
    assert not errors, errors[0]
    return statements(Books(entries, options), Period())


def statements(books: Books, period: Period, currency: str = "USD") -> list[Statement]:
    return [
        shelf_statement(books, period, currency),
        inventory_statement(books, period, currency),
        *(trend_statement(books, period, currency, each, TODAY) for each in GROUPINGS),
        years_statement(books, period, currency, TODAY),
    ]


@pytest.fixture(scope="module", params=ODD)
def stated(request: pytest.FixtureRequest) -> Iterator[list[Statement]]:
    yield statements_of(ODD[request.param])


def test_every_statement_holds(stated: list[Statement]) -> None:
    for statement in stated:
        assert statement.holds, statement.checks


def test_terminal_of_80_columns(stated: list[Statement]) -> None:
    output = io.StringIO()
    print_statements(Console(file=output, width=80), stated)
    assert max(map(cell_len, output.getvalue().splitlines())) <= 80


def test_page_is_sound(stated: list[Statement]) -> None:
    text = page(stated, "Reports", "Books", TODAY)
    parsed = Page(text)
    charts = parsed.named("svg")
    assert all(chart["role"] == "img" for chart in charts)
    assert len(charts) == len(parsed.texts_in("desc"))
    tables = [table for each in stated for table in each.tables]
    sources = [line for table in tables for line in table.lines if line.sources]
    assert len(parsed.named("table")) == sum(map(bool, (t.lines for t in tables))) + len(
        sources
    )
    assert not parsed.named("b")
    # 5,000 designs are no page of 5,000 charts and lines of a trend.
    assert len(charts) < 40


@pytest.mark.filterwarnings("ignore:Sparkline")
def test_workbook_and_csv(stated: list[Statement]) -> None:
    tables = [table for each in stated for table in each.tables]
    book = openpyxl.load_workbook(io.BytesIO(workbook(stated, "Books")))
    assert len(book.sheetnames) == len(tables) + 1
    for table in tables:
        rows = list(csv.reader(io.StringIO(table_csv(table))))
        assert len({len(row) for row in rows}) == 1
        assert len(set(rows[0])) == len(rows[0]), "no two columns have one heading"


def test_slugs_differ() -> None:
    tables = [table for each in statements_of(ODD["names"]) for table in each.tables]
    slugs = [table.slug for table in tables]
    assert len(set(slugs)) == len(slugs)


def test_names_are_whole_where_there_is_room() -> None:
    text = page(statements_of(ODD["names"]), "Reports", "Books", TODAY)
    parsed = Page(text)
    for name in NAMES:
        assert name.strip() in {" ".join(cell.split()) for cell in parsed.texts_in("th")}


@settings(max_examples=30, deadline=None)
@given(ledgers(), periods())
def test_trends_add_up_to_the_ledger(text: str, period: Period) -> None:
    entries, errors, options = loader.load_string(text)
    assert not errors
    books = Books(entries, options)
    for currency in ("USD", "EUR", "JPY"):
        income = books.net_income(period).get(currency, D(0))
        for grouping in GROUPINGS:
            statement = trend_statement(books, period, currency, grouping, TODAY, 2)
            assert statement.holds
            for table in statement.tables:
                check_sums(table, income)


def check_sums(table: Any, income: Decimal) -> None:
    """Check that sums are those of their lines, and the contribution that of the ledger."""
    for line in table.lines:
        for at, column in enumerate(table.columns):
            if line.sums and column.adds_up:
                parts = [table.lines[each].cells[at] for each in line.sums]
                assert sum(part for part in parts if part is not None) == line.cells[at]
    if table.lines and table.slug.startswith("trend-contribution"):
        assert table.lines[-1].cells[-1] == income
