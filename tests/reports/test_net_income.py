"""The ledger's net income, and the statement that a report ties to it."""

from __future__ import annotations

import datetime
from decimal import Decimal
from typing import Any

from beancount.ops import summarize

from offcut.reports.net_income import Tie, net_income
from offcut.reports.order_table import order_table
from offcut.reports.period import Period, choose_period

D = Decimal


def test_weights_of_income_and_expenses(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Cash
    2025-01-01 open Assets:Stock
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Expenses:Travel
    2025-01-01 open Expenses:Spoilage
    2025-01-05 * "Stock"
      Assets:Stock  10 CARD {0.41 USD}
      Assets:Cash
    2025-02-01 * "Sale"
      Assets:Cash  10.00 USD
      Income:Sales:Web
    2025-02-02 * "Ferry, paid abroad"
      Expenses:Travel  3.00 EUR @ 1.10 USD
      Assets:Cash
    2025-02-03 * "Spoiled, kept at cost"
      Expenses:Spoilage  2 CARD {0.41 USD, 2025-01-05}
      Assets:Stock  -2 CARD {0.41 USD, 2025-01-05}
    2025-02-04 * "Interest in another currency"
      Assets:Cash  1.00 CHF
      Income:Sales:Web
    """
    # 10.00, less 3.00 at 1.10 and 2 at 0.41.
    expected = {"USD": D("5.88"), "CHF": D("1.00")}
    assert net_income(sound_ledger.entries, sound_ledger.options, Period()) == expected
    table = order_table(sound_ledger.entries, sound_ledger.options)
    assert {
        currency: sum(group["contribution"])
        for currency, group in table.groupby("currency")
    } == expected


def test_only_the_days_of_the_period(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-02-28 * "Before"
      Assets:Cash  1.00 USD
      Income:Sales:Web
    2025-03-01 * "First day"
      Assets:Cash  2.00 USD
      Income:Sales:Web
    2025-03-31 * "Last day"
      Assets:Cash  4.00 USD
      Income:Sales:Web
    2025-04-01 * "After"
      Assets:Cash  8.00 USD
      Income:Sales:Web
    """
    march = choose_period(month="2025-03")
    income = net_income(sound_ledger.entries, sound_ledger.options, march)
    assert income == {"USD": D("6.00")}


def test_transactions_that_only_sum_up_do_not_count(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Web
    2025-02-28 * "Before"
      Assets:Cash  1.00 USD
      Income:Sales:Web
    2025-03-01 T "A user's own, with the flag of a transfer"
      Assets:Cash  2.00 USD
      Income:Sales:Web
    """
    entries, options = sound_ledger.entries, sound_ledger.options
    # Closing the books moves all income to equity; opening a period sums up what was.
    closed, _ = summarize.clear_opt(entries, datetime.date(2025, 12, 31), options)
    march, _ = summarize.clamp_opt(
        entries, datetime.date(2025, 3, 1), datetime.date(2025, 4, 1), options
    )
    for made_up, expected in ((closed, [D(1), D(2)]), (march, [D(2)])):
        assert len(made_up) > len(expected) + 2
        assert net_income(made_up, options, Period()) == {"USD": sum(expected)}
        assert list(order_table(made_up, options)["contribution"]) == expected


def test_padding_of_an_income_account_counts(sound_ledger: Any) -> None:
    """
    2025-01-01 open Assets:Cash
    2025-01-01 open Income:Sales:Fair
    2025-02-01 pad Assets:Cash Income:Sales:Fair
    2025-02-02 balance Assets:Cash  7.00 USD
    """
    assert net_income(sound_ledger.entries, sound_ledger.options, Period()) == {
        "USD": D("7.00")
    }
    assert list(order_table(sound_ledger.entries, sound_ledger.options)["gross"]) == [D(7)]


def test_tie_that_holds() -> None:
    tie = Tie(D("-44.620"), D("-44.62"), "USD")
    assert tie.holds
    assert tie.sentence == (
        "All rows add up to -44.62 USD, the net income of the ledger's income and expense "
        "accounts over the same days."
    )


def test_tie_that_does_not_hold_is_loud() -> None:
    tie = Tie(D("100.01"), D("100.00"), "USD")
    assert not tie.holds
    assert tie.difference == D("0.01")
    assert tie.sentence == (
        "THIS REPORT DOES NOT ADD UP: its rows come to 100.01 USD, the ledger's income and "
        "expense accounts to 100.00 USD; the difference is 0.01 USD. This is a fault in "
        "offcut: do not rely on these figures, and please report it."
    )


def test_tie_is_to_the_smallest_coin_of_the_currency() -> None:
    assert not Tie(D("10.01"), D("10.00"), "USD").holds
    assert Tie(D("10.004"), D("10.00"), "USD").holds
    assert Tie(D("10.4"), D(10), "JPY").holds
    assert not Tie(D(11), D(10), "JPY").holds
