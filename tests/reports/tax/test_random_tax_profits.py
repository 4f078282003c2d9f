"""Whatever was posted, the form's last line is the books' net income and its steps."""

from __future__ import annotations

import datetime
from decimal import Decimal
from typing import Any

from beancount import loader
from hypothesis import given
from hypothesis import strategies as st

from offcut.reports.books import Books
from offcut.reports.inventory_roll import inventory_roll
from offcut.reports.net_income import net_income
from offcut.reports.tax.rules_files import find_rules
from offcut.reports.tax.stock_lines import stock_lines
from offcut.reports.tax.tax_books import TaxBooks
from offcut.reports.tax.tax_lines import accepted_words
from offcut.reports.tax.tax_settings import TaxSettings
from offcut.reports.tax.year_end.gross_receipts import gross_receipts
from offcut.reports.tax.yearly_claims import profit_after

RULES = find_rules("us-federal", "2025")
WORDS = accepted_words(RULES)
ACCOUNTS = (
    "Income:Sales:Web",
    "Income:Refunds:Web",
    "Income:Interest",
    "Expenses:Fees:Card",
    "Expenses:COGS",
    "Expenses:Meals",
    "Expenses:Vehicle",
    "Expenses:Vehicle:Parking",
    "Expenses:Marketing:Giveaways",
    "Expenses:Strange",
    "Expenses:Packaging",
    "Equity:Drawings",
)
BORNE_BY = ("Expenses:Marketing:Giveaways", "Equity:Drawings", "Expenses:Strange")
HEAD = """
option "operating_currency" "USD"
plugin "offcut.plugins"
2024-01-01 open Assets:Bank
2024-01-01 open Assets:Equipment
2024-01-01 commodity CARD
  stock: "product"
2024-01-01 commodity HERON
  stock: "product"
2024-01-01 commodity VINYL
  stock: "material"
2024-01-01 commodity MAILER
  stock: "material"
2024-01-01 custom "bill-of-materials" 3 HERON 1 VINYL
2024-01-01 custom "packing" "letter" 1 MAILER
2024-02-01 * "Stock"
  Assets:Stock:CARD  100 CARD {0.37 USD}
  Assets:Materials:VINYL  300 VINYL {1.01 USD}
  Assets:Materials:MAILER  500 MAILER {0.13 USD}
  Assets:Bank
2024-03-01 custom "print-run" 300 HERON
"""

cents = st.integers(-9_999, 99_999).map(lambda number: Decimal(number) / 100)
days = st.dates(datetime.date(2024, 6, 1), datetime.date(2026, 2, 1))
few = st.integers(1, 5)


@st.composite
def declared(draw: st.DrawFn) -> str:
    """Draw the accounts, some with a line of the maker's own."""
    lines = []
    for account in ACCOUNTS:
        lines.append(f"2024-01-01 open {account}")
        if not account.startswith("Equity") and draw(st.booleans()):
            lines.append(f'  tax-line: "{draw(st.sampled_from(WORDS))}"')
    return "\n".join(lines) + "\n"


@st.composite
def happenings(draw: st.DrawFn) -> str:
    """Draw one thing that happened."""
    date, number = draw(days), draw(few)
    match draw(st.integers(0, 7)):
        case 0:
            return f'{date} custom "print-run" {3 * number} HERON\n'
        case 1:
            return f'{date} custom "stock-count" {90 + number} CARD\n'
        case 2:
            item = draw(st.sampled_from(["CARD", "HERON", "MAILER"]))
            account = draw(st.sampled_from(BORNE_BY))
            return f'{date} custom "stock-out" {number} {item} {account}\n'
        case 3:
            return f'{date} custom "mileage" {number * 7} "A fair"\n'
        case 4:
            election = draw(st.sampled_from(["expense", "spread", "none"]))
            chosen = "" if election == "none" else f'\n    election: "{election}"'
            return (
                f'{date} * "Press"\n  Assets:Equipment  {draw(cents)} USD{chosen}\n'
                "    years: 3\n  Assets:Bank\n"
            )
        case 5:
            item = draw(st.sampled_from(["CARD", "HERON"]))
            return (
                f'{date} * "Sale" ^order-{number}\n  packing: "letter"\n'
                f'  Income:Sales:Web  -9.00 USD\n    item: "{item}"\n'
                f"    quantity: {number}\n  Assets:Bank\n"
            )
        case 6:
            return f'{date} custom "stock-count" {450 + number} MAILER\n'
        case _:
            account = draw(st.sampled_from(ACCOUNTS))
            return f'{date} * "Any"\n  {account}  {draw(cents)} USD\n  Assets:Bank\n'


@given(
    accounts=declared(),
    parts=st.lists(happenings(), max_size=12),
    office=st.sampled_from([{}, {"area": 100}]),
    mileage=st.sampled_from([{}, {"method": "actual"}]),
)
def test_form_and_steps_agree(
    accounts: str, parts: list[str], office: dict[str, Any], mileage: dict[str, Any]
) -> None:
    entries, _, options = loader.load_string(HEAD + accounts + "".join(parts))
    books = Books(entries, options)
    shop = TaxBooks(books, RULES, TaxSettings(home_office=office, mileage=mileage))
    profit = shop.profit()
    assert profit.net_income == net_income(entries, options, shop.year).get(
        "USD", Decimal(0)
    )
    assert profit.ties
    # A year that is over is foreseen as what it was.
    assert profit_after(profit.running, shop.claims, RULES, RULES.last) == profit.profit
    roll = inventory_roll(entries, options, shop.year, "USD")
    assert roll.ties
    lines = stock_lines(roll, shop.flows, shop.lines, shop.stock_uses, shop.year)
    assert lines.cost_of_goods == profit.lines["cost-of-goods"]
    received = gross_receipts(shop.entries, options, shop.lines, "USD")
    sold = sum(one.parts["sales"] + one.parts["shipping"] for one in received)
    assert sold == profit.lines["gross-receipts"]
