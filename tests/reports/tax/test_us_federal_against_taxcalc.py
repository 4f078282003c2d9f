"""United States federal tax against taxcalc itself, over a grid of households.

taxcalc 6.8.0 is the tax calculator of the Policy Simulation Library, in the `reference`
extra. It knows the tax schedule and not the printed Tax Table, as we do. One kind of
difference is explained and measured below: it counts net earnings below 400, which are no
self-employment income, for the Additional Medicare tax.
"""

from __future__ import annotations

import importlib.util
from collections.abc import Iterator
from decimal import Decimal
from typing import Any, NamedTuple

import pandas as pd
import pytest

from offcut.reports.tax.household import Household
from offcut.reports.tax.rules import Rules
from offcut.reports.tax.rules_files import find_rules
from offcut.reports.tax.us_federal import annual_tax

pytestmark = [
    pytest.mark.reference,
    pytest.mark.skipif(
        importlib.util.find_spec("taxcalc") is None,
        reason="needs `taxcalc` of the reference extra",
    ),
]

D = Decimal
CENT = 0.01
YEARS = ("2025", "2026")
RULES = {year: find_rules("us-federal", year) for year in YEARS}
# In the order in which taxcalc numbers them, from 1.
STATUSES = ("single", "joint", "separate", "head-of-household", "surviving-spouse")

# What taxcalc calls each line of our working.
VARIABLES = {
    "self-employment-tax": "setax",
    "additional-medicare-tax": "ptax_amc",
    "half-self-employment-tax": "c03260",
    "adjusted-gross-income": "c00100",
    "senior-deduction": "senior_deduction",
    "business-income-deduction": "qbided",
    "taxable-income": "c04800",
    "income-tax": "c05800",
}

# And each figure of our rules.
PARAMETERS = {
    "standard-deduction": "STD",
    "standard-deduction-extra": "STD_Aged",
    "senior-deduction-threshold": "SeniorDed_ps",
    "senior-deduction-phase-out": "SeniorDed_prt",
    "self-employment-floor": "SECA_Earnings_thd",
    "social-security-base": "SS_Earnings_c",
    "additional-medicare-rate": "AMEDT_rt",
    "additional-medicare-threshold": "AMEDT_ec",
    "business-income-rate": "PT_qbid_rt",
    "business-income-threshold": "PT_qbid_taxinc_thd",
    "business-income-phase-in": "PT_qbid_taxinc_gap",
    "business-income-least": "PT_qbid_min_ded",
    "business-income-least-income": "PT_qbid_min_qbi",
    "business-loss-limit": "ALD_BusinessLosses_c",
}


class Case(NamedTuple):
    """A household and its profit; money in dollars."""

    status: str
    profit: int
    wages: int = 0
    spouse_wages: int = 0
    aged: int = 0
    blind: int = 0
    other: float = 0
    business_adjustments: int = 0
    other_adjustments: int = 0
    itemised: int = 0
    must_itemise: int = 0


def cases(rules: Rules) -> Iterator[Case]:
    """Yield the grid of a year."""
    yield from cases_of_earnings(int(rules.figure("social-security-base", "single")))
    for status in STATUSES:
        yield from cases_of_age(status)
        yield from cases_of_deductions(status)
        yield from cases_of_edges(rules, status)


def cases_of_earnings(base: int) -> Iterator[Case]:
    """Yield losses, both sides of the floor of 400, of the base, and of 0.9 %."""
    profits = (
        *(-700_000, -400_000, -50_000, -1, 0, 433, 434, 1_075, 1_077, 8_000, 30_000),
        *(65_000, 120_000, int(base / 0.9235), int(base / 0.9235) + 1, 216_567),
        *(250_000, 300_000, 450_000, 1_000_000),
    )
    for status in STATUSES:
        for profit in profits:
            for wages in (0, 40_000, base - 10_000, base, 199_999, 270_000):
                yield Case(status, profit, wages)
            if status == "joint":
                for wages, spouse in ((0, 70_000), (60_000, 190_001), (0, 260_000)):
                    yield Case(status, profit, wages, spouse)


def cases_of_age(status: str) -> Iterator[Case]:
    """Yield people of 65 and more, and blind ones, through the phase-out."""
    both = ((2, 0), (2, 2)) if status == "joint" else ()
    for aged, blind in ((1, 0), (0, 1), (1, 1), *both):
        for profit in (-5_000, 12_000, 60_000, 95_000, 230_000):
            for wages in (0, 25_000, 76_000, 140_000):
                yield Case(status, profit, wages, aged=aged, blind=blind)


def cases_of_deductions(status: str) -> Iterator[Case]:
    """Yield other income, adjustments and itemised deductions."""
    separate = ((0, 0, 9_000, 1),) if status == "separate" else ()
    for profit in (0, 20_000, 60_000, 280_000):
        for other in (500, 90_000, 250_000):
            for adjustments in (
                *((0, 0, 0, 0), (4_000, 3_000, 0, 0), (0, 0, 26_000, 0)),
                *((9_000, 500, 55_000, 0), *separate),
            ):
                yield Case(status, profit, 0, 0, 0, 0, other, *adjustments)


def cases_of_edges(rules: Rules, status: str) -> Iterator[Case]:
    """Yield incomes a dollar around each bracket's edge and around the threshold."""
    standard = rules.figure("standard-deduction", status)
    for edge in rules.schedule("income", status).edges:
        for around in (-1, 0, 1):
            yield Case(status, 0, other=float(standard + edge + around))
    threshold = rules.figure("business-income-threshold", status)
    width = rules.figure("business-income-phase-in", status)
    # 60,000 of profit is 55,761.135 after half of the self-employment tax.
    for before in (-1, 0, 1, width / 3, width - 1, width, width + 1):
        other = threshold + before + standard - D("55761.135")
        yield Case(status, 60_000, other=float(other))


GRIDS = {year: list(cases(rules)) for year, rules in RULES.items()}


@pytest.fixture(scope="module")
def taxcalc() -> Iterator[Any]:
    """The library, plain: to compile it takes longer than to run it on these cases."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("NOTAXCALCJIT", "1")
        yield pytest.importorskip("taxcalc")


@pytest.fixture(scope="module")
def policies(taxcalc: Any) -> dict[str, Any]:
    """The law of each year as taxcalc has it."""
    found = {year: taxcalc.Policy() for year in YEARS}
    for year, policy in found.items():
        policy.set_year(int(year))
    return found


def record(number: int, year: int, case: Case) -> dict[str, float]:
    """Return a case as taxcalc's records have it."""
    status = STATUSES.index(case.status) + 1
    is_joint = case.status == "joint"
    dependants = int(case.status in ("head-of-household", "surviving-spouse"))
    people = 1 + is_joint + dependants
    return {
        "RECID": number,
        "FLPDYR": year,
        "MARS": status,
        "age_head": 65 if case.aged else 40,
        "age_spouse": (65 if case.aged > 1 else 64) if is_joint else 0,
        "blind_head": int(case.blind > 0),
        "blind_spouse": int(case.blind > 1),
        "e00200": case.wages + case.spouse_wages,
        "e00200p": case.wages,
        "e00200s": case.spouse_wages,
        "e00900": case.profit,
        "e00900p": case.profit,
        "e00900s": 0,
        "e00700": case.other,  # other income that is taxed as it is
        "e03270": case.business_adjustments,  # health insurance of the self-employed
        "e03290": case.other_adjustments,  # health savings account
        "e19200": case.itemised,  # interest: an itemised deduction without a limit
        "MIDR": case.must_itemise,
        "XTOT": people,
        "num": people,
        "n21": people,
        "s006": 1,
    }


@pytest.fixture(scope="module", params=YEARS)
def compared(
    request: Any, taxcalc: Any, policies: dict[str, Any]
) -> tuple[str, pd.DataFrame, pd.DataFrame]:
    """A year, what taxcalc says of its grid, and what we say."""
    year = request.param
    grid = GRIDS[year]
    records = taxcalc.Records(
        data=pd.DataFrame(record(n, int(year), case) for n, case in enumerate(grid, 1)),
        start_year=int(year),
        gfactors=None,
        weights=None,
        adjust_ratios=None,
    )
    calculator = taxcalc.Calculator(policy=policies[year], records=records, verbose=False)
    calculator.calc_all()
    theirs = pd.DataFrame(
        {ours: calculator.array(name) for ours, name in VARIABLES.items()}
    )
    # Schedule A's last line, which we ask for: from 2026 it is reduced in the bracket
    # of 37 %.
    itemised = calculator.array("c04470")
    ours = pd.DataFrame(
        our_lines(RULES[year], case, float(line))
        for case, line in zip(grid, itemised, strict=True)
    )
    return year, theirs, ours


def our_lines(rules: Rules, case: Case, itemised: float) -> dict[str, float]:
    """Return the lines of our working that taxcalc has as well."""
    facts = {
        "wages": case.wages,
        "spouse-wages": case.spouse_wages,
        "aged-65": case.aged,
        "blind": case.blind,
        "other-income": case.other,
        "business-adjustments": case.business_adjustments,
        "other-adjustments": case.other_adjustments,
        "itemised-deductions": itemised,
        "must-itemise": case.must_itemise,
    }
    household = Household(case.status, {key: D(value) for key, value in facts.items()})
    working = annual_tax(rules, household, D(case.profit))
    return {key: float(working.get(key)) for key in VARIABLES}


def test_the_grid_is_large_and_reaches_the_edges(
    compared: tuple[str, pd.DataFrame, pd.DataFrame],
) -> None:
    year, _, ours = compared
    assert len(GRIDS[year]) == len(ours) >= 1_300
    # The cases are of some use: no line is the same throughout.
    for name in VARIABLES:
        assert ours[name].nunique() > 20, name
    assert (ours["adjusted-gross-income"] < 0).sum() > 20
    assert ours["income-tax"].max() > 300_000


@pytest.mark.parametrize(
    "line", [name for name in VARIABLES if name != "additional-medicare-tax"]
)
def test_every_line_is_theirs_to_the_cent(
    line: str, compared: tuple[str, pd.DataFrame, pd.DataFrame]
) -> None:
    year, theirs, ours = compared
    apart = (theirs[line] - ours[line]).abs()
    assert [GRIDS[year][n] for n in apart[apart > CENT].index] == []


def test_additional_medicare_tax_differs_below_the_floor_only(
    compared: tuple[str, pd.DataFrame, pd.DataFrame],
) -> None:
    year, theirs, ours = compared
    line = "additional-medicare-tax"
    apart = theirs[line] - ours[line]
    below = []
    for number, case in enumerate(GRIDS[year]):
        earnings = max(case.profit, 0) * 0.9235
        expected = 0.0
        if 0 < earnings < 400:
            # Theirs: 0.9 % of them, as far as wages leave none of the threshold.
            limit = float(RULES[year].figure("additional-medicare-threshold", case.status))
            room = max(limit - case.wages - case.spouse_wages, 0)
            expected = 0.009 * max(earnings - room, 0)
            below.append(expected)
        assert apart[number] == pytest.approx(expected, abs=CENT), case
    assert max(below) == pytest.approx(3.60, abs=CENT)


@pytest.mark.parametrize("year", YEARS)
def test_every_figure_is_theirs(year: str, policies: dict[str, Any]) -> None:
    rules, policy = RULES[year], policies[year]
    for name, parameter in PARAMETERS.items():
        # One number, or one for each status, wrapped in the year.
        value = getattr(policy, parameter).reshape(-1)
        for status, theirs in zip(
            STATUSES, value if len(value) > 1 else [value[0]] * 5, strict=True
        ):
            assert float(rules.figure(name, status)) == pytest.approx(theirs, abs=1e-9), (
                name,
                status,
            )
    for status, amount in zip(STATUSES, (6_000, 6_000, 0, 6_000, 6_000), strict=True):
        # Theirs is one figure, and none for separate returns in the calculation.
        assert rules.figure("senior-deduction", status) == amount
    assert policy.SeniorDed_c[0] == 6_000
    rates = [float(getattr(policy, f"II_rt{n}")[0]) for n in range(1, 8)]
    for number, status in enumerate(STATUSES):
        schedule = rules.schedule("income", status)
        assert list(map(float, schedule.rates)) == pytest.approx(rates)
        edges = [getattr(policy, f"II_brk{n}").reshape(-1)[number] for n in range(1, 7)]
        assert list(map(float, schedule.edges)) == edges
    both = policy.FICA_ss_trt_employee[0] + policy.FICA_ss_trt_employer[0]
    assert float(rules.figure("social-security-rate", "single")) == pytest.approx(both)
    health = policy.FICA_mc_trt_employee[0] + policy.FICA_mc_trt_employer[0]
    assert float(rules.figure("medicare-rate", "single")) == pytest.approx(health)
    factor = float(rules.figure("net-earnings-factor", "single"))
    assert factor == pytest.approx(1 - (both + health) / 2)
