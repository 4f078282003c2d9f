"""United States deductions from adjusted gross income: Form 1040, lines 12e to 13b."""

from __future__ import annotations

from decimal import Decimal

from offcut.importers.splitting import ZERO
from offcut.reports.tax.household import Household
from offcut.reports.tax.rules import Rules
from offcut.reports.tax.working import Working

ONE = Decimal(1)

# What the rules of a year must have.
FIGURES = (
    "standard-deduction",
    "standard-deduction-extra",
    "senior-deduction",
    "senior-deduction-threshold",
    "senior-deduction-phase-out",
    "business-income-rate",
    "business-income-threshold",
    "business-income-phase-in",
    "business-income-least",
    "business-income-least-income",
)


def deductions(working: Working, rules: Rules, household: Household) -> None:
    """Add the standard deduction, or the itemised ones where they are larger.

    Args:
      working: The working, up to adjusted gross income.
      rules: The rules of the year.
      household: Who is taxed.
    """
    figure = rules.figures_of(household.status)
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


def business_income_deduction(
    working: Working, rules: Rules, household: Household, profit: Decimal
) -> None:
    """Add the deduction of section 199A, for a business without employees.

    Above the threshold the deduction is limited by wages that the business pays. It
    pays none, so the deduction is phased out over the phase-in range.

    Args:
      working: The working, up to the deductions.
      rules: The rules of the year.
      household: Who is taxed.
      profit: The net profit of the business; below zero for a loss.
    """
    figure = rules.figures_of(household.status)
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
    least = figure("business-income-least")
    if least_income and income >= least_income and deduction < least:
        deduction = least
        working.notes.append(
            f"The qualified business income deduction is {least:,f} at least, from "
            f"{least_income:,f} of such income on; it lowers taxable income to nothing at "
            "most."
        )
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
