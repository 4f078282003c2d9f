"""Sales, returns and sales tax of a textbook, as the reports show them.

Source: Franklin, Graybeal, Cooper, Principles of Accounting, Volume 1 (OpenStax),
sections 6.4 (sales, returns, allowances, discounts) and 12.2 (sales tax payable). Where
the book gives an amount without pieces, pieces are chosen to give that amount.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from offcut.reports.period import Period
from offcut.reports.profit import profit_reports
from offcut.reports.profit_figures import Figures

D = Decimal


def figures(ledger: Any) -> Figures:
    """Return the figures of the one design that a ledger is about."""
    report = profit_reports(ledger.entries, ledger.options, Period()).reports["design"]
    assert report.tie.holds
    assert [line.name for line in report.lines] == ["Goods"]
    return report.total


def test_return_and_allowance_for_cash(sound_ledger: Any) -> None:
    """
    plugin "offcut.plugins"
    option "operating_currency" "USD"
    2025-01-01 commodity GOODS
      name: "Goods"
      stock: "product"
    2025-01-01 open Assets:Cash
    2025-01-01 open Assets:Stock:GOODS GOODS "FIFO"
    2025-01-01 open Income:Sales:Shop
    2025-01-01 open Income:Refunds:Shop
    2025-01-02 * "Stock"
      Assets:Stock:GOODS  250 GOODS {60.00 USD}
      Assets:Cash
    2025-07-01 * "Sale" ^order-1
      Assets:Cash  37500.00 USD
      Income:Sales:Shop
        item: "GOODS"
        quantity: 250
    2025-07-03 * "Return" ^order-1
      Income:Refunds:Shop  6000.00 USD
        item: "GOODS"
        quantity: 40
      Assets:Cash
    2025-07-05 * "Allowance: 20 kept at 10 less" ^order-1
      Income:Refunds:Shop  200.00 USD
        item: "GOODS"
      Assets:Cash
    """
    # 37,500 - 6,000 - 200; cost of goods 15,000 less 2,400 put back.
    assert figures(sound_ledger) == Figures(
        units=D(210), gross=D(37500), refunds=D(-6200), goods=D(-12600)
    )
    assert figures(sound_ledger).contribution == D(18700)


def test_return_then_discount_for_prompt_payment(sound_ledger: Any) -> None:
    """
    plugin "offcut.plugins"
    option "operating_currency" "USD"
    2025-01-01 commodity GOODS
      name: "Goods"
      stock: "product"
    2025-01-01 open Assets:Cash
    2025-01-01 open Assets:Receivable:Shop
    2025-01-01 open Assets:Stock:GOODS GOODS "FIFO"
    2025-01-01 open Income:Sales:Shop
    2025-01-01 open Income:Refunds:Shop
    2025-01-01 open Income:Discounts:Shop
    2025-01-02 * "Stock"
      Assets:Stock:GOODS  100 GOODS {10.00 USD}
      Assets:Cash
    2025-05-10 * "Sale, 2/10 n/30" ^order-1
      Assets:Receivable:Shop  2450.00 USD
      Income:Sales:Shop
        item: "GOODS"
        quantity: 100
    2025-05-12 * "Return" ^order-1
      Income:Refunds:Shop  500.00 USD
        item: "GOODS"
        quantity: 13
      Assets:Receivable:Shop
    2025-05-18 * "Paid in time" ^order-1
      Assets:Cash  1911.00 USD
      Income:Discounts:Shop  39.00 USD
      Assets:Receivable:Shop  -1950.00 USD
    """
    # The cash that came in is what the sale came to; its cost 1,000 less 130 put back.
    assert figures(sound_ledger) == Figures(
        units=D(87),
        gross=D(2450),
        discounts=D(-39),
        refunds=D(-500),
        goods=D(-870),
    )
    assert figures(sound_ledger).sales == D(1911)
    assert figures(sound_ledger).contribution == D(1041)


def test_return_allowance_and_discount(sound_ledger: Any) -> None:
    """
    plugin "offcut.plugins"
    option "operating_currency" "USD"
    2025-01-01 commodity GOODS
      name: "Goods"
      stock: "product"
    2025-01-01 open Assets:Cash
    2025-01-01 open Assets:Receivable:Shop
    2025-01-01 open Assets:Stock:GOODS GOODS "FIFO"
    2025-01-01 open Income:Sales:Shop
    2025-01-01 open Income:Refunds:Shop
    2025-01-01 open Income:Discounts:Shop
    2025-01-02 * "Stock"
      Assets:Stock:GOODS  55 GOODS {100.00 USD}
      Assets:Cash
    2025-07-15 * "Sale, 10/15" ^order-1
      Assets:Receivable:Shop  19250.00 USD
      Income:Sales:Shop
        item: "GOODS"
        quantity: 55
    2025-07-17 * "Return" ^order-1
      Income:Refunds:Shop  3500.00 USD
        item: "GOODS"
        quantity: 10
      Assets:Receivable:Shop
    2025-07-19 * "Allowance: 5 kept at 60 less" ^order-1
      Income:Refunds:Shop  300.00 USD
        item: "GOODS"
      Assets:Receivable:Shop
    2025-07-25 * "Paid in time" ^order-1
      Assets:Cash  13905.00 USD
      Income:Discounts:Shop  1545.00 USD
      Assets:Receivable:Shop  -15450.00 USD
    """
    assert figures(sound_ledger) == Figures(
        units=D(45),
        gross=D(19250),
        discounts=D(-1545),
        refunds=D(-3800),
        goods=D(-4500),
    )
    assert figures(sound_ledger).sales == D(13905)
    assert figures(sound_ledger).contribution == D(9405)


def test_discount_on_the_whole_sale(sound_ledger: Any) -> None:
    """
    option "operating_currency" "USD"
    2025-01-01 commodity GOODS
      name: "Goods"
      stock: "product"
    2025-01-01 open Assets:Cash
    2025-01-01 open Assets:Receivable:Shop
    2025-01-01 open Income:Sales:Shop
    2025-01-01 open Income:Discounts:Shop
    2025-05-10 * "Sale, 2/10" ^order-1
      Assets:Receivable:Shop  16800.00 USD
      Income:Sales:Shop
        item: "GOODS"
        quantity: 100
    2025-05-18 * "Paid in time" ^order-1
      Assets:Cash  16464.00 USD
      Income:Discounts:Shop  336.00 USD
      Assets:Receivable:Shop
    """
    assert figures(sound_ledger) == Figures(units=D(100), gross=D(16800), discounts=D(-336))
    assert figures(sound_ledger).contribution == D(16464)


def test_sales_tax_is_no_income_and_paying_it_no_expense(sound_ledger: Any) -> None:
    """
    option "operating_currency" "USD"
    2025-01-01 commodity GOODS
      name: "Goods"
      stock: "product"
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Shop
    2025-01-01 open Liabilities:SalesTax:Home
    2025-03-01 * "Sale at 6% tax"
      Assets:Cash  19080.00 USD
      Liabilities:SalesTax:Home  -1080.00 USD
      Income:Sales:Shop  -18000.00 USD
        item: "GOODS"
        quantity: 1
    2025-04-20 * "Sales tax paid"
      Liabilities:SalesTax:Home  1080.00 USD
      Assets:Cash
    """
    assert figures(sound_ledger) == Figures(units=D(1), gross=D(18000))
