"""Estimated tax: what is required, and the annualised method against the official form.

The worked examples are the IRS's own: Pub. 505 (2001), example 4.7 (Betty Beige; its lines
1 to 6 again in the 2005 edition) and Pub. 505 (2007), figure 2-E (Anne and Larry Jones).
`form_2210` is the form's own computation, written from its lines and not from ours.
"""

from __future__ import annotations

import datetime
import decimal
from decimal import Decimal
from fractions import Fraction
from typing import Any, NamedTuple

import pytest
from hypothesis import given
from hypothesis import strategies as st

from offcut.importers.splitting import EXACT
from offcut.reports.tax.household import Household
from offcut.reports.tax.rules import Rules, RulesError
from offcut.reports.tax.rules_files import find_rules, read_rules
from offcut.reports.tax.us_estimated import (
    annualised_parts,
    regular_parts,
    required_annual_payment,
)
from offcut.reports.tax.us_federal import annual_tax
from offcut.reports.tax.working import Working

D = Decimal
YEARS = {year: find_rules("us-federal", year) for year in ("2025", "2026")}
RULES = YEARS["2025"]


def taxed(total: str) -> Working:
    working = Working()
    working.line("total-tax", "Total tax", D(total))
    return working


def required(total: str, status: str = "single", **facts: Any) -> Working:
    answers = {key.replace("_", "-"): D(value) for key, value in facts.items()}
    return required_annual_payment(RULES, Household(status, answers), taxed(total))


@pytest.mark.parametrize(
    ("status", "income", "expected"),
    [
        # "More than 150,000", and more than 75,000 on a separate return: 2001
        # instructions for Form 2210; so 150,000 itself stays at 100 %.
        ("single", "150000", "5000"),
        ("single", "150000.01", "5500"),
        ("joint", "150000", "5000"),
        ("joint", "150001", "5500"),
        ("separate", "75000", "5000"),
        ("separate", "75000.01", "5500"),
        ("separate", "150000", "5500"),
        ("single", "0", "5000"),
    ],
)
def test_last_years_tax_counts_more_after_a_high_income(
    status: str, income: str, expected: str
) -> None:
    working = required("20000", status, last_year_tax=5_000, last_year_income=income)
    assert working["required-annual-payment"] == D(expected)
    label = next(line.label for line in working if line.key == "prior-year-part")
    assert label == f"{'100' if expected == '5000' else '110'} % of last year's tax"


@pytest.mark.parametrize(
    ("last_year", "expected"),
    [("8999.99", "8999.99"), ("9000", "9000"), ("9000.01", "9000"), ("50000", "9000")],
)
def test_the_lesser_part_is_required(last_year: str, expected: str) -> None:
    working = required("10000", last_year_tax=last_year, last_year_income=1)
    assert working["current-year-part"] == 9_000
    assert working["required-annual-payment"] == D(expected)
    assert working.notes == []


@pytest.mark.parametrize(
    ("total", "withheld", "expected"),
    [
        # "Less than 1,000" is the exception: exactly 1,000 owes.
        ("1000", "0", "900"),
        ("999.99", "0", "0"),
        ("5000", "4000", "4500"),
        ("5000", "4000.01", "0"),
        ("5000", "6000", "0"),
        ("0", "0", "0"),
    ],
)
def test_small_balances_require_nothing(total: str, withheld: str, expected: str) -> None:
    working = required(
        total, withholding=withheld, last_year_tax=99_999, last_year_income=1
    )
    assert working["required-annual-payment"] == D(expected)
    assert ("Less than 1,000" in "".join(working.notes)) == (expected == "0")
    assert working.get("withholding") == -D(withheld)


def test_no_tax_last_year_requires_nothing() -> None:
    working = required("10000", last_year_tax=0, last_year_income=0)
    assert working["required-annual-payment"] == 0
    assert "if that year had twelve months" in "".join(working.notes)


def test_an_unknown_last_year_is_said_and_not_taken_for_none() -> None:
    working = required("10000")
    assert working["required-annual-payment"] == 9_000
    assert "prior-year-part" not in working
    assert working.notes == [
        "last-year-tax is not set: only this year's tax is taken for what is required. "
        "Last year's may be less, and is known for certain."
    ]


def test_an_unknown_income_of_last_year_is_said() -> None:
    working = required("10000", "separate", last_year_tax=5_000)
    assert working["required-annual-payment"] == 5_000
    assert working.notes == [
        "last-year-income is not set: last year's tax counts at 100 %. With an income "
        "above 75,000 it counts at 110 %."
    ]


def test_shares_are_as_the_rules_have_them() -> None:
    text = "\n".join(
        f"[figures.{name}]\nvalue = {value}\nsource = 'of the test'"
        for name, value in {
            "current-year-share": "0.665",
            "prior-year-share": "1.00",
            "prior-year-share-high": "1.2",
            "prior-year-high-income": "1",
            "least-balance": "5",
        }.items()
    )
    rules = read_rules(HEAD + text, "mine.toml")
    facts = {"last-year-tax": D(70), "last-year-income": D(2)}
    working = required_annual_payment(rules, Household("single", facts), taxed("100"))
    assert [(line.label, line.amount) for line in working][1:3] == [
        ("66.5 % of it", D("66.5")),
        ("120 % of last year's tax", D(84)),
    ]


def test_all_missing_figures_are_named() -> None:
    with pytest.raises(RulesError) as refused:
        required_annual_payment(
            read_rules(HEAD, "mine.toml"), Household("single"), taxed("1")
        )
    assert len(str(refused.value).splitlines()) == 5


def test_rules_without_instalments_are_refused() -> None:
    rules = read_rules(HEAD, "mine.toml")
    said = "mine.toml: instalments are missing"
    with pytest.raises(RulesError, match=said):
        regular_parts(rules, D(100))
    with pytest.raises(RulesError, match=said):
        annualised_parts(rules, Household("single"), D(100), [D(1)])


@pytest.mark.parametrize("year", YEARS)
def test_regular_parts_are_quarters_on_the_days_of_the_rules(year: str) -> None:
    parts = regular_parts(YEARS[year], D("1000.01"))
    assert [part.required for part in parts] == [D("250.0025")] * 4
    assert [part.due for part in parts] == {
        "2025": [
            datetime.date(2025, 4, 15),
            datetime.date(2025, 6, 16),
            datetime.date(2025, 9, 15),
            datetime.date(2026, 1, 15),
        ],
        "2026": [
            datetime.date(2026, 4, 15),
            datetime.date(2026, 6, 15),
            datetime.date(2026, 9, 15),
            datetime.date(2027, 1, 15),
        ],
    }[year]


HEAD = """
jurisdiction = "us-federal"
title = "Of the test"
year = "2001"
first-day = 2001-01-01
last-day = 2001-12-31
currency = "USD"
statuses = ["single"]
"""


def old_rules(
    deduction: int, rates: str = "[0.10]", edges: str = "[]", status: str = "single"
) -> Rules:
    """Return rules of a year without the taxes and deductions that came later.

    The examples begin at adjusted gross income: no self-employment tax is taken.
    """
    figures = {
        "standard-deduction": deduction,
        "net-earnings-factor": "0.9235",
        "self-employment-floor": 10**9,
        "additional-medicare-threshold": 10**9,
        "business-income-threshold": 10**9,
        "business-income-phase-in": 1,
        "business-loss-limit": 10**9,
    }
    none = (
        *("standard-deduction-extra", "senior-deduction", "senior-deduction-threshold"),
        *("senior-deduction-phase-out", "social-security-rate", "social-security-base"),
        *("medicare-rate", "additional-medicare-rate", "business-income-rate"),
        *("business-income-least", "business-income-least-income"),
    )
    parts = [
        f"[figures.{name}]\nvalue = {value}\nsource = 'of the test'"
        for name, value in {**figures, **dict.fromkeys(none, 0)}.items()
    ]
    parts.append(
        f"[schedules.income]\nrates = {rates}\nedges = {{ {status} = {edges} }}\n"
        "source = 'of the test'"
    )
    for end, due, annualise, share in (
        ("2001-03-31", "2001-04-15", "4", "0.225"),
        ("2001-05-31", "2001-06-15", "2.4", "0.45"),
        ("2001-08-31", "2001-09-15", "1.5", "0.675"),
        ("2001-12-31", "2002-01-15", "1", "0.90"),
    ):
        parts.append(
            f"[[instalments]]\nperiod-ends = {end}\ndue = {due}\nannualise = {annualise}\n"
            f"share = {share}\nsource = 'Form 2210, Schedule AI'"
        )
    return read_rules(HEAD.replace("single", status) + "\n".join(parts), "old.toml")


def test_betty_beige() -> None:
    # The rates of 2001 are from memory; the printed tax on 27,527 proves the first edge
    # (15 % of 27,050, 27.5 % above it). Line 8 and the exemption of 2,900, line 10, are
    # one deduction here: 6,000 itemised in each column, as they come evenly.
    rules = old_rules(
        4_550, "[0.15, 0.275, 0.305, 0.355, 0.391]", "[27050, 65550, 136750, 297350]"
    )
    household = Household("single", {"itemised-deductions": D(6_000 + 2_900)})
    to_date = [D(5_250), D(13_025), D(21_993), D(36_427)]  # line 1
    parts = annualised_parts(rules, household, D(10_000), to_date)
    workings = [part.annualised for part in parts if part.annualised]
    annualised = [working["adjusted-gross-income"] for working in workings]
    assert [
        abs(line - printed) <= D("0.5")
        for line, printed in zip(annualised, (21_000, 31_260, 32_990, 36_427), strict=True)
    ] == [True] * 4  # line 3
    assert [working["deduction"] - 2_900 for working in workings] == [6_000] * 4
    for working, line_11, line_12 in zip(
        workings,
        (12_100, 22_360, 24_090, 27_527),
        (1_819, 3_356, 3_611, 4_188),
        strict=True,
    ):
        taxable = working["taxable-income"]
        assert abs(taxable - line_11) <= D("0.5")
        # The printed tax is the Tax Table's, of the middle of a band 50 wide: within 25
        # at the marginal rate, and half a dollar of rounding.
        marginal = rules.schedule("income", "single").marginal(taxable)
        assert abs(working["income-tax"] - line_12) <= 25 * marginal + D("0.5")


def test_anne_and_larry_jones() -> None:
    # What they itemise does not come evenly, so each column is a household of its own.
    rules = old_rules(10_900, status="joint")
    columns = [
        # line 1, line 4, its factor, line 3, line 6, line 8, line 9
        (13_203, 1_300, "4", 52_812, 5_200, 10_900, 41_912),
        (23_155, 2_970, "2.4", 55_572, 7_128, 10_900, 44_672),
        (45_037, 7_025, "1.5", 67_556, 10_538, 10_900, 56_656),
        (81_756, 11_525, "1", 81_756, 11_525, 11_525, 70_231),
    ]
    for income, itemised, factor, line_3, line_6, line_8, line_9 in columns:
        a_year = D(itemised) * D(factor)
        assert abs(a_year - line_6) <= D("0.5")
        household = Household("joint", {"itemised-deductions": a_year})
        working = annual_tax(rules, household, D(income) * D(factor))
        assert abs(working["adjusted-gross-income"] - line_3) <= D("0.5")
        assert working["deduction"] == line_8
        assert abs(working["taxable-income"] - line_9) <= D("0.5")


class Column(NamedTuple):
    """A column of Schedule AI with the factors that are printed for it.

    Form 2210 (2019), line 2; Pub. 505 (2003), worksheet 2.10, line 18; Pub. 505 (2020),
    worksheet 2-7, section B, lines 37 and 39, and its prorated base; instructions for
    Form 2210 (2008), page 5, for the divisor of half the self-employment tax.
    """

    annualise: Fraction
    percentage: Fraction
    social: Fraction
    medicare: Fraction
    base_share: Fraction
    half_divisor: Fraction


COLUMNS = [
    Column(*map(Fraction, row.split()))
    for row in (
        "4    0.225  0.496   0.116   1/4   8",
        "2.4  0.45   0.2976  0.0696  5/12  4.8",
        "1.5  0.675  0.186   0.0435  2/3   3",
        "1    0.90   0.124   0.029   1     2",
    )
]


def test_the_printed_prorated_bases() -> None:
    # Pub. 505 (2020), worksheet 2-7: 34,425 / 57,375 / 91,800 / 137,700.
    assert [137_700 * column.base_share for column in COLUMNS] == [
        *(34_425, 57_375, 91_800, 137_700)
    ]


def form_2210(
    rules: Rules, wages: int, other: int, required: Fraction, profits: list[int]
) -> list[Fraction]:
    """Work out Schedule AI for a single person, column by column, as it is printed.

    Wages and other income come evenly over the year. Nothing of ours is used but the
    figures of the year.
    """

    def figure(name: str) -> Fraction:
        return Fraction(rules.figure(name, "single"))

    lines_24, lines_25 = [], []
    for column, profit in zip(COLUMNS, profits, strict=True):
        # Section B: the period's own net earnings, the prorated base, the wages so far.
        net = profit * Fraction("0.9235")
        if net * column.annualise < 400:
            net = Fraction(0)
        room = max(
            figure("social-security-base") * column.base_share - wages / column.annualise,
            Fraction(0),
        )
        annual_se = column.social * min(net, room) + column.medicare * net
        # Section A, line 1: adjusted gross income of the period.
        half = annual_se / column.half_divisor
        income = profit + Fraction(wages + other) / column.annualise - half
        line_3 = income * column.annualise
        before = max(line_3 - figure("standard-deduction"), Fraction(0))
        business = (profit - half) * column.annualise
        over = max(before - figure("business-income-threshold"), Fraction(0))
        kept = 1 - min(over / figure("business-income-phase-in"), Fraction(1))
        deduction = min(business * kept, before) / 5
        line_11 = before - deduction
        schedule = rules.schedule("income", "single")
        line_12, below = Fraction(0), Fraction(0)
        for rate, edge in zip(schedule.rates, (*schedule.edges, D(10) ** 12), strict=True):
            line_12 += Fraction(rate) * max(min(line_11, Fraction(edge)) - below, 0)
            below = Fraction(edge)
        threshold = figure("additional-medicare-threshold")
        medicare = max(wages - threshold, Fraction(0)) + max(
            net * column.annualise - max(threshold - wages, Fraction(0)), Fraction(0)
        )
        line_17 = line_12 + annual_se + medicare * Fraction("0.009")
        line_19 = line_17 * column.percentage
        line_21 = max(line_19 - sum(lines_25), Fraction(0))
        line_22 = required / 4
        line_23 = lines_24[-1] - lines_25[-1] if lines_24 else Fraction(0)
        lines_24.append(line_22 + line_23)
        lines_25.append(min(line_21, lines_24[-1]))
    return lines_25


periods = st.lists(st.integers(0, 120_000), min_size=4, max_size=4)


@given(st.integers(0, 250_000), st.integers(0, 60_000), st.integers(0, 60_000), periods)
def test_the_form_line_by_line(
    wages: int, other: int, required: int, earned: list[int]
) -> None:
    profits = [sum(earned[: n + 1]) for n in range(4)]
    household = Household("single", {"wages": D(wages), "other-income": D(other)})
    ours = annualised_parts(RULES, household, D(required), list(map(D, profits)))
    theirs = form_2210(RULES, wages, other, Fraction(required), profits)
    # Decimals cannot hold every share of the phase-in: 200 digits are enough of them.
    for part, line_25 in zip(ours, theirs, strict=True):
        assert abs(Fraction(part.required) - line_25) < Fraction(1, 10**100)


@given(
    st.integers(0, 60_000), st.lists(st.integers(-50_000, 90_000), min_size=4, max_size=4)
)
def test_what_is_saved_is_caught_up(required: int, earned: list[int]) -> None:
    profits = [D(sum(earned[: n + 1])) for n in range(4)]
    parts = annualised_parts(RULES, Household("single"), D(required), profits)
    last = parts[-1].annualised
    assert last is not None
    with decimal.localcontext(EXACT):
        paid = D(0)
        for number, part in enumerate(parts, 1):
            assert part.required >= 0
            paid += part.required
            assert paid <= D(required) * number / 4
        # By the end all of it is required, unless the year's own tax asks for less.
        by_income = last["total-tax"] * D("0.9")
        assert paid >= min(D(required), by_income)
        if by_income >= D(required):
            assert paid == D(required)


def test_savings_are_recaptured_by_hand() -> None:
    # Nothing earned to May, all of it in the summer: line 25 is 0 and 0, then all that
    # was carried forward. 40,000 to the end of August is 60,000 a year.
    parts = annualised_parts(
        RULES, Household("single"), D(4_000), [D(0), D(0), D(40_000), D(60_000)]
    )
    assert [part.required for part in parts] == [0, 0, 3_000, 1_000]
    a_year = annual_tax(RULES, Household("single"), D(60_000))["total-tax"]
    assert a_year * D("0.675") > 3_000


def test_a_year_in_progress_has_the_parts_that_are_known() -> None:
    parts = annualised_parts(RULES, Household("single"), D(4_000), [D(1_000), D(9_000)])
    assert [part.period_ends for part in parts] == [
        datetime.date(2025, 3, 31),
        datetime.date(2025, 5, 31),
    ]
    assert parts[0].annualised is not None
    assert parts[0].annualised["profit"] == 4_000
    assert parts[1].annualised is not None
    assert parts[1].annualised["profit"] == D("21600.0")


def test_a_loss_to_date_requires_nothing_yet() -> None:
    parts = annualised_parts(
        RULES, Household("single"), D(4_000), [D(-5_000), D(100), D(50_000), D(80_000)]
    )
    assert [part.required for part in parts][:2] == [0, 0]
    assert sum(part.required for part in parts) == 4_000
