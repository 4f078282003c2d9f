"""Profit per design, product, channel, event and order, worked out by hand."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from offcut.reports.allocation import Rule
from offcut.reports.period import Period, choose_period
from offcut.reports.profit import (
    ALL_GROUPINGS,
    GROUPINGS,
    ProfitReports,
    profit_reports,
)
from offcut.reports.profit_figures import Figures
from offcut.reports.profit_lines import Grouping

D = Decimal


def reports_of(
    ledger: Any,
    currency: str | None = None,
    groupings: Sequence[Grouping] = GROUPINGS,
    rule: Rule = "value",
    **period: str,
) -> ProfitReports:
    days = choose_period(**period)
    return profit_reports(ledger.entries, ledger.options, days, currency, groupings, rule)


def contributions(lines: Any) -> list[tuple[str, Decimal]]:
    return [(line.name, line.figures.contribution) for line in lines]


def test_designs_with_their_products(sound_ledger: Any) -> None:
    """
    option "title" "Small shop"
    option "operating_currency" "USD"
    2025-01-01 commodity HERON-STK
      name: "Heron sticker"
      stock: "product"
      design: "Heron"
    2025-01-01 commodity HERON-PRT
      name: "Heron print"
      stock: "product"
      design: "Heron"
    2025-01-01 commodity MOTH-STK
      name: "Moth sticker"
      stock: "product"
      design: "Moth"
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Income:Sales:Fair
    2025-01-01 open Income:Shipping:Web
    2025-01-01 open Income:Refunds:Web
    2025-01-01 open Expenses:Fees:Card
    2025-01-01 open Expenses:Postage
    2025-01-01 open Expenses:Packaging
    2025-01-01 open Expenses:COGS
    2025-01-01 open Expenses:Spoilage:HERON-PRT
    2025-01-01 open Expenses:Events:TableFee
    2025-01-01 open Expenses:Software
    2025-03-01 * "Web order" ^order-1
      Income:Sales:Web  -8.00 USD
        item: "HERON-STK"
        quantity: 2
      Income:Sales:Web  -24.00 USD
        item: "HERON-PRT"
        quantity: 1
      Income:Shipping:Web  -4.00 USD
      Expenses:Fees:Card  1.20 USD
      Expenses:Postage  2.00 USD
      Expenses:Packaging  0.40 USD
      Expenses:COGS  0.82 USD
        item: "HERON-STK"
      Expenses:COGS  5.00 USD
        item: "HERON-PRT"
      Assets:Cash
    2025-03-08 * "Fair" #event-harbour-fair
      Income:Sales:Fair  -20.00 USD
        item: "MOTH-STK"
        quantity: 5
      Expenses:COGS  2.00 USD
        item: "MOTH-STK"
      Assets:Cash
    2025-03-08 * "Table" #event-harbour-fair
      Expenses:Events:TableFee  35.00 USD
      Assets:Cash
    2025-03-09 * "Misprint"
      Expenses:Spoilage:HERON-PRT  30.00 USD
      Assets:Cash
    2025-03-10 * "Subscription"
      Expenses:Software  9.00 USD
      Assets:Cash
    """
    reports = reports_of(sound_ledger)
    assert (reports.title, reports.currency, reports.elsewhere) == ("Small shop", "USD", {})

    # The order's lines are a quarter and three quarters of its value.
    sticker = Figures(
        units=D(2),
        gross=D("8.00"),
        shipping=D("1.00"),
        fees=D("-0.30"),
        postage=D("-0.50"),
        packaging=D("-0.10"),
        goods=D("-0.82"),
    )
    print_ = Figures(
        units=D(1),
        gross=D("24.00"),
        shipping=D("3.00"),
        fees=D("-0.90"),
        postage=D("-1.50"),
        packaging=D("-0.30"),
        goods=D("-5.00"),
        spoilage=D("-30.00"),
    )
    assert (sticker.contribution, print_.contribution) == (D("7.28"), D("-10.70"))
    assert (print_.delivery, print_.carriage) == (D("-1.80"), D("1.20"))
    assert (print_.rest, print_.charges) == (D("-30.00"), D("-30.90"))
    designs = reports.reports["design"]
    heron, moth = designs.lines
    assert (moth.name, moth.code, moth.parts) == ("Moth", "MOTH-STK", ())
    # It alone was sold at the fair, and bears the table.
    assert moth.figures == Figures(
        units=D(5), gross=D("20.00"), goods=D("-2.00"), selling=D("-35.00")
    )
    assert (heron.name, heron.code) == ("Heron", "")
    assert [(part.name, part.code, part.figures) for part in heron.parts] == [
        ("Heron sticker", "HERON-STK", sticker),
        ("Heron print", "HERON-PRT", print_),
    ]
    assert heron.figures.contribution == D("-3.42")
    assert contributions(designs.unallocated) == [("Expenses:Software", D("-9.00"))]
    assert designs.grouped.contribution == D("-20.42")
    assert designs.unallocated_total.contribution == D("-9.00")
    # 52.00 sold, 4.00 shipping, less 1.20, 2.40, 7.82 and 74.00.
    assert designs.total == Figures(
        units=D(8),
        gross=D("52.00"),
        shipping=D("4.00"),
        fees=D("-1.20"),
        postage=D("-2.00"),
        packaging=D("-0.40"),
        goods=D("-7.82"),
        spoilage=D("-30.00"),
        selling=D("-35.00"),
        other=D("-9.00"),
    )
    assert designs.total.contribution == D("-29.42")
    assert designs.tie.holds

    channels = reports.reports["channel"]
    assert contributions(channels.lines) == [("Web", D("26.58")), ("Fair", D("-17.00"))]
    assert all(line.parts == () and line.code == "" for line in channels.lines)
    assert contributions(channels.unallocated) == [
        ("Expenses:Software", D("-9.00")),
        ("Expenses:Spoilage:HERON-PRT", D("-30.00")),
    ]
    assert channels.total == designs.total

    every = reports_of(sound_ledger, groupings=ALL_GROUPINGS).reports
    assert all(report.total == designs.total for report in every.values())
    assert contributions(every["product"].lines) == [
        ("Heron sticker", D("7.28")),
        ("Heron print", D("-10.70")),
        ("Moth sticker", D("-17.00")),
    ]
    assert contributions(every["event"].lines) == [("harbour-fair", D("-17.00"))]
    assert contributions(every["event"].unallocated) == [
        ("Web, of no event", D("26.58")),
        ("Expenses:Software", D("-9.00")),
        ("Expenses:Spoilage:HERON-PRT", D("-30.00")),
    ]
    (order,) = every["order"].lines
    assert (order.name, order.code, order.channel) == ("1", "^order-1", "Web")
    assert (order.date, order.figures.contribution) == (date(2025, 3, 1), D("26.58"))
    assert contributions(every["order"].unallocated) == [
        ("Expenses:Software", D("-9.00")),
        ("Fair, of no order", D("-17.00")),
        ("Expenses:Spoilage:HERON-PRT", D("-30.00")),
    ]


def test_margin_is_a_share_of_sales_and_shipping() -> None:
    assert Figures(gross=D(8), shipping=D(2), other=D(-5)).margin == D("0.5")
    assert Figures(refunds=D(-8)).margin is None
    assert Figures(other=D(-8)).margin is None


@pytest.mark.parametrize(
    ("cost", "retail", "margin"),
    [
        # Examples of markup of OpenStax, Contemporary Mathematics, section 6.2; the margins
        # follow from it: margin = markup / (1 + markup).
        ("90", "103.50", "0.1304"),
        ("5.20", "9.90", "0.4747"),
        ("480", "840", "0.4286"),
    ],
)
def test_margin_of_textbook_markups(cost: str, retail: str, margin: str) -> None:
    found = Figures(gross=D(retail), goods=-D(cost)).margin
    assert found is not None
    assert round(found, 4) == D(margin)


def test_a_piece_and_an_hour() -> None:
    made = Figures(units=D(4), gross=D(20), goods=D(-5), minutes=D(90))
    assert (made.each, made.hours, made.hourly) == (D("3.75"), D("1.5"), D("10"))
    untimed = made._replace(untimed=D(1))
    assert (untimed.hours, untimed.hourly) == (None, None)
    nothing = Figures(other=D(-5))
    assert (nothing.each, nothing.hours, nothing.hourly) == (None, None, None)
    given_back = Figures(units=D(-1), refunds=D(-4), minutes=D(-30))
    assert (given_back.each, given_back.hours, given_back.hourly) == (None, D("-0.5"), None)


def test_lines_of_equal_contribution_stand_by_name(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-03-01 * "Order"
      Income:Sales:Web  -1.00 USD
        item: "MOTH"
        quantity: 1
      Income:Sales:Web  -1.00 USD
        item: "FERN"
        quantity: 1
      Income:Sales:Web  -2.00 USD
        item: "TIDE"
        quantity: 1
      Assets:Cash
    """
    lines = reports_of(sound_ledger).reports["design"].lines
    assert [line.name for line in lines] == ["TIDE", "FERN", "MOTH"]


def test_label_of_the_next_month_counts_there(sound_ledger: Any) -> None:
    """
    option "operating_currency" "USD"
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Expenses:Postage
    2025-03-31 * "Order" ^order-1
      Income:Sales:Web  -4.00 USD
        item: "HERON"
        quantity: 1
      Assets:Cash
    2025-04-01 * "Label" ^order-1
      Expenses:Postage  1.00 USD
      Assets:Cash
    """
    for period, expected in (
        ({"month": "2025-03"}, D("4.00")),
        ({"month": "2025-04"}, D("-1.00")),
        ({"year": "2025"}, D("3.00")),
    ):
        for report in reports_of(sound_ledger, **period).reports.values():
            assert report.unallocated == ()
            assert report.lines[0].figures.contribution == expected
            assert report.tie.holds


def test_months_add_up_to_the_year(sound_ledger: Any) -> None:
    """
    option "operating_currency" "USD"
    2024-01-01 open Assets:Cash
    2024-01-01 open Income:Sales:Web
    2024-12-31 * "Order"
      Income:Sales:Web  -4.00 USD
        item: "HERON"
        quantity: 1
      Assets:Cash
    2025-02-28 * "Order"
      Income:Sales:Web  -8.00 USD
        item: "HERON"
        quantity: 2
      Assets:Cash
    2025-12-31 * "Order"
      Income:Sales:Web  -16.00 USD
        item: "HERON"
        quantity: 4
      Assets:Cash
    """
    months = [
        reports_of(sound_ledger, month=f"2025-{month:02}").reports["design"].total
        for month in range(1, 13)
    ]
    year = reports_of(sound_ledger, year="2025").reports["design"].total
    assert year == Figures(units=D(6), gross=D(24))
    assert sum(month.contribution for month in months) == year.contribution
    assert sum(month.units for month in months) == year.units


def test_only_refunds(sound_ledger: Any) -> None:
    """
    option "operating_currency" "USD"
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Refunds:Web
    2025-03-01 * "Refund of a sale of long ago"
      Income:Refunds:Web  4.00 USD
        item: "HERON"
        quantity: 1
      Assets:Cash
    2025-03-02 * "Refund of nobody knows what"
      Income:Refunds:Web  1.00 USD
      Assets:Cash
    """
    report = reports_of(sound_ledger).reports["design"]
    (line,) = report.lines
    assert line.figures == Figures(units=D(-1), refunds=D(-4))
    assert line.figures.sales == line.figures.contribution == D(-4)
    assert line.figures.margin is None
    assert contributions(report.unallocated) == [("Income:Refunds:Web", D("-1.00"))]
    assert report.tie.holds


def test_empty_ledger(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Cash
    """
    reports = reports_of(sound_ledger)
    assert reports.currency == ""
    for report in reports.reports.values():
        assert (report.lines, report.unallocated, report.total) == ((), (), Figures())
        assert report.tie.holds


def test_currency_without_an_operating_one_is_the_most_used(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-03-01 * "Order"
      Income:Sales:Web  -4.00 EUR
        item: "HERON"
        quantity: 1
      Assets:Cash
    2025-03-02 * "Order"
      Income:Sales:Web  -4.00 EUR
        item: "HERON"
        quantity: 1
      Assets:Cash
    2025-03-03 * "Order"
      Income:Sales:Web  -900.00 USD
        item: "HERON"
        quantity: 1
      Assets:Cash
    """
    reports = reports_of(sound_ledger)
    assert reports.currency == "EUR"
    assert reports.reports["design"].total.sales == D("8.00")
    assert reports.elsewhere == {"USD": D("900.00")}
    assert reports_of(sound_ledger, "USD").elsewhere == {"EUR": D("8.00")}
    # Also where the other one alone moved on these days.
    assert reports_of(sound_ledger, first="2025-03-03").currency == "EUR"


def test_orders_of_no_known_channel(sound_ledger: Any) -> None:
    """
    option "operating_currency" "USD"
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales
    2025-03-01 * "Order"
      Income:Sales  -4.00 USD
        item: "HERON"
        quantity: 1
      Assets:Cash
    """
    report = reports_of(sound_ledger).reports["channel"]
    assert report.lines == ()
    assert contributions(report.unallocated) == [("Orders of no known channel", D("4.00"))]


def test_product_that_is_named_like_a_design(sound_ledger: Any) -> None:
    """
    option "operating_currency" "USD"
    2025-01-01 commodity TIDE
      stock: "product"
      design: "MOTH"
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-03-01 * "Order"
      Income:Sales:Web  -4.00 USD
        item: "MOTH"
        quantity: 1
      Income:Sales:Web  -5.00 USD
        item: "TIDE"
        quantity: 1
      Assets:Cash
    """
    (line,) = (
        profit_reports(sound_ledger.entries, sound_ledger.options, Period())
        .reports["design"]
        .lines
    )
    assert (line.name, line.figures.sales) == ("MOTH", D("9.00"))
    assert [part.code for part in line.parts] == ["TIDE", "MOTH"]
