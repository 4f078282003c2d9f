"""United States federal tax of a sole proprietor, by the rules of a year.

The lines are those of Form 1040 with Schedules C and SE, and of Forms 8959 and 8995, as
they are numbered in 2025. What `NOT_COUNTED` names is not known here.
"""

from __future__ import annotations

import decimal
from collections.abc import Callable
from decimal import Decimal

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.tax.household import Fact, Household
from offcut.reports.tax.rules import Rules
from offcut.reports.tax.working import Working

JOINT = frozenset({"joint"})
SEPARATE = frozenset({"separate"})
ALONE = frozenset({"single", "head-of-household", "surviving-spouse"})
ONE = Decimal(1)

NOT_COUNTED = (
    "Not counted: credits but those that you gave, above all credits that are paid out; "
    "the lower rates of long-term gains and qualified dividends; the taxes on investment "
    "income and the alternative minimum tax; a spouse's own business; losses of earlier "
    "years; and that somebody else may claim you as a dependant."
)

FACTS = (
    Fact("wages", "money", "Your own wages from an employer this year"),
    Fact("spouse-wages", "money", "Your spouse's wages, on a joint return", statuses=JOINT),
    Fact("other-income", "money", "Interest, ordinary dividends, rent and other income"),
    Fact(
        "business-adjustments",
        "money",
        "Health insurance and retirement contributions of the self-employed",
    ),
    Fact("other-adjustments", "money", "Other adjustments to income"),
    Fact(
        "itemised-deductions",
        "money",
        "Itemised deductions, where you itemise: Schedule A, line 17",
    ),
    Fact(
        "must-itemise",
        "count",
        "1 where you file separately and your spouse itemises",
        most=1,
        statuses=SEPARATE,
    ),
    Fact("aged-65", "count", "How many of you are 65 or older", alone=ALONE),
    Fact("blind", "count", "How many of you are blind", alone=ALONE),
    Fact("credits", "money", "Tax credits that only reduce tax"),
    Fact("withholding", "money", "Federal tax that employers withhold this year"),
    Fact("last-year-tax", "money", "Total tax of last year's return: Form 1040, line 24"),
    Fact(
        "last-year-income", "money", "Adjusted gross income of last year's return: line 11"
    ),
)

# What the rules of a year must have.
SCHEDULES = ("income",)
FIGURES = (
    "standard-deduction",
    "standard-deduction-extra",
    "senior-deduction",
    "senior-deduction-threshold",
    "senior-deduction-phase-out",
    "net-earnings-factor",
    "self-employment-floor",
    "social-security-rate",
    "social-security-base",
    "medicare-rate",
    "additional-medicare-rate",
    "additional-medicare-threshold",
    "business-income-rate",
    "business-income-threshold",
    "business-income-phase-in",
    "business-income-least",
    "business-income-least-income",
    "business-loss-limit",
)


def annual_tax(rules: Rules, household: Household, profit: Decimal) -> Working:
    """Work out the tax of a year.

    Args:
      rules: The rules of the year.
      household: Who is taxed.
      profit: The net profit of the business; below zero for a loss.

    Returns:
      The working; `total-tax` is what the year comes to, before what is withheld.

    Raises:
      RulesError: The rules have no such figure; names all of them.
    """
    rules.require(FIGURES, SCHEDULES)
    with decimal.localcontext(EXACT):
        working = Working()
        working.line("profit", "Net profit of the business", profit, "Schedule C, line 31")
        self_employment_tax(working, rules, household, profit)
        _additional_medicare(working, rules, household)
        _adjusted_gross_income(working, rules, household, profit)
        _deductions(working, rules, household)
        _business_income_deduction(working, rules, household, profit)
        _income_tax(working, rules, household)
        working.notes.append(NOT_COUNTED)
        return working


def self_employment_tax(
    working: Working, rules: Rules, household: Household, profit: Decimal
) -> None:
    """Add Schedule SE to a working: its lines 4a to 13."""
    figure = _figures(rules, household)
    earnings = working.line(
        "net-earnings",
        "Net earnings from self-employment",
        max(profit, ZERO) * figure("net-earnings-factor"),
        "Schedule SE, line 4a",
    )
    if earnings < figure("self-employment-floor"):
        earnings = ZERO
        if profit > ZERO:
            working.notes.append(
                f"Net earnings are below {figure('self-employment-floor')}: there is no "
                "self-employment tax."
            )
    room = working.line(
        "social-security-room",
        "Social security base left after wages",
        max(figure("social-security-base") - household.fact("wages"), ZERO),
        "Schedule SE, line 9",
    )
    social = working.line(
        "social-security-tax",
        "Social security part",
        min(earnings, room) * figure("social-security-rate"),
        "Schedule SE, line 10",
    )
    medicare = working.line(
        "medicare-tax",
        "Medicare part",
        earnings * figure("medicare-rate"),
        "Schedule SE, line 11",
    )
    tax = working.line(
        "self-employment-tax",
        "Self-employment tax",
        social + medicare,
        "Schedule SE, line 12",
    )
    working.line(
        "half-self-employment-tax", "Half of it, deducted", tax / 2, "Schedule SE, line 13"
    )


def _additional_medicare(working: Working, rules: Rules, household: Household) -> None:
    """Add Form 8959, parts I and II."""
    figure = _figures(rules, household)
    wages = _wages(household)
    threshold = figure("additional-medicare-threshold")
    floor = figure("self-employment-floor")
    earnings = working["net-earnings"]
    over_wages = max(wages - threshold, ZERO)
    room = max(threshold - wages, ZERO)
    over_earnings = max(earnings - room, ZERO) if earnings >= floor else ZERO
    working.line(
        "additional-medicare-tax",
        "Additional Medicare tax",
        (over_wages + over_earnings) * figure("additional-medicare-rate"),
        "Form 8959, line 18",
    )


def _adjusted_gross_income(
    working: Working, rules: Rules, household: Household, profit: Decimal
) -> None:
    """Add what leads to Form 1040's line 11a."""
    figure = _figures(rules, household)
    if profit < ZERO:
        working.notes.append(
            "The business made a loss: no tax is due on it. It lowers other income of the "
            "year; what is left of it may be carried to later years, which is not "
            "calculated here, and lowers their qualified business income as well."
        )
    limited = max(profit, -figure("business-loss-limit"))
    other = working.line(
        "other-income",
        "Wages and other income",
        _wages(household) + household.fact("other-income"),
        "Form 1040, lines 1z to 8",
    )
    adjustments = working.line(
        "adjustments",
        "Adjustments",
        working["half-self-employment-tax"]
        + household.fact("business-adjustments")
        + household.fact("other-adjustments"),
        "Schedule 1, line 26",
    )
    working.line(
        "adjusted-gross-income",
        "Adjusted gross income",
        limited + other - adjustments,
        "Form 1040, line 11a",
    )


def _deductions(working: Working, rules: Rules, household: Household) -> None:
    """Add the standard deduction, or the itemised ones where they are larger."""
    figure = _figures(rules, household)
    extra = household.fact("aged-65") + household.fact("blind")
    standard = figure("standard-deduction") + extra * figure("standard-deduction-extra")
    itemised = household.fact("itemised-deductions")
    if household.fact("must-itemise"):
        standard = ZERO
        working.notes.append(
            "There is no standard deduction, as your spouse itemises on a return of their "
            "own."
        )
    label = "Itemised deductions" if itemised > standard else "Standard deduction"
    working.line("deduction", label, max(standard, itemised), "Form 1040, line 12e")
    over = max(
        working["adjusted-gross-income"] - figure("senior-deduction-threshold"), ZERO
    )
    each = max(
        figure("senior-deduction") - over * figure("senior-deduction-phase-out"), ZERO
    )
    senior = household.fact("aged-65") * each
    if senior:
        working.line(
            "senior-deduction", "Deduction for seniors", senior, "Schedule 1-A, line 37"
        )


def _business_income_deduction(
    working: Working, rules: Rules, household: Household, profit: Decimal
) -> None:
    """Add the deduction of section 199A, for a business without employees.

    Above the threshold the deduction is limited by wages that the business pays. It
    pays none, so the deduction is phased out over the phase-in range.
    """
    figure = _figures(rules, household)
    senior = working.get("senior-deduction")
    before = working.line(
        "income-before-business-deduction",
        "Taxable income before the next deduction",
        max(working["adjusted-gross-income"] - working["deduction"] - senior, ZERO),
        "Form 8995, line 11",
    )
    income = working.line(
        "qualified-business-income",
        "Qualified business income",
        max(
            profit
            - working["half-self-employment-tax"]
            - household.fact("business-adjustments"),
            ZERO,
        ),
        "Form 8995, line 2",
    )
    rate = figure("business-income-rate")
    over = max(before - figure("business-income-threshold"), ZERO)
    phased = min(over / figure("business-income-phase-in"), ONE)
    deduction = min(income * rate * (ONE - phased), before * rate)
    least_income = figure("business-income-least-income")
    if least_income and income >= least_income:
        deduction = max(deduction, figure("business-income-least"))
    working.line(
        "business-income-deduction",
        "Qualified business income deduction",
        deduction,
        "Form 1040, line 13a",
    )
    if over:
        working.notes.append(
            "Income is above the threshold of the qualified business income deduction: it "
            "is limited as for a business that pays no wages and owns no large property."
        )


def _income_tax(working: Working, rules: Rules, household: Household) -> None:
    """Add taxable income and the taxes on it."""
    taxable = working.line(
        "taxable-income",
        "Taxable income",
        max(
            working["income-before-business-deduction"]
            - working["business-income-deduction"],
            ZERO,
        ),
        "Form 1040, line 15",
    )
    tax = working.line(
        "income-tax",
        "Income tax",
        rules.schedule("income", household.status).tax(taxable),
        "Form 1040, line 16",
    )
    credits = min(household.fact("credits"), tax)
    if credits:
        working.line("credits", "Credits that you gave", -credits, "Form 1040, line 21")
    working.line(
        "total-tax",
        "Total tax",
        tax - credits + working["self-employment-tax"] + working["additional-medicare-tax"],
        "Form 1040, line 24",
    )


def _wages(household: Household) -> Decimal:
    """Return the wages on the return."""
    wages = household.fact("wages")
    if household.status in JOINT:
        wages += household.fact("spouse-wages")
    return wages


def _figures(rules: Rules, household: Household) -> Callable[[str], Decimal]:
    """Return what gives the household's figures by name."""
    return lambda name: rules.figure(name, household.status)
