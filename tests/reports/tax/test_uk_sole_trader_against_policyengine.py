"""United Kingdom tax of a sole trader against PolicyEngine-UK, over a grid of people.

PolicyEngine-UK 2.162.10 is an open model of the United Kingdom's taxes and benefits, in
the `reference-uk` extra. It calculates in 32-bit floats, which hold seven digits: cents of
larger amounts are compared as closely as it has them.
"""

from __future__ import annotations

import importlib.util
from collections.abc import Iterator
from decimal import Decimal
from typing import Any, NamedTuple

import pytest

from offcut.reports.tax.household import Household
from offcut.reports.tax.rules_files import find_rules
from offcut.reports.tax.uk_sole_trader import annual_tax
from offcut.reports.tax.working import Working

pytestmark = [
    pytest.mark.reference,
    pytest.mark.slow,
    pytest.mark.skipif(
        importlib.util.find_spec("policyengine_uk") is None,
        reason="needs `policyengine-uk` of the reference-uk extra",
    ),
]

D = Decimal
YEARS = {"2025-26": 2025, "2026-27": 2026}
# PolicyEngine's country and a region of it, by our status.
NATIONS = {
    "england": ("ENGLAND", "LONDON"),
    "wales": ("WALES", "WALES"),
    "northern-ireland": ("NORTHERN_IRELAND", "NORTHERN_IRELAND"),
    "scotland": ("SCOTLAND", "SCOTLAND"),
}
# Edges of bands, of class 4, of the small profits threshold and of the taper among them.
PROFITS = (
    *(-4_000, 0, 999, 6_845, 7_105, 12_570, 12_571, 15_397, 27_491, 43_662, 50_270),
    *(50_271, 75_000, 100_000, 100_001, 112_345, 125_140, 125_141, 180_000),
)
WAGES = (0, 9_000, 12_570, 24_000, 50_270, 90_000)

# What PolicyEngine calls each line of our working. The charge that takes winter fuel
# payments of pensioners back is not counted by us, and said so.
VARIABLES = {
    "income-tax": "income_tax_before_winter_fuel_payment_charge",
    "class-4": "ni_class_4",
    "personal-allowance": "personal_allowance",
}


class Case(NamedTuple):
    """A person and their profit; money in pounds."""

    nation: str
    profit: int
    wages: int = 0
    pension: int = 0
    takings: int | None = None
    age: int = 40


def cases() -> Iterator[Case]:
    for nation in NATIONS:
        for profit in PROFITS:
            for wages in WAGES:
                yield Case(nation, profit, wages)
        for takings in (400, 1_000, 1_001, 9_000, 20_000, 60_000):
            yield Case(nation, takings, takings=takings, wages=20_000)
        for profit in (20_000, 60_000, 110_000):
            yield Case(nation, profit, pension=15_000)
            yield Case(nation, profit, pension=15_000, age=75)


CASES = tuple(cases())


class Reference(NamedTuple):
    """What PolicyEngine says, by variable, in the order of the cases."""

    amounts: dict[str, list[float]]
    class_1: list[float]
    class_2_due: list[float]
    scottish: list[bool]


def simulated(year: int) -> Reference:
    from policyengine_uk import Simulation

    people: dict[str, Any] = {}
    units: dict[str, Any] = {}
    households: dict[str, Any] = {}
    for number, case in enumerate(CASES):
        # A profit of up to 1,000 is taken for takings of as much, unless these are given.
        takings = case.takings or max(case.profit, 0) + 5_000
        person = {
            "age": case.age,
            "self_employment_income": case.profit,
            "self_employment_gross_receipts": takings,
            "employment_income": case.wages,
            "private_pension_income": case.pension,
        }
        people[f"p{number}"] = {key: {year: value} for key, value in person.items()}
        units[f"u{number}"] = {"members": [f"p{number}"]}
        country, region = NATIONS[case.nation]
        households[f"h{number}"] = {
            "members": [f"p{number}"],
            "country": {year: country},
            "region": {year: region},
        }
    simulation = Simulation(
        situation={"people": people, "benunits": units, "households": households}
    )

    def calculated(variable: str) -> list[Any]:
        return list(simulation.calculate(variable, year).tolist())

    return Reference(
        {variable: calculated(variable) for variable in VARIABLES.values()},
        calculated("ni_class_1_employee_primary"),
        calculated("ni_class_2"),
        calculated("pays_scottish_income_tax"),
    )


@pytest.fixture(scope="module")
def reference() -> dict[str, Reference]:
    return {name: simulated(year) for name, year in YEARS.items()}


def ours(year: str, case: Case, class_1: float) -> Working:
    facts = {
        "wages": D(case.wages),
        "class-1-main": D(class_1),
        "other-income": D(case.pension),
        "over-pension-age": D(case.age > 70),
    }
    if case.takings is not None:
        facts["trading-income"] = D(case.takings)
    rules = find_rules("uk-sole-trader", year)
    return annual_tax(rules, Household(case.nation, facts), D(case.profit))


def test_the_grid_is_large_enough() -> None:
    assert len(CASES) * len(YEARS) >= 1_000
    assert len(set(CASES)) == len(CASES)


@pytest.mark.parametrize("year", YEARS)
def test_every_line_is_policyengines(year: str, reference: dict[str, Reference]) -> None:
    found = reference[year]
    assert sum(found.scottish) == len(CASES) / 4
    assert not any(found.class_2_due)
    limited = 0
    for number, case in enumerate(CASES):
        working = ours(year, case, found.class_1[number])
        limited += any("yearly maximum" in note for note in working.notes)
        for key, variable in VARIABLES.items():
            expected = found.amounts[variable][number]
            got = abs(float(working[key]))
            tolerance = max(0.01, abs(expected) * 2**-22)
            assert got == pytest.approx(expected, abs=tolerance), (case, key)
    # Those to whom the yearly maximum of class 1 and class 4 together means something.
    assert limited > 50


@pytest.mark.parametrize("year", YEARS)
def test_every_figure_is_policyengines(year: str) -> None:
    from policyengine_uk import CountryTaxBenefitSystem

    rules = find_rules("uk-sole-trader", year)
    parameters = CountryTaxBenefitSystem().parameters(f"{YEARS[year]}-04-06").gov.hmrc
    rates = parameters.income_tax.rates
    allowances = parameters.income_tax.allowances
    insurance = parameters.national_insurance

    for status in NATIONS:
        scale = rates.scotland.rates if status == "scotland" else rates.uk
        schedule = rules.schedule("income", status)
        count = len(schedule.rates)
        assert [float(each) for each in schedule.rates] == list(scale.rates)[:count]
        assert [0, *map(float, schedule.edges)] == list(scale.thresholds)[:count]

    personal = allowances.personal_allowance
    figures = {
        "personal-allowance": personal.amount,
        "personal-allowance-income": personal.maximum_ANI,
        "personal-allowance-taper": personal.reduction_rate,
        "trading-allowance": allowances.trading_allowance,
        "class-4-lower-limit": insurance.class_4.thresholds.lower_profits_limit,
        "class-4-upper-limit": insurance.class_4.thresholds.upper_profits_limit,
        "class-4-main-rate": insurance.class_4.rates.main,
        "class-4-additional-rate": insurance.class_4.rates.additional,
        "class-2-small-profits": insurance.class_2.small_profits_threshold,
    }
    for name, value in figures.items():
        assert float(rules.figure(name, "england")) == value, name
