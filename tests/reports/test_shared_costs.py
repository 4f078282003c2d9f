"""Costs of an event, or of a channel's month, are borne by what was sold there."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from offcut.reports.allocation import Rule
from offcut.reports.books import Books

D = Decimal


def rows(ledger: Any, *names: str, rule: Rule = "value") -> list[tuple[Any, ...]]:
    """Return the rows with a selling cost, by some of their columns."""
    table = Books(ledger.entries, ledger.options).allocated(rule)
    table = table[[bool(amount) for amount in table["selling"]]]
    return list(zip(*(table[name] for name in names), strict=True))


def test_an_event_is_borne_by_all_that_was_sold_there(sound_ledger: Any) -> None:
    """
    2025-01-01 commodity HERON-STK
      stock: "product"
      design: "Heron"
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Fair
    2025-01-01 open Income:Refunds:Fair
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Expenses:Events:TableFee
    2025-03-20 * "Table" #event-harbour-fair
      Expenses:Events:TableFee  85.00 USD
      Assets:Cash
    2025-05-24 * "Saturday" #event-harbour-fair
      Income:Sales:Fair  -52.00 USD
        item: "HERON-STK"
        quantity: 13
      Income:Sales:Fair  -18.00 USD
        item: "MOTH-PRT"
        quantity: 1
      Assets:Cash
    2025-05-25 * "Sunday" #event-harbour-fair
      Income:Sales:Fair  -32.00 USD
        item: "HERON-STK"
        quantity: 8
      Assets:Cash
    2025-05-26 * "One came back" #event-harbour-fair
      Income:Refunds:Fair  4.00 USD
        item: "HERON-STK"
        quantity: 1
      Assets:Cash
    2025-05-26 * "Not there" ^order-1
      Income:Sales:Web  -400.00 USD
        item: "MOTH-PRT"
        quantity: 20
      Assets:Cash
    """
    # 80.00 and 18.00 of 98.00; 20 and 1 of 21 pieces. On the day that the table was paid.
    names = ("date", "event", "channel", "product", "design", "account", "selling")
    assert [tuple(map(str, row)) for row in rows(sound_ledger, *names)] == [
        (
            *("2025-03-20", "harbour-fair", "Fair", "HERON-STK", "Heron"),
            *("Expenses:Events:TableFee", "-69.39"),
        ),
        (
            *("2025-03-20", "harbour-fair", "Fair", "MOTH-PRT", "MOTH-PRT"),
            *("Expenses:Events:TableFee", "-15.61"),
        ),
    ]
    by_units = rows(sound_ledger, "selling", rule="units")
    assert by_units == [(D("-80.95"),), (D("-4.05"),)]


def test_a_channels_cost_is_borne_by_the_same_month(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Market
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Expenses:Marketing:Listing
    2025-03-31 * "Sold" ^order-1
      Income:Sales:Market  -10.00 USD
        item: "HERON"
        quantity: 2
      Assets:Cash
    2025-03-31 * "Sold elsewhere" ^order-2
      Income:Sales:Web  -10.00 USD
        item: "TIDE"
        quantity: 2
      Assets:Cash
    2025-04-01 * "Sold" ^order-3
      Income:Sales:Market  -30.00 USD
        item: "MOTH"
        quantity: 2
      Assets:Cash
    2025-04-30 * "Charge of April"
      channel: "Market"
      Expenses:Marketing:Listing  9.00 USD
      Assets:Cash
    2025-05-01 * "Charge of May, which sold nothing"
      channel: "Market"
      Expenses:Marketing:Listing  9.00 USD
      Assets:Cash
    2025-05-02 * "Of no channel"
      Expenses:Marketing:Listing  5.00 USD
      Assets:Cash
    """
    assert rows(sound_ledger, "channel", "product", "account", "selling") == [
        ("Market", "MOTH", "Expenses:Marketing:Listing", D("-9.00")),
        ("Market", "", "Expenses:Marketing:Listing", D("-9.00")),
        ("", "", "Expenses:Marketing:Listing", D("-5.00")),
    ]


def test_what_is_of_a_product_or_an_order_is_not_shared(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Expenses:Marketing:Advertising
    2025-03-01 * "Sold" ^order-1
      Income:Sales:Web  -10.00 USD
        item: "HERON"
        quantity: 2
      Assets:Cash
    2025-03-01 * "Sold" ^order-2
      Income:Sales:Web  -10.00 USD
        item: "MOTH"
        quantity: 2
      Assets:Cash
    2025-03-02 * "About one product"
      channel: "Web"
      Expenses:Marketing:Advertising  4.00 USD
        item: "MOTH"
      Assets:Cash
    2025-03-03 * "About one order" ^order-1
      channel: "Web"
      Expenses:Marketing:Advertising  1.00 USD
      Assets:Cash
    2025-03-04 * "About an order that is not there" ^order-9
      channel: "Web"
      Expenses:Marketing:Advertising  2.00 USD
      Assets:Cash
    """
    assert rows(sound_ledger, "order", "product", "selling") == [
        ("", "MOTH", D("-4.00")),
        ("1", "HERON", D("-1.00")),
        ("9", "", D("-2.00")),
    ]


def test_an_event_before_anything_was_sold_there(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Fair
    2025-01-01 open Expenses:Events:TableFee
    2025-03-01 * "Sold at another fair" #event-lantern-walk
      Income:Sales:Fair  -10.00 USD
        item: "HERON"
        quantity: 2
      Assets:Cash
    2025-03-02 * "Table of the autumn" #event-harbour-fair
      channel: "Fair"
      Expenses:Events:TableFee  85.00 USD
      Assets:Cash
    """
    assert rows(sound_ledger, "event", "product", "selling") == [
        ("harbour-fair", "", D("-85.00"))
    ]


def test_sales_of_unknown_products_bear_their_part(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Fair
    2025-01-01 open Income:Suspense:Fair
    2025-01-01 open Expenses:Events:TableFee
    2025-03-01 * "Sold" #event-harbour-fair
      Income:Sales:Fair  -10.00 USD
        item: "HERON"
        quantity: 2
      Income:Suspense:Fair  -30.00 USD
        item-text: "Bundle"
      Assets:Cash
    2025-03-02 * "Table" #event-harbour-fair
      Expenses:Events:TableFee  40.00 USD
      Assets:Cash
    """
    assert rows(sound_ledger, "product", "account", "selling") == [
        ("", "Income:Suspense:Fair", D("-30.00")),
        ("HERON", "Expenses:Events:TableFee", D("-10.00")),
    ]


def test_joint_cost_of_a_textbook(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Site
    2025-01-01 open Expenses:Events:Site
    2025-03-01 * "Lots of land" #event-site
      Income:Sales:Site  -2000000 USD
        item: "LOT-A"
        quantity: 20
      Income:Sales:Site  -3000000 USD
        item: "LOT-B"
        quantity: 40
      Income:Sales:Site  -5000000 USD
        item: "LOT-C"
        quantity: 100
      Assets:Cash
    2025-03-02 * "The land" #event-site
      Expenses:Events:Site  2900000 USD
      Assets:Cash
    """
    # Relative sales value, an exercise on land bought as a whole: 2,900,000 for 20 lots at
    # 100,000, 40 at 75,000 and 100 at 50,000 (wizedu.com, question 798747).
    assert rows(sound_ledger, "product", "selling") == [
        ("LOT-A", D(-580_000)),
        ("LOT-B", D(-870_000)),
        ("LOT-C", D(-1_450_000)),
    ]


def test_carriage_over_three_lines(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Site
    2025-01-01 open Expenses:Events:Site
    2025-03-01 * "Goods" #event-site
      Income:Sales:Site  -1000 USD
        item: "LINE-A"
        quantity: 20
      Income:Sales:Site  -2250 USD
        item: "LINE-B"
        quantity: 30
      Income:Sales:Site  -4000 USD
        item: "LINE-C"
        quantity: 40
      Assets:Cash
    2025-03-02 * "Carriage" #event-site
      Expenses:Events:Site  750 USD
      Assets:Cash
    """
    # 750 over 7,250 at 0.103448 each, from a professional body's student forum
    # (forums.aat.org.uk, discussion 444273): 103.448, 232.759 and 413.793.
    assert rows(sound_ledger, "selling") == [
        (D("-103.45"),),
        (D("-232.76"),),
        (D("-413.79"),),
    ]


def test_without_such_costs_the_table_stays_as_it_is(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Fair
    2025-03-01 * "Sold" #event-harbour-fair
      Income:Sales:Fair  -10.00 USD
        item: "HERON"
        quantity: 2
      Assets:Cash
    """
    books = Books(sound_ledger.entries, sound_ledger.options)
    assert books.allocated("units") is books.table_by("units")
    assert books.table_by("value") is books.table
