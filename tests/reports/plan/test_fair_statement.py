"""What a fair must sell, as the statement has it, worked out by hand.

The break-even of one product at a contribution of 80 of 100 with 18,000 fixed, 22,500 of
sales or 225 pieces: OpenStax, Principles of Accounting 2, section 3.2.
"""

from __future__ import annotations

import datetime
from decimal import Decimal
from typing import Any

import pytest

from offcut.reports.books import Books
from offcut.reports.period import choose_period
from offcut.reports.plan.assumed import GIVEN, NOT_GIVEN, Assumed
from offcut.reports.plan.break_even import FixedCost
from offcut.reports.plan.fair_basis import basis_given, basis_of_fairs
from offcut.reports.plan.fair_statement import FairTerms, fair_statement
from offcut.reports.statement import Statement

D = Decimal
NONE = Assumed(None, NOT_GIVEN)
NO_COSTS = FairTerms((), NONE, NONE)

LEDGER = """
option "operating_currency" "USD"
2025-01-01 commodity HERON
  stock: "product"
2025-01-01 commodity MOTH
  stock: "product"
2025-01-01 open Assets:Cash
2025-01-01 open Income:Sales:Fair
2025-01-01 open Income:Sales:Web
2025-01-01 open Expenses:COGS
2025-01-01 open Expenses:Fees:Reader
2025-01-01 open Expenses:Events:TableFees
2025-01-01 open Expenses:Travel
2025-03-01 * "Table" #event-quay
  Expenses:Events:TableFees  60.00 USD
  Assets:Cash
2025-05-01 * "Sales" #event-quay
  Income:Sales:Fair  -80.00 USD
    item: "HERON"
    quantity: 20
  Income:Sales:Fair  -20.00 USD
    item: "MOTH"
    quantity: 2
  Expenses:COGS  15.00 USD
    item: "HERON"
  Expenses:Fees:Reader  5.00 USD
  Assets:Cash
2025-05-01 * "Bus" #event-quay
  Expenses:Travel  12.00 USD
  Assets:Cash
2025-06-01 * "Sales at a loss" #event-rain
  Income:Sales:Fair  -10.00 USD
    item: "MOTH"
    quantity: 1
  Expenses:COGS  14.00 USD
    item: "MOTH"
  Assets:Cash
2025-06-02 * "Web"
  Income:Sales:Web  -4.00 USD
    item: "HERON"
    quantity: 1
  Assets:Cash
"""


@pytest.fixture
def fairs(load: Any, books_of: Any) -> Books:
    return books_of(load(LEDGER))


def notes(statement: Statement) -> str:
    return " ".join(note.text for note in statement.notes)


def test_fair_that_was(fairs: Books, lines: Any) -> None:
    basis = basis_of_fairs(fairs.table, ["quay"], "USD")
    statement = fair_statement(fairs, basis, NO_COSTS)
    assert lines(statement, "fair-left") == [
        ("Sales, after discounts and refunds", D(100)),
        ("Goods, fees, packing, less shipping", D(-20)),
        ("Left of sales", D(80)),
    ]
    assert lines(statement, "fair-result") == [
        ("Left of sales", D(80)),
        ("Expenses:Events:TableFees", D(-60)),
        ("Expenses:Travel", D(-12)),
        ("What it earned", D(8)),
    ]
    # 72.00 at 0.80; 22 pieces brought 80.00, so 19.8 bring it.
    assert lines(statement, "fair-break-even") == [
        ("The fair itself", D(72), D("0.8"), D(90), D(20), D(10), D("0.1"))
    ]
    assert lines(statement, "fair-pieces") == [
        ("HERON", D(20), D(80), D(4), D(18)),
        ("MOTH", D(2), D(20), D(10), D(2)),
    ]
    assert statement.holds
    # 80.00 - 72.00, -4.00, 4.00.
    assert "add up to 8.00 USD" in statement.checks[0].sentence


def test_time_to_be_paid_too(fairs: Books, lines: Any) -> None:
    terms = FairTerms((), Assumed(D(8), GIVEN), Assumed(D(18), GIVEN))
    basis = basis_of_fairs(fairs.table, ["quay"], "USD")
    statement = fair_statement(fairs, basis, terms)
    # 72.00 and 144.00, at 0.80; 170.00 more than was sold.
    assert lines(statement, "fair-break-even")[1] == (
        *("And 8 hours", D(216), D("0.8"), D(270), D(60), D(-170), D("-1.7")),
    )
    assert lines(statement, "fair-pieces")[0][-2:] == (D(18), D(54))


def test_fair_to_come_goes_by_all_with_sales(fairs: Books, lines: Any) -> None:
    costs = (FixedCost("table", D(50)), FixedCost("travel", D(7)))
    basis = basis_of_fairs(fairs.table, [], "USD")
    statement = fair_statement(fairs, basis, FairTerms(costs, NONE, NONE))
    # Of 110.00 76.00 are left: 57.00 needs 82.50, and three quarters of 23 pieces.
    assert lines(statement, "fair-break-even") == [
        ("The fair itself", D(57), D("0.690909090909"), D("82.50"), D(18))
    ]
    assert lines(statement, "fair-costs")[-1] == ("Together", D(57))
    assert [cells[0] for cells in lines(statement, "fair-basis")] == [
        "quay",
        "rain",
        "Together",
    ]
    assert "going by 2 fairs" in statement.period


def test_fair_whose_sales_lose_money(fairs: Books, lines: Any) -> None:
    basis = basis_of_fairs(fairs.table, ["rain"], "USD")
    terms = FairTerms((FixedCost("table", D(50)),), NONE, NONE)
    statement = fair_statement(fairs, basis, terms)
    assert lines(statement, "fair-break-even") == [
        ("The fair itself", D(50), D("-0.4"), "never", None)
    ]
    assert "no number of them pays for a fair" in notes(statement)


def test_textbook_figures_as_given(no_books: Books, lines: Any) -> None:
    basis = basis_given(D("0.8"), D(100), "USD")
    terms = FairTerms((FixedCost("fixed", D(18000)),), NONE, NONE)
    statement = fair_statement(no_books, basis, terms)
    assert lines(statement, "fair-break-even") == [
        ("The fair itself", D(18000), D("0.8"), D(22500), D(225))
    ]
    assert statement.checks == ()


def test_fairs_that_there_are_not(fairs: Books, no_books: Books) -> None:
    with pytest.raises(ValueError, match="tagged #event-qay; there is: quay, rain"):
        basis_of_fairs(fairs.table, ["qay"], "USD")
    with pytest.raises(ValueError, match="no fair with sales in EUR to go by"):
        basis_of_fairs(fairs.table, [], "EUR")
    with pytest.raises(ValueError, match="no fair with sales in USD to go by"):
        basis_of_fairs(no_books.table, [], "USD")


def test_fairs_of_a_period_count_whole(fairs: Books) -> None:
    # The table was paid for in March.
    may = choose_period(month="2025-05")
    basis = basis_of_fairs(fairs.table, [], "USD", may)
    assert [(fair.event, fair.fixed_total) for fair in basis.fairs] == [("quay", D(72))]
    with pytest.raises(ValueError, match="no fair with sales in USD to go by"):
        basis_of_fairs(fairs.table, [], "USD", choose_period(month="2025-03"))


def test_table_that_does_not_agree_is_told(fairs: Books) -> None:
    in_may = fairs.table[fairs.table["date"] >= datetime.date(2025, 5, 1)]
    basis = basis_of_fairs(in_may, ["quay"], "USD")
    statement = fair_statement(fairs, basis, NO_COSTS)
    assert not statement.holds
    assert "THE FAIR DOES NOT ADD UP" in statement.checks[1].sentence
