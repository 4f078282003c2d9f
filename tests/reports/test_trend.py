"""Month by month: each row in its month, and the same days a year before."""

from __future__ import annotations

import calendar
import datetime
import random
from collections import defaultdict
from decimal import Decimal, localcontext
from typing import Any

import pytest
from beancount.parser import parser
from hypothesis import given, settings
from hypothesis import strategies as st

from offcut.reports.months import months_of
from offcut.reports.order_table import order_table
from offcut.reports.period import Period, choose_period
from offcut.reports.profit import in_period, profit_reports
from offcut.reports.trend import (
    GROUPINGS,
    NONE,
    Change,
    Compared,
    Earned,
    TrendLine,
    TrendReport,
    trend_reports,
)
from tests.reports.test_random_ledgers import ledgers, periods
from tests.reports.test_random_ledgers import load as load_random

D = Decimal
LATER = datetime.date(2030, 1, 1)

SHOP = """
    option "operating_currency" "USD"
    plugin "offcut.plugins.catalogue"
    2024-01-01 open Assets:Cash
    2024-01-01 open Income:Sales:Web
    2024-01-01 open Income:Sales:Fair
    2024-01-01 open Expenses:Fees:Card
    2024-01-01 open Expenses:Software
    2024-01-01 commodity HERON-STK
      stock: "product"
      design: "Heron"
    2024-01-01 commodity MOTH-STK
      stock: "product"
      design: "Moth"
    2024-03-05 * "Order" ^order-1
      Assets:Cash  7.40 USD
      Expenses:Fees:Card  0.60 USD
      Income:Sales:Web  -8.00 USD
        item: "HERON-STK"
        quantity: 2
    2024-03-25 * "Order" ^order-2
      Assets:Cash  4.00 USD
      Income:Sales:Web  -4.00 USD
        item: "HERON-STK"
        quantity: 1
    2025-02-28 * "Fair"
      Assets:Cash  5.00 USD
      Income:Sales:Fair  -5.00 USD
        item: "MOTH-STK"
        quantity: 1
    2025-03-02 * "Order" ^order-3
      Assets:Cash  12.00 USD
      Income:Sales:Web  -12.00 USD
        item: "HERON-STK"
        quantity: 3
    2025-03-09 * "Subscription"
      Expenses:Software  9.00 USD
      Assets:Cash
"""


def report_of(
    ledger: Any, grouping: str, period: Period, today: datetime.date = LATER
) -> TrendReport:
    return trend_reports(ledger.entries, ledger.options, period, today)[grouping]  # type: ignore[index]


def line_of(report: TrendReport, name: str) -> TrendLine:
    (line,) = [each for each in report.lines if each.name == name]
    return line


def test_months_of_a_design_beside_the_year_before(load: Any) -> None:
    period = choose_period(first="2025-02-01", last="2025-03-31")
    report = report_of(load(SHOP), "design", period)
    assert [month.label for month in report.months] == ["2025-02", "2025-03"]
    assert not any(month.partial for month in report.months)
    heron = line_of(report, "Heron")
    assert heron.months[0].earned == Earned()
    march = heron.months[1]
    assert march.earned == Earned(D("12.00"), D("12.00"), D(3))
    assert march.last_year == Earned(D("12.00"), D("11.40"), D(3))
    assert march.sales == Change(D(0), D(0))
    assert march.contribution == Change(D("0.60"), D("0.60") / D("11.40"))
    moth = line_of(report, "Moth")
    assert moth.months[0].sales == Change(D("5.00"), None)
    assert report.lines[-1].name == NONE
    assert report.lines[-1].months[1].earned == Earned(D(0), D("-9.00"), D(0))
    assert report.total.months[1].earned == Earned(D("12.00"), D("3.00"), D(3))
    assert report.total.total.earned.contribution == D("8.00")
    assert report.tie.holds and report.tie.ledger == D("8.00")


def test_channels_and_all(load: Any) -> None:
    period = choose_period(year="2025")
    channels = report_of(load(SHOP), "channel", period)
    assert [line.name for line in channels.lines] == ["Web", "Fair", NONE]
    everything = report_of(load(SHOP), "all", period)
    assert [line.name for line in everything.lines] == ["All"]
    assert everything.total.months == everything.lines[0].months == channels.total.months


def test_what_belongs_to_no_design_is_last_whatever_it_earns(load: Any) -> None:
    interest = (
        "    2025-01-01 open Income:Interest\n"
        '    2025-03-31 * "Interest"\n'
        "      Assets:Cash  500.00 USD\n"
        "      Income:Interest\n"
    )
    report = report_of(load(SHOP + interest), "design", choose_period(year="2025"))
    assert [line.name for line in report.lines] == ["Heron", "Moth", NONE]
    assert report.lines[-1].total.earned.contribution == D("491.00")


def test_a_month_in_progress_is_marked_and_held_against_the_same_days(load: Any) -> None:
    period = choose_period(year="2025")
    report = report_of(load(SHOP), "design", period, datetime.date(2025, 3, 10))
    partial = [month.label for month in report.months if month.partial]
    assert partial == [f"2025-{month:02}" for month in range(3, 13)]
    march = line_of(report, "Heron").months[2]
    # The order of 25 March 2024 is not in it: this March has not got there yet.
    assert march.last_year == Earned(D("8.00"), D("7.40"), D(2))
    assert [month.compared for month in report.months[3:]] == [None] * 9
    whole = report_of(load(SHOP), "design", period, datetime.date(2025, 3, 31))
    assert not whole.months[2].partial
    assert line_of(whole, "Heron").months[2].last_year.units == 3


def test_a_period_that_cuts_a_month_compares_the_cut_days(load: Any) -> None:
    period = choose_period(first="2025-03-02", last="2025-03-24")
    report = report_of(load(SHOP), "design", period)
    (month,) = report.months
    assert month.partial
    assert line_of(report, "Heron").months[0].last_year.units == 2


def test_a_loss_that_shrinks_is_a_change_above_zero() -> None:
    before, now = D("-10"), D("-4")
    compared = Compared(Earned(D(0), now, D(0)), Earned(D(0), before, D(0)))
    assert compared.contribution == Change(D(6), D("0.6"))
    assert compared.sales == Change(D(0), None)


@pytest.mark.parametrize(
    ("first", "last", "compared"),
    [
        ("2024-02-01", "2024-02-29", ("2023-02-01", "2023-02-28")),
        ("2025-02-01", "2025-02-28", ("2024-02-01", "2024-02-29")),
        ("2024-02-29", "2024-02-29", ("2023-02-28", "2023-02-28")),
        ("2024-02-01", "2024-02-28", ("2023-02-01", "2023-02-28")),
        ("2025-02-10", "2025-02-27", ("2024-02-10", "2024-02-27")),
    ],
)
def test_february_and_its_leap_day(
    first: str, last: str, compared: tuple[str, str]
) -> None:
    (month,) = months_of(choose_period(first=first, last=last), LATER)
    assert month.compared == choose_period(first=compared[0], last=compared[1])


def test_first_and_last_months_of_the_calendar() -> None:
    (first,) = months_of(
        Period(datetime.date.min, datetime.date(1, 1, 31)), datetime.date.max
    )
    assert first.compared is None
    (last,) = months_of(
        Period(datetime.date(9999, 12, 1), datetime.date.max), datetime.date.max
    )
    assert last.label == "9999-12" and not last.partial


def test_an_empty_ledger_has_no_months() -> None:
    entries, _, options = parser.parse_string("")
    for report in trend_reports(entries, options, Period(), LATER).values():
        assert (report.months, report.lines) == ((), ())
        assert report.tie.holds
    year = trend_reports(entries, options, choose_period(year="2025"), LATER)
    assert len(year["all"].months) == 12 and year["all"].lines == ()


todays = st.dates(datetime.date(2024, 12, 1), datetime.date(2026, 2, 1))


@settings(max_examples=40, deadline=None)
@given(ledgers(), periods(), todays)
def test_months_of_all_lines_are_the_rows_of_the_period(
    text: str, period: Period, today: datetime.date
) -> None:
    """Summed here from the table a row at a time, apart from how the report does it."""
    entries, options = load_random(text)
    table = order_table(entries, options)
    for currency in ("USD", "JPY"):
        rows = in_period(table[table["currency"] == currency], period)
        reports = trend_reports(entries, options, period, today, currency)
        profit = profit_reports(entries, options, period, currency)
        for grouping in GROUPINGS:
            report = reports[grouping]
            expected: dict[tuple[str, str], list[Decimal]] = defaultdict(lambda: [D(0)] * 3)
            with localcontext(prec=80):
                for row in rows.to_dict("records"):
                    name = "All" if grouping == "all" else row[grouping]
                    sums = expected[name, f"{row['date']:%Y-%m}"]
                    amounts = (row["sales"], row["contribution"], row["quantity"])
                    expected[name, f"{row['date']:%Y-%m}"] = [
                        old + new for old, new in zip(sums, amounts, strict=True)
                    ]
                found = {
                    (line.name, month.label): list(compared.earned)
                    for line in report.lines
                    for month, compared in zip(report.months, line.months, strict=True)
                    if any(compared.earned)
                }
                assert found == {key: sums for key, sums in expected.items() if any(sums)}
                whole = [sum(column) for column in zip(*expected.values(), strict=True)]
                total = report.total.total.earned
                assert list(total) == (whole or [0, 0, 0])
                for at in range(len(report.months)):
                    parts = sum(line.months[at].earned.sales for line in report.lines)
                    assert report.total.months[at].earned.sales == parts
            assert report.tie.holds
            assert report.tie.ledger == total.contribution
            both = profit.reports["channel"].total
            assert (both.sales, both.contribution, both.units) == tuple(total)


@settings(max_examples=40, deadline=None)
@given(ledgers(), st.integers(1, 12))
def test_last_year_is_what_that_month_was_when_it_was_this_year(
    text: str, month: int
) -> None:
    entries, options = load_random(text.replace("\n2025-", "\n2024-"))
    last = calendar.monthrange(2025, month)[1]
    period = Period(datetime.date(2025, month, 1), datetime.date(2025, month, last))
    then = choose_period(month=f"2024-{month:02}")
    now = trend_reports(entries, options, period, LATER, "USD")
    before = trend_reports(entries, options, then, LATER, "USD")
    for grouping in GROUPINGS:
        found = {line.name: line.total.last_year for line in now[grouping].lines}
        expected = {line.name: line.total.earned for line in before[grouping].lines}
        assert found == expected
        assert all(not any(line.total.earned) for line in now[grouping].lines)


@settings(max_examples=30, deadline=None)
@given(ledgers(), st.randoms(use_true_random=False))
def test_order_of_the_entries_does_not_matter(text: str, order: random.Random) -> None:
    entries, options = load_random(text)
    shuffled = order.sample(entries, len(entries))
    before = trend_reports(entries, options, Period(), LATER, "USD")
    assert trend_reports(shuffled, options, Period(), LATER, "USD") == before
