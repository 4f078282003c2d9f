"""Countries: what each shipped one is worked out by, and one that is data alone."""

from __future__ import annotations

import datetime
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from offcut.reports.books import Books
from offcut.reports.tax.household import Household
from offcut.reports.tax.jurisdiction_table import (
    JURISDICTIONS,
    Jurisdiction,
    jurisdiction_of,
)
from offcut.reports.tax.rules import Rules, RulesError
from offcut.reports.tax.rules_files import find_rules, known_rules, read_rules
from offcut.reports.tax.set_aside import set_aside
from offcut.reports.tax.tax_settings import tax_settings
from tests.conftest import Loaded

D = Decimal
Day = datetime.date

FLAT_LAND = """
jurisdiction = "flat-land"
title = "Flat Land, income tax"
year = "2025"
first-day = 2025-01-01
last-day = 2025-12-31
currency = "USD"
statuses = ["everyone"]
calculation = "schedule-only"

[schedules.income]
rates = [0.20]
edges = { everyone = [] }
source = "made up"

[[instalments]]
label = "In summer"
due = 2025-07-01
share = 0.40
source = "made up"

[[instalments]]
label = "The rest"
due = 2026-03-31
source = "made up"
"""
FIGURES = """
[figures.allowance]
value = 5_000
source = "made up"

[figures.social-rate]
value = 0.10
source = "made up"

[figures.social-floor]
value = 1_000
source = "made up"

[figures.social-ceiling]
value = 41_000
source = "made up"
"""


def flat_land(more: str = "") -> tuple[Rules, Jurisdiction]:
    rules = read_rules(FLAT_LAND + more, "flat.toml")
    return rules, jurisdiction_of(rules)


def everyone(**facts: str) -> Household:
    answers = {key.replace("_", "-"): D(value) for key, value in facts.items()}
    return Household("everyone", answers)


@pytest.mark.parametrize("key", known_rules())
def test_every_shipped_year_can_be_worked_out(key: tuple[str, str]) -> None:
    rules = find_rules(*key)
    country = jurisdiction_of(rules)
    assert country is JURISDICTIONS[rules.jurisdiction]
    for status in rules.statuses:
        household = Household(status)
        working = country.annual_tax(rules, household, D(40_000))
        assert 0 < working["total-tax"] < 40_000
        assert 0 < working["taxable-income"] <= 40_000
        required, parts, withheld = country.instalments(
            rules, household, working, "regular", ()
        )
        assert list(required) and withheld == 0
        assert 0 < sum(part.required for part in parts) <= working["total-tax"]
        days = [part.due for part in parts]
        assert days == sorted(set(days))


@pytest.mark.parametrize("name", JURISDICTIONS)
def test_what_is_withheld_is_one_of_the_questions(name: str) -> None:
    country = JURISDICTIONS[name]
    assert country.withheld_fact in [fact.key for fact in country.facts]
    household = Household("any", {country.withheld_fact: D("12.50")})
    assert country.withheld(household) == D("12.50")
    assert country.withheld(Household("any")) == 0


def test_questions_are_asked_once() -> None:
    for country in JURISDICTIONS.values():
        keys = [fact.key for fact in country.facts]
        assert len(set(keys)) == len(keys)


def test_rules_that_nothing_works_out_are_refused() -> None:
    text = FLAT_LAND.replace('calculation = "schedule-only"\n', "")
    with pytest.raises(RulesError) as raised:
        jurisdiction_of(read_rules(text, "flat.toml"))
    assert str(raised.value) == (
        "flat.toml: no calculation is called 'flat-land'; write calculation = "
        '"schedule-only", or one of schedule-only, uk-sole-trader or us-federal'
    )
    text = FLAT_LAND.replace('"schedule-only"', '"shedule-only"')
    with pytest.raises(RulesError, match=r"\(did you mean schedule-only\?\)"):
        jurisdiction_of(read_rules(text, "flat.toml"))
    text = FLAT_LAND.replace('"schedule-only"', "7")
    with pytest.raises(RulesError, match="calculation must be text in quotes"):
        read_rules(text, "flat.toml")


BY_STATUS = FLAT_LAND.replace('["everyone"]', '["hill", "coast"]').replace(
    "rates = [0.20]\nedges = { everyone = [] }",
    "rates = { hill = [0.20], coast = [0.10, 0.30] }\nedges = { hill = [], coast = [100] }",
)


def test_rates_may_differ_by_status() -> None:
    rules = read_rules(BY_STATUS, "flat.toml")
    country = jurisdiction_of(rules)
    taxes = {
        status: country.annual_tax(rules, Household(status), D(300))["total-tax"]
        for status in rules.statuses
    }
    # 300 x 0.20; 100 x 0.10 + 200 x 0.30.
    assert taxes == {"hill": 60, "coast": 70}


@pytest.mark.parametrize(
    ("text", "instead", "message"),
    [
        ("hill = [0.20], ", "", "schedules.income: rates: hill is missing"),
        ("hill = [0.20]", "hill = [20]", "rates: hill must be a list of shares of 1"),
        ("hill = [0.20]", "hill = []", "rates: hill must be a list of shares of 1"),
        ("hill = [0.20]", "dale = [0.20]", "rates: 'dale' is no status"),
        ("hill = [],", "hill = [5],", "edges: hill must be 0 rising numbers"),
        ("coast = [100]", "coast = []", "edges: coast must be 1 rising numbers"),
        (", coast = [100]", "", "edges: coast is missing"),
        ("hill = [],", "hill = [], dale = [],", "edges: 'dale' is no status"),
        ("edges = {", "edges = 5 # {", "edges must name each status"),
    ],
)
def test_wrong_rates_by_status_are_refused(text: str, instead: str, message: str) -> None:
    assert text in BY_STATUS
    with pytest.raises(RulesError) as raised:
        read_rules(BY_STATUS.replace(text, instead), "flat.toml")
    assert message in str(raised.value)
    assert all(line.startswith("flat.toml: ") for line in str(raised.value).splitlines())


def test_shares_that_fall_are_refused() -> None:
    text = FLAT_LAND.replace("due = 2026-03-31", "due = 2026-03-31\nshare = 0.30")
    with pytest.raises(RulesError) as raised:
        read_rules(text, "flat.toml")
    assert str(raised.value) == (
        "flat.toml: instalments 2: share 0.30 is less than the one above; each is what is "
        "to be paid by then"
    )


def test_a_flat_tax_is_its_rate_of_the_profit() -> None:
    rules, country = flat_land()
    working = country.annual_tax(rules, everyone(), D("1234.50"))
    assert [(line.key, line.amount) for line in working] == [
        ("profit", D("1234.50")),
        ("other-income", 0),
        ("taxable-income", D("1234.50")),
        ("income-tax", D("246.90")),
        ("total-tax", D("246.90")),
    ]


@pytest.mark.parametrize(
    ("profit", "other", "total"),
    [
        # (3,000 - 5,000) is nothing; (3,000 - 1,000) x 0.10.
        ("3000", "0", "200"),
        # 5,000 x 0.20 + 9,000 x 0.10.
        ("10000", "0", "1900"),
        # 65,000 x 0.20 + 40,000 x 0.10: no more is social than up to the ceiling.
        ("50000", "20000", "17000"),
        # A loss does not lower other income: 15,000 x 0.20.
        ("-4000", "20000", "3000"),
    ],
)
def test_an_allowance_and_a_social_rate_are_figures(
    profit: str, other: str, total: str
) -> None:
    rules, country = flat_land(FIGURES)
    household = everyone(other_income=other)
    working = country.annual_tax(rules, household, D(profit))
    assert working["total-tax"] == D(total)
    assert any("made a loss" in note for note in working.notes) == profit.startswith("-")


@given(st.decimals(-10_000, 200_000, places=2), st.decimals(-10_000, 200_000, places=2))
def test_a_flat_tax_rises_no_faster_than_its_rates(one: Decimal, other: Decimal) -> None:
    rules, country = flat_land(FIGURES)
    low, high = sorted((one, other))
    less, more = (
        country.annual_tax(rules, everyone(), each)["total-tax"] for each in (low, high)
    )
    assert 0 <= more - less <= (high - low) * D("0.30")


def test_the_payments_follow_the_shares() -> None:
    rules, country = flat_land()
    household = everyone(withholding="50")
    working = country.annual_tax(rules, household, D(1_000))
    required, parts, withheld = country.instalments(
        rules, household, working, "regular", ()
    )
    assert [(part.label, part.due, part.required) for part in parts] == [
        ("In summer", Day(2025, 7, 1), 80),
        ("The rest", Day(2026, 3, 31), 120),
    ]
    assert withheld == 50
    assert required["total-tax"] == 200
    other = country.instalments(rules, household, working, "annualised", ())
    assert "The method annualised is not known here." in other.working.notes


def test_a_country_is_a_file_beside_the_ledger(ledger: Loaded, tmp_path: Path) -> None:
    """
    option "operating_currency" "USD"
    2025-01-01 open Assets:Bank
    2025-01-01 open Income:Sales:Web
    2025-01-01 open Expenses:Postage
    2025-01-01 open Expenses:Private
      tax-line: "none"
    2025-01-01 * "Sales"
      Income:Sales:Web  -900.00 USD
      Expenses:Postage   100.00 USD
      Assets:Bank
    2025-12-31 * "Sales"
      Income:Sales:Web  -600.00 USD
      Expenses:Private   400.00 USD
      Assets:Bank
    """
    (tmp_path / "taxes").mkdir()
    (tmp_path / "taxes" / "flat-land-2025.toml").write_text(FLAT_LAND)
    (tmp_path / "offcut.toml").write_text('[tax]\njurisdiction = "flat-land"\n')
    main = tmp_path / "main.beancount"
    assert not ledger.errors
    books = Books(ledger.entries, ledger.options, (), main)
    found = set_aside(books, tax_settings(main), "2025", Day(2026, 1, 10))
    # Without a form all income and expenses count but what the ledger itself leaves out:
    # 900 + 600 - 100.
    assert found.year.projection.profit == 1_400
    assert found.year.to_date.unplaced == []
    assert found.year.tax["total-tax"] == 280
    assert [stand.part.required for stand in found.year.stands] == [112, 168]
    assert found.owed == 280
