"""What asks for a look: said in a sentence, and nothing where there is nothing."""

from __future__ import annotations

import datetime
from typing import Any

from offcut.reports.books import Books
from offcut.reports.channels_statement import channels_statement
from offcut.reports.period import Period
from offcut.reports.profit import profit_of
from offcut.reports.profit_statement import profit_statement
from offcut.reports.shelf_statement import shelf_statement

TODAY = datetime.date(2025, 6, 30)
HEAD = """
option "operating_currency" "USD"
plugin "offcut.plugins"
2025-01-01 commodity HERON
  stock: "product"
2025-01-01 commodity MOTH
  stock: "product"
2025-01-01 commodity OWL
  stock: "product"
2025-01-01 open Assets:Cash
2025-01-01 open Assets:Receivable:Shops
2025-01-01 open Income:Sales:Web
2025-01-01 open Income:Sales:Fair
2025-01-01 open Expenses:Events:TableFee
2025-01-02 * "Printer" "First lots"
  Assets:Stock:HERON  10 HERON {0.50 USD}
  Assets:Stock:MOTH   10 MOTH {9.00 USD}
  Assets:Stock:OWL    1000 OWL {0.01 USD}
  Assets:Cash
"""


def sale(date: str, item: str, pieces: int, amount: str, more: str = "") -> str:
    return (
        f'{date} * "Order" {more}\n  Assets:Cash\n  Income:Sales:Web  -{amount} USD\n'
        f'    item: "{item}"\n    quantity: {pieces}\n'
    )


def test_what_lost_money_is_named(load: Any) -> None:
    text = (
        HEAD
        + sale("2025-03-01", "HERON", 1, "4.00")
        + sale("2025-03-02", "MOTH", 2, "8.00")
    )
    ledger = load(text)
    reports = profit_of(
        Books(ledger.entries, ledger.options), Period(), "USD", ("design", "channel")
    )
    # Two cost 18.00 and sold for 8.00.
    assert profit_statement(reports, "design").findings == ("MOTH lost 10.00 USD.",)
    assert profit_statement(reports, "channel").findings == ()


def test_a_fair_that_lost_and_what_is_owed_for_long(load: Any) -> None:
    text = HEAD + (
        '2025-04-01 * "Table" #event-spring-fair\n'
        "  Expenses:Events:TableFee  30.00 USD\n  Assets:Cash\n"
        '2025-05-30 * "Reed Books" "Invoice" ^order-1\n'
        "  Assets:Receivable:Shops  8.00 USD\n  Income:Sales:Web  -8.00 USD\n"
        '    item: "HERON"\n    quantity: 2\n'
        '2025-06-01 * "Teal Books" "Invoice" ^order-2\n'
        "  Assets:Receivable:Shops  5.00 USD\n  Income:Sales:Web  -5.00 USD\n"
        '    item: "HERON"\n    quantity: 1\n'
    )
    ledger = load(text)
    books = Books(ledger.entries, ledger.options)
    # 30 May is 31 days before the end of June, 1 June is 29.
    assert channels_statement(books, Period(), "USD", TODAY).findings == (
        "spring-fair lost 30.00 USD.",
        "On 30 June 2025, 8.00 USD was owed for more than 30 days, by Reed Books.",
    )


def test_the_shelf_says_what_is_out_what_soon_is_and_what_lies(load: Any) -> None:
    text = HEAD + sale("2025-06-01", "HERON", 10, "40.00")
    text += sale("2025-06-20", "MOTH", 9, "90.00")
    ledger = load(text)
    books = Books(ledger.entries, ledger.options)
    june = Period(datetime.date(2025, 6, 1), TODAY)
    # One is left, and nine went in a month; none of the owls went in half a year.
    assert shelf_statement(books, june, "USD", dead_days=170).findings == (
        "On 30 June 2025, nothing was left of HERON.",
        "On 30 June 2025, there was enough for less than 4 weeks of MOTH.",
        "None of OWL has been sold or used for long; what lies there cost 10.00 USD.",
    )
    may = Period(datetime.date(2025, 5, 1), datetime.date(2025, 5, 31))
    assert shelf_statement(books, may, "USD").findings == ()
