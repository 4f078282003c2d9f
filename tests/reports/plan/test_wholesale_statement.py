"""What products earn at wholesale, as the statement has it, worked out by hand."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from beancount import loader
from hypothesis import given, settings
from hypothesis import strategies as st

from offcut.reports.books import Books
from offcut.reports.period import Period, choose_period
from offcut.reports.plan.assumed import NOT_GIVEN, USUAL, Assumed
from offcut.reports.plan.wholesale_statement import (
    NO_HOUR,
    WholesaleTerms,
    wholesale_statement,
)
from offcut.reports.statement import Statement

D = Decimal
RATE = Assumed(D("0.5"), USUAL)
HALF = WholesaleTerms(RATE, Assumed(None, NOT_GIVEN))
HOUR = HALF._replace(hour=Assumed(D(18), "this command"))


def notes(statement: Statement) -> str:
    return " ".join(note.text for note in statement.notes)


def test_card_of_3_00_that_costs_2_00_loses_0_50(shop: Books, lines: Any) -> None:
    statement = wholesale_statement(shop, Period(), "USD", HALF)
    assert lines(statement, "wholesale-losses") == [
        ("POST", "Sold at 1.50 it costs 2.00: each piece loses 0.50")
    ]
    post, heron, owl = lines(statement, "wholesale-a-piece")
    assert post[:8] == ("POST", D(3), D("1.5"), D(2), D(0), D(0), D(2), D("-0.5"))
    # A piece of 0.21, and fees of 2.40 over 15 pieces.
    costs = (D("0.21"), D(0), D("0.16"), D("0.37"))
    assert heron == ("HERON-STK", D(4), D(2), *costs, D("1.63"), D("0.815"))
    # A quarter of a sheet; it was never sold.
    assert owl[:4] == ("OWL-STK", D(4), D(2), D("0.225"))
    assert "so without packing and fees: OWL-STK." in notes(statement)
    assert NO_HOUR in notes(statement)


def test_floors(shop: Books, lines: Any) -> None:
    statement = wholesale_statement(shop, Period(), "USD", HALF)
    post, heron, _ = lines(statement, "wholesale-floors")
    # 2.00 at least, which half of 3.99 rounds up to.
    assert post == ("POST", D("1.5"), D(2), D(3), D("3.99"), D("-0.25"), None, None)
    assert heron[:5] == ("HERON-STK", D(2), D("0.37"), D(4), D("0.73"))
    # 1.63 in a minute and a half.
    assert heron[6:] == (D("1.5"), D("65.2"))


def test_time_is_a_cost_where_an_hour_has_a_value(shop: Books, lines: Any) -> None:
    statement = wholesale_statement(shop, Period(), "USD", HOUR)
    heron = lines(statement, "wholesale-a-piece")[1]
    # A minute and a half at 18.00 an hour.
    assert heron[6:9] == (D("0.45"), D("0.82"), D("1.18"))
    # What an hour earns is before it is paid.
    assert lines(statement, "wholesale-floors")[1][-1] == D("65.2")
    assert NO_HOUR not in notes(statement)
    assert "says minutes, so without time: POST, OWL-STK." in notes(statement)


def test_left_out_with_the_reason(shop: Books) -> None:
    said = notes(wholesale_statement(shop, Period(), "USD", HALF))
    assert "Left out: BARE. It has no list-price." in said
    assert "Left out: EURO. Its list-price is in EUR, its cost in USD." in said


def test_products_channels_and_currencies(shop: Books, lines: Any) -> None:
    only = HALF._replace(products=frozenset({"POST"}))
    statement = wholesale_statement(shop, Period(), "USD", only)
    assert [cells[0] for cells in lines(statement, "wholesale-a-piece")] == ["POST"]
    with pytest.raises(ValueError, match="sold on a channel Fair; there is: Web"):
        wholesale_statement(shop, Period(), "USD", HALF._replace(channels=("Fair",)))
    elsewhere = wholesale_statement(shop, Period(), "EUR", HALF)
    assert lines(elsewhere, "wholesale-a-piece") == []
    assert "Left out: HERON-STK, OWL-STK, POST. It sells in USD, not EUR." in notes(
        elsewhere
    )


def test_days_without_sales_and_before_any_cost(shop: Books, lines: Any) -> None:
    april = wholesale_statement(shop, choose_period(month="2025-04"), "USD", HALF)
    assert [cells[5] for cells in lines(april, "wholesale-a-piece")] == [0, 0, 0]
    before = wholesale_statement(shop, choose_period(year="2024"), "USD", HALF)
    assert lines(before, "wholesale-a-piece") == []
    assert "POST has no cost yet" in notes(before)


def test_empty_books(no_books: Books, lines: Any) -> None:
    statement = wholesale_statement(no_books, Period(), "", HALF)
    assert lines(statement, "wholesale-a-piece") == []
    assert statement.notes == ()


cents = st.integers(1, 5000).map(lambda number: D(number) / 100)


@settings(max_examples=25, deadline=None)
@given(
    st.lists(st.tuples(cents, cents, cents, st.integers(1, 9)), min_size=1, max_size=5),
    st.sampled_from(["0.5", "0.4", "0.333", "1"]),
    st.sampled_from([None, D(18), D("7.77")]),
)
def test_contribution_is_the_price_less_the_full_cost(
    products: list[tuple[D, D, D, int]], rate: str, hour: D | None
) -> None:
    text = 'plugin "offcut.plugins"\noption "operating_currency" "USD"\n'
    text += "2025-01-01 open Assets:Cash\n2025-01-01 open Income:Sales:Web\n"
    text += "2025-01-01 open Expenses:Fees:Card\n"
    for at, (price, cost, fee, pieces) in enumerate(products):
        text += f"""
2025-01-01 commodity P{at}X
  stock: "product"
  list-price: {price} USD
2025-01-02 * "Bought"
  Assets:Stock:P{at}X  {pieces} P{at}X {{{cost} USD}}
  Assets:Cash
2025-01-03 * "Sold" ^order-{at}
  Income:Sales:Web  -{price} USD
    item: "P{at}X"
    quantity: {pieces}
  Expenses:Fees:Card  {fee} USD
  Assets:Cash
"""
    entries, errors, options = loader.load_string(text)
    assert not errors
    terms = WholesaleTerms(Assumed(D(rate), USUAL), Assumed(hour, NOT_GIVEN))
    statement = wholesale_statement(Books(entries, options), Period(), "USD", terms)
    by_slug = {table.slug: table for table in statement.tables}
    earned = [line.cells for line in by_slug["wholesale-a-piece"].lines]
    assert len(earned) + sum("rounds to nothing" in n.text for n in statement.notes) >= 1
    losing = []
    for code, _, price, *costs, full, left, _ in earned:
        assert sum(costs, D(0)) == full
        assert price - full == left
        if left < 0:
            losing.append(code)
    losses = by_slug.get("wholesale-losses")
    assert losing == ([line.cells[0] for line in losses.lines] if losses else [])
