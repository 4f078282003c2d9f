"""United States federal tax: reference cases, the rules' own edges, what holds of all.

The reference cases of `us_reference_cases.csv` were worked out with taxcalc 6.8.0 (Policy
Simulation Library) and, independently of it, with a second program, which gave the same
figures to 0.006: one filer aged 40 (and the spouse 40), all profit the filer's, no
specified service trade, no wages paid by the business, the standard deduction, no credits.
`test_us_federal_against_taxcalc.py` runs taxcalc itself.
"""

from __future__ import annotations

import csv
import decimal
from decimal import Decimal
from importlib import resources
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from offcut.importers.splitting import EXACT
from offcut.reports.tax.household import Household, HouseholdError, read_household
from offcut.reports.tax.rules import Rules, RulesError
from offcut.reports.tax.rules_files import find_rules, read_rules
from offcut.reports.tax.us_federal import FIGURES, NOT_COUNTED, annual_tax
from offcut.reports.tax.us_household import FACTS
from offcut.reports.tax.working import Working

D = Decimal
CENT = D("0.01")
YEARS = {year: find_rules("us-federal", year) for year in ("2025", "2026")}
STATUSES = YEARS["2025"].statuses
CASES = list(csv.DictReader((Path(__file__).parent / "us_reference_cases.csv").open()))
AMOUNTS = list(CASES[0])[5:]


def tax_of(
    profit: Any, status: str = "single", year: str = "2025", **facts: Any
) -> Working:
    answers = {key.replace("_", "-"): D(value) for key, value in facts.items()}
    return annual_tax(YEARS[year], Household(status, answers), D(profit))


def notes_of(working: Working) -> str:
    return "\n".join(working.notes)


def test_all_reference_cases_are_here() -> None:
    assert len(CASES) == 32
    assert len(AMOUNTS) == 9


@pytest.mark.parametrize("case", CASES, ids=[each["case"] for each in CASES])
def test_reference_case(case: dict[str, str]) -> None:
    working = tax_of(
        *(case["profit"], case["status"], f"20{case['case'][1:3]}"),
        wages=case["wages"],
        spouse_wages=case["spouse-wages"],
    )
    wrong = {
        name: (working[name], case[name])
        for name in AMOUNTS
        # Where nothing is taxable anyhow the least deduction of 400 changes nothing; a
        # form may print none.
        if not (name == "business-income-deduction" and not working["taxable-income"])
        and abs(working[name] - D(case[name])) > CENT
    }
    assert wrong == {}


def test_a_case_by_hand() -> None:
    # Worked by hand, 250,000 of profit, single, 2025: net earnings 230,875; of these
    # 176,100 x 12.4 % = 21,836.40 and all x 2.9 % = 6,695.375. Above 200,000: 30,875 x
    # 0.9 % = 277.875. Income before the deduction 235,734.1125 - 15,750 = 219,984.1125 is
    # 22,684.1125 above 197,300, or 45.368225 % of 50,000.
    working = tax_of(250_000)
    assert working["net-earnings"] == D(230_875)
    assert working["social-security-tax"] == D("21836.40")
    assert working["medicare-tax"] == D("6695.375")
    assert working["self-employment-tax"] == D("28531.775")
    assert working["half-self-employment-tax"] == D("14265.8875")
    assert working["additional-medicare-tax"] == D("277.875")
    assert working["income-before-business-deduction"] == D("219984.1125")
    assert working["business-income-deduction"] == (
        (D(250_000) - D("14265.8875")) * D("0.2") * (1 - D("0.45368225"))
    )
    assert "above the threshold" in notes_of(working)


def test_official_net_earnings() -> None:
    # Pub. 505 (2008), Worksheet 2-2: 40,100 x 92.35 % = 37,032. Rates have not changed
    # since: 12.4 % is 4,592, 2.9 % is 1,074, together 5,666, and half of it 2,833.
    working = tax_of(40_100)
    assert round(working["net-earnings"]) == 37_032
    assert round(working["social-security-tax"]) == 4_592
    assert round(working["medicare-tax"]) == 1_074
    assert round(working["self-employment-tax"]) == 5_666
    assert round(working["half-self-employment-tax"]) == 2_833


def test_lines_stand_in_the_order_of_the_forms() -> None:
    keys = [line.key for line in tax_of(80_000, aged_65=1, credits=100)]
    assert keys == [
        "profit",
        "net-earnings",
        "social-security-room",
        "social-security-tax",
        "medicare-tax",
        "self-employment-tax",
        "half-self-employment-tax",
        "additional-medicare-tax",
        "other-income",
        "adjustments",
        "adjusted-gross-income",
        "deduction",
        "senior-deduction",
        "income-before-business-deduction",
        "qualified-business-income",
        "business-income-deduction",
        "taxable-income",
        "income-tax",
        "credits",
        "total-tax",
    ]
    assert all(line.where and line.label for line in tax_of(80_000))


@pytest.mark.parametrize("profit", [-1, -20_000, 0])
def test_no_profit_has_no_tax(profit: int) -> None:
    working = tax_of(profit)
    assert working["total-tax"] == working["taxable-income"] == 0
    assert working["self-employment-tax"] == working["business-income-deduction"] == 0
    assert ("made a loss: no tax is due on it" in notes_of(working)) == (profit < 0)


def test_a_loss_lowers_other_income() -> None:
    assert tax_of(-20_000, wages=60_000)["adjusted-gross-income"] == 40_000
    less = tax_of(-20_000, wages=60_000)["total-tax"]
    assert less < tax_of(0, wages=60_000)["total-tax"]


def test_a_large_loss_is_limited() -> None:
    assert tax_of(-400_000, wages=500_000)["adjusted-gross-income"] == 187_000
    joint = tax_of(-400_000, "joint", wages=500_000)
    assert joint["adjusted-gross-income"] == 100_000


@pytest.mark.parametrize(
    ("profit", "tax", "is_noted"),
    [
        # 433 x 0.9235 = 399.8755 and 434 x 0.9235 = 400.799, on either side of 400.
        ("433", "0", True),
        ("434", "61.322247", False),
        ("0", "0", False),
    ],
)
def test_below_the_floor_there_is_no_self_employment_tax(
    profit: str, tax: str, is_noted: bool
) -> None:
    working = tax_of(profit)
    assert working["self-employment-tax"] == D(tax)
    assert ("Net earnings are below 400" in notes_of(working)) is is_noted


def test_earnings_below_the_floor_have_no_additional_medicare_tax() -> None:
    # IRC section 1402(b)(2), from memory: net earnings below 400 are no self-employment
    # income at all; Schedule SE stops at line 4c, so Form 8959 has nothing for line 8.
    assert tax_of(433, wages=300_000)["additional-medicare-tax"] == D(900)
    assert tax_of(434, wages=300_000)["additional-medicare-tax"] == D("903.607191")


def test_wages_use_up_the_social_security_base() -> None:
    assert tax_of(50_000, wages=176_100)["social-security-tax"] == 0
    assert tax_of(50_000, wages=200_000)["social-security-room"] == 0
    assert tax_of(50_000, wages=176_000)["social-security-tax"] == D("12.4")
    # A spouse's wages do not: the base is each person's own.
    assert (
        tax_of(50_000, "joint", spouse_wages=176_100)["social-security-tax"]
        == tax_of(50_000, "joint")["social-security-tax"]
    )


def test_a_surviving_spouse_has_no_spouses_wages() -> None:
    assert tax_of(0, "surviving-spouse", spouse_wages=9_000)["other-income"] == 0
    assert tax_of(0, "joint", spouse_wages=9_000)["other-income"] == 9_000


def test_the_larger_deduction_counts() -> None:
    assert tax_of(0, itemised_deductions=15_750)["deduction"] == 15_750
    larger = tax_of(0, itemised_deductions=15_751)
    assert larger["deduction"] == 15_751
    assert any(line.label == "Itemised deductions" for line in larger)


def test_who_must_itemise_has_no_standard_deduction() -> None:
    working = tax_of(0, "separate", wages=50_000, must_itemise=1, itemised_deductions=900)
    assert working["deduction"] == 900
    assert "no standard deduction" in notes_of(working)


def test_seniors_have_two_deductions() -> None:
    # 15,750 + 2,000, and 6,000 less 6 % of what is above 75,000.
    assert tax_of(0, aged_65=1)["deduction"] == 17_750
    assert tax_of(0, aged_65=1)["senior-deduction"] == 6_000
    assert tax_of(0, aged_65=1, wages=75_000)["senior-deduction"] == 6_000
    assert tax_of(0, aged_65=1, wages=85_000)["senior-deduction"] == 5_400
    assert tax_of(0, aged_65=1, wages=175_000).get("senior-deduction") == 0
    assert tax_of(0, "joint", aged_65=2, wages=160_000)["senior-deduction"] == 10_800
    assert tax_of(0, "separate", aged_65=1).get("senior-deduction") == 0


def test_adjustments_lower_income_and_the_business_ones_business_income() -> None:
    # 50,000 is 46,467.6125 after half of the self-employment tax of 7,064.775.
    working = tax_of(50_000, business_adjustments=4_000, other_adjustments=1_000)
    assert working["adjustments"] == D("3532.3875") + 5_000
    assert working["adjusted-gross-income"] == D("46467.6125") - 5_000
    assert working["qualified-business-income"] == D("46467.6125") - 4_000


def test_the_deduction_for_seniors_comes_before_that_of_the_business() -> None:
    # 46,467.6125 less 17,750 less 6,000, of which 20 % are less than of the business.
    working = tax_of(50_000, aged_65=1)
    assert working["income-before-business-deduction"] == D("22717.6125")
    assert working["business-income-deduction"] == D("4543.5225")
    assert working["taxable-income"] == D("18174.09")


def test_the_least_business_income_deduction_is_of_2026() -> None:
    # 1,076.34 of profit is 1,000.30 after half of the tax, 1,076 is 999.98.
    ample = {"wages": 50_000}
    assert tax_of(1_076, year="2026", **ample)["business-income-deduction"] < 400
    assert tax_of("1076.34", year="2026", **ample)["business-income-deduction"] == 400
    assert tax_of("1076.34", year="2025", **ample)["business-income-deduction"] < 400


def test_credits_reduce_income_tax_to_nothing_and_no_further() -> None:
    before = tax_of(50_000)
    some = tax_of(50_000, credits=100)
    assert some["total-tax"] == before["total-tax"] - 100
    assert some["credits"] == -100
    all_of_it = tax_of(50_000, credits=99_999)
    assert all_of_it["total-tax"] == before["self-employment-tax"]


@pytest.mark.parametrize("status", STATUSES)
def test_what_is_not_counted_is_said(status: str) -> None:
    assert NOT_COUNTED in tax_of(1_000, status).notes


def read(status: str, **answers: Any) -> Household:
    answers = {key.replace("_", "-"): value for key, value in answers.items()}
    return read_household({"status": status, **answers}, STATUSES, FACTS, "[tax]")


@pytest.mark.parametrize("status", ["single", "head-of-household", "surviving-spouse"])
@pytest.mark.parametrize("key", ["aged_65", "blind"])
def test_one_person_is_one_person(status: str, key: str) -> None:
    assert read(status, **{key: 1}).fact(key.replace("_", "-")) == 1
    with pytest.raises(HouseholdError, match="must be a whole number up to 1, not 2"):
        read(status, **{key: 2})
    assert read("joint", **{key: 2}).fact(key.replace("_", "-")) == 2


def test_a_spouses_wages_are_of_a_joint_return() -> None:
    with pytest.raises(
        HouseholdError, match="spouse-wages is of status joint only, not of separate"
    ):
        read("separate", spouse_wages=10)
    assert read("separate", spouse_wages=0).fact("spouse-wages") == 0
    asked = {fact.key for fact in read("single").unanswered(FACTS)}
    assert {"spouse-wages", "must-itemise"}.isdisjoint(asked)
    assert "must-itemise" in {f.key for f in read("separate").unanswered(FACTS)}


def shipped_without(*names: str) -> Rules:
    """Return the rules of 2025 without some of their figures."""
    folder = resources.files("offcut.reports.tax.jurisdictions")
    text = folder.joinpath("us-federal-2025.toml").read_text("utf-8")
    blocks = text.split("\n\n")
    kept = [b for b in blocks if not b.startswith(tuple(f"[figures.{n}]" for n in names))]
    assert len(kept) == len(blocks) - len(names)
    return read_rules("\n\n".join(kept), "mine.toml")


def test_all_missing_figures_are_named() -> None:
    rules = shipped_without("medicare-rate", "standard-deduction")
    with pytest.raises(RulesError) as refused:
        annual_tax(rules, Household("single"), D(1_000))
    assert str(refused.value).splitlines() == [
        "mine.toml: the figure medicare-rate is missing; add it",
        "mine.toml: the figure standard-deduction is missing; add it",
    ]


@pytest.mark.parametrize("name", FIGURES)
def test_every_required_figure_is_needed(name: str) -> None:
    with pytest.raises(RulesError, match=f"the figure {name} is missing"):
        annual_tax(shipped_without(name), Household("single"), D(1_000))


money = st.decimals(0, 600_000, places=2)
households = st.builds(
    lambda status, facts: Household(status, facts),
    st.sampled_from(STATUSES),
    st.fixed_dictionaries(
        {
            "wages": money,
            "spouse-wages": money,
            "other-income": money,
            "itemised-deductions": money,
            "business-adjustments": st.decimals(0, 20_000, places=2),
            "aged-65": st.integers(0, 1).map(D),
        }
    ),
)
profits = st.decimals(-100_000, 600_000, places=2)
years = st.sampled_from(sorted(YEARS))


@given(years, households, profits, money)
def test_more_profit_never_lowers_tax_and_never_jumps(
    year: str, household: Household, profit: D, more: D
) -> None:
    less = annual_tax(YEARS[year], household, profit)["total-tax"]
    higher = annual_tax(YEARS[year], household, profit + more)["total-tax"]
    # But for the least deduction of 400 in 2026, which comes at once at 1,000 of business
    # income, and lowers tax by 37 % of it at most.
    assert higher - less >= (-D("0.37") * 400 if year == "2026" else 0)
    # No step but the floor of self-employment tax, and no slope above 15.3 % and 0.9 %
    # and 37 % of: the profit, 6 % of it by which the deduction for seniors falls, and
    # what the business income deduction falls by: 20 % of 600,000 over 50,000.
    floor = D("0.162") * 400
    slope = D("0.162") + D("0.37") * (1 + D("0.06") + D("0.2") * 600_000 / 50_000)
    assert higher - less <= more * slope + floor


@given(years, households, profits)
def test_the_lines_fit_together(year: str, household: Household, profit: D) -> None:
    working = annual_tax(YEARS[year], household, profit)
    assert working["total-tax"] >= 0
    assert working["taxable-income"] >= 0
    assert working["half-self-employment-tax"] * 2 == working["self-employment-tax"]
    most = D("0.2") * working["income-before-business-deduction"]
    least = 400 if year == "2026" else 0
    assert 0 <= working["business-income-deduction"] <= max(most, D(least))
    assert working["income-tax"] <= working["taxable-income"] * D("0.37")
    with decimal.localcontext(EXACT):
        assert working["total-tax"] == (
            working["income-tax"]
            + working["self-employment-tax"]
            + working["additional-medicare-tax"]
        )
    assert working["self-employment-tax"] <= max(profit, D(0)) * D("0.153")
