"""The tax of a country whose rules are brackets alone, for a file without any code.

    calculation = "schedule-only"

    [schedules.income]            # of profit and other income, less the allowance
    [figures.allowance]           # these are optional:
    [figures.social-rate]         # a contribution of the profit,
    [figures.social-floor]        # of what is above this
    [figures.social-ceiling]      # and not above that

The `share` of each of the `instalments` is what is to be paid by then of the year's tax.
"""

from __future__ import annotations

import decimal
from collections.abc import Sequence
from decimal import Decimal

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.tax.due_dates import moved
from offcut.reports.tax.household import Fact, Household
from offcut.reports.tax.instalments import Instalments, Part
from offcut.reports.tax.rules import Rules
from offcut.reports.tax.tax_settings import Method
from offcut.reports.tax.working import Working

FACTS = (
    Fact("other-income", "money", "Wages and other income that is taxed with the profit"),
    Fact("withholding", "money", "Tax that is withheld from it this year"),
)

NOT_COUNTED = (
    "By brackets and one allowance only: deductions, credits and other taxes are not "
    "counted."
)


def annual_tax(rules: Rules, household: Household, profit: Decimal) -> Working:
    """Work out the tax of a year.

    Args:
      rules: The rules of the year.
      household: Who is taxed.
      profit: The profit of the business; below zero for a loss.

    Returns:
      The working; `total-tax` is what the year comes to, before what is withheld.

    Raises:
      RulesError: The rules have no schedule of income tax.
    """
    rules.require((), ("income",))
    with decimal.localcontext(EXACT):
        working = Working()
        working.line("profit", "Profit of the business", profit)
        other = working.line("other-income", "Other income", household.fact("other-income"))
        allowance = _optional(rules, household, "allowance") or ZERO
        if allowance:
            working.line("allowance", "Less allowance", -allowance)
        taxable = working.line(
            "taxable-income",
            "Taxable income",
            max(max(profit, ZERO) + other - allowance, ZERO),
        )
        tax = working.line(
            "income-tax",
            "Income tax",
            rules.schedule("income", household.status).tax(taxable),
        )
        social = ZERO
        rate = _optional(rules, household, "social-rate")
        if rate is not None:
            social = working.line(
                "social-contribution",
                "Social contribution",
                _social_base(rules, household, profit) * rate,
            )
        working.line("total-tax", "Total tax", tax + social)
        if profit < ZERO:
            working.notes.append(
                "The business made a loss: no tax is due on it. Whether it lowers other "
                "income, or later years', is not known here."
            )
        working.notes.append(NOT_COUNTED)
        return working


def instalments(
    rules: Rules,
    household: Household,
    tax: Working,
    method: Method,
    profits: Sequence[Decimal],
) -> Instalments:
    """Return the payments in the course of a year, by the shares that the rules name.

    Args:
      rules: The rules of the year.
      household: Who is taxed.
      tax: The working of the year's tax.
      method: How instalments are worked out; there is one way only here.
      profits: Not asked for.
    """
    with decimal.localcontext(EXACT):
        working = Working()
        total = working.line("total-tax", "This year's tax", tax["total-tax"])
        if method == "annualised":
            working.notes.append("The method annualised is not known here.")
        parts = []
        before = ZERO
        for each in rules.instalments:
            parts.append(
                Part(
                    each.label,
                    each.period_ends,
                    moved(each.due, rules.holidays),
                    total * (each.share - before),
                )
            )
            before = each.share
        return Instalments(working, parts, household.fact("withholding"))


def _optional(rules: Rules, household: Household, name: str) -> Decimal | None:
    """Return a figure; None where the rules do not have it."""
    if name not in rules.figures:
        return None
    return rules.figure(name, household.status)


def _social_base(rules: Rules, household: Household, profit: Decimal) -> Decimal:
    """Return the part of the profit that the social contribution is of."""
    ceiling = _optional(rules, household, "social-ceiling")
    floor = _optional(rules, household, "social-floor") or ZERO
    capped = profit if ceiling is None else min(profit, ceiling)
    return max(capped - floor, ZERO)
