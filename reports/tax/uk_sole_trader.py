"""United Kingdom tax of a sole trader, by the rules of a year: income tax and class 4.

The lines are called as the tax calculation of a return (SA302) calls them, and stand in
its order. Wales and Northern Ireland have England's rates; Scotland has its own for all
income that is neither interest nor dividends. What `NOT_COUNTED` names is not known here.
"""

from __future__ import annotations

import decimal
from decimal import Decimal

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.tax import uk_national_insurance
from offcut.reports.tax.household import Household
from offcut.reports.tax.rules import Rules
from offcut.reports.tax.uk_national_insurance import class_2, class_4
from offcut.reports.tax.working import Working

NOT_COUNTED = (
    "Not counted: interest, dividends and capital gains; Marriage Allowance and Blind "
    "Person's Allowance; repayments of a student loan, which come on top; pension "
    "contributions and gifts to charity; the charges on child benefit and winter fuel "
    "payments; losses of other years; and tax that a tax code of this year collects for "
    "another."
)
ACCRUALS = (
    "The profit is by traditional accounting: sales when they are made, goods when they "
    "are sold. Choose it on the return, which takes the cash basis otherwise."
)

# What the rules of a year must have.
SCHEDULES = ("income",)
FIGURES = (
    "personal-allowance",
    "personal-allowance-income",
    "personal-allowance-taper",
    "trading-allowance",
    *uk_national_insurance.FIGURES,
)


def annual_tax(rules: Rules, household: Household, profit: Decimal) -> Working:
    """Work out the tax of a year.

    Args:
      rules: The rules of the year.
      household: Who is taxed.
      profit: The profit of the business; below zero for a loss.

    Returns:
      The working; `total-tax` is what the year comes to, before what is deducted.

    Raises:
      RulesError: The rules have no such figure; names all of them.
    """
    rules.require(FIGURES, SCHEDULES)
    with decimal.localcontext(EXACT):
        working = Working()
        trade = _trade_profit(working, rules, household, profit)
        _taxable_income(working, rules, household, trade)
        tax = _income_tax(working, rules, household)
        for_class_4 = class_4(working, rules, household, trade)
        for_class_2 = class_2(working, rules, household, trade)
        working.line(
            "total-tax",
            "Income tax and National Insurance due",
            tax + for_class_4 + for_class_2,
        )
        if household.fact("wages") and "tax-deducted" not in household.facts:
            working.notes.append(
                "wages are set, and tax-deducted is not: nothing is taken off for the tax "
                "that employers deduct from them."
            )
        working.notes += [ACCRUALS, NOT_COUNTED]
        return working


def _trade_profit(
    working: Working, rules: Rules, household: Household, profit: Decimal
) -> Decimal:
    """Add the profit that is taxed, and return it: by the books, or by the allowance."""
    trade = working.line("profit", "Profit from self-employment", profit, "SA103")
    if "trading-income" in household.facts:
        allowance = rules.figure("trading-allowance", household.status)
        trade = working.line(
            "trading-allowance-profit",
            "Instead: takings less the trading allowance",
            max(household.fact("trading-income") - allowance, ZERO),
            "SA103",
        )
        if trade > max(profit, ZERO):
            working.notes.append(
                "Your expenses come to more than the trading allowance: claimed instead "
                "of them, it costs you tax. Remove trading-income to deduct them."
            )
    elif profit < ZERO:
        working.notes.append(
            "The business made a loss: no tax is due on it. You may claim to set it "
            "against other income of this year or the one before, or carry it to later "
            "years; none of these is taken for granted here."
        )
    return max(trade, ZERO)


def _taxable_income(
    working: Working, rules: Rules, household: Household, trade: Decimal
) -> None:
    """Add total income, the personal allowance and what is taxed."""
    figure = rules.figures_of(household.status)
    wages = working.line(
        "wages", "Pay from all employments", household.fact("wages"), "SA302"
    )
    other = working.line(
        "other-income", "Other income", household.fact("other-income"), "SA302"
    )
    income = working.line(
        "total-income", "Total income received", trade + wages + other, "SA302"
    )
    allowance = figure("personal-allowance")
    over = max(income - figure("personal-allowance-income"), ZERO)
    if over:
        # What is left of it is rounded up to a pound: Income Tax Act 2007, section 35.
        left = allowance - over * figure("personal-allowance-taper")
        allowance = max(left, ZERO).to_integral_value(decimal.ROUND_CEILING)
        working.notes.append(
            f"Income is above {figure('personal-allowance-income'):,f}: the personal "
            "allowance gets smaller with it."
        )
    working.line("personal-allowance", "Less personal allowance", -allowance, "SA302")
    working.line(
        "taxable-income",
        "Total income on which tax is due",
        max(income - allowance, ZERO),
        "SA302",
    )


def _income_tax(working: Working, rules: Rules, household: Household) -> Decimal:
    """Add the tax of each band, and their sum; return it."""
    schedule = rules.schedule("income", household.status)
    slices = schedule.slices(working["taxable-income"])
    for number, each in enumerate(slices, 1):
        working.line(
            f"income-tax-band-{number}",
            f"{each.amount:,.2f} at {_percent(each.rate)}",
            each.tax,
            "SA302",
        )
    tax = sum((each.tax for each in slices), ZERO)
    return working.line("income-tax", "Income tax charged", tax, "SA302")


def _percent(share: Decimal) -> str:
    """Return a rate as it is spoken: 20 %."""
    return f"{(share * 100).normalize():f} %"
