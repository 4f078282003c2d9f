"""United Kingdom tax of a sole trader: cases by hand, edges, properties, payments.

The figures are those of GOV.UK as they stand in the rules; another test holds them, and
the tax of a grid of people, against PolicyEngine-UK.
"""

from __future__ import annotations

import datetime
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from offcut.reports.books import Books
from offcut.reports.tax.household import Household, HouseholdError, read_household
from offcut.reports.tax.instalments import Instalments
from offcut.reports.tax.rules import Rules, RulesError
from offcut.reports.tax.rules_files import find_rules, read_rules
from offcut.reports.tax.tax_books import TaxBooks
from offcut.reports.tax.tax_settings import Method, TaxSettings
from offcut.reports.tax.uk_household import FACTS
from offcut.reports.tax.uk_payments_on_account import instalments
from offcut.reports.tax.uk_sole_trader import annual_tax
from offcut.reports.tax.working import Working
from offcut.reports.tax.year_end.evidence import receipts_missing
from tests.conftest import Loaded

D = Decimal
Day = datetime.date
YEARS = {year: find_rules("uk-sole-trader", year) for year in ("2025-26", "2026-27")}
RULES = YEARS["2025-26"]
NATIONS = ("england", "wales", "northern-ireland", "scotland")


def tax(
    profit: str | Decimal, status: str = "england", rules: Rules = RULES, **facts: str
) -> Working:
    return annual_tax(rules, household(status, **facts), D(profit))


def household(status: str = "england", **facts: str) -> Household:
    """A household; keys of facts with underscores."""
    return Household(
        status, {key.replace("_", "-"): D(value) for key, value in facts.items()}
    )


def said(working: Working, text: str) -> bool:
    return any(text in note for note in working.notes)


@pytest.mark.parametrize(
    ("status", "year", "profit", "income_tax", "class_4"),
    [
        # 30,000 - 12,570 = 17,430; x 0.20 = 3,486; class 4 17,430 x 0.06 = 1,045.80.
        ("england", "2025-26", "30000", "3486", "1045.80"),
        ("wales", "2026-27", "30000", "3486", "1045.80"),
        # 60,000 - 12,570 = 47,430: 37,700 x 0.20 + 9,730 x 0.40 = 7,540 + 3,892;
        # class 4 37,700 x 0.06 + 9,730 x 0.02 = 2,262 + 194.60.
        ("northern-ireland", "2025-26", "60000", "11432", "2456.60"),
        # Taper: 12,570 - (110,000 - 100,000) / 2 = 7,570; 102,430 is taxed:
        # 7,540 + 64,730 x 0.40 = 33,432; class 4 2,262 + 59,730 x 0.02 = 3,456.60.
        ("england", "2026-27", "110000", "33432", "3456.60"),
        # No allowance is left: 7,540 + (125,140 - 37,700) x 0.40 + 74,860 x 0.45
        # = 7,540 + 34,976 + 33,687 = 76,203; class 4 2,262 + 149,730 x 0.02.
        ("england", "2025-26", "200000", "76203", "5256.60"),
        # 17,430: 2,827 x 0.19 + 12,094 x 0.20 + 2,509 x 0.21
        # = 537.13 + 2,418.80 + 526.89.
        ("scotland", "2025-26", "30000", "3482.82", "1045.80"),
        # 17,430: 3,967 x 0.19 + 12,989 x 0.20 + 474 x 0.21 = 753.73 + 2,597.80 + 99.54.
        ("scotland", "2026-27", "30000", "3451.07", "1045.80"),
        # 150,000: 537.13 + 2,418.80 + 16,171 x 0.21 + 31,338 x 0.42 + 62,710 x 0.45
        # + 24,860 x 0.48 = 537.13 + 2,418.80 + 3,395.91 + 13,161.96 + 28,219.50
        # + 11,932.80; class 4 2,262 + 99,730 x 0.02.
        ("scotland", "2025-26", "150000", "59666.10", "4256.60"),
    ],
)
def test_cases_by_hand(
    status: str, year: str, profit: str, income_tax: str, class_4: str
) -> None:
    working = tax(profit, status, YEARS[year])
    assert working["income-tax"] == D(income_tax)
    assert working["class-4"] == D(class_4)
    assert working["total-tax"] == D(income_tax) + D(class_4)


@pytest.mark.parametrize(
    ("profit", "total"),
    [
        ("0", "0"),
        ("12570", "0"),
        ("12571", "0.26"),
        # 7,540 + 2,262 up to here; then 40 % and 2 %.
        ("50270", "9802"),
        ("50271", "9802.42"),
        # At 100,000 the taper begins: of 2 pounds, 1 of the allowance goes as well.
        # 7,540 + 49,730 x 0.40 + 2,262 + 49,730 x 0.02 = 30,688.60.
        ("100000", "30688.60"),
        # 30,688.60 + 2 x 0.42 + 1 x 0.40.
        ("100002", "30689.84"),
        # 12,570 - 0.50 is rounded up to 12,570 (Income Tax Act 2007, section 35).
        ("100001", "30689.02"),
        # 7,540 + 87,440 x 0.40 + 2,262 + 74,870 x 0.02 = 46,275.40.
        ("125140", "46275.40"),
        ("125141", "46275.87"),
    ],
)
def test_edges_of_bands_and_of_the_taper(profit: str, total: str) -> None:
    assert tax(profit)["total-tax"] == D(total)


def test_the_lines_stand_in_the_order_of_the_calculation() -> None:
    assert [line.label for line in tax("60000", wages="1000", other_income="5")] == [
        "Profit from self-employment",
        "Pay from all employments",
        "Other income",
        "Total income received",
        "Less personal allowance",
        "Total income on which tax is due",
        "37,700.00 at 20 %",
        "10,735.00 at 40 %",
        "Income tax charged",
        "Plus class 4 National Insurance",
        "Income tax and National Insurance due",
    ]


def test_pay_and_other_income_fill_the_lower_bands() -> None:
    # 40,000 + 20,000 + 1,000 - 12,570 = 48,430: 7,540 + 10,730 x 0.40 = 11,832.
    working = tax("20000", wages="40000", other_income="1000", tax_deducted="5486")
    assert working["income-tax"] == 11_832
    # Class 4 is of the profit alone: 7,430 x 0.06.
    assert working["class-4"] == D("445.80")


# Regulation 100 by hand; (50,270 - 12,570) x 0.06 = 2,262 is step 3.
@pytest.mark.parametrize(
    ("profit", "class_1", "class_4"),
    [
        # 2,262 - 3,016 is below zero: all of it at 2 %: 12,430 x 0.02.
        ("25000", "3016", "248.60"),
        # 2,262 - 2,000 = 262, less than 2,000 + 745.80: 262 / 0.06 = 4,366.67 at 6 %,
        # the other 8,063.33 at 2 %: 262 + 161.2667.
        ("25000", "2000", "423.27"),
        # 2,262 - 700 = 1,562, more than 700 + 745.80: no limit is reached.
        ("25000", "700", "745.80"),
        # 2,262 - 1,394.40 = 867.60: 14,460 at 6 %, 23,240 at 2 %, 29,730 at 2 %.
        ("80000", "1394.40", "1927.00"),
        # 2,262 - 500 = 1,762, more than 500 and less than 500 + 2,262: 29,366.67 at 6 %,
        # 8,333.33 and 9,730 at 2 %: 1,762 + 166.6667 + 194.60.
        ("60000", "500", "2123.27"),
    ],
)
def test_class_1_and_class_4_have_a_yearly_maximum(
    profit: str, class_1: str, class_4: str
) -> None:
    working = tax(profit, wages="52000", class_1_main=class_1)
    assert round(working["class-4"], 2) == D(class_4)
    assert said(working, "yearly maximum") == (class_1 != "700")


def test_what_is_deducted_from_pay_is_asked_for() -> None:
    working = tax("25000", wages="30000")
    assert working["class-4"] == D("745.80")
    assert said(working, "class-1-main is not set: class 4 may be less")
    assert said(working, "tax-deducted is not: nothing is taken off")
    assert not said(tax("25000"), "not set")


def test_over_pension_age_there_is_no_national_insurance() -> None:
    working = tax("30000", over_pension_age="1", voluntary_class_2="52")
    assert working["class-4"] == 0
    assert working["total-tax"] == working["income-tax"] == 3_486


@pytest.mark.parametrize(
    ("year", "threshold", "week"), [("2025-26", 6_845, "3.50"), ("2026-27", 7_105, "3.65")]
)
def test_class_2_counts_as_paid_from_the_small_profits_threshold_on(
    year: str, threshold: int, week: str
) -> None:
    rules = YEARS[year]
    enough = tax(D(threshold), rules=rules, voluntary_class_2="52")
    assert enough["total-tax"] == 0
    assert said(enough, "class 2 counts as paid")
    less = tax(D(threshold) - D("0.01"), rules=rules)
    assert less["total-tax"] == 0
    assert said(less, f"{week} a week")
    by_choice = tax(D(threshold) - 1, rules=rules, voluntary_class_2="52")
    assert by_choice["total-tax"] == by_choice["class-2"] == 52 * D(week)


def test_the_trading_allowance_stands_instead_of_expenses() -> None:
    # 9,000 - 1,000 = 8,000, on top of pay of 20,000: 15,430 x 0.20.
    working = tax("8500", wages="20000", trading_income="9000")
    assert working["trading-allowance-profit"] == 8_000
    assert working["total-income"] == 28_000
    assert working["income-tax"] == 3_086
    assert not said(working, "it costs you tax")
    assert said(tax("7000", trading_income="9000"), "it costs you tax")
    assert tax("300", wages="20000", trading_income="1000")["total-income"] == 20_000


@pytest.mark.parametrize("status", NATIONS)
def test_a_loss_is_not_taxed_and_said(status: str) -> None:
    working = tax("-4000", status, wages="20000", tax_deducted="1486")
    assert working["profit"] == -4_000
    assert working["total-income"] == 20_000
    assert working["class-4"] == 0
    assert said(working, "made a loss: no tax is due on it")


def test_what_is_not_counted_is_said() -> None:
    for text in ("interest, dividends", "Marriage Allowance", "student loan", "cash basis"):
        assert said(tax("20000"), text)


profits = st.decimals(-20_000, 300_000, places=2)
wages = st.decimals(0, 150_000, places=2)
class_1s = st.decimals(0, 3_016, places=2)
statuses = st.sampled_from(NATIONS)
years = st.sampled_from(sorted(YEARS))


@given(years, statuses, profits, profits, wages, class_1s)
def test_more_profit_is_never_less_tax_and_never_all_of_it(
    year: str, status: str, one: D, other: D, pay: D, class_1: D
) -> None:
    low, high = sorted((one, other))
    facts = {"wages": str(pay), "class_1_main": str(class_1)}
    less, more = (
        tax(each, status, YEARS[year], **facts)["total-tax"] for each in (low, high)
    )
    # The steepest stretch is Scotland's taper: 45 % of 1.5, and 2 %; the allowance goes
    # in whole pounds, and the last of them at 48 % at most.
    assert 0 <= more - less <= (high - low) * D("0.72") + D("0.48")
    without = tax("0", status, YEARS[year], **facts)["total-tax"]
    assert more - without <= max(high, D(0))


@given(years, statuses, st.decimals("-100", 300_000, places=2), wages)
def test_nothing_jumps_but_the_allowance_by_a_pound(
    year: str, status: str, profit: D, pay: D
) -> None:
    facts = {"wages": str(pay), "class_1_main": "0"}
    here, next_penny = (
        tax(each, status, YEARS[year], **facts) for each in (profit, profit + D("0.01"))
    )
    pound = here["personal-allowance"] != next_penny["personal-allowance"]
    rise = next_penny["total-tax"] - here["total-tax"]
    assert 0 <= rise <= D("0.0054") + (D("0.48") if pound else 0)
    if here["total-income"] < 100_000:
        assert not pound


@given(years, statuses, profits, class_1s)
def test_what_an_employer_deducted_never_raises_class_4(
    year: str, status: str, profit: D, class_1: D
) -> None:
    rules = YEARS[year]
    limited = tax(profit, status, rules, wages="40000", class_1_main=str(class_1))
    whole = tax(profit, status, rules, wages="40000", class_1_main="0")
    assert 0 <= limited["class-4"] <= whole["class-4"]
    # All of the profit above the lower limit bears 2 % at least.
    least = max(profit - 12_570, D(0)) * D("0.02")
    assert limited["class-4"] >= least


@given(years, statuses, profits)
def test_the_bands_add_up_to_the_tax(year: str, status: str, profit: D) -> None:
    working = tax(profit, status, YEARS[year])
    bands = [line.amount for line in working if line.key.startswith("income-tax-band")]
    assert sum(bands, D(0)) == working["income-tax"]


def paid(profit: str, method: Method = "regular", **facts: str) -> Instalments:
    who = household(**facts)
    working = annual_tax(RULES, who, D(profit))
    return instalments(RULES, who, working, method, ())


def test_payments_on_account_are_half_of_last_years_bill_each() -> None:
    # 3,486 + 1,045.80 = 4,531.80 for the year, of which 2,400 is paid ahead.
    found = paid("30000", last_year_bill="2400")
    assert [(part.label, part.due, part.required) for part in found.parts] == [
        ("First on account", Day(2026, 1, 31), 1_200),
        ("Second on account", Day(2026, 7, 31), 1_200),
        ("Balancing payment", Day(2027, 1, 31), D("2131.80")),
    ]
    assert found.withheld == 0
    # With the last of them the next year's first is due: half of 4,531.80.
    assert said(found.working, "2,265.90")


def test_due_days_are_not_moved_off_weekends() -> None:
    found = paid("30000", last_year_bill="2400")
    assert [part.due.weekday() for part in found.parts] == [5, 4, 6]


@pytest.mark.parametrize(
    ("bill", "deducted", "parts"),
    [
        ("999.99", "0", 1),
        ("1000", "0", 3),
        # 80 % of 5,000 is 4,000: more than that was deducted, or just that.
        ("1000", "4000", 3),
        ("1000", "4000.01", 1),
        ("2000", "9000", 1),
        ("0", "0", 1),
    ],
)
def test_small_bills_and_tax_deducted_at_source_ask_for_none(
    bill: str, deducted: str, parts: int
) -> None:
    found = paid("30000", last_year_bill=bill, last_year_tax_deducted=deducted)
    assert len(found.parts) == parts
    assert sum(part.required for part in found.parts) == D("4531.80")
    assert said(found.working, "asks for no payments on account") == (parts == 1)


def test_without_last_years_bill_none_are_counted_and_it_is_said() -> None:
    found = paid("30000")
    assert [part.required for part in found.parts] == [D("4531.80")]
    assert said(found.working, "last-year-bill is not set")


def test_a_year_that_comes_to_less_may_reduce_them() -> None:
    found = paid("20000", last_year_bill="6000")
    # 7,430 x 0.26 = 1,931.80.
    assert [part.required for part in found.parts] == [3_000, 3_000, 0]
    assert said(found.working, "you may claim to reduce them")


def test_tax_that_employers_deduct_is_taken_off_the_bill() -> None:
    # 50,000 - 12,570 = 37,430 x 0.20 = 7,486; class 4 1,045.80; less 1,486.
    found = paid("30000", wages="20000", class_1_main="0", tax_deducted="1486")
    assert found.working["bill"] == D("7045.80")
    assert said(found.working, "3,522.90")
    # All but a little is deducted: nothing is paid ahead in the year after.
    little = paid("3000", wages="60000", class_1_main="0", tax_deducted="11432")
    assert little.working["bill"] == 1_200
    assert not said(little.working, "the year after")


def test_class_2_by_choice_is_paid_at_the_end_and_not_ahead() -> None:
    found = paid("5000", voluntary_class_2="52", last_year_bill="0")
    assert [part.required for part in found.parts] == [182]
    assert not said(found.working, "the year after")
    # 35,000 - 12,570 = 22,430 x 0.20 = 4,486, and 182; half of the first is paid ahead.
    with_pay = paid("5000", wages="30000", voluntary_class_2="52")
    assert [part.required for part in with_pay.parts] == [4_668]
    assert said(with_pay.working, "2,243.00")


def test_there_is_no_annualised_method() -> None:
    found = paid("30000", method="annualised", last_year_bill="2400")
    assert said(found.working, "the method annualised is not known here")
    assert len(found.parts) == 3


@pytest.mark.parametrize(
    ("table", "message"),
    [
        ({}, 'status is missing; add status = "england", or wales, northern-ireland or'),
        ({"status": "scottland"}, "did you mean scotland?"),
        ({"status": "wales", "voluntary-class-2": 54}, "a whole number up to 53"),
        ({"status": "wales", "last-year-bill": -1}, "must not be below zero"),
        ({"status": "wales", "withholding": 5}, "unknown key 'withholding'"),
    ],
)
def test_wrong_answers_are_refused(table: dict[str, object], message: str) -> None:
    with pytest.raises(HouseholdError) as raised:
        read_household(table, RULES.statuses, FACTS, "offcut.toml: [tax]")
    assert message in str(raised.value)


def test_a_year_without_rules_says_which_there_are() -> None:
    with pytest.raises(RulesError, match="there are 2025-26, 2026-27"):
        find_rules("uk-sole-trader", "2024-25")


def test_the_year_begins_on_6_april() -> None:
    assert (RULES.first, RULES.last) == (Day(2025, 4, 6), Day(2026, 4, 5))
    assert YEARS["2026-27"].first == RULES.last + datetime.timedelta(days=1)


def test_the_form_leads_to_the_profit(ledger: Loaded) -> None:
    """
    option "operating_currency" "GBP"
    2025-01-01 open Assets:Bank
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Income:Refunds:Web
    2025-01-01 open Expenses:Postage
    2025-01-01 open Expenses:Travel
    2025-01-01 open Expenses:Vehicle
    2025-04-05 * "Of the year before"
      Income:Sales:Web   -7.00 GBP
      Assets:Bank
    2025-04-06 * "Sales"
      Income:Sales:Web  -20000.00 GBP
      Income:Refunds:Web  100.00 GBP
      Assets:Bank
    2025-05-01 * "Post"
      Expenses:Postage   400.00 GBP
      Expenses:Travel     50.00 GBP
      Expenses:Vehicle   900.00 GBP
      Assets:Bank
    2026-04-05 custom "mileage" 12000 "Fairs"
    """
    assert not ledger.errors
    settings = TaxSettings("uk-sole-trader", answers={"status": "wales"})
    found = TaxBooks(Books(ledger.entries, ledger.options), RULES, settings).profit()
    # 10,000 miles at 0.45 and 2,000 at 0.25 stand for the vehicle's own costs.
    boxes = {line.line: found.lines[line.key] for line in RULES.form}
    assert {box: amount for box, amount in boxes.items() if amount} == {
        "15": 19_900,
        "20": 5_050,
        "23": 400,
        "31": 5_450,
        "47": 14_450,
        "64": 14_450,
    }
    assert found.ties and found.profit == 14_450
    assert found.unplaced == []


def test_without_a_least_amount_every_expense_needs_a_receipt(ledger: Loaded) -> None:
    """
    2025-01-01 open Assets:Bank
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Expenses:Postage
    2025-04-06 * "Sales"
      Income:Sales:Web  -20.00 GBP
      Assets:Bank
    2025-05-01 * "Post"
      Expenses:Postage    0.40 GBP
      Assets:Bank
    """
    assert "receipt-limit" not in RULES.figures
    found = receipts_missing(ledger.entries, (), ledger.options, "GBP", D(0))
    assert [(each.account, each.amount) for each in found] == [
        ("Expenses:Postage", D("0.40"))
    ]


BARE = """
jurisdiction = "uk-sole-trader"
title = "Bare"
year = "2030-31"
first-day = 2030-04-06
last-day = 2031-04-05
currency = "GBP"
statuses = ["england"]
"""


def test_rules_without_the_figures_are_refused_all_at_once() -> None:
    rules = read_rules(BARE, "bare.toml")
    with pytest.raises(RulesError) as raised:
        annual_tax(rules, household(), D(1))
    assert "bare.toml: the figure personal-allowance is missing; add it" in str(
        raised.value
    )
    assert "bare.toml: the schedule income is missing; add it" in str(raised.value)
    with pytest.raises(RulesError, match="the figure on-account-share is missing"):
        instalments(rules, household(), Working(), "regular", ())


def test_rules_without_payments_are_refused() -> None:
    figures = "".join(
        f'[figures.{name}]\nvalue = 0.5\nsource = "none"\n'
        for name in (
            "on-account-share",
            "on-account-least-bill",
            "on-account-most-deducted",
        )
    )
    rules = read_rules(BARE + figures, "bare.toml")
    with pytest.raises(RulesError, match=r"bare\.toml: instalments are missing"):
        instalments(rules, household(), Working(), "regular", ())
