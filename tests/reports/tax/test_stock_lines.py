"""Part III: cost of goods sold from stock to stock, tied to the accounts."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

from offcut.reports.books import Books
from offcut.reports.inventory_roll import inventory_roll
from offcut.reports.tax.rules_files import find_rules
from offcut.reports.tax.stock_lines import StockLines, stock_lines
from offcut.reports.tax.tax_books import TaxBooks
from offcut.reports.tax.tax_settings import TaxSettings

D = Decimal
HEAD = """
option "operating_currency" "USD"
plugin "offcut.plugins"
2024-01-01 commodity CARD
  stock: "product"
2024-01-01 commodity HERON
  stock: "product"
2024-01-01 commodity VINYL
  stock: "material"
2024-01-01 commodity MAILER
  stock: "material"
2024-01-01 commodity STAMP
  stock: "stamp"
2024-01-01 open Assets:Bank
2024-01-01 open Equity:Drawings
2024-01-01 open Income:Sales:Web
2024-01-01 open Expenses:Marketing:Giveaways
2024-01-01 open Expenses:Inbound:Freight
2024-01-01 open Expenses:OwnUse
  tax-line: "none"
2024-01-01 open Expenses:COGS:Loose
2024-01-01 open Expenses:Printing
  tax-line: "cost-of-labor"
2024-01-01 custom "bill-of-materials" 2 HERON 1 VINYL
2024-01-01 custom "packing" "letter" 1 MAILER 1 STAMP
2024-06-01 * "Vinyl of last year"
  Assets:Materials:VINYL  10 VINYL {2.00 USD}
  Assets:Bank
"""
# Bought: 20 cards at 1.00 and 2.00 of freight; 30 vinyl at 2.00; packing of 9.00.
# Made: 40 herons of 20 vinyl, 40.00, at 1.00.
# Out: 5 cards at 1.10 and 10 herons sold; 2 herons given away; the owner took 3 herons
# and 1 card; a card was lost at the count; a mailer was lost.
YEAR = """
2025-02-01 * "Cards"
  Assets:Stock:CARD  20 CARD {1.00 USD}
  Expenses:Inbound:Freight  2.00 USD
    spread: "value"
  Assets:Bank
2025-02-01 * "Vinyl"
  Assets:Materials:VINYL  30 VINYL {2.00 USD}
  Assets:Bank
2025-02-01 * "Packing"
  Assets:Materials:MAILER  10 MAILER {0.50 USD}
  Assets:Stamps:STAMP  10 STAMP {0.40 USD}
  Assets:Bank
2025-03-01 custom "print-run" 40 HERON
2025-04-01 * "Sale" ^order-1
  packing: "letter"
  Income:Sales:Web  -20.00 USD
    item: "CARD"
    quantity: 5
  Income:Sales:Web  -40.00 USD
    item: "HERON"
    quantity: 10
  Assets:Bank
2025-05-01 custom "stock-out" 2 HERON Expenses:Marketing:Giveaways
2025-05-02 custom "stock-out" 3 HERON Equity:Drawings
2025-05-03 custom "stock-out" 1 CARD Expenses:OwnUse
2025-06-01 custom "stock-count" 13 CARD
2025-06-01 custom "stock-count" 8 MAILER
2025-07-01 * "A piece without stock, and a helper's print"
  Expenses:COGS:Loose  3.00 USD
  Expenses:Printing    7.00 USD
  Assets:Bank
"""


def books_of(ledger: Any, year: str = "2025") -> TaxBooks:
    rules = find_rules("us-federal", year)
    return TaxBooks(Books(ledger.entries, ledger.options), rules, TaxSettings())


def lines_of(shop: TaxBooks) -> StockLines:
    roll = inventory_roll(shop.books.entries, shop.options, shop.year, shop.currency)
    assert roll.ties
    return stock_lines(roll, shop.flows, shop.lines, shop.stock_uses, shop.year)


def test_each_line_by_hand(load: Callable[[str], Any]) -> None:
    shop = books_of(load(HEAD + YEAR))
    found = lines_of(shop)
    assert found.lines == {
        "opening-inventory": D(20),  # 10 vinyl
        # 20 cards, less what the owner took: 3 herons and a card of 1.10
        "purchases": D("20.00") - D("3.00") - D("1.10"),
        "cost-of-labor": D(7),
        # 30 vinyl, less two herons given away, which are on the line of advertising
        "cost-materials": D("60.00") - D("2.00"),
        "cost-other": D("2.00") + D("3.00"),  # freight, and the piece without stock
        # 20 vinyl, 25 herons, 13 cards
        "closing-inventory": D("40.00") + D("25.00") + D("14.30"),
    }
    # 5 cards 5.50, 10 herons, a lost card 1.10, 3.00 and 7.00: the lost mailer is none.
    assert found.cost_of_goods == D("26.60")
    profit = shop.profit()
    assert profit.lines["cost-of-goods"] == D("26.60")
    assert profit.lines["cost-of-labor"] == D(7)
    assert profit.lines["advertising"] == D("2.00")
    # Packing of one order 0.90: a mailer as supplies, a stamp as postage; one mailer lost.
    assert profit.lines["supplies"] == D("1.00")
    assert profit.lines["office"] == D("0.40")
    # The owner's card is an expense of the books that is not deducted.
    assert [(step.amount, step.account) for step in profit.steps] == [
        (D("1.10"), "Expenses:OwnUse")
    ]
    assert profit.ties
    assert profit.profit == D("60.00") - D("26.60") - D("2.00") - D("1.40")


def test_closing_of_a_year_is_the_opening_of_the_next(load: Callable[[str], Any]) -> None:
    ledger = load(HEAD + YEAR)
    this = lines_of(books_of(ledger, "2025"))
    following = lines_of(books_of(ledger, "2026"))
    assert following.opening == this.closing == following.closing
    assert following.cost_of_goods == D(0)


def test_a_maker_takes_out_materials(load: Callable[[str], Any]) -> None:
    """Nothing is bought finished: what the owner takes is not a negative purchase."""
    ledger = load(
        HEAD
        + '2025-03-01 custom "print-run" 4 HERON\n'
        + '2025-03-02 custom "stock-out" 3 HERON Equity:Drawings\n'
    )
    found = lines_of(books_of(ledger))
    assert found.purchases == D(0)
    assert found.withdrawn == D("3.00")
    assert found.materials_line == D("-3.00")
    assert found.cost_of_goods == D(0)


def test_spoiled_pieces_are_cost_of_goods(load: Callable[[str], Any]) -> None:
    """2 of 4 herons are spoiled: half of 4.00 stands in an account of its own."""
    ledger = load(HEAD + '2025-03-01 custom "print-run" 2 HERON 2 VINYL\n  spoiled: 2\n')
    shop = books_of(ledger)
    found = lines_of(shop)
    assert found.cost_of_goods == D("2.00")
    assert found.freight == D(0)
    assert shop.profit().lines["cost-of-goods"] == D("2.00")


def test_what_is_packed_and_worked_is_no_packing(load: Callable[[str], Any]) -> None:
    ledger = load(HEAD + '2024-01-02 custom "packing" "flat" 1 MAILER 1 VINYL 1 STAMP\n')
    assert books_of(ledger).stock_uses.packing == {"MAILER", "STAMP"}
    assert books_of(ledger).stock_uses.made == {"HERON"}


def test_packing_may_be_a_part_of_the_cost_of_goods(load: Callable[[str], Any]) -> None:
    """Where the maker, or the country, has no line of its own for packing."""
    own = '2024-01-01 open Expenses:Packaging\n  tax-line: "cost-of-goods"\n'
    shop = books_of(load(HEAD + own + YEAR))
    found = lines_of(shop)
    # 26.60, and the two mailers, one of which was lost; stamps are postage still.
    assert found.cost_of_goods == D("27.60")
    assert found.other == D("6.00")
    assert shop.profit().lines["cost-of-goods"] == D("27.60")
    assert shop.profit().lines["supplies"] == D(0)
    assert shop.profit().ties
