"""Channels, fairs, buyers and what they owe, against sums made by hand."""

from __future__ import annotations

import datetime
import io
from collections.abc import Callable
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len
from rich.console import Console

from offcut.reports.books import Books
from offcut.reports.channels_statement import channels_statement
from offcut.reports.drawing.terminal import print_statements
from offcut.reports.outlets.buyers_table import MOST_LINES
from offcut.reports.outlets.channels import channels
from offcut.reports.outlets.fairs import fairs
from offcut.reports.period import Period
from offcut.reports.statement import Statement, Table
from tests.conftest import Loaded
from tests.reports.test_random_ledgers import ledgers
from tests.reports.test_random_ledgers import load as load_random

D = Decimal
TODAY = datetime.date(2025, 6, 30)
SHOP = """
option "operating_currency" "USD"
2025-01-01 commodity HERON-STK
  stock: "product"
2025-01-01 open Assets:Cash
2025-01-01 open Assets:Receivable:Wholesale
2025-01-01 open Income:Sales:Web
2025-01-01 open Income:Sales:Fair
2025-01-01 open Income:Sales:Wholesale
2025-01-01 open Expenses:Fees:Card
2025-01-01 open Expenses:COGS
2025-01-01 open Expenses:Events:TableFee
2025-01-01 open Expenses:Software
2025-02-01 * "Table" #event-spring-fair
  Expenses:Events:TableFee  30.00 USD
    channel: "Fair"
  Assets:Cash
2025-03-01 * "Web order" ^order-W1
  Income:Sales:Web  -10.00 USD
    item: "HERON-STK"
    quantity: 2
  Expenses:Fees:Card  1.00 USD
  Assets:Cash
2025-03-08 * "Fair" #event-spring-fair
  Income:Sales:Fair  -80.00 USD
    item: "HERON-STK"
    quantity: 20
  Expenses:Fees:Card  2.00 USD
  Expenses:COGS  18.00 USD
    item: "HERON-STK"
  Assets:Cash
2025-04-01 * "Harbour Books" "Invoice" ^order-S1
  Assets:Receivable:Wholesale  24.00 USD
  Income:Sales:Wholesale  -24.00 USD
    item: "HERON-STK"
    quantity: 12
2025-05-20 * "Harbour Books" "Invoice" ^order-S2
  Assets:Receivable:Wholesale  12.00 USD
  Income:Sales:Wholesale  -12.00 USD
    item: "HERON-STK"
    quantity: 6
2025-06-01 * "Harbour Books" "Paid" ^order-S1
  Assets:Cash  20.00 USD
  Assets:Receivable:Wholesale
2025-06-02 * "Subscription"
  Expenses:Software  9.00 USD
  Assets:Cash
"""


@pytest.fixture
def shop(load: Callable[[str], Loaded]) -> Statement:
    ledger = load(SHOP)
    books = Books(ledger.entries, ledger.options)
    return channels_statement(books, Period(), "USD", TODAY)


def table(statement: Statement, slug: str) -> Table:
    (found,) = [each for each in statement.tables if each.slug == slug]
    return found


def cells(table: Table, *headings: str) -> list[tuple[object, ...]]:
    at = [[column.heading for column in table.columns].index(each) for each in headings]
    return [tuple(line.cells[each] for each in at) for line in table.lines]


def printed(statement: Statement, width: int = 80) -> list[str]:
    output = io.StringIO()
    print_statements(Console(file=output, width=width), [statement])
    return output.getvalue().splitlines()


def test_channels_by_hand(shop: Statement) -> None:
    assert shop.holds
    assert cells(table(shop, "channels"), "Channel", "Sales", "Other", "Contribution") == [
        ("Wholesale", D(36), D(0), D(36)),
        ("Fair", D(80), D(-30), D(30)),  # 80 - 2 - 18 - 30
        ("Web", D(10), D(0), D(9)),
        ("No channel", D(0), D(-9), D(-9)),
        ("Total", D(126), D(-39), D(66)),
    ]


def test_a_fair_by_hand(shop: Statement) -> None:
    # 60 of 80 is left of what is sold: 30 / 0.75 = 40 pays for the table.
    assert cells(
        table(shop, "fairs"), "Fair", "Table, travel", "Earned", "Break-even", "Beyond it"
    ) == [("spring-fair", D(-30), D(30), D(40), D(40))]


def test_a_fair_counts_whole_and_by_its_days_of_sales(
    load: Callable[[str], Loaded],
) -> None:
    ledger = load(SHOP)
    whole = Books(ledger.entries, ledger.options).table
    march = Period(datetime.date(2025, 3, 1), datetime.date(2025, 3, 31))
    february = Period(datetime.date(2025, 2, 1), datetime.date(2025, 2, 28))
    (fair,) = fairs(whole, march, "USD")
    assert fair.result == D(30)
    assert fairs(whole, february, "USD") == []


def test_a_fair_that_sold_nothing_lost_its_table(load: Callable[[str], Loaded]) -> None:
    ledger = load(SHOP.partition("2025-03-01")[0])
    (fair,) = fairs(Books(ledger.entries, ledger.options).table, Period(), "USD")
    assert (fair.sales, fair.fixed, fair.result, fair.break_even) == (0, 30, -30, None)


def test_a_buyer_by_hand(shop: Statement) -> None:
    assert cells(
        table(shop, "buyers-on-invoice"),
        "Buyer",
        "Invoices",
        "Pieces",
        "Sales",
        "Owed",
        "Days",
    ) == [("Harbour Books", D(2), D(18), D(36), D(16), D(90))]


def test_what_is_owed_stands_in_the_column_of_its_age(shop: Statement) -> None:
    owed = table(shop, "receivables")
    assert [line.cells[0:1] + line.cells[2:] for line in owed.lines] == [
        ("S1, Harbour Books", None, None, D(4), None, D(4)),
        ("S2, Harbour Books", None, D(12), None, None, D(12)),
        ("Total", None, D(12), D(4), None, D(16)),
    ]
    assert owed.title == "Owed on 30 June 2025, by days since the invoice"


@pytest.mark.parametrize(
    ("days", "heading"),
    [
        *((0, "Up to 30 days"), (30, "Up to 30 days"), (31, "31-60"), (60, "31-60")),
        *((61, "61-90"), (90, "61-90"), (91, "Over 90"), (4000, "Over 90")),
    ],
)
def test_edges_of_the_ages(load: Callable[[str], Loaded], days: int, heading: str) -> None:
    ledger = load(SHOP.partition("2025-06-01")[0])
    today = datetime.date(2025, 5, 20) + datetime.timedelta(days)
    books = Books(ledger.entries, ledger.options)
    statement = channels_statement(books, Period(), "USD", today)
    owed = table(statement, "receivables")
    at = [column.heading for column in owed.columns].index(heading)
    assert owed.lines[1].cells[at] == D(12)


def test_many_buyers_are_summed_up(load: Callable[[str], Loaded]) -> None:
    head = SHOP.partition("2025-02-01")[0]
    text = head + "".join(
        f'2025-03-01 * "Shop {number}" "Invoice" ^order-S{number}\n'
        f"  Assets:Receivable:Wholesale  {number}.00 USD\n"
        f'  Income:Sales:Wholesale  -{number}.00 USD\n    item: "HERON-STK"\n'
        "    quantity: 1\n"
        for number in range(1, MOST_LINES + 11)
    )
    ledger = load(text)
    books = Books(ledger.entries, ledger.options)
    statement = channels_statement(books, Period(), "USD", TODAY)
    bought = cells(table(statement, "buyers-on-invoice"), "Buyer", "Sales")
    assert len(bought) == MOST_LINES + 1
    assert bought[-1] == ("10 more buyers", D(55))
    owed = cells(table(statement, "receivables"), "Order and buyer", "Owed")
    assert owed[-2][0] == "10 more invoices"
    assert owed[-1] == ("Total", D(sum(range(MOST_LINES + 11))))


@given(ledgers(), st.booleans())
def test_what_is_shown_adds_up_to_the_contribution(text: str, narrow: bool) -> None:
    entries, options = load_random(text)
    books = Books(entries, options)
    channels = channels_statement(books, Period(), "USD", TODAY).tables[0]
    headings = {at: channels.columns[at].heading for at in channels.shown_columns(narrow)}
    (whole,) = (at for at, heading in headings.items() if heading == "Contribution")
    parts = [
        at
        for at, heading in headings.items()
        if channels.columns[at].adds_up and heading not in ("Pieces", "Contribution")
    ]
    for line in channels.lines:
        assert sum(D(str(line.cells[at])) for at in parts) == line.cells[whole]


def test_it_fits_80_columns(shop: Statement) -> None:
    assert max(map(cell_len, printed(shop))) <= 80


def test_an_empty_ledger_says_so(load: Callable[[str], Loaded]) -> None:
    ledger = load("")
    statement = channels_statement(
        Books(ledger.entries, ledger.options), Period(), "USD", TODAY
    )
    assert "No income and no costs on these days." in printed(statement)
    assert statement.holds


def test_only_a_refund_is_a_loss_of_its_channel(load: Callable[[str], Loaded]) -> None:
    text = """
2025-01-01 open Assets:Cash
2025-01-01 open Income:Refunds:Web
2025-03-01 * "Refund" ^order-W1
  Income:Refunds:Web  4.00 USD
  Assets:Cash
"""
    ledger = load(text)
    (web,) = channels(Books(ledger.entries, ledger.options).table)
    assert (web.name, web.sales, web.contribution, web.margin) == ("Web", -4, -4, None)


@given(ledgers())
def test_channels_add_up_to_the_ledger(text: str) -> None:
    entries, options = load_random(text)
    books = Books(entries, options)
    for currency in ("USD", "EUR", "JPY"):
        assert channels_statement(books, Period(), currency, TODAY).holds
