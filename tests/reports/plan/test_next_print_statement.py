"""What to print next, as the statement has it, worked out by hand."""

from __future__ import annotations

import dataclasses
import datetime
from decimal import Decimal
from typing import Any

import pytest

from offcut.reports.books import Books
from offcut.reports.period import Period, choose_period
from offcut.reports.plan.assumed import GIVEN, NOT_GIVEN, Assumed
from offcut.reports.plan.next_print_statement import NO_SIZE, next_print_statement
from offcut.reports.plan.next_prints import NextPrints, NextTerms, next_prints
from offcut.reports.plan.next_quantity import ONE_WEEK_ONLY
from offcut.reports.plan.price_breaks import PriceBreak, PriceTable
from offcut.reports.statement import Statement

D = Decimal
NONE = Assumed(None, NOT_GIVEN)
TERMS = NextTerms(
    lead_weeks=Assumed(D(1), GIVEN),
    service=Assumed(D("0.95"), GIVEN),
    keeping=Assumed(D("0.25"), GIVEN),
    hour=Assumed(D(18), GIVEN),
    setup_minutes=Assumed(D(30), GIVEN),
    run_cost=NONE,
)


def notes(statement: Statement) -> str:
    return " ".join(note.text for note in statement.notes)


def test_what_runs_out_first_first(shop: Books, lines: Any) -> None:
    statement = next_print_statement(shop, Period(), "USD", TERMS)
    # POST: 38 in its one week, 2 left, which last three hours and some. A run is
    # sqrt(2 * 1976 * 9 / 0.5) = 266.7 pieces.
    (post,) = lines(statement, "next-print-now")
    assert post[:4] == ("POST", D(38), D(2), D(38))
    assert post[4].quantize(D("0.0001")) == D("0.0526")
    assert post[5:] == (datetime.date(2025, 3, 30), D(267), None)
    # HERON-STK: 15 in four weeks, 45 left for twelve weeks.
    (heron,) = lines(statement, "next-print-later")
    assert heron[:6] == (
        *("HERON-STK", D("3.75"), D(45), D(9), D(12), datetime.date(2025, 6, 22)),
    )
    assert heron[6:] == (D(264), D(44))
    assert statement.holds
    assert "shelves hold 52 pieces" in statement.checks[0].sentence


def test_working_of_the_reorder_point(shop: Books, lines: Any) -> None:
    statement = next_print_statement(shop, Period(), "USD", TERMS, ["HERON-STK"])
    (heron,) = lines(statement, "next-print-reorder-points")
    # Weeks of 4, 6, 0 and 5: deviations squared are 20.75, over three; 1.64485 of these.
    assert heron[:4] == ("HERON-STK", D(15), D(4), D("3.75"))
    assert [cell.quantize(D("0.0001")) for cell in heron[4:7]] == [
        D("2.6300"),
        D("3.7500"),
        D("4.3259"),
    ]
    assert heron[7] == D(9)


def test_working_of_the_size(shop: Books, lines: Any) -> None:
    statement = next_print_statement(shop, Period(), "USD", TERMS, ["HERON-STK"])
    (heron,) = lines(statement, "next-print-sizes")
    # 195 a year; half an hour at 18.00; a quarter of 0.21; sqrt(2 * 195 * 9 / 0.0525).
    assert heron[:5] == ("HERON-STK", D(195), D(9), D("0.21"), D("0.0525"))
    assert heron[5].quantize(D("0.001")) == D("258.567")
    assert heron[6:] == (D(44), D(264))
    assert "lasts longer than a year" in notes(statement)


def test_without_a_cost_of_a_run(shop: Books, lines: Any) -> None:
    terms = dataclasses.replace(TERMS, hour=NONE)
    statement = next_print_statement(shop, Period(), "USD", terms)
    # 39 lie above the reorder point of 38, and there are 2.
    (post,) = lines(statement, "next-print-now")
    assert post[6:] == (D(37), None)
    (heron,) = lines(statement, "next-print-later")
    assert heron[6:] == (None, None)
    assert NO_SIZE in notes(statement)
    assert "next-print-sizes" not in [table.slug for table in statement.tables]


def test_one_week_of_sales_says_so(shop: Books) -> None:
    said = notes(next_print_statement(shop, Period(), "USD", TERMS))
    assert f"{ONE_WEEK_ONLY}: POST." in said
    assert "Without a bill of materials, so ordered: POST." in said
    assert "Left out: BARE, EURO, OWL-STK. It was not sold in a whole week" in said


def test_window_of_weeks(shop: Books) -> None:
    # From the 17th on, HERON-STK sold 0 and 5.
    found = next_prints(
        shop, choose_period(first="2025-03-17", last="2025-03-30"), "USD", TERMS
    )
    heron = [each for each in found.enough if each.product == "HERON-STK"]
    assert [each.plan.sales.weeks for each in heron] == [(D(0), D(5))]
    # Up to the 12th, stock is as it was then.
    found = next_prints(shop, choose_period(last="2025-03-12"), "USD", TERMS)
    assert [each.plan.on_hand for each in (*found.due, *found.enough)] == [D(50)]
    assert found.period == Period(datetime.date(2024, 3, 14), datetime.date(2025, 3, 12))


def test_price_breaks(shop: Books, lines: Any) -> None:
    prices = PriceTable(
        (PriceBreak(D(50), D(2), D(9)), PriceBreak(D(500), D("1.80"), D(9)))
    )
    terms = dataclasses.replace(TERMS, hour=NONE, prices=prices)
    statement = next_print_statement(shop, Period(), "USD", terms, ["POST"])
    first, second = lines(statement, "next-print-price-breaks")
    # At 2.00 a run of 267: 1976 / 267 orders of 9.00, half of 267 kept at 0.50.
    assert first[:3] == ("50", D(2), D(267))
    assert first[4:6] == (D("66.75"), D(3952))
    # At 1.80 the least order of 500: 35.568, 250 kept at 0.45, and 3556.80.
    assert second == (
        *("500", D("1.80"), D(500), D("35.568"), D("112.5"), D("3556.8"), D("3704.868")),
        "best",
    )
    assert lines(statement, "next-print-now")[0][6:] == (D(500), None)


def test_stock_that_does_not_agree_is_told(shop: Books, monkeypatch: Any) -> None:
    monkeypatch.setattr("offcut.reports.plan.next_prints._booked", lambda *_: D(51))
    statement = next_print_statement(shop, Period(), "USD", TERMS)
    assert not statement.holds
    assert "THE SHELVES DO NOT AGREE: they hold 52 pieces" in statement.checks[0].sentence


def test_channel_that_is_behind(sound_ledger: Any, books_of: Any) -> None:
    """
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Income:Sales:Fair
    2025-03-01 * "1"
      Income:Sales:Web  -4.00 USD
        item: "HERON"
        quantity: 1
      Assets:Cash
    2025-03-08 * "2"
      Income:Sales:Web  -4.00 USD
        item: "HERON"
        quantity: 1
      Assets:Cash
    2025-03-15 * "3"
      Income:Sales:Web  -4.00 USD
        item: "HERON"
        quantity: 1
      Assets:Cash
    2025-03-22 * "4"
      Income:Sales:Web  -4.00 USD
        item: "HERON"
        quantity: 1
      Assets:Cash
    2025-03-29 * "5"
      Income:Sales:Web  -4.00 USD
        item: "HERON"
        quantity: 1
      Assets:Cash
    2025-04-06 * "A fair"
      Income:Sales:Fair  -4.00 USD
        item: "HERON"
        quantity: 1
      Assets:Cash
    """
    books = books_of(sound_ledger)
    found = next_prints(books, Period(), "USD", TERMS)
    assert found.behind == (("Web", datetime.date(2025, 3, 29)),)
    statement = next_print_statement(books, Period(), "USD", TERMS)
    assert "end earlier on some channels: Web on 29 March 2025." in notes(statement)
    # A day earlier it is a week behind only, as any shop may be.
    earlier = next_prints(books, choose_period(last="2025-04-05"), "USD", TERMS)
    assert earlier.behind == ()


def test_more_came_back_than_was_sold(sound_ledger: Any, books_of: Any) -> None:
    """
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-03-01 * "Sold"
      Income:Sales:Web  -4.00 USD
        item: "HERON"
        quantity: 1
      Assets:Cash
    2025-03-08 * "Came back"
      Income:Sales:Web  8.00 USD
        item: "HERON"
        quantity: 2
      Assets:Cash
    """
    statement = next_print_statement(books_of(sound_ledger), Period(), "USD", TERMS)
    assert "Left out: HERON. As many came back as were sold." in notes(statement)


def test_consigned_pieces_are_not_on_hand(sound_ledger: Any, books_of: Any) -> None:
    """
    plugin "offcut.plugins"
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-01-02 * "Pieces"
      Assets:Stock:HERON  20 HERON {0.50 USD}
      Assets:Cash
    2025-02-01 custom "consignment" 6 HERON "Harbour Books"
    2025-03-01 * "Sold"
      Income:Sales:Web  -4.00 USD
        item: "HERON"
        quantity: 1
      Assets:Cash
    2025-03-10 * "Sold"
      Income:Sales:Web  -4.00 USD
        item: "HERON"
        quantity: 1
      Assets:Cash
    """
    books = books_of(sound_ledger)
    found: NextPrints = next_prints(books, Period(), "USD", TERMS)
    (heron,) = (*found.due, *found.enough)
    assert (heron.plan.on_hand, heron.elsewhere) == (D(12), D(6))
    assert (found.counted, found.booked) == (D(18), D(18))
    said = notes(next_print_statement(books, Period(), "USD", TERMS))
    assert "With shops, and not on hand here: 6 HERON." in said


def test_empty_books(no_books: Books) -> None:
    statement = next_print_statement(no_books, Period(), "", TERMS)
    assert statement.holds
    assert all(not table.lines for table in statement.tables[:3])


def test_bad_service(shop: Books) -> None:
    terms = dataclasses.replace(TERMS, service=Assumed(D(1), GIVEN))
    with pytest.raises(ValueError, match="The service level must lie between 0 and 1"):
        next_print_statement(shop, Period(), "USD", terms)
