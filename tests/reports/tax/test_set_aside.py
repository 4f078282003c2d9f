"""How much of the money in the bank is the tax office's, by hand and by properties."""

from __future__ import annotations

import datetime
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from offcut.reports.books import Books
from offcut.reports.tax.household import HouseholdError
from offcut.reports.tax.local_settings import LocalSchedule
from offcut.reports.tax.reserve import balances, transfer
from offcut.reports.tax.rules import RulesError
from offcut.reports.tax.schedule import Schedule
from offcut.reports.tax.set_aside import SetAside, set_aside
from offcut.reports.tax.tax_settings import TaxSettings
from tests.conftest import Loaded, load_text

D = Decimal
Day = datetime.date
SETTINGS = TaxSettings(
    jurisdiction="us-federal",
    reserve="Assets:Bank:Reserve",
    bank="Assets:Bank",
    payments="Equity:Tax",
    answers={"status": "single"},
)
HEAD = """
option "operating_currency" "USD"
2024-01-01 open Assets:Bank
2024-01-01 open Assets:Bank:Reserve
2024-01-01 open Equity:Tax
2024-01-01 open Income:Sales:Web
"""
# 18,100 up to 30 June, the 181st of 365 days.
HALF_YEAR = f"""{HEAD}
2025-01-01 * "Sales"
  Income:Sales:Web    -100.00 USD
  Assets:Bank
2025-06-30 * "Sales"
  Income:Sales:Web  -18000.00 USD
  Assets:Bank
"""
PAID = """
2025-04-15 * "First payment"
  Equity:Tax  1000.00 USD
  Assets:Bank
"""
# By hand, for 36,500 (18,100 x 365 / 181), single, 2025, the figures of Rev. Proc. 2024-40
# and of the official 2025 Schedule SE, Form 1040 and Form 8995:
#   36,500 x 0.9235 = 33,707.75; x 0.124 = 4,179.761; x 0.029 = 977.52475
#   self-employment tax 5,157.28575, half 2,578.642875
#   36,500 - 2,578.642875 = 33,921.357125; - 15,750 = 18,171.357125
#   less a fifth of it: 14,537.0857
#   1,192.50 + 0.12 x (14,537.0857 - 11,925) = 1,505.950284
TOTAL = D("6663.236034")
# x 181 / 365 = 3,304.2348...
ACCRUED = D("3304.23")


def books(text: str) -> Books:
    ledger = load_text(text)
    assert [error.message for error in ledger.errors] == []
    return Books(ledger.entries, ledger.options, path=Path("nowhere/main.beancount"))


def on(text: str, day: Day, settings: TaxSettings = SETTINGS) -> SetAside:
    return set_aside(books(text), settings, None, day)


def answering(**answers: object) -> TaxSettings:
    facts = {key.replace("_", "-"): value for key, value in answers.items()}
    return TaxSettings(
        **{**vars(SETTINGS), "answers": {"status": "single", **facts}}  # type: ignore[arg-type]
    )


def test_by_hand() -> None:
    found = on(HALF_YEAR + PAID, Day(2025, 6, 30))
    year = found.year
    assert year.projection.profit == D(36_500)
    assert year.tax["total-tax"] == TOTAL
    assert (year.left, year.accrued, year.paid) == (TOTAL, ACCRUED, D("1000.00"))
    assert found.owed == found.short_by == D("2304.23")
    assert (found.spare, found.earlier) == (0, None)
    assert found.bank == D("17100.00")
    # 90 % of the tax is 5,996.9124306; a quarter 1,499.2281; by 16 June 2,998.4562.
    assert [each.required for _, each in found.stands] == [
        *(D("1499.23"), D("2998.46"), D("4497.68"), D("5996.91"))
    ]
    states = [each.state for _, each in found.stands]
    assert states == ["overdue", "overdue", "next", "later"]
    assert [each.open for _, each in found.overdue] == [D("499.23"), D("1998.46")]


def test_reserve_is_taken_off_and_what_is_too_much_is_told() -> None:
    kept = """
2025-05-01 * "Set aside"
  Assets:Bank:Reserve  {} USD
  Assets:Bank
"""
    found = on(HALF_YEAR + PAID + kept.format("2304.22"), Day(2025, 6, 30))
    assert (found.reserve, found.short_by, found.spare) == (D("2304.22"), D("0.01"), 0)
    # The reserve stands below the bank's account, and is none of its own money.
    assert found.bank == D("14795.78")
    found = on(HALF_YEAR + PAID + kept.format("2400"), Day(2025, 6, 30))
    assert (found.short_by, found.spare) == (0, D("95.77"))


def test_withholding_is_taken_off_the_year_before_its_share() -> None:
    # By hand: (6,663.236034 - 2,000) x 181 / 365 = 2,312.4540...
    found = on(HALF_YEAR, Day(2025, 6, 30), answering(withholding=2000))
    assert found.owed == D("2312.45")
    # A quarter of the withholding counts on each day.
    assert found.stands[0][1].required == D("999.23")
    found = on(HALF_YEAR, Day(2025, 6, 30), answering(withholding=7000))
    assert (found.year.left, found.owed, found.short_by) == (0, 0, 0)


def test_last_year_s_tax_limits_what_is_required_and_not_what_is_set_aside() -> None:
    settings = answering(last_year_tax=400, last_year_income=20_000)
    found = on(HALF_YEAR, Day(2025, 6, 30), settings)
    assert [each.required for _, each in found.stands] == [100, 200, 300, 400]
    assert found.owed == ACCRUED


def test_local_taxes_are_set_aside_too_and_have_payments_of_their_own() -> None:
    local = (
        LocalSchedule("City", "profit", Schedule((D("0.01"),), ()), ""),
        LocalSchedule("State", "income", Schedule((D("0.05"),), ()), ""),
    )
    settings = TaxSettings(**{**vars(SETTINGS), "local": local})
    paid = PAID.replace("1000.00 USD", '1000.00 USD\n    local-tax: "State"')
    found = on(HALF_YEAR + paid, Day(2025, 6, 30), settings)
    # 365.00 + 726.854285 more; what was paid for the state is no national payment.
    assert found.year.left == TOTAL + D("1091.854285")
    assert found.owed == D("2845.67")  # 7,755.090319 x 181 / 365 - 1,000
    assert found.stands[0][1].paid == 0


PRESS = """
2024-01-01 open Assets:Equipment:Press
2025-02-01 * "Press"
  Assets:Equipment:Press  6000.00 USD
    election: "{election}"
    years: 5
  Assets:Bank
"""


@pytest.mark.parametrize(
    ("election", "room", "so_far", "year"),
    [
        # 36,500 as above, less the press; by its days alone (18,100 - 6,000) x 365 / 181
        # would be 24,400.55.
        ("expense", {}, "12100", "30500"),
        # A fifth, and half of that in the first year; six of twelve months so far.
        ("spread", {}, "17800", "35900"),
        # 100 square feet at 5 (Rev. Proc. 2013-13), all used by June: 250.
        ("expense", {"area": 100, "months": 6}, "11850", "30250"),
        ("expense", {"area": 100, "months": 12}, "11850", "30000"),
    ],
)
def test_what_is_deducted_once_is_not_foreseen_again(
    election: str, room: dict[str, int], so_far: str, year: str
) -> None:
    settings = TaxSettings(**{**vars(SETTINGS), "home_office": room})
    text = HALF_YEAR + PRESS.format(election=election)
    found = on(text, Day(2025, 6, 30), settings).year
    assert (found.to_date.profit, found.projection.profit) == (D(so_far), D(year))
    assert found.projection.to_date == found.to_date.profit
    # Over and done, the year is what it was foreseen as, but for what went day by day.
    over = set_aside(books(text), settings, "2025", Day(2026, 1, 5)).year
    assert over.projection.profit == D(year) - 18_400


def test_a_loss_owes_nothing() -> None:
    spent = f"""{HEAD}
2024-01-01 open Expenses:Office
2025-02-01 * "Cutter"
  Expenses:Office  800.00 USD
  Assets:Bank
"""
    found = on(spent, Day(2025, 3, 1))
    assert found.year.projection.to_date == D(-800)
    assert (found.year.tax["total-tax"], found.owed, found.short_by) == (0, 0, 0)
    assert {each.state for _, each in found.stands} == {"nothing due"}


def test_a_loss_beside_other_income_owes_by_the_days() -> None:
    # 50,000 of interest without withholding; the tax on it is earned day by day.
    settings = answering(other_income=50_000)
    spent = HEAD + "2024-01-01 open Expenses:Office\n"
    for day in ("2025-01-01", "2025-03-31"):
        spent += f'{day} * "x"\n  Expenses:Office  5.00 USD\n  Assets:Bank\n'
    found = on(spent, Day(2025, 4, 1), settings)
    assert found.year.earned_share == D(90) / D(365)
    assert 0 < found.owed < found.year.left


@pytest.mark.parametrize("text", [HEAD, ""])
def test_nothing_earned_yet(text: str) -> None:
    found = on(text, Day(2025, 3, 1))
    assert (found.owed, found.short_by, found.year.projection.profit) == (0, 0, 0)


def test_the_year_before_counts_until_the_first_payment_of_this() -> None:
    late = HALF_YEAR + PAID + '2026-01-02 * "Sales"\n  Assets:Bank  1.00 USD\n'
    late += "  Income:Sales:Web\n"
    on_the_day = on(late, Day(2026, 4, 15))
    assert on_the_day.earlier is not None
    assert on_the_day.earlier.rules.year == "2025"
    assert on_the_day.earlier.projection.profit == D(18_100)
    # By hand for 18,100: x 0.9235 = 16,715.35; x 0.153 = 2,557.44855; half 1,278.724275;
    # 18,100 - 1,278.724275 - 15,750 = 1,071.275725; less a fifth: 857.02058; x 0.10.
    assert on_the_day.earlier.left == D("2557.44855") + D("85.702058")
    assert on_the_day.earlier.owed == D("1643.15")
    assert on_the_day.owed == D("1643.15") + on_the_day.year.owed
    assert {year for year, _ in on_the_day.stands} == {"2025", "2026"}
    # 90 % of 2,643.15 was to be paid in the year: 2,378.84, of which 1,000 was. With the
    # return come the 264.31 that are left (IRC 6151(a): on its day; from memory).
    assert on_the_day.with_returns == [("2025", Day(2026, 4, 15), D("264.31"))]
    assert on(late, Day(2026, 4, 16)).earlier is None
    asked_for = set_aside(books(late), SETTINGS, "2025", Day(2026, 4, 16))
    assert (asked_for.year.rules.year, asked_for.owed) == ("2025", D("1643.15"))
    assert asked_for.with_returns == on_the_day.with_returns


def test_a_year_in_progress_and_one_that_is_paid_leave_nothing_for_a_return() -> None:
    assert on(HALF_YEAR, Day(2025, 6, 30)).with_returns == []
    paid = HALF_YEAR + PAID.replace("1000.00", "2643.15")
    assert set_aside(books(paid), SETTINGS, "2025", Day(2026, 2, 1)).with_returns == []


def test_local_taxes_are_no_part_of_the_national_return() -> None:
    state = LocalSchedule("State", "profit", Schedule((D("0.05"),), ()), "")
    settings = TaxSettings(**{**vars(SETTINGS), "local": (state,)})
    paid = PAID.replace('"First payment"', '"State"\n  local-tax: "State"')
    found = set_aside(books(HALF_YEAR + paid), settings, "2025", Day(2026, 2, 1))
    # 905.00 of the state, of which 1,000 is paid: too much of the one pays nothing of the
    # other's return. 2,643.15 less the 2,378.84 that the payments of the year ask for.
    assert found.with_returns == [("2025", Day(2026, 4, 15), D("264.31"))]


def test_a_late_payment_counts_for_the_year_that_it_names() -> None:
    late = (
        HALF_YEAR + PAID + '2026-01-20 * "Late"\n  Equity:Tax  70.00 USD\n  Assets:Bank\n'
    )
    found = on(late, Day(2026, 2, 1))
    assert found.earlier is not None
    assert (found.earlier.paid, found.year.paid) == (D("1000.00"), D("70.00"))
    named = late.replace('"Late"\n', '"Late"\n  tax-year: "2025"\n')
    found = on(named, Day(2026, 2, 1))
    assert found.earlier is not None
    assert (found.earlier.paid, found.year.paid) == (D("1070.00"), 0)


def test_annualised_payments_follow_the_income() -> None:
    settings = TaxSettings(**{**vars(SETTINGS), "method": "annualised"})
    found = on(HALF_YEAR, Day(2025, 6, 30), settings)
    # 100.00 by 31 March and 31 May is 400 and 240 a year: no tax at all.
    required = [each.required for _, each in found.stands]
    assert required[:2] == [0, 0]
    assert 0 < required[2] <= required[3] == D("5996.91")
    # To 31 August, 62 of the 184 days to come: 18,100 + 18,400 x 62 / 184 = 24,300.
    third = found.stands[2][1].part
    assert third.annualised is not None
    assert third.annualised["profit"] == D(24_300) * D("1.5")


def test_years_without_rules_and_years_that_have_not_begun() -> None:
    one = books(HALF_YEAR)
    with pytest.raises(RulesError, match="no rules of us-federal for 2019; there are 2025"):
        set_aside(one, SETTINGS, "2019", Day(2025, 6, 30))
    with pytest.raises(RulesError, match="2026 has not begun: its first day is 1 January"):
        set_aside(one, SETTINGS, "2026", Day(2025, 6, 30))
    with pytest.raises(RulesError, match="no rules of us-federal for 2031; there are"):
        set_aside(one, SETTINGS, None, Day(2031, 6, 30))


def test_missing_status_says_what_to_add() -> None:
    settings = TaxSettings(**{**vars(SETTINGS), "answers": {}})
    with pytest.raises(HouseholdError, match='status is missing; add status = "single"'):
        on(HALF_YEAR, Day(2025, 6, 30), settings)


def test_balances(sound_ledger: Loaded) -> None:
    """
    2025-01-01 open Assets:Bank
    2025-01-01 open Assets:Bank:Reserve
    2025-01-01 open Assets:Bankers
    2025-01-01 open Equity:Capital
    2025-01-02 * "In"
      Assets:Bank          1.00 USD
      Assets:Bank:Reserve  2.00 USD
      Assets:Bankers       4.00 USD
      Assets:Bank          8.00 EUR
      Equity:Capital
    2025-01-03 * "Later"
      Assets:Bank         16.00 USD
      Equity:Capital
    """
    accounts = ("Assets:Bank", "Assets:Bank:Reserve", "", "Assets:None")
    found = balances(sound_ledger.entries, accounts, "USD", Day(2025, 1, 2))
    assert found == [D("3.00"), D("2.00"), 0, 0]


def test_transfer_opens_what_is_not_open() -> None:
    text = transfer([], "Assets:B", "Assets:R", D("5.10"), "USD", Day(2025, 3, 1))
    found = balances(load_text(text).entries, ["Assets:R"], "USD", Day(2025, 3, 1))
    assert (load_text(text).errors, found) == ([], [D("5.10")])
    assert text.count(" open ") == 2


amounts = st.decimals(0, 90_000, places=2)
days = st.dates(Day(2025, 1, 1), Day(2026, 12, 31))


@given(
    st.lists(st.tuples(days, st.decimals(-9_000, 90_000, places=2)), max_size=5),
    st.lists(st.tuples(days, amounts), max_size=3),
    amounts,
    days,
    st.sampled_from(["regular", "annualised"]),
    st.sampled_from(["year-to-date", "last-year"]),
    st.integers(0, 20_000),
)
def test_whoever_moves_what_is_short_has_set_everything_aside(
    sales: list[tuple[Day, Decimal]],
    paid: list[tuple[Day, Decimal]],
    kept: Decimal,
    today: Day,
    method: str,
    projection: str,
    withheld: int,
) -> None:
    def entry(day: Day, account: str, amount: Decimal) -> str:
        return f'{day} * "x"\n  {account}  {amount:f} USD\n  Assets:Bank\n'

    text = HEAD
    text += "".join(entry(day, "Income:Sales:Web", -amount) for day, amount in sales)
    text += "".join(entry(day, "Equity:Tax", amount) for day, amount in paid)
    text += entry(Day(2024, 6, 1), "Assets:Bank:Reserve", kept)
    settings = TaxSettings(
        **{
            **vars(answering(withholding=withheld)),
            "method": method,
            "projection": projection,
        }
    )

    def found_in(text: str, day: Day = today) -> SetAside:
        return on(text, day, settings)

    before = found_in(text)
    assert before.owed >= 0 and before.short_by >= 0 and before.spare >= 0
    assert before.short_by == 0 or before.spare == 0
    assert before.owed <= sum(year.left for year in before.years) + D("0.02")
    entries = load_text(text).entries
    moved = text + transfer(
        entries, "Assets:Bank", "Assets:Bank:Reserve", before.short_by, "USD", today
    )
    after = found_in(moved)
    assert (after.short_by, after.owed) == (0, before.owed)
    assert after.reserve == before.reserve + before.short_by
    # Whoever pays it owes nothing, on the same day, for any year in question.
    for year in before.years:
        text += f'{today} * "x"\n  tax-year: "{year.rules.year}"\n'
        text += f"  Equity:Tax  {year.owed} USD\n  Assets:Bank\n"
    assert found_in(text).owed == 0


def test_owed_never_falls_as_more_is_earned() -> None:
    owed = []
    # 433 x 0.9235 is below 400, the least net earnings that are taxed.
    for amount in (0, 300, 433, 434, 10_000, 50_000, 200_000, 400_000):
        text = HEAD + f'2025-01-01 * "x"\n  Income:Sales:Web  -{amount}.00 USD\n'
        text += "  Assets:Bank\n"
        owed.append(on(text, Day(2025, 12, 31)).owed)
    assert owed == sorted(owed)
    assert owed[:3] == [0, 0, 0] and owed[3] > 0
