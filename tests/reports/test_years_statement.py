"""Years side by side: each tied to its net income, a part with the same part before."""

from __future__ import annotations

import datetime
import io
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from rich.cells import cell_len
from rich.console import Console

from offcut.reports.account_columns import AMOUNT_COLUMNS
from offcut.reports.books import Books
from offcut.reports.command import main
from offcut.reports.drawing.terminal import print_statements
from offcut.reports.net_income import Tie
from offcut.reports.period import Period, choose_period
from offcut.reports.statement import Statement, Table
from offcut.reports.statement_cells import Cell
from offcut.reports.years import same_days_before
from offcut.reports.years_statement import years_statement
from tests.reports.test_random_ledgers import ledgers, periods
from tests.reports.test_random_ledgers import load as load_ledger

D = Decimal
TODAY = datetime.date(2025, 11, 20)
HEAD = """
option "operating_currency" "USD"
2023-01-01 open Assets:Cash
2023-01-01 open Income:Sales:Web
2023-01-01 open Income:Shipping:Web
2023-01-01 open Income:Discounts:Web
2023-01-01 open Income:Refunds:Web
2023-01-01 open Income:Interest
2023-01-01 open Expenses:Fees:Card
2023-01-01 open Expenses:Postage
2023-01-01 open Expenses:Packaging:Mailers
2023-01-01 open Expenses:COGS
2023-01-01 open Expenses:Marketing:Giveaways
2023-01-01 open Expenses:Spoilage:HERON
2023-01-01 open Expenses:Events:TableFee
2023-01-01 open Expenses:Software
"""
YEAR = """
{0}-01-10 * "Order" ^order-{0}1
  Assets:Cash
  Income:Sales:Web  -100.00 USD
    item: "HERON"
    quantity: 10
  Income:Discounts:Web  10.00 USD
    item: "HERON"
  Income:Shipping:Web  -5.00 USD
  Expenses:Fees:Card  3.00 USD
  Expenses:Packaging:Mailers  1.00 USD
  Expenses:COGS  20.00 USD
    item: "HERON"
{0}-03-11 * "Label" ^order-{0}1
  Expenses:Postage  4.00 USD
  Assets:Cash
{0}-03-12 * "Fair"
  Assets:Cash
  Income:Sales:Web  -40.00 USD
    item: "HERON"
    quantity: 4
  Expenses:Events:TableFee  15.00 USD
{0}-06-01 * "Refund" ^order-{0}1
  Assets:Cash
  Income:Refunds:Web  9.00 USD
    item: "HERON"
    quantity: 1
{0}-06-02 * "Other"
  Expenses:Marketing:Giveaways  2.00 USD
  Expenses:Spoilage:HERON  1.50 USD
  Expenses:Software  12.00 USD
  Income:Interest  -0.50 USD
  Assets:Cash
"""
THREE_YEARS = HEAD + "".join(YEAR.format(year) for year in (2023, 2024, 2025))
# 140.00 - 10.00 - 9.00 + 5.00 - 3.00 - 1.00 - 20.00 - 4.00 - 15.00 - 2.00 - 1.50 - 11.50
NET_INCOME = D("68.00")


def stated(
    ledger: Any, period: Period | None = None, today: datetime.date = TODAY
) -> Statement:
    books = Books(ledger.entries, ledger.options, ledger.errors)
    return years_statement(books, period or Period(), "USD", today)


def told(table: Table) -> dict[str, dict[str, Cell]]:
    headings = [column.heading for column in table.columns][1:]
    return {
        str(line.cells[0]): dict(zip(headings, line.cells[1:], strict=True))
        for line in table.lines
    }


def printed(statement: Statement) -> str:
    output = io.StringIO()
    print_statements(Console(file=output, width=80), [statement])
    return output.getvalue()


def test_each_year_is_a_column_that_adds_up(load: Any) -> None:
    statement = stated(load(THREE_YEARS), choose_period(first="2023-01-01"))
    years = told(statement.tables[0])
    amounts = {name: cells["2024"] for name, cells in years.items()}
    assert amounts == {
        "Sales": D("121.00"),
        "Before discounts": D("140.00"),
        "Discounts": D("-10.00"),
        "Refunds": D("-9.00"),
        "Shipping charged": D("5.00"),
        "Fees": D("-3.00"),
        "Postage": D("-4.00"),
        "Packaging": D("-1.00"),
        "Cost of goods": D("-20.00"),
        "Giveaways": D("-2.00"),
        "Spoilage": D("-1.50"),
        "Selling": D("-15.00"),
        "All other": D("-11.50"),
        "Interest": D("0.50"),
        "Software": D("-12.00"),
        "Net income": NET_INCOME,
    }
    total = statement.tables[0].lines[-1]
    lines = [statement.tables[0].lines[at] for at in total.sums]
    assert sum(D(str(line.cells[2])) for line in lines) == NET_INCOME
    assert statement.holds
    assert "68.00 in 2023, 68.00 in 2024, 68.00 in 2025" in statement.checks[0].sentence


def test_no_column_of_the_order_table_is_left_out(load: Any) -> None:
    """A new column of the table is a line of a year, whatever it is called."""
    lines = told(stated(load(THREE_YEARS)).tables[0])
    # Sales have a line and three parts for three columns; other has two parts here.
    assert len(lines) == len(AMOUNT_COLUMNS) + 1 + 2 + 1


def test_a_year_in_progress_is_compared_with_the_same_days(load: Any) -> None:
    statement = stated(load(THREE_YEARS), today=datetime.date(2025, 5, 2))
    # Up to the last entry, 2 June.
    assert [table.title for table in statement.tables] == [
        *("Year by year", "2025 against 2024, same days", "Orders and pieces by year"),
    ]
    compared = told(statement.tables[1])
    assert list(compared["Sales"]) == [
        *("2025 to 2 Jun", "2024 to 2 Jun", "Change", "Change, %"),
    ]
    assert compared["Net income"]["Change"] == D(0)


def test_days_of_a_period_are_compared_with_the_same_days(load: Any) -> None:
    statement = stated(load(THREE_YEARS), choose_period(last="2025-04-30"))
    compared = told(statement.tables[1])["Sales"]
    assert compared["2025 to 30 Apr"] == compared["2024 to 30 Apr"] == D("130.00")
    assert told(statement.tables[0])["Sales"]["2024"] == D("121.00")


def test_whole_years_are_compared(load: Any) -> None:
    more = sale = YEAR.format(2024).replace("-40.00", "-80.00")
    text = HEAD + YEAR.format(2023) + more
    assert sale in text
    statement = stated(load(text), choose_period(last="2024-12-31"))
    change = told(statement.tables[1])
    assert statement.tables[1].title == "2024 against 2023"
    assert (change["Sales"]["Change"], change["Net income"]["Change"]) == (D(40), D(40))
    assert change["Net income"]["Change, %"] == D(40) / D(68)
    assert change["Fees"]["Change"] == D(0)


def test_orders_and_pieces(load: Any) -> None:
    years = told(stated(load(THREE_YEARS)).tables[-1])
    # The order's 100.00 - 10.00 - 9.00 + 5.00; what the fair sold has no order.
    assert years["2024"] == {
        "Buyers paid": D("126.00"),
        "Net income": NET_INCOME,
        "Margin": NET_INCOME / D("126.00"),
        "Orders": D(1),
        "Pieces": D(13),
        "Average order": D("86.00"),
    }


def test_books_that_begin_within_a_year_say_so(load: Any) -> None:
    text = HEAD + YEAR.format(2024).replace("2024-01-10", "2024-02-10")
    heading = stated(load(text), today=datetime.date(2026, 1, 1)).tables[0].columns[1]
    assert heading.heading == "2024 from 10 Feb"


def test_tie_that_does_not_hold_is_said(load: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Tie, "holds", property(lambda _: False))
    statement = stated(load(THREE_YEARS))
    assert not statement.holds and len(statement.checks) == 3


@pytest.mark.parametrize(
    ("days", "before"),
    [
        (("2024-02-29", "2024-02-29"), ("2023-02-28", "2023-02-28")),
        (("2025-01-01", "2025-12-31"), ("2024-01-01", "2024-12-31")),
    ],
)
def test_same_days_of_the_year_before(
    days: tuple[str, str], before: tuple[str, str]
) -> None:
    period, expected = (choose_period(first=a, last=b) for a, b in (days, before))
    assert same_days_before(period) == expected


def test_nothing_on_these_days(load: Any) -> None:
    statement = stated(load(HEAD))
    assert "No income and no costs on these days." in printed(statement)
    assert statement.holds


def test_twelve_years_fit_a_terminal(load: Any) -> None:
    text = HEAD.replace("2023-01-01", "2014-01-01")
    text += "".join(YEAR.format(year) for year in range(2014, 2026))
    statement = stated(load(text), choose_period(last="2025-12-31"))
    lines = printed(statement).splitlines()
    assert max(map(cell_len, lines)) <= 80
    headings = " ".join(line for line in lines if line.startswith("What "))
    assert all(str(year) in headings for year in range(2014, 2026))


def test_command(tmp_path: Path) -> None:
    path = tmp_path / "main.beancount"
    path.write_text(THREE_YEARS)
    result = CliRunner().invoke(main, ["years", str(path), "--to", "2024-12-31"])
    assert result.exit_code == 0, result.output
    assert "2024 against 2023" in result.output


@settings(max_examples=50, deadline=None)
@given(ledgers(), periods())
def test_years_add_up_to_the_ledger(text: str, period: Period) -> None:
    entries, options = load_ledger(text)
    for currency in ("USD", "EUR", "JPY"):
        statement = years_statement(Books(entries, options), period, currency, TODAY)
        assert statement.holds, statement.checks
        for table in statement.tables:
            for line in table.lines:
                for at in range(1, len(table.columns)):
                    if line.sums and table.columns[at].adds_up:
                        parts = [table.lines[each].cells[at] for each in line.sums]
                        assert sum(D(str(part)) for part in parts) == line.cells[at]
