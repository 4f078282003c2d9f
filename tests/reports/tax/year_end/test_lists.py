"""Sales tax, contractors and receipts: what is listed and what is not."""

from __future__ import annotations

import datetime
from decimal import Decimal
from typing import Any

from beancount.core import data

from offcut.reports.period import choose_period
from offcut.reports.tax.rules_files import find_rules
from offcut.reports.tax.tax_lines import TaxLines
from offcut.reports.tax.year_end.contractors import NOBODY, Contractor, contractors
from offcut.reports.tax.year_end.evidence import receipts_missing
from offcut.reports.tax.year_end.sales_tax import sales_tax

D = Decimal
RULES = find_rules("us-federal", "2025")
YEAR = choose_period(year="2025")


def test_sales_tax_by_place_and_by_who_pays_it_over(sound_ledger: Any) -> None:
    """
    2024-01-01 open Assets:Bank
    2024-01-01 open Assets:Clearing:RemittedTax:Market
    2024-01-01 open Liabilities:SalesTax
    2024-01-01 open Liabilities:SalesTax:Harbourmouth
    2024-01-01 open Liabilities:SalesTaxes
    2024-01-01 open Income:Sales:Web
    2024-12-31 * "Sale of the year before"
      Liabilities:SalesTax   -2.00 USD
      Income:Sales:Web      -20.00 USD
      Assets:Bank
    2025-01-20 * "Paid over"
      Liabilities:SalesTax    2.00 USD
      Assets:Bank
    2025-03-01 * "Sale"
      Liabilities:SalesTax:Harbourmouth  -3.00 USD
      Income:Sales:Web      -30.00 USD
      Assets:Bank
    2025-03-02 * "Taken back"
      Liabilities:SalesTax:Harbourmouth   1.00 USD
      Income:Sales:Web       10.00 USD
      Assets:Bank
    2025-03-03 * "On a market that pays it over"
      Assets:Clearing:RemittedTax:Market  4.00 USD
      Liabilities:SalesTax   -4.00 USD
      Income:Sales:Web      -40.00 USD
      Assets:Bank
    2025-03-04 * "No tax of sales, and a year later"
      Liabilities:SalesTaxes  9.00 USD
      Assets:Bank
    2026-01-01 * "Paid over"
      Liabilities:SalesTax    1.00 USD
      Assets:Bank
    """
    found = sales_tax(sound_ledger.entries, sound_ledger.options, YEAR, "USD")
    assert [
        (
            *(each.account, each.opening, each.charged, each.given_back),
            *(each.by_others, each.paid, each.closing),
        )
        for each in found
    ] == [
        # 2.00 of the year before, paid; 4.00 that the market keeps.
        ("Liabilities:SalesTax", D(2), D(4), 0, D(4), D(2), 0),
        ("Liabilities:SalesTax:Harbourmouth", 0, D(3), D(1), 0, 0, D(2)),
    ]


def test_contractors_by_payee(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Bank
    2025-01-01 open Expenses:Contractors
    2025-01-01 open Expenses:Cutting
      tax-line: "contract-labor"
    2025-01-01 open Expenses:Office
    2025-02-01 * "Ann" "Cutting"
      Expenses:Cutting  400.00 USD
      Assets:Bank
    2025-03-01 * "Ann" "Cutting"
      Expenses:Contractors  200.00 USD
      Assets:Bank
    2025-03-02 * "Cutting"
      Expenses:Cutting  599.99 USD
      Assets:Bank
    2025-03-03 * "Ben" "Paper"
      Expenses:Office  900.00 USD
      Assets:Bank
    2025-03-04 * "Cho" "Cutting, in another currency"
      Expenses:Cutting  900.00 EUR
      Assets:Bank
    """
    opens = [each for each in sound_ledger.entries if isinstance(each, data.Open)]
    lines = TaxLines(opens, sound_ledger.options, RULES)
    assert contractors(sound_ledger.entries, lines, "USD") == [
        Contractor("Ann", D(600), 2),
        Contractor(NOBODY, D("599.99"), 1),
    ]


def test_receipts_that_are_filed_are_not_missing(ledger: Any) -> None:
    """
    2025-01-01 open Assets:Bank
    2025-01-01 open Assets:Stock:VINYL
    2025-01-01 open Assets:Equipment:Press
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Expenses:Office
    2025-03-01 * "Nothing filed"
      Expenses:Office  40.00 USD
      Expenses:Office  35.00 USD
      Assets:Bank
    2025-03-02 * "Smaller"
      Expenses:Office  74.99 USD
      Assets:Bank
    2025-03-03 * "Named" ^bill-1
      Expenses:Office  80.00 USD
      Assets:Bank
    2025-03-04 * "Key"
      document: "receipts/4.pdf"
      Expenses:Office  80.00 USD
      Assets:Bank
    2025-03-05 * "Key on a posting"
      Expenses:Office  80.00 USD
        document: "receipts/5.pdf"
      Assets:Bank
    2025-03-06 * "Filed on its day"
      Expenses:Office  80.00 USD
      Assets:Bank
    2025-03-07 * "From the processor's file"
      source-id: "card/1"
      Expenses:Office  80.00 USD
      Assets:Bank
    2025-03-08 * "A sale"
      Expenses:Office  80.00 USD
      Income:Sales:Web  -300.00 USD
      Assets:Bank
    2025-03-09 * "The merchant" "Stock"
      Assets:Stock:VINYL  50 VINYL {2.00 USD}
      Assets:Bank
    2025-03-10 * "Press"
      Assets:Equipment:Press  90.00 USD
      Assets:Bank
    """
    documents = [
        data.Document(
            {}, datetime.date(2025, 3, 3), "Assets:Bank", "3.pdf", None, {"bill-1"}
        ),
        data.Document(
            {}, datetime.date(2025, 3, 6), "Expenses:Office", "6.pdf", None, None
        ),
    ]
    found = receipts_missing(ledger.entries, documents, ledger.options, "USD", D(75))
    assert [(each.text, each.amount, each.account) for each in found] == [
        ("Nothing filed", D(75), "Expenses:Office"),
        ("The merchant · Stock", D(100), "Assets:Stock:VINYL"),
        ("Press", D(90), "Assets:Equipment:Press"),
    ]
    assert found[0].place == "<string>:7"
