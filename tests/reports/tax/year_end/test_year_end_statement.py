"""The year-end pack: its statements tie, say what they must, and can be drawn."""

from __future__ import annotations

import dataclasses
import io
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from rich.cells import cell_len
from rich.console import Console

from offcut.reports.books import Books
from offcut.reports.drawing.report_files import write_page, write_workbook
from offcut.reports.drawing.terminal import print_statements
from offcut.reports.statement import Statement
from offcut.reports.tax import CAUTION
from offcut.reports.tax.rules_files import find_rules
from offcut.reports.tax.tax_books import TaxBooks
from offcut.reports.tax.tax_settings import TaxSettings
from offcut.reports.tax.year_end.form_statement import form_statement
from offcut.reports.tax.year_end.pack import year_end
from offcut.reports.tax.year_end.receipts_statement import receipts_statement
from offcut.reports.tax.year_end.reconciliation_statement import (
    reconciliation_statement,
)
from offcut.reports.year_end_statement import year_end_statements

D = Decimal
RULES = find_rules("us-federal", "2025")
SHOP = """
option "operating_currency" "USD"
plugin "offcut.plugins"
2025-02-01 commodity HERON
  stock: "product"
2025-02-01 open Assets:Bank
2025-02-01 open Assets:Clearing:Card
2025-02-01 open Assets:Equipment:Press
2025-02-01 open Income:Sales:Web
2025-02-01 open Income:Suspense:Web
2025-02-01 open Income:Interest
2025-02-01 open Expenses:Contractors
2025-02-01 open Expenses:Mystery
2025-02-01 open Expenses:Software
2025-02-02 * "Cards"
  Assets:Stock:HERON  20 HERON {1.00 USD}
  Assets:Bank
2025-03-01 * "Sale"
  Income:Sales:Web  -100.00 USD
    item: "HERON"
    quantity: 5
  Income:Suspense:Web  -7.00 USD
    item-text: "Something"
    quantity: 1
  Assets:Clearing:Card
2025-03-02 * "Ann's <b>" "Cutting"
  Expenses:Contractors  600.00 USD
  Assets:Bank
2025-03-03 * "夜の灯台 🦉" "?"
  Expenses:Mystery   10.00 USD
  Expenses:Software  12.00 USD
  Assets:Bank
2025-03-04 * "Press"
  Assets:Equipment:Press  2000.00 USD
  Assets:Bank
2025-03-05 custom "mileage" 84 "A fair"
2025-03-06 * "Interest"
  Income:Interest  -1.50 EUR
  Assets:Bank
"""
TITLES = (
    "Year-end form: Schedule C (Form 1040)",
    "From net income to profit for tax",
    "Gross receipts by processor",
    "Sales tax",
    "Lists behind the form",
    "Accounts and their lines",
    "For your accountant",
)


def shop_of(ledger: Any, **settings: Any) -> TaxBooks:
    return TaxBooks(Books(ledger.entries, ledger.options), RULES, TaxSettings(**settings))


def printed(statements: list[Statement], width: int = 80) -> str:
    output = io.StringIO()
    print_statements(Console(file=output, width=width), statements)
    return output.getvalue()


@pytest.fixture
def shop(load: Callable[[str], Any]) -> TaxBooks:
    """A small shop in its first year, with something for each part of the pack."""
    return shop_of(load(SHOP))


def test_every_statement_has_the_caution_and_ties(shop: TaxBooks) -> None:
    statements = year_end_statements(shop)
    assert tuple(each.title for each in statements) == TITLES
    assert all(each.caution == CAUTION for each in statements)
    assert all(each.holds for each in statements)
    assert sum(len(each.checks) for each in statements) == 4


def test_the_terminal_has_the_form_and_the_points(shop: TaxBooks) -> None:
    text = printed(year_end_statements(shop))
    lines = text.splitlines()
    assert max(map(cell_len, lines)) <= 80
    # 107 - 5 of cost - 600 - 58.80 of miles - 12
    (last,) = (each for each in lines if each.startswith("Net profit or loss"))
    assert last.split()[-2:] == ["31", "-568.80"]
    for words in (
        "Expenses:Mystery",
        "is on no line: not deducted",
        "Income in suspense",
        "Equipment without election",
        "Contractors to report",
        "Not in the books",
        "Not counted at year end",
        "Receipts not filed",
        "1.50 EUR",
        "Begun within the year",
        "Figures from memory",
    ):
        assert words in text


def test_lines_stand_in_the_order_of_the_form_wherever_it_is_read(
    shop: TaxBooks, tmp_path: Path
) -> None:
    """A page puts sums below all lines, so that only a part's last one may be one."""
    statement = form_statement(year_end(shop))
    (path,) = write_page([statement], "Year end", "Shop", tmp_path / "a.html")
    page = path.read_text("utf-8")
    captions = [line.caption for line in RULES.form if line.part.startswith("Part I.")]
    places = [page.index(caption) for caption in captions]
    assert places == sorted(places)


def test_a_form_that_misses_a_cost_says_that_it_does_not_tie(shop: TaxBooks) -> None:
    pack = year_end(shop)
    wrong = dataclasses.replace(pack, form={**pack.form, "net-profit": D(1)})
    statement = reconciliation_statement(wrong)
    assert not statement.holds
    assert "THE STEPS DO NOT LEAD TO THE FORM" in statement.checks[0].sentence
    wrong = dataclasses.replace(pack, form={**pack.form, "cost-of-goods": D(1)})
    assert not form_statement(wrong).holds
    wrong = dataclasses.replace(pack, form={**pack.form, "gross-receipts": D(1)})
    assert not receipts_statement(wrong).holds
    wrong = dataclasses.replace(pack, net_income={"USD": D(3)})
    assert not reconciliation_statement(wrong).holds


def test_the_vehicle_part_is_asked_only_where_it_is_deducted(
    load: Callable[[str], Any],
) -> None:
    ledger = load(SHOP)
    text = printed([form_statement(year_end(shop_of(ledger, mileage={"other": 900})))])
    assert "Miles: business" in text
    row = next(each for each in text.splitlines() if each.startswith("Miles: other"))
    assert row.split()[-1] == "900"
    row = next(each for each in text.splitlines() if each.startswith("Miles: commuting"))
    assert row.rstrip().endswith("yours to answer")
    none = printed([form_statement(year_end(shop_of(load(SHOP.replace("84", "1")))))])
    assert "Miles" in none
    without = SHOP.replace('2025-03-05 custom "mileage" 84 "A fair"', "")
    assert "Miles" not in printed([form_statement(year_end(shop_of(load(without))))])


def test_a_count_near_the_last_day_is_enough(load: Callable[[str], Any]) -> None:
    counted = SHOP + '2026-01-03 custom "stock-count" 15 HERON\n'
    assert "Not counted" not in printed(year_end_statements(shop_of(load(counted))))
    early = SHOP + '2025-11-03 custom "stock-count" 15 HERON\n'
    assert "Not counted" in printed(year_end_statements(shop_of(load(early))))


def test_a_year_that_is_not_over_is_said_to_be_so(load: Callable[[str], Any]) -> None:
    told = " ".join(printed(year_end_statements(shop_of(load(SHOP)))).split())
    assert "The last income or cost is of 3 March 2025: the form has nothing" in told
    late = SHOP + '2025-12-01 * "Fee"\n  Expenses:Software  1.00 USD\n  Assets:Bank\n'
    told = " ".join(printed(year_end_statements(shop_of(load(late)))).split())
    assert "The last income or cost" not in told


def test_answers_are_not_asked_again(load: Callable[[str], Any]) -> None:
    ledger = load(SHOP)
    shop = shop_of(ledger, answers={"status": "single", "wages": 0})
    keys = [fact.key for fact in year_end(shop).unanswered]
    assert "wages" not in keys
    assert "spouse-wages" not in keys  # of a joint return only
    assert "credits" in keys


def test_an_empty_ledger(load: Callable[[str], Any]) -> None:
    statements = year_end_statements(shop_of(load("")))
    assert all(each.holds for each in statements)
    assert "Nothing came in during this year." in printed(statements)


def test_another_year_has_nothing(load: Callable[[str], Any]) -> None:
    """All of the shop's sales are of 2025."""
    ledger = load(SHOP)
    rules = find_rules("us-federal", "2026")
    shop = TaxBooks(Books(ledger.entries, ledger.options), rules, TaxSettings())
    pack = year_end(shop)
    assert pack.profit.profit == D(0)
    # But the stock is still there.
    assert pack.form["opening-inventory"] == pack.form["closing-inventory"] == D(15)


def test_page_and_workbook_draw_the_pack(shop: TaxBooks, tmp_path: Path) -> None:
    statements = year_end_statements(shop)
    (page_path,) = write_page(statements, "Year end 2025", "Shop", tmp_path / "a.html")
    page = page_path.read_text("utf-8")
    assert "Ann&#39;s &lt;b&gt;" in page
    assert "Ann's <b>" not in page
    # In each part, and before all of them.
    assert page.count("An estimate, not advice") == len(statements) + 1
    assert page.index("An estimate, not advice") < page.index('class="check')
    (path,) = write_workbook(statements, "Year end 2025", "Shop", tmp_path / "a.xlsx")
    book = openpyxl.load_workbook(path)
    cells = {cell.value for sheet in book.worksheets for row in sheet for cell in row}
    assert {"Advertising", "31", "Expenses:Mystery"} <= cells
    assert any(
        isinstance(each, str) and "An estimate, not advice" in each for each in cells
    )
