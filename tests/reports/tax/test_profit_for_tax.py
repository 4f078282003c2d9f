"""The profit that is taxed: hand-made ledgers, every line worked out beside them."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest

from offcut.reports.books import Books
from offcut.reports.period import choose_period
from offcut.reports.tax.profit_for_tax import part_of_year
from offcut.reports.tax.rules_files import find_rules
from offcut.reports.tax.tax_books import TaxBooks
from offcut.reports.tax.tax_settings import TaxSettings

D = Decimal
RULES = find_rules("us-federal", "2025")
SHOP = """
option "operating_currency" "USD"
plugin "offcut.plugins"
2025-01-01 open Assets:Bank
2025-01-01 open Assets:Equipment:Printer
2025-01-01 open Equity:Drawings
2025-01-01 open Income:Sales:Web
2025-01-01 open Income:Shipping:Web
2025-01-01 open Income:Refunds:Web
2025-01-01 open Expenses:Fees:Card
2025-01-01 open Expenses:Meals
2025-01-01 open Expenses:Vehicle:Fuel
2025-01-01 open Expenses:Vehicle:Parking
2025-01-01 open Expenses:Private
  tax-line: "none"
2025-01-01 open Expenses:Mystery
2025-02-01 * "Sales"
  Income:Sales:Web     -1000.00 USD
  Income:Shipping:Web    -40.00 USD
  Expenses:Fees:Card      30.00 USD
  Assets:Bank
2025-02-02 * "A refund"
  Income:Refunds:Web      50.00 USD
  Assets:Bank
2025-02-03 * "Costs"
  Expenses:Meals          80.00 USD
  Expenses:Vehicle:Fuel  120.00 USD
  Expenses:Vehicle:Parking 15.00 USD
  Expenses:Private        25.00 USD
  Expenses:Mystery        10.00 USD
  Assets:Bank
2025-02-04 * "For the owner"
  Equity:Drawings        300.00 USD
  Assets:Bank
"""
TRIP = '2025-02-05 custom "mileage" 200 "Paper merchant, there and back"\n'
PRINTER = """
2025-03-01 * "The dealer" "Printer"
  Assets:Equipment:Printer  400.00 USD
    election: "expense"
  Assets:Bank
"""


def tax_books(ledger: Any, **settings: Any) -> TaxBooks:
    return TaxBooks(Books(ledger.entries, ledger.options), RULES, TaxSettings(**settings))


def test_every_difference_is_a_step(load: Callable[[str], Any]) -> None:
    # Net income: 1,040 - 50 - 30 - 80 - 120 - 15 - 25 - 10 = 710.
    # For tax: 1,040 - 50 - 30 - 40 (half of meals) - 140 (200 miles at 0.70, Notice
    # 2025-5) - 15 - 400 - 150 (30 square feet at 5, Rev. Proc. 2013-13) = 215.
    shop = tax_books(load(SHOP + TRIP + PRINTER), home_office={"area": 30, "months": 12})
    profit = shop.profit()
    assert profit.net_income == D(710)
    assert profit.profit == profit.lines["net-profit"] == D(215)
    assert profit.ties
    assert {key: amount for key, amount in profit.lines.items() if amount} == {
        "gross-receipts": D(1040),
        "returns": D(50),
        "net-receipts": D(990),
        "gross-profit": D(990),
        "gross-income": D(990),
        "car": D(155),
        "commissions-fees": D(30),
        "depreciation": D(400),
        "meals": D(40),
        "total-expenses": D(625),
        "tentative-profit": D(365),
        "home-office": D(150),
        "net-profit": D(215),
    }
    assert [(step.amount, step.account) for step in profit.steps] == [
        (D(10), "Expenses:Mystery"),
        (D(25), "Expenses:Private"),
        (D(40), ""),
        (D(120), ""),
        (D(-140), ""),
        (D(-400), ""),
        (D(-150), ""),
    ]
    assert [each.account for each in profit.unplaced] == ["Expenses:Mystery"]
    assert len(profit.notes) == 1
    assert "it is one or the other" in profit.notes[0]


def test_without_a_log_the_vehicles_costs_count(load: Callable[[str], Any]) -> None:
    profit = tax_books(load(SHOP)).profit()
    assert profit.lines["car"] == D(135)
    # 710 + 10 + 25 + 40
    assert profit.profit == D(785)
    assert profit.ties


def test_the_settings_choose_the_vehicles_costs(load: Callable[[str], Any]) -> None:
    profit = tax_books(load(SHOP + TRIP), mileage={"method": "actual"}).profit()
    assert profit.lines["car"] == D(135)
    assert profit.car.total_miles == D(200)
    assert "not the miles of the log" in profit.notes[0]


def test_the_room_at_home_makes_no_loss(load: Callable[[str], Any]) -> None:
    # 300 square feet: 1,500, but there are 785 of profit.
    profit = tax_books(load(SHOP), home_office={"area": 400}).profit()
    assert profit.lines["home-office"] == D(785)
    assert profit.profit == D(0)
    # Twelve months, above 300, and above the profit.
    assert len(profit.notes) == 3


def test_a_quarter_has_its_part_of_the_room_and_its_trips(
    load: Callable[[str], Any],
) -> None:
    shop = tax_books(load(SHOP + TRIP), home_office={"area": 30})
    quarter = shop.profit(choose_period(first="2025-01-01", last="2025-03-31"))
    assert quarter.lines["home-office"] == D("37.50")
    assert quarter.lines["car"] == D(155)
    april = shop.profit(choose_period(first="2025-04-01", last="2025-06-30"))
    assert april.lines["car"] == april.profit == D(0)


def test_a_year_before_is_looked_at_by_the_same_rules(load: Callable[[str], Any]) -> None:
    """Income of 2024 counts where 2024 is asked for, and in 2025 it does not."""
    ledger = load(
        SHOP.replace("2025-01-01 open", "2024-01-01 open")
        + '2024-05-01 * "Sale"\n  Income:Sales:Web  -70.00 USD\n  Assets:Bank\n'
    )
    shop = tax_books(ledger)
    assert shop.profit(choose_period(year="2024")).profit == D(70)
    assert shop.profit().profit == D(785)


@pytest.mark.parametrize(
    ("last", "part"),
    [
        ("2025-12-31", D(1)),
        ("2025-03-31", D(3) / 12),
        ("2025-05-31", D(5) / 12),
        ("2025-08-31", D(8) / 12),
        ("2025-01-10", D(0)),
    ],
)
def test_parts_of_a_year_are_whole_months(last: str, part: Decimal) -> None:
    assert part_of_year(RULES, choose_period(first="2025-01-01", last=last)) == part


def test_a_loss_ties(load: Callable[[str], Any]) -> None:
    """A room at home is not deducted from a loss."""
    ledger = load(SHOP.replace("-1000.00", "-100.00"))
    profit = tax_books(ledger, home_office={"area": 100}).profit()
    # 785 less 900 of sales
    assert profit.profit == profit.lines["net-profit"] == D(-115)
    assert profit.lines["home-office"] == D(0)


def test_an_empty_ledger_has_no_profit_and_ties(load: Callable[[str], Any]) -> None:
    profit = tax_books(load("")).profit()
    assert profit.ties
    assert profit.profit == D(0)
    assert profit.accounts == profit.steps == ()


def test_another_currency_is_left_out(load: Callable[[str], Any]) -> None:
    ledger = load(
        SHOP + '2025-05-01 * "Sale"\n  Income:Sales:Web  -70.00 EUR\n  Assets:Bank\n'
    )
    assert tax_books(ledger).profit().lines["gross-receipts"] == D(1040)


def test_interest_is_other_income_and_said(load: Callable[[str], Any]) -> None:
    ledger = load(
        SHOP
        + "2025-01-01 open Income:Interest\n"
        + '2025-05-01 * "Interest"\n  Income:Interest  -7.00 USD\n  Assets:Bank\n'
    )
    profit = tax_books(ledger).profit()
    assert profit.lines["other-income"] == D(7)
    assert [each.account for each in profit.unplaced] == [
        "Expenses:Mystery",
        "Income:Interest",
    ]


def test_other_root_accounts_have_the_same_usual_lines(
    load: Callable[[str], Any],
) -> None:
    text = SHOP.replace("Income:", "Revenue:").replace("Expenses:", "Costs:")
    roots = 'option "name_income" "Revenue"\noption "name_expenses" "Costs"\n'
    profit = tax_books(load(roots + text)).profit()
    assert profit.profit == D(785)
