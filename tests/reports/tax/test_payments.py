"""What was paid to the tax office, and for which year."""

from __future__ import annotations

import datetime
from decimal import Decimal

import pytest

from offcut.reports.tax.payments import Payments, Window, paid, tax_payments
from tests.conftest import Loaded

D = Decimal
Day = datetime.date
TODAY = Day(2026, 6, 30)
# Printed last days of the tax years 2024 and 2025: 15 January 2025 and 2026.
OF_2025 = Window("2025", Day(2025, 1, 15), Day(2026, 1, 15))


def found(ledger: Loaded, split_years: bool = False) -> Payments:
    return tax_payments(
        ledger.entries, "Equity:Tax", "USD", TODAY, split_years, ["State", "City"]
    )


def test_payments_count_by_their_day_or_by_what_they_say(sound_ledger: Loaded) -> None:
    """
    2024-01-01 open Equity:Tax
    2024-01-01 open Equity:Tax:State
    2024-01-01 open Equity:Taxi
    2024-01-01 open Assets:Bank
    2025-01-15 * "Office" "Last of 2024"
      Equity:Tax       1.00 USD
      Assets:Bank
    2025-01-16 * "Office" "First day that counts for 2025"
      Equity:Tax       2.00 USD
      Assets:Bank
    2025-04-15 * "State office" "Below the account"
      Equity:Tax:State 4.00 USD
        local-tax: "State"
      Assets:Bank
    2025-05-01 * "Cab" "No payment"
      Equity:Taxi      8.00 USD
      Assets:Bank
    2026-01-15 * "Last of 2025"
      Equity:Tax      16.00 USD
      Assets:Bank
    2026-02-01 * "Late, and says so"
      tax-year: "2025"
      Equity:Tax      32.00 USD
      Assets:Bank
    2026-02-02 * "Without quotes, and on the posting"
      Equity:Tax      64.00 USD
        tax-year: 2025
      Assets:Bank
    2026-02-03 * "Late, and does not say so"
      Equity:Tax     128.00 USD
      Assets:Bank
    2026-03-01 * "Office" "Refund for 2025"
      tax-year: "2025"
      Equity:Tax      -0.50 USD
      Assets:Bank
    2026-07-01 * "After today"
      tax-year: "2025"
      Equity:Tax     256.00 USD
      Assets:Bank
    """
    every = found(sound_ledger)
    assert every.mistakes == ()
    of_2025 = [each for each in every.found if OF_2025.counts(each)]
    assert paid(of_2025, TODAY) == D("117.50")
    assert paid(of_2025, Day(2026, 1, 15)) == D("22.00")
    assert paid(every.found, TODAY) == D("246.50")
    assert [each.local for each in of_2025 if each.local] == ["State"]
    assert of_2025[0].text == "Office: First day that counts for 2025"


@pytest.mark.parametrize("split_years", [False, True])
def test_years_that_cannot_be_are_told_at_their_line(
    sound_ledger: Loaded, split_years: bool
) -> None:
    """
    2024-01-01 open Equity:Tax
    2024-01-01 open Assets:Bank
    2025-12-01 * "A year that had not begun"
      Equity:Tax       1.00 USD
        tax-year: "2026"
      Assets:Bank
    2025-12-02 * "Of another century"
      tax-year: "1925"
      Equity:Tax       2.00 USD
      Assets:Bank
    2025-12-03 * "No year"
      tax-year: "last one"
      Equity:Tax       4.00 USD
      Assets:Bank
    2025-12-04 * "Another country's year"
      tax-year: "2025-26"
      Equity:Tax       8.00 USD
      Assets:Bank
    2025-12-05 * "Arrears"
      tax-year: "2019"
      Equity:Tax      16.00 USD
      Assets:Bank
    2025-12-06 * "Unknown place"
      local-tax: "County"
      Equity:Tax      32.00 USD
      Assets:Bank
    """
    mistakes = found(sound_ledger, split_years).mistakes
    assert all(each.startswith("<string>:") for each in mistakes)
    if split_years:
        told = ['"2026", which is no year', '"1925"', '"last one"', '"2019"']
    else:
        told = [
            '"2026", but it was paid on 2025-12-01; correct the year, or the date',
            '"1925", but it was paid',
            '"last one", which is no year; write it as tax-year: "2025"',
            '"2025-26", which is no year',
        ]
    told.append('"County", which no [[tax.local]] of offcut.toml is called; there is State')
    assert len(mistakes) == len(told)
    for mistake, expected in zip(mistakes, told, strict=True):
        assert expected in mistake
    # The lines of the mistakes are those of the transactions.
    lines = [int(each.split(":")[1]) for each in mistakes]
    assert lines == sorted(lines)
    assert not any(OF_2025.counts(each) for each in found(sound_ledger).found[:5])


def test_other_currencies_do_not_count(sound_ledger: Loaded) -> None:
    """
    2024-01-01 open Equity:Tax
    2024-01-01 open Assets:Bank
    2025-04-15 * "Abroad"
      Equity:Tax       7.00 EUR
      Assets:Bank
    2025-04-16 * "Abroad"
      Equity:Tax       5.00 EUR
      Assets:Bank
    """
    every = found(sound_ledger)
    assert every.found == ()
    assert every.others == {"EUR": D("12.00")}


def test_no_account_no_payments(sound_ledger: Loaded) -> None:
    """
    2024-01-01 open Equity:Tax
    """
    assert tax_payments(sound_ledger.entries, "", "USD", TODAY, False) == Payments()
    assert found(sound_ledger).found == ()
