"""What is on the shelf: the accounts' own balances, and how fast it moves."""

from __future__ import annotations

import datetime
import random
from collections import defaultdict
from decimal import Decimal, localcontext
from typing import Any

import pytest
from beancount.core import data, realization
from beancount.core.inventory import Inventory
from beancount.parser import parser
from hypothesis import given, settings
from hypothesis import strategies as st

from offcut.reports.inventory_roll import inventory_roll
from offcut.reports.period import Period, choose_period
from offcut.reports.shelf.balances import stock_balances, stock_days
from offcut.reports.shelf.on_hand import ShelfLine, ShelfReport, shelf_report
from offcut.reports.shelf.stands import Turned
from tests.plugins.test_stock_properties import (
    FIRST_DAY,
    HOMES,
    PLACE,
    PRODUCTS,
    History,
    histories,
    load,
    methods,
)

D = Decimal


def report_of(ledger: Any, period: Period, **thresholds: Any) -> ShelfReport:
    return shelf_report(ledger.entries, ledger.options, period, **thresholds)


def line_of(report: ShelfReport, item: str, place: str = "") -> ShelfLine:
    (line,) = [each for each in report.lines if (each.item, each.place) == (item, place)]
    return line


# --- outside checks ------------------------------------------------------------------


def turned(opening: str, closing: str, cost_of_goods: str) -> Turned:
    zero = D(0)
    return Turned(
        opening_units=zero,
        opening=D(opening),
        received=zero,
        sold=zero,
        used=zero,
        cost_of_goods=D(cost_of_goods),
        closing=D(closing),
        days=365,
    )


@pytest.mark.parametrize(
    ("opening", "closing", "cost", "turnover", "book_average", "book_daily", "book_days"),
    [
        ("3150", "8955", "7200", "1.19", "6053", "19.73", "306.79"),
        ("8955", "9850", "7920", "0.84", "9403", "21.70", "433.32"),
    ],
)
def test_turnover_and_days_in_inventory_of_the_textbook(
    opening: str,
    closing: str,
    cost: str,
    turnover: str,
    book_average: str,
    book_daily: str,
    book_days: str,
) -> None:
    """OpenStax, Principles of Accounting 1, section 10.5.

    The book rounds the average to a dollar and the daily cost to a cent before it
    divides, and prints 306.79 and 433.32; ours are not rounded on the way, so that they
    agree within what these two roundings can do. (The closing stock of the second year
    is worked back from the book's average and the first year's closing stock.)
    """
    mine = turned(opening, closing, cost)
    cent = D("0.01")
    assert mine.turnover is not None
    assert mine.turnover.quantize(cent) == D(turnover)
    assert mine.average_stock.quantize(D(1), "ROUND_HALF_UP") == D(book_average)
    daily = mine.cost_of_goods / mine.days
    assert daily.quantize(cent) == D(book_daily)
    assert (D(book_average) / D(book_daily)).quantize(cent) == D(book_days)
    assert mine.days_in_inventory is not None
    most = (D(book_average) + D("0.5")) / (D(book_daily) - cent / 2)
    least = (D(book_average) - D("0.5")) / (D(book_daily) + cent / 2)
    assert least <= mine.days_in_inventory <= most
    assert least <= D(book_days) <= most
    # The two ratios are each other's reciprocal over the days.
    assert abs(mine.turnover * mine.days_in_inventory - 365) < D("1E-20")


def test_textbook_shelf(sound_ledger: Any) -> None:
    """
    option "operating_currency" "USD"
    plugin "offcut.plugins"
    2024-07-01 open Assets:Cash
    2024-07-01 open Income:Sales:Shop
    2024-07-01 commodity UNIT
      stock: "product"
    2024-07-01 * "Opening stock"
      Assets:Stock:UNIT  150 UNIT {21 USD}
      Assets:Cash
    2024-07-05 * "Sale"
      Assets:Cash  4320 USD
      Income:Sales:Shop
        item: "UNIT"
        quantity: 120
    2024-07-10 * "Purchase"
      Assets:Stock:UNIT  225 UNIT {27 USD}
      Assets:Cash
    2024-07-15 * "Sale"
      Assets:Cash  7020 USD
      Income:Sales:Shop
        item: "UNIT"
        quantity: 180
    2024-07-25 * "Purchase"
      Assets:Stock:UNIT  210 UNIT {33 USD}
      Assets:Cash
    """
    # OpenStax, Principles of Accounting 1, section 10.3, first in first out.
    report = report_of(sound_ledger, choose_period(month="2024-07"))
    line = line_of(report, "UNIT")
    assert (line.units, line.value) == (D(285), D(8955))
    assert [(lot.date.day, lot.units, lot.unit_cost, lot.age) for lot in line.lots] == [
        (10, D(75), D(27), 21),
        (25, D(210), D(33), 6),
    ]
    assert line.average_cost == D(8955) / D(285)
    assert line.sell_through == D(300) / D(585)
    # 300 in 31 days.
    assert line.weeks_of_cover == D(285) * 31 / (300 * 7)
    assert (line.turned.cost_of_goods, line.turned.closing) == (D(7200), D(8955))
    assert [(total.kind, total.value) for total in report.totals] == [
        ("product", D(8955)),
        (None, D(8955)),
    ]
    # From the eleventh on there are lots before the period, and an opening balance.
    later = report_of(sound_ledger, choose_period(first="2024-07-11", last="2024-07-31"))
    line = line_of(later, "UNIT")
    assert (line.turned.opening_units, line.turned.opening) == (D(255), D(6705))
    assert (line.turned.received, line.turned.sold) == (D(210), D(180))
    assert line.turned.cost_of_goods == D(4680)
    assert line.turned.turnover == D(4680) / ((D(6705) + D(8955)) / 2)


# --- places, and what does not move ----------------------------------------------------


SHOP = """
    option "operating_currency" "USD"
    plugin "offcut.plugins"
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Income:Refunds:Web
    2025-01-01 open Expenses:Gifts
    2025-01-01 commodity HERON-STK
      name: "Heron"
      stock: "product"
    2025-01-01 commodity MOTH-STK
      name: "Moth"
      stock: "product"
    2025-01-01 commodity FERN-STK
      name: "Fern"
      stock: "product"
    2025-01-01 commodity VINYL
      stock: "material"
    2025-01-01 custom "bill-of-materials" 6 HERON-STK 1 VINYL
    2025-01-01 * "Sheets"
      Assets:Materials:VINYL  40 VINYL {0.60 USD}
      Assets:Cash
    2025-01-01 custom "print-run" 60 HERON-STK
    2025-01-01 * "Printer"
      Assets:Stock:MOTH-STK  50 MOTH-STK {0.30 USD}
      Assets:Stock:FERN-STK  10 FERN-STK {0.20 USD}
      Assets:Cash
    2025-01-10 custom "consignment" 12 HERON-STK "Harbour Books"
    2025-01-20 * "Order" ^order-1
      Assets:Cash  12.00 USD
      Income:Sales:Web
        item: "HERON-STK"
        quantity: 3
    2025-01-21 * "Sold by the shop"
      place: "Harbour Books"
      Assets:Cash  8.00 USD
      Income:Sales:Web
        item: "HERON-STK"
        quantity: 2
    2025-01-22 * "Refund" ^order-1
      Assets:Cash  -4.00 USD
      Income:Refunds:Web
        item: "HERON-STK"
        quantity: 1
    2025-01-23 * "Order"
      Assets:Cash  4.00 USD
      Income:Sales:Web
        item: "MOTH-STK"
        quantity: 1
    2025-01-31 custom "stock-out" 4 HERON-STK Expenses:Gifts
    2025-02-02 custom "stock-count" 40 HERON-STK
    2025-03-01 * "Order"
      Assets:Cash  40.00 USD
      Income:Sales:Web
        item: "FERN-STK"
        quantity: 10
    2025-05-30 * "Printer"
      Assets:Stock:FERN-STK  10 FERN-STK {0.20 USD}
      Assets:Cash
"""


def test_consigned_lots_stand_apart(load: Any) -> None:
    report = report_of(load(SHOP), choose_period(month="2025-01"))
    home = line_of(report, "HERON-STK")
    away = line_of(report, "HERON-STK", "Harbour Books")
    # 60 made, 12 sent away, 3 sold, 1 back, 4 given away.
    assert (home.units, home.value) == (D(42), D("4.20"))
    assert (home.turned.received, home.turned.sold) == (D(48), D(2))
    assert home.sell_through == D(2) / D(48)
    assert home.last_left == datetime.date(2025, 1, 31)
    assert (away.units, away.value) == (D(10), D("1.00"))
    assert (away.turned.received, away.turned.sold) == (D(12), D(2))
    # It is there since the tenth: 22 days of 31, and its lot is older than that.
    assert away.weeks_of_cover == D(10) * 22 / (2 * 7)
    assert [lot.age for lot in away.lots] == [30]
    vinyl = line_of(report, "VINYL")
    assert vinyl.sell_through is None
    assert vinyl.weeks_of_cover == D(30) * 31 / (10 * 7)
    assert vinyl.turned.turnover is None


def test_count_is_neither_sold_nor_a_sign_of_life(load: Any) -> None:
    report = report_of(load(SHOP), choose_period(month="2025-02"))
    home = line_of(report, "HERON-STK")
    assert (home.units, home.turned.sold, home.turned.received) == (D(40), D(0), D(0))
    assert home.last_left == datetime.date(2025, 1, 31)
    assert home.idle_days == 28
    assert home.weeks_of_cover is None and not home.slow


def test_slow_and_dead_are_told_by_their_thresholds(load: Any) -> None:
    ledger = load(SHOP)
    january = choose_period(month="2025-01")
    moth = line_of(report_of(ledger, january), "MOTH-STK")
    assert moth.weeks_of_cover == D(49) * 31 / 7  # 217 weeks
    assert moth.slow and not moth.dead
    assert not line_of(report_of(ledger, january, slow_weeks=D(217)), "MOTH-STK").slow
    just_under = report_of(ledger, january, slow_weeks=D("216.99"))
    assert line_of(just_under, "MOTH-STK").slow

    june = choose_period(first="2025-01-01", last="2025-06-22")
    moth = line_of(report_of(ledger, june, dead_days=150), "MOTH-STK")
    assert (moth.idle_days, moth.dead) == (150, True)
    assert not line_of(report_of(ledger, june, dead_days=151), "MOTH-STK").dead
    # Sold out in March and filled again at the end of May: it had no time to move.
    fern = line_of(report_of(ledger, june, dead_days=30), "FERN-STK")
    assert (fern.last_left, fern.idle_days) == (datetime.date(2025, 3, 1), 23)
    assert not fern.dead


def test_what_is_gone_is_listed_while_it_moved_and_never_dead(load: Any) -> None:
    ledger = load(SHOP)
    march = line_of(report_of(ledger, choose_period(month="2025-03")), "FERN-STK")
    assert (march.units, march.value, march.lots) == (D(0), D(0), ())
    assert march.average_cost is None
    assert march.sell_through == 1
    april = report_of(ledger, choose_period(month="2025-04"), dead_days=1)
    assert "FERN-STK" not in {line.item for line in april.lines}


def test_lines_are_by_kind_then_name(load: Any) -> None:
    report = report_of(load(SHOP), choose_period(month="2025-01"))
    assert [(line.item, line.place) for line in report.lines] == [
        ("FERN-STK", ""),
        ("HERON-STK", ""),
        ("HERON-STK", "Harbour Books"),
        ("MOTH-STK", ""),
        ("VINYL", ""),
    ]


def test_a_lot_whose_cost_does_not_divide_is_one_lot(sound_ledger: Any) -> None:
    """
    option "operating_currency" "USD"
    plugin "offcut.plugins"
    2025-01-01 open Assets:Cash
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-01 * "Printer"
      Assets:Stock:HERON  3 HERON {{10.00 USD}}
      Assets:Cash
    2025-01-01 * "Printer, at another price"
      Assets:Stock:HERON  3 HERON {4.00 USD}
      Assets:Cash
    """
    (line,) = report_of(sound_ledger, Period()).lines
    assert [(lot.units, lot.value) for lot in line.lots] == [(D(3), D(10)), (D(3), D(12))]


def test_a_bill_for_goods_that_have_all_left_is_a_cost_of_them(sound_ledger: Any) -> None:
    """
    option "operating_currency" "USD"
    plugin "offcut.plugins"
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Expenses:Freight
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-01 * "Printer" ^purchase-1
      Assets:Stock:HERON  3 HERON {4.00 USD}
      Assets:Cash
    2025-01-02 * "Order"
      Assets:Cash  30.00 USD
      Income:Sales:Web
        item: "HERON"
        quantity: 3
    2025-01-09 * "Carrier" ^purchase-1
      Expenses:Freight  5.00 USD
        spread: "value"
      Assets:Cash
    """
    (line,) = report_of(sound_ledger, Period()).lines
    assert (line.turned.sold, line.turned.cost_of_goods) == (D(3), D(17))
    assert (line.units, line.value) == (D(0), D(0))
    # Also where nothing of it was there on any of the days.
    (line,) = report_of(sound_ledger, choose_period(first="2025-01-05")).lines
    assert (line.turned.sold, line.turned.cost_of_goods) == (D(0), D(5))


def test_an_empty_ledger_has_no_shelf() -> None:
    entries, _, options = parser.parse_string("")
    report = shelf_report(entries, options, Period())
    assert (report.lines, report.totals) == ((), ())


def test_parcels_use_materials_and_stamps_and_counts_do_not(sound_ledger: Any) -> None:
    """
    option "operating_currency" "USD"
    plugin "offcut.plugins"
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-01-01 commodity MAILER
      stock: "material"
    2025-01-01 commodity STAMP
      stock: "stamp"
    2025-01-01 custom "packing" "letter" 1 MAILER 2 STAMP
    2025-01-01 * "Post office"
      Assets:Materials:MAILER  20 MAILER {0.10 USD}
      Assets:Stamps:STAMP  20 STAMP {0.70 USD}
      Assets:Cash
    2025-01-05 * "Order"
      packing: "letter"
      Assets:Cash  4.00 USD
      Income:Sales:Web
    2025-01-07 custom "stock-count" 15 STAMP
    """
    report = report_of(sound_ledger, choose_period(first="2025-01-01", last="2025-01-07"))
    mailer, stamp = line_of(report, "MAILER"), line_of(report, "STAMP")
    assert (mailer.turned.used, mailer.weeks_of_cover) == (D(1), D(19))
    assert (stamp.turned.used, stamp.units) == (D(2), D(15))
    assert stamp.last_left == datetime.date(2025, 1, 5)


def test_what_comes_back_from_a_shop_has_not_moved_there(load: Any) -> None:
    back = '    2025-02-10 custom "consignment-return" 4 HERON-STK "Harbour Books"\n'
    report = report_of(load(SHOP + back), choose_period(month="2025-02"))
    away = line_of(report, "HERON-STK", "Harbour Books")
    assert (away.units, away.last_left) == (D(6), datetime.date(2025, 1, 21))
    assert away.turned.received == D(-4)
    # On the shelf at home, what went to the shop was the shop's wish for it.
    early = report_of(load(SHOP), choose_period(first="2025-01-01", last="2025-01-15"))
    assert line_of(early, "HERON-STK").last_left == datetime.date(2025, 1, 10)


# --- of every ledger -------------------------------------------------------------------


def balances(entries: data.Directives, last: datetime.date) -> dict[tuple[str, str], Any]:
    """Return units and cost of each stocked item by item and place, as beancount has it."""
    until = [entry for entry in entries if entry.date <= last]
    found: dict[tuple[str, str], list[Decimal]] = defaultdict(lambda: [D(0), D(0)])
    root = realization.realize(until)
    for account in realization.iter_children(root):
        for position in account.balance:
            if position.cost:
                place = PLACE if ":Consignment:" in account.account else ""
                sums = found[position.units.currency, place]
                with localcontext(prec=80):
                    sums[0] += position.units.number
                    sums[1] += position.units.number * position.cost.number
    return {key: tuple(sums) for key, sums in found.items() if any(sums)}


days = st.integers(0, 30).map(lambda days: FIRST_DAY + datetime.timedelta(days=days))


@settings(max_examples=60, deadline=None)
@given(histories, methods, days, st.integers(0, 40))
def test_stock_is_the_balance_of_its_accounts(
    history: History, method: str, last: datetime.date, length: int
) -> None:
    ledger = load(history, method)
    first = last - datetime.timedelta(days=length)
    report = report_of(ledger, Period(first, last))
    mine = {(line.item, line.place): (line.units, line.value) for line in report.lines}
    expected = balances(ledger.entries, last)
    assert {key: stock for key, stock in mine.items() if any(stock)} == expected
    opening = {
        (line.item, line.place): (line.turned.opening_units, line.turned.opening)
        for line in report.lines
    }
    before = balances(ledger.entries, first - datetime.timedelta(days=1))
    assert {key: stock for key, stock in opening.items() if any(stock)}.items() <= (
        before.items()
    )
    for line in report.lines:
        with localcontext(prec=80):
            assert sum(lot.units for lot in line.lots) == line.units
            assert sum(lot.value for lot in line.lots) == line.value
        assert (line.units == 0) == (not line.lots)
        assert all(lot.age >= 0 and lot.units > 0 for lot in line.lots)
    with localcontext(prec=80):
        total = sum((value for _, value in expected.values()), D(0))
    assert report.totals[-1:] == () or report.totals[-1].value == total


@settings(max_examples=60, deadline=None)
@given(histories, methods, days, st.integers(0, 40))
def test_movements_are_those_of_the_inventory_roll(
    history: History, method: str, last: datetime.date, length: int
) -> None:
    """The roll takes all places together, and tells movements apart by itself."""
    ledger = load(history, method)
    period = Period(last - datetime.timedelta(days=length), last)
    report = report_of(ledger, period)
    roll = inventory_roll(ledger.entries, ledger.options, period, "USD")
    for item in HOMES:
        lines = [line for line in report.lines if line.item == item]
        rolled = roll.items.get(item)
        if rolled is None:
            assert not any(line.units or line.turned.sold for line in lines)
            continue
        with localcontext(prec=80):
            received = sum(line.turned.received for line in lines)
            sold = sum(line.turned.sold for line in lines)
            used = sum(line.turned.used for line in lines)
            cost = sum(line.turned.cost_of_goods for line in lines)
        assert received == rolled.bought.units + rolled.made.units
        assert sold == -rolled.sold.units
        assert cost == -rolled.sold.value
        if item in PRODUCTS:  # counts of stamps are postage to the roll
            assert used == -rolled.used.units - rolled.packed.units


@settings(max_examples=30, deadline=None)
@given(histories, methods, st.randoms(use_true_random=False))
def test_order_of_the_entries_does_not_matter(
    history: History, method: str, order: random.Random
) -> None:
    ledger = load(history, method)
    shuffled = order.sample(ledger.entries, len(ledger.entries))
    assert shelf_report(shuffled, ledger.options, Period()) == report_of(ledger, Period())


def test_inventory_of_beancount_agrees_on_the_shop(load: Any) -> None:
    """beancount's own reduction of an account to its cost, at three dates."""
    ledger = load(SHOP)
    for day in (datetime.date(2025, 1, 15), datetime.date(2025, 1, 31), FIRST_DAY):
        report = report_of(ledger, Period(datetime.date(2025, 1, 1), day))
        inventory = Inventory()
        for entry in ledger.entries:
            if isinstance(entry, data.Transaction) and entry.date <= day:
                for posting in entry.postings:
                    if posting.account == "Assets:Stock:HERON-STK":
                        inventory.add_position(posting)
        line = line_of(report, "HERON-STK")
        assert line.value == sum(p.units.number * p.cost.number for p in inventory)
        assert line.units == sum(p.units.number for p in inventory)


def test_a_ledger_with_errors_has_a_balance_of_its_stock_all_the_same(
    ledger: Any,
) -> None:
    """
    plugin "offcut.plugins"
    2025-01-01 open Assets:Cash
    2025-01-01 commodity HERON
      stock: "product"
    2025-01-01 * "Printer"
      Assets:Stock:HERON  10 HERON {0.50 USD}
      Assets:Cash
    2025-01-02 * "Taken out by hand, which is refused"
      Assets:Stock:HERON  -3 HERON {0.70 USD}
      Assets:Cash
    """
    assert ledger.errors
    last = datetime.date(2025, 1, 31)
    days = stock_days(ledger.entries, ledger.options, {"HERON"})
    found = stock_balances(days, last)
    report = report_of(ledger, Period(None, last))
    assert found["USD"] == sum(line.value for line in report.lines)
