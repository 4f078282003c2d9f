"""A small shop that plans are made for, and how to look into their statements."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from offcut.reports.books import Books
from offcut.reports.statement import Statement, Table
from offcut.reports.statement_cells import Cell

# A good HERON-STK: 0.90 and 6 * 0.05 for six, a twentieth spoiled, so 0.21.
SHOP = """
option "title" "A shop"
option "operating_currency" "USD"
plugin "offcut.plugins"
2025-01-01 commodity HERON-STK
  stock: "product"
  design: "Heron"
  list-price: 4.00 USD
  normal-spoilage: 0.05
2025-01-01 commodity POST
  stock: "product"
  list-price: 3.00 USD
2025-01-01 commodity BARE
  stock: "product"
2025-01-01 commodity EURO
  stock: "product"
  list-price: 8.00 EUR
2025-01-01 commodity OWL-STK
  stock: "product"
  list-price: 4.00 USD
2025-01-01 commodity VINYL
  stock: "material"
2025-01-01 commodity INK-ML
  stock: "material"
2025-01-01 custom "bill-of-materials" 6 HERON-STK 1 VINYL 6 INK-ML
2025-01-01 custom "bill-of-materials" 4 OWL-STK 1 VINYL
2025-01-01 open Assets:Cash
2025-01-01 open Income:Sales:Web
2025-01-01 open Expenses:Fees:Card
2025-01-01 open Expenses:Postage
2025-01-02 * "Materials, and cards of a manufacturer"
  Assets:Materials:VINYL  50 VINYL {0.90 USD}
  Assets:Materials:INK-ML  500 INK-ML {0.05 USD}
  Assets:Stock:POST  40 POST {2.00 USD}
  Assets:Stock:EURO  5 EURO {1.00 USD}
  Assets:Cash
2025-02-01 custom "print-run" 60 HERON-STK
  minutes: 90
2025-03-03 * "Web order" ^order-1
  Income:Sales:Web  -16.00 USD
    item: "HERON-STK"
    quantity: 4
  Expenses:Fees:Card  0.64 USD
  Expenses:Postage  1.50 USD
  Assets:Cash
2025-03-12 * "Web order" ^order-2
  Income:Sales:Web  -24.00 USD
    item: "HERON-STK"
    quantity: 6
  Expenses:Fees:Card  0.96 USD
  Expenses:Postage  1.50 USD
  Assets:Cash
2025-03-24 * "Web order" ^order-3
  Income:Sales:Web  -114.00 USD
    item: "POST"
    quantity: 38
  Assets:Cash
2025-03-30 * "Web order" ^order-4
  Income:Sales:Web  -20.00 USD
    item: "HERON-STK"
    quantity: 5
  Expenses:Fees:Card  0.80 USD
  Assets:Cash
"""

Lines = Callable[[Statement, str], list[tuple[Cell, ...]]]


@pytest.fixture
def shop(load: Any) -> Books:
    """That shop's books."""
    ledger = load(SHOP)
    return Books(ledger.entries, ledger.options, ledger.errors)


@pytest.fixture
def no_books(load: Any) -> Books:
    """The books of an empty ledger."""
    ledger = load("")
    return Books(ledger.entries, ledger.options, ledger.errors)


@pytest.fixture
def books_of() -> Callable[[Any], Books]:
    """Return what makes books of a loaded ledger."""
    return lambda ledger: Books(ledger.entries, ledger.options, ledger.errors)


@pytest.fixture
def lines() -> Lines:
    """Return what gives the cells of a table of a statement, by the table's slug."""

    def found(statement: Statement, slug: str) -> list[tuple[Cell, ...]]:
        return [line.cells for line in table(statement, slug).lines]

    def table(statement: Statement, slug: str) -> Table:
        (one,) = [each for each in statement.tables if each.slug == slug]
        return one

    return found
