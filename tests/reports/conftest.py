"""Ledgers that several tests of the reports' faces look at."""

from __future__ import annotations

from pathlib import Path

import pytest
from beancount import loader

from offcut.reports.period import Period
from offcut.reports.profit import ProfitReports, profit_reports

LEDGER = """
option "title" "Books & <i>prints</i>"
option "operating_currency" "USD"
plugin "offcut.plugins.catalogue"
2025-01-01 commodity HERON-STK
  name: "Heron sticker"
  stock: "product"
  design: "Heron at Dusk"
2025-01-01 commodity HERON-PRT
  name: "Heron print"
  stock: "product"
  design: "Heron at Dusk"
2025-01-01 commodity SCRIPT
  name: "<script>alert('ink')</script> $x_1$"
  stock: "product"
2025-01-01 commodity LONG
  name: "A design whose name is longer than any line of any terminal has room for"
  stock: "product"
2025-01-01 commodity ARABIC
  name: "فراشة الليل"
  stock: "product"
2025-01-01 commodity CHINESE
  name: "夜の灯台と月の海"
  stock: "product"
2025-01-01 commodity EMOJI
  name: "Owl 🦉👩🏽‍🎨"
  stock: "product"
2025-01-01 open Assets:Cash
2025-01-01 open Income:Sales:Web
2025-01-01 open Income:Sales:Fair
2025-01-01 open Income:Shipping:Web
2025-01-01 open Expenses:Fees:Card
2025-01-01 open Expenses:COGS
2025-01-01 open Expenses:Postage
2025-01-01 open Expenses:Software
2025-01-01 open Income:Interest
2025-03-01 * "Web order" ^order-1
  Income:Sales:Web  -8.00 USD
    item: "HERON-STK"
    quantity: 2
  Income:Sales:Web  -1240.00 USD
    item: "HERON-PRT"
    quantity: 50
  Income:Sales:Web  -3.00 USD
    item: "SCRIPT"
    quantity: 1
  Income:Sales:Web  -3.00 USD
    item: "LONG"
    quantity: 1
  Income:Shipping:Web  -4.00 USD
  Expenses:Fees:Card  36.71 USD
  Expenses:COGS  400.123 USD
    item: "HERON-PRT"
  Expenses:COGS  90.00 USD
    item: "LONG"
  Assets:Cash
2025-03-08 * "Fair"
  Income:Sales:Fair  -4.00 USD
    item: "ARABIC"
    quantity: 1
  Income:Sales:Fair  -5.00 USD
    item: "CHINESE"
    quantity: 1
  Income:Sales:Fair  -6.00 USD
    item: "EMOJI"
    quantity: 1
  Assets:Cash
2025-03-09 * "Label" ^order-1
  Expenses:Postage  4.55 USD
  Assets:Cash
2025-03-10 * "Subscription"
  Expenses:Software  9.00 USD
  Assets:Cash
2025-03-11 * "Interest"
  Income:Interest  -1.25 EUR
  Assets:Cash
"""
# 1,269.00 sold, 4.00 shipping; less 36.71, 490.123, 4.55 and 9.00.
NET_INCOME = "732.62"


@pytest.fixture
def shop_ledger(tmp_path: Path) -> Path:
    """The file of a small ledger with awkward names, a loss, and half a cent."""
    path = tmp_path / "main.beancount"
    path.write_text(LEDGER, encoding="utf-8")
    return path


@pytest.fixture
def shop_reports() -> ProfitReports:
    """The reports on that ledger, all dates."""
    entries, errors, options = loader.load_string(LEDGER)
    assert not errors
    return profit_reports(entries, options, Period())


@pytest.fixture
def net_income_text() -> str:
    """The net income of that ledger as a report writes it."""
    return NET_INCOME
