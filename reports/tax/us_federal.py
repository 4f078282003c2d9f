"""United States federal tax of a sole proprietor, by the rules of a year.

The lines are those of Form 1040 with Schedules C and SE, and of Forms 8959 and 8995, as
they are numbered in 2025. What `NOT_COUNTED` names is not known here.
"""

from __future__ import annotations

import decimal
from decimal import Decimal

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.tax import us_deductions, us_self_employment
from offcut.reports.tax.household import Household
from offcut.reports.tax.rules import Rules
from offcut.reports.tax.us_deductions import business_income_deduction, deductions
from offcut.reports.tax.us_household import wages
from offcut.reports.tax.us_self_employment import (
    additional_medicare_tax,
    self_employment_tax,
)
from offcut.reports.tax.working import Working

NOT_COUNTED = (
    "Not counted: credits but those that you gave, above all credits that are paid out; "
    "the lower rates of long-term gains and qualified dividends; the deductions of "
    "Schedule 1-A but the one for seniors; the taxes on investment income and the "
    "alternative minimum tax; a spouse's own business; losses of earlier "
    "years; and that somebody else may claim you as a dependant."
)

# What the rules of a year must have.
SCHEDULES = ("income",)
FIGURES = (
    *us_self_employment.FIGURES,
    *us_deductions.FIGURES,
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
        additional_medicare_tax(working, rules, household)
        _adjusted_gross_income(working, rules, household, profit)
        deductions(working, rules, household)
        business_income_deduction(working, rules, household, profit)
        _income_tax(working, rules, household)
        working.notes.append(NOT_COUNTED)
        return working


def _adjusted_gross_income(
    working: Working, rules: Rules, household: Household, profit: Decimal
) -> None:
    """Add what leads to Form 1040's line 11a."""
    figure = rules.figures_of(household.status)
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
        wages(household) + household.fact("other-income"),
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
