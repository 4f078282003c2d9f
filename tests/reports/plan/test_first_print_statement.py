"""How many pieces of a new product to print first, as the statement has it."""

from __future__ import annotations

import dataclasses
from decimal import Decimal
from typing import Any

import pytest

from offcut.reports.books import Books
from offcut.reports.plan import first_quantity as practice
from offcut.reports.plan.assumed import GIVEN, USUAL, Assumed
from offcut.reports.plan.first_print_statement import (
    PRACTICE,
    FirstTerms,
    first_print_statement,
)
from offcut.reports.statement import Statement

D = Decimal
TERMS = FirstTerms(
    following=Assumed(D(12_000), GIVEN),
    buying=Assumed(practice.BUYERS, USUAL),
    low=Assumed(practice.FEW_TAKE_IT, USUAL),
    high=Assumed(practice.MANY_TAKE_IT, USUAL),
    least=Assumed(practice.NEVER_UNDER, USUAL),
)


def notes(statement: Statement) -> str:
    return " ".join(note.text for note in statement.notes)


def test_from_followers_to_whole_sheets(shop: Books, lines: Any) -> None:
    statement = first_print_statement(shop, shop.catalogue["OWL-STK"], TERMS)
    assert lines(statement, "first-print") == [
        ("People who follow you", D(12_000), D(12_000)),
        ("Of these buy 1%", D(120), D(120)),
        ("Of these take it 5%, 10%", D(6), D(12)),
        ("Whole pieces, never under 4", D(6), D(12)),
        ("Sheets of 4 pieces", D(2), D(3)),
        ("Good pieces to print", D(8), D(12)),
    ]
    # A sheet of 0.90 makes four; nothing is spoiled.
    assert lines(statement, "first-print-cost") == [
        ("At the least", D(8), D(0), D("0.225"), D("1.8")),
        ("At the most", D(12), D(0), D("0.225"), D("2.7")),
    ]
    assert PRACTICE in notes(statement)
    assert "sold already" not in notes(statement)
    assert statement.holds


def test_never_under_four_and_spoiled_on_top(shop: Books, lines: Any) -> None:
    few = dataclasses.replace(TERMS, following=Assumed(D(0), GIVEN))
    statement = first_print_statement(shop, shop.catalogue["HERON-STK"], few)
    assert lines(statement, "first-print")[-1] == ("Good pieces to print", D(6), D(6))
    assert lines(statement, "first-print-cost")[0] == (
        *("At the least", D(6), D("0.3"), D("0.21"), D("1.26")),
    )
    assert "15 pieces of it were sold already" in notes(statement)


def test_without_a_bill_there_are_no_sheets(shop: Books, lines: Any) -> None:
    statement = first_print_statement(shop, shop.catalogue["POST"], TERMS)
    steps = [cells[0] for cells in lines(statement, "first-print")]
    assert not any("Sheets" in str(step) for step in steps)
    assert [table.slug for table in statement.tables] == [
        "first-print",
        "first-print-assumptions",
    ]
    assert "POST has no bill of materials, so its pieces are on no sheets" in notes(
        statement
    )


def test_material_that_was_never_bought(sound_ledger: Any, books_of: Any) -> None:
    """
    2025-01-01 commodity OWL
      stock: "product"
    2025-01-01 commodity SHEET
      stock: "material"
    2025-01-01 custom "bill-of-materials" 2 OWL 1 SHEET
    """
    books = books_of(sound_ledger)
    statement = first_print_statement(books, books.catalogue["OWL"], TERMS)
    assert "not known: SHEET, in the bill of OWL, has no cost yet" in notes(statement)


def test_least_above_most(shop: Books) -> None:
    wrong = dataclasses.replace(TERMS, low=Assumed(D("0.2"), GIVEN))
    with pytest.raises(ValueError, match="exchange the two"):
        first_print_statement(shop, shop.catalogue["POST"], wrong)
