"""Making against ordering, as the statement has it, worked out by hand."""

from __future__ import annotations

import dataclasses
from decimal import Decimal
from typing import Any

import pytest

from offcut.reports.books import Books
from offcut.reports.plan.assumed import GIVEN, NOT_GIVEN, Assumed
from offcut.reports.plan.make_or_order_statement import (
    MakingTerms,
    make_or_order_statement,
)
from offcut.reports.plan.price_breaks import PriceBreak, PriceTable
from offcut.reports.statement import Statement

D = Decimal
NONE = Assumed(None, NOT_GIVEN)
QUOTE = PriceTable(
    (
        PriceBreak(D(100), D("0.40"), D(10), D(5)),
        PriceBreak(D(500), D("0.30"), D(10), D(5)),
    )
)
TERMS = MakingTerms(D(120), D(90), QUOTE, NONE, NONE, NONE)


def notes(statement: Statement) -> str:
    return " ".join(note.text for note in statement.notes)


def test_without_a_value_of_hours(shop: Books, lines: Any) -> None:
    statement = make_or_order_statement(shop, shop.catalogue["HERON-STK"], TERMS)
    # 120 at 0.21, against 120 at 0.40 and 15.00.
    assert lines(statement, "make-or-order") == [
        ("Materials only, no time", D("25.2"), D(63), D("-37.8"), "make")
    ]
    # 180 minutes would have to be worth 37.80: 12.60 an hour.
    assert "no more than making once an hour of yours is worth 12.60 USD" in notes(
        statement
    )
    assert "No hour of yours has a value here" in notes(statement)
    assert statement.holds


def test_with_hours_and_setting_up(shop: Books, lines: Any) -> None:
    terms = dataclasses.replace(
        TERMS, hour=Assumed(D(20), GIVEN), setup_minutes=Assumed(D(30), GIVEN)
    )
    statement = make_or_order_statement(shop, shop.catalogue["HERON-STK"], terms)
    # The run of 60 took 90 minutes, of which 30 set it up: one a piece.
    assert lines(statement, "make-or-order-making") == [
        ("Materials", D(120), None, D("0.21"), D("25.2")),
        ("Your time, pieces", D(120), D(120), D("0.333333333333"), D(40)),
        ("Your time, setting up", None, D(30), None, D(10)),
        ("Making", D(120), D(150), D("0.626666666667"), D("75.2")),
    ]
    assert lines(statement, "make-or-order-ordering") == [
        ("Goods", D(120), None, D("0.40"), D(48)),
        ("Set-up", None, None, None, D(10)),
        ("Freight", None, None, None, D(5)),
        ("Ordering", D(120), None, D("0.525"), D(63)),
    ]
    assert lines(statement, "make-or-order")[1] == (
        *("With your time", D("75.2"), D(63), D("12.2"), "order"),
    )
    # 10 and 0.5433 a piece, against 55.00 for the least order of 100: above 82.8 pieces.
    make, order = lines(statement, "make-or-order-break-even")
    assert make[:3] == ("make", D(1), D(82))
    assert order[:3] == ("order", D(83), "no end")
    assert order[3].quantize(D("0.01")) == D("82.82")
    assert [each.amount for each in statement.headlines] == [D("75.2"), D(63), D("12.2")]


def test_what_is_left_over(shop: Books, lines: Any) -> None:
    statement = make_or_order_statement(shop, shop.catalogue["HERON-STK"], TERMS)
    # 30 of 120 at 0.21, and at 63.00 for 120.
    assert lines(statement, "make-or-order-shelf") == [
        ("Making", D(120), D(90), D(30), D("25.2"), D("6.3")),
        ("Ordering", D(120), D(90), D(30), D(63), D("15.75")),
    ]


def test_demand_below_the_minimum(shop: Books, lines: Any) -> None:
    terms = dataclasses.replace(TERMS, quantity=D(20), demand=D(15))
    statement = make_or_order_statement(shop, shop.catalogue["HERON-STK"], terms)
    # 100 at 0.40 and 15.00; 85 of them are left over.
    ordering = lines(statement, "make-or-order-shelf")[1]
    assert ordering == ("Ordering", D(100), D(15), D(85), D(55), D("46.75"))
    assert "is of 100 pieces, 80 more than needed" in notes(statement)


def test_bill_adds_up_to_a_good_piece(shop: Books, lines: Any) -> None:
    statement = make_or_order_statement(shop, shop.catalogue["HERON-STK"], TERMS)
    vinyl, ink, spoiled, whole = lines(statement, "make-or-order-bill")
    assert (vinyl[0], vinyl[2], vinyl[4]) == ("VINYL", D("0.90"), D("0.15"))
    assert (ink[1], ink[4]) == (D(1), D("0.05"))
    assert spoiled == ("Normal spoilage, 5%", None, None, None, D("0.01"))
    assert whole[4] == D("0.21") == vinyl[4] + ink[4] + spoiled[4]


def test_ordering_below_the_materials(shop: Books) -> None:
    cheap = PriceTable((PriceBreak(D(1), D("0.20")),))
    terms = dataclasses.replace(TERMS, prices=cheap)
    statement = make_or_order_statement(shop, shop.catalogue["HERON-STK"], terms)
    assert "no more than the materials alone" in notes(statement)


def test_no_print_run_yet_counts_no_time(shop: Books) -> None:
    statement = make_or_order_statement(shop, shop.catalogue["OWL-STK"], TERMS)
    assert "No print run of it says minutes" in notes(statement)
    given = dataclasses.replace(TERMS, minutes=Assumed(D(2), GIVEN))
    statement = make_or_order_statement(shop, shop.catalogue["OWL-STK"], given)
    assert "Making takes 240 minutes" in notes(statement)


def test_no_bill(shop: Books) -> None:
    with pytest.raises(ValueError, match="POST has no bill of materials"):
        make_or_order_statement(shop, shop.catalogue["POST"], TERMS)
