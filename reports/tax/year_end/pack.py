"""Gather all that the year-end pack states, once."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from beancount.core import data

from offcut.importers.splitting import ZERO
from offcut.reports.inventory_roll import InventoryRoll, inventory_roll
from offcut.reports.net_income import net_income
from offcut.reports.tax.form_amounts import form_amounts
from offcut.reports.tax.household import Fact
from offcut.reports.tax.jurisdiction_table import JURISDICTIONS
from offcut.reports.tax.stock_lines import StockLines, stock_lines
from offcut.reports.tax.tax_books import TaxBooks
from offcut.reports.tax.tax_profit import TaxProfit
from offcut.reports.tax.year_end.contractors import Contractor, contractors
from offcut.reports.tax.year_end.evidence import Unproved, receipts_missing
from offcut.reports.tax.year_end.gross_receipts import Received, gross_receipts
from offcut.reports.tax.year_end.sales_tax import TaxAccount, sales_tax


@dataclass(frozen=True)
class YearEnd:
    """What a year leaves.

    Attributes:
      shop: The ledger under the rules of the year.
      profit: The profit for tax.
      roll: The inventory roll of the year.
      stock: The cost of goods sold, from stock to stock.
      form: What stands on each line of the form, by key.
      net_income: The books' net income, by currency, taken by itself.
      received: What came in, by account.
      sales_tax: The accounts of sales tax.
      contractors: Who was paid for work on contract.
      unproved: Larger expenses without a receipt.
      counted: The day of each item's last count up to a month after the year.
      unanswered: What the books cannot know and nobody said.
    """

    shop: TaxBooks
    profit: TaxProfit
    roll: InventoryRoll
    stock: StockLines
    form: Mapping[str, Decimal]
    net_income: Mapping[str, Decimal]
    received: list[Received]
    sales_tax: list[TaxAccount]
    contractors: list[Contractor]
    unproved: list[Unproved]
    counted: Mapping[str, datetime.date]
    unanswered: list[Fact]

    def figure(self, name: str) -> Decimal | None:
        """Return a figure of the rules that is the same for all; None where it has none.

        Args:
          name: Its name.
        """
        rules = self.shop.rules
        return (
            rules.figures[name].values[rules.statuses[0]] if name in rules.figures else None
        )


def year_end(shop: TaxBooks) -> YearEnd:
    """Return what a year leaves.

    Args:
      shop: The ledger under the rules of the year.

    Raises:
      TaxSettingsError: The settings have mistakes.
      RulesError: The rules do not have a figure that a claim is worked out by.
    """
    entries, options, currency = shop.entries, shop.options, shop.currency
    profit = shop.profit()
    roll = inventory_roll(shop.books.entries, options, shop.year, currency)
    stock = stock_lines(roll, shop.flows, shop.lines, shop.stock_uses, shop.year)
    # A sum of the form is worked out from what it is the sum of.
    sums = {line.key for line in shop.rules.form if line.adds or line.takes}
    given = {key: value for key, value in profit.lines.items() if key not in sums}
    answers = shop.settings.answers_of(shop.rules.year)
    country = JURISDICTIONS.get(shop.rules.calculation or shop.rules.jurisdiction)
    status = answers.get("status", "")
    return YearEnd(
        shop=shop,
        profit=profit,
        roll=roll,
        stock=stock,
        form=form_amounts(shop.rules.form, {**given, **stock.lines}),
        net_income=net_income(entries, options, shop.year),
        received=gross_receipts(entries, options, shop.lines, currency),
        sales_tax=sales_tax(shop.books.entries, options, shop.year, currency),
        contractors=contractors(entries, shop.lines, currency),
        unproved=receipts_missing(
            entries,
            (each for each in shop.books.entries if isinstance(each, data.Document)),
            options,
            currency,
            _limit(shop),
        ),
        counted=_counts(shop),
        unanswered=[
            fact
            for fact in (country.facts if country else ())
            if fact.key not in answers and (not status or fact.is_of(status))
        ],
    )


def _limit(shop: TaxBooks) -> Decimal:
    """Return from which amount on a receipt is asked for; from nothing on without one."""
    figure = shop.rules.figures.get("receipt-limit")
    return figure.values[shop.rules.statuses[0]] if figure else ZERO


def _counts(shop: TaxBooks) -> dict[str, datetime.date]:
    """Return the day of each item's last count up to a month after the year."""
    until = shop.rules.last + datetime.timedelta(days=31)
    counts: dict[str, datetime.date] = {}
    for entry in shop.customs:
        if entry.type == "stock-count" and entry.date <= until and entry.values:
            item = getattr(entry.values[0].value, "currency", "")
            counts[item] = max(entry.date, counts.get(item, entry.date))
    return counts
