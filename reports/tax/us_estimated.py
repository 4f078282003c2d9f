"""United States estimated tax: what is to be paid in the course of a year, and when.

The required annual payment is the lesser of 90 % of this year's tax and last year's tax
(110 % of it where last year's income was high). It is paid in four equal parts; or, with
the annualised income method, in parts that follow the income (Form 2210, Schedule AI).
Schedule AI's prorated amounts and factors come to the same as the tax of a year on the
annualised profit: 0.124 x 4 = 0.496 of a base of a quarter, and so on.
"""

from __future__ import annotations

import decimal
from collections.abc import Sequence
from decimal import Decimal

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.tax.due_dates import moved
from offcut.reports.tax.household import Household
from offcut.reports.tax.instalments import Instalments, Part
from offcut.reports.tax.rules import Rules, RulesError
from offcut.reports.tax.tax_settings import Method
from offcut.reports.tax.us_federal import annual_tax
from offcut.reports.tax.working import Working

# What the rules of a year must have.
FIGURES = (
    "current-year-share",
    "prior-year-share",
    "prior-year-share-high",
    "prior-year-high-income",
    "least-balance",
)


def required_annual_payment(rules: Rules, household: Household, tax: Working) -> Working:
    """Work out what must be paid in the course of a year to owe no penalty.

    Args:
      rules: The rules of the year.
      household: Who is taxed.
      tax: The working of the year's tax.

    Returns:
      The working; `required-annual-payment` is the result, withholding included.

    Raises:
      RulesError: The rules have no such figure; names all of them.
    """
    rules.require(FIGURES)
    status = household.status
    figure = rules.figure
    with decimal.localcontext(EXACT):
        working = Working()
        total = working.line(
            "total-tax", "This year's tax", tax["total-tax"], "Form 1040-ES, line 11c"
        )
        current = working.line(
            "current-year-part",
            f"{_percent(figure('current-year-share', status))} of it",
            total * figure("current-year-share", status),
            "Form 1040-ES, line 12a",
        )
        required = current
        if "last-year-tax" in household.facts:
            income = household.fact("last-year-income")
            is_high = income > figure("prior-year-high-income", status)
            share = figure(
                "prior-year-share-high" if is_high else "prior-year-share", status
            )
            prior = working.line(
                "prior-year-part",
                f"{_percent(share)} of last year's tax",
                household.fact("last-year-tax") * share,
                "Form 1040-ES, line 12b",
            )
            required = min(current, prior)
            if "last-year-income" not in household.facts:
                working.notes.append(
                    "last-year-income is not set: last year's tax counts at "
                    f"{_percent(share)}. With an income above "
                    f"{figure('prior-year-high-income', status):,f} it counts at "
                    f"{_percent(figure('prior-year-share-high', status))}."
                )
            if not household.fact("last-year-tax"):
                working.notes.append(
                    "Last year's tax was none, so no payment is required if that year had "
                    "twelve months."
                )
        else:
            working.notes.append(
                "last-year-tax is not set: only this year's tax is taken for what is "
                "required. Last year's may be less, and is known for certain."
            )
        withheld = household.fact("withholding")
        if total - withheld < figure("least-balance", status):
            working.notes.append(
                f"Less than {figure('least-balance', status):,f} is left after "
                "withholding: no payment is required in the course of the year."
            )
            required = ZERO
        working.line(
            "required-annual-payment",
            "Required in the course of the year",
            required,
            "Form 1040-ES, line 12c",
        )
        if withheld:
            working.line(
                *("withholding", "Withheld by employers", -withheld),
                "Form 1040-ES, line 13",
            )
        return working


def _percent(share: Decimal) -> str:
    """Return a share as it is spoken: 90 %."""
    return f"{(share * 100).normalize():f} %"


def regular_parts(rules: Rules, required: Decimal) -> list[Part]:
    """Return the four equal parts of a required annual payment.

    Args:
      rules: The rules of the year.
      required: The required annual payment.

    Raises:
      RulesError: The rules have no instalments.
    """
    part = _equal_part(rules, required)
    return [
        Part(each.label, each.period_ends, moved(each.due, rules.holidays), part)
        for each in rules.instalments
    ]


def annualised_parts(
    rules: Rules, household: Household, required: Decimal, profits: Sequence[Decimal]
) -> list[Part]:
    """Return the parts by the annualised income method; what is saved is caught up later.

    Other income and deductions are taken to come evenly over the year.

    Args:
      rules: The rules of the year.
      household: Who is taxed.
      required: The required annual payment.
      profits: The business's profit from the year's first day to the end of each period;
        there may be fewer than there are periods.

    Raises:
      RulesError: The rules have no instalments.
    """
    regular = _equal_part(rules, required)
    parts: list[Part] = []
    with decimal.localcontext(EXACT):
        paid = carried = ZERO
        for each, profit in zip(rules.instalments, profits, strict=False):
            working = annual_tax(rules, household, profit * each.annualise)
            by_income = max(working["total-tax"] * each.share - paid, ZERO)  # line 21
            by_year = regular + carried  # line 24
            part = min(by_income, by_year)  # line 25
            carried = by_year - part
            paid += part
            parts.append(
                Part(
                    each.label,
                    each.period_ends,
                    moved(each.due, rules.holidays),
                    part,
                    working,
                )
            )
    return parts


def _equal_part(rules: Rules, required: Decimal) -> Decimal:
    """Return what is required for each instalment, where the income does not matter."""
    if not rules.instalments:
        raise RulesError(f"{rules.path}: instalments are missing; add [[instalments]]")
    return EXACT.divide(required, Decimal(len(rules.instalments)))


def instalments(
    rules: Rules,
    household: Household,
    tax: Working,
    method: Method,
    profits: Sequence[Decimal],
) -> Instalments:
    """Return what is paid in the course of a year, by either method.

    Args:
      rules: The rules of the year.
      household: Who is taxed.
      tax: The working of the year's tax.
      method: How the parts are worked out.
      profits: As `annualised_parts` takes them.
    """
    working = required_annual_payment(rules, household, tax)
    required = working["required-annual-payment"]
    if method == "annualised":
        parts = annualised_parts(rules, household, required, profits)
    else:
        parts = regular_parts(rules, required)
    return Instalments(working, parts, household.fact("withholding"))
