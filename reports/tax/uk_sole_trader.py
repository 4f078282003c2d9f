"""United Kingdom tax of a sole trader, by the rules of a year: income tax and class 4.

The lines are called as the tax calculation of a return (SA302) calls them, and stand in
its order. Wales and Northern Ireland have England's rates; Scotland has its own for all
income that is neither interest nor dividends. What `NOT_COUNTED` names is not known here.

Payments on account are half of last year's bill each, in January of the year and in July
after it; what is then left is paid in the January after (Taxes Management Act 1970,
sections 59A and 59B).
"""

from __future__ import annotations

import decimal
from collections.abc import Sequence
from decimal import Decimal

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.tax.due_dates import moved
from offcut.reports.tax.household import Fact, Household
from offcut.reports.tax.instalments import Instalments, Part
from offcut.reports.tax.rules import Rules, RulesError
from offcut.reports.tax.tax_settings import Method
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

FACTS = (
    Fact("wages", "money", "Your pay from employers this year, before tax"),
    Fact("tax-deducted", "money", "Income tax that employers deduct from it this year"),
    Fact(
        "class-1-main",
        "money",
        "National Insurance that employers deduct from it at the main rate",
    ),
    Fact("other-income", "money", "Pensions, rent and other income, without savings"),
    Fact(
        "trading-income",
        "money",
        "Takings before any expenses, where you claim the trading allowance instead of "
        "expenses",
    ),
    Fact(
        "over-pension-age",
        "count",
        "1 where you had reached State Pension age when the tax year began",
        most=1,
    ),
    Fact("voluntary-class-2", "count", "Weeks of class 2 that you pay by choice", most=53),
    Fact(
        "last-year-bill",
        "money",
        "Last year's income tax and class 4, after tax that was deducted",
    ),
    Fact("last-year-tax-deducted", "money", "Income tax that was deducted last year"),
)

# What the rules of a year must have.
SCHEDULES = ("income",)
FIGURES = (
    "personal-allowance",
    "personal-allowance-income",
    "personal-allowance-taper",
    "trading-allowance",
    "class-4-lower-limit",
    "class-4-upper-limit",
    "class-4-main-rate",
    "class-4-additional-rate",
    "class-2-small-profits",
    "class-2-week",
)
PAYMENT_FIGURES = (
    "on-account-share",
    "on-account-least-bill",
    "on-account-most-deducted",
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
        class_4 = _class_4(working, rules, household, trade)
        class_2 = _class_2(working, rules, household, trade)
        working.line(
            "total-tax", "Income tax and National Insurance due", tax + class_4 + class_2
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

    def figure(name: str) -> Decimal:
        return rules.figure(name, household.status)

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


def _class_4(
    working: Working, rules: Rules, household: Household, trade: Decimal
) -> Decimal:
    """Add class 4 National Insurance, and return it.

    Who pays class 1 as well pays both up to a yearly maximum only: Social Security
    (Contributions) Regulations 2001, regulation 100, whose steps these are.
    """

    def figure(name: str) -> Decimal:
        return rules.figure(name, household.status)

    lower, upper = figure("class-4-lower-limit"), figure("class-4-upper-limit")
    main, more = figure("class-4-main-rate"), figure("class-4-additional-rate")
    band = max(min(trade, upper) - lower, ZERO)
    above = max(trade - upper, ZERO)
    due = band * main + above * more
    class_1 = household.fact("class-1-main")
    if household.fact("over-pension-age"):
        due = ZERO
        working.notes.append("Over State Pension age there is no class 4.")
    elif class_1 and due:
        room = (upper - lower) * main - class_1  # step 4
        most = room
        if room <= class_1 + band * main:
            room = max(room, ZERO)
            beyond = max(band - room / main, ZERO)  # steps 5 to 7
            most = room + beyond * more + above * more
        if most < due:
            working.notes.append(
                "Class 4 is less, as class 1 and class 4 together have a yearly maximum."
            )
        due = min(due, most)
    elif household.fact("wages") and due and "class-1-main" not in household.facts:
        working.notes.append(
            "class-1-main is not set: class 4 may be less, as class 1 and class 4 "
            "together have a yearly maximum."
        )
    return working.line("class-4", "Plus class 4 National Insurance", due, "SA302")


def _class_2(
    working: Working, rules: Rules, household: Household, trade: Decimal
) -> Decimal:
    """Add class 2 National Insurance where it is paid by choice, and return it."""
    threshold = rules.figure("class-2-small-profits", household.status)
    week = rules.figure("class-2-week", household.status)
    weeks = household.fact("voluntary-class-2")
    if household.fact("over-pension-age"):
        return ZERO
    if trade >= threshold:
        working.notes.append(
            f"Profit is {threshold:,f} or more: class 2 counts as paid, nothing is due."
        )
        return ZERO
    if not weeks:
        working.notes.append(
            f"Profit is below {threshold:,f}: class 2 does not count as paid. For the "
            f"State Pension you may pay it by choice, {week:f} a week: voluntary-class-2."
        )
        return ZERO
    label = f"Plus class 2 by choice, weeks: {weeks:f}"
    return working.line("class-2", label, weeks * week, "SA302")


def instalments(
    rules: Rules,
    household: Household,
    tax: Working,
    method: Method,
    profits: Sequence[Decimal],
) -> Instalments:
    """Return the payments on account of a year, and the balancing payment after it.

    They are after the tax that employers deduct, and go by last year's bill alone.

    Args:
      rules: The rules of the year.
      household: Who is taxed.
      tax: The working of the year's tax.
      method: How instalments are worked out; there is one way only here.
      profits: Not asked for.

    Raises:
      RulesError: The rules have no such figure, or no payments; names all of them.
    """
    rules.require(PAYMENT_FIGURES)
    if not rules.instalments:
        raise RulesError(f"{rules.path}: instalments are missing; add [[instalments]]")
    *on_account, balancing = rules.instalments
    with decimal.localcontext(EXACT):
        working = Working()
        deducted = household.fact("tax-deducted")
        total = working.line("total-tax", "This year's tax", tax["total-tax"], "SA302")
        working.line("tax-deducted", "Less tax deducted", -deducted, "SA302")
        bill = working.line("bill", "Left to pay", total - deducted, "SA302")
        half = ZERO
        if "last-year-bill" in household.facts:
            last = working.line(
                "last-year-bill", "Last year's bill", household.fact("last-year-bill")
            )
            before = household.fact("last-year-tax-deducted")
            half = working.line(
                "payment-on-account",
                "Each payment on account",
                _on_account(rules, household.status, last, before),
            )
            if not half:
                working.notes.append(
                    "Last year's bill asks for no payments on account: it was small, or "
                    "most of the tax was deducted at source."
                )
        else:
            working.notes.append(
                "last-year-bill is not set, so payments on account are not known, and "
                "none are counted. There are none in the first year of trading."
            )
        ahead = half * len(on_account)
        balance = working.line("balance", "Balancing payment", max(bill - ahead, ZERO))
        if half and bill < ahead:
            working.notes.append(
                "This year comes to less than its payments on account: you may claim to "
                "reduce them, and what was paid too much is paid back."
            )
        if method == "annualised":
            working.notes.append(
                "Payments on account do not follow the income: the method annualised is "
                "not known here."
            )
        # Class 2 by choice is not a part of it.
        own = tax["income-tax"] + tax["class-4"] - deducted
        if following := _on_account(rules, household.status, own, deducted):
            working.notes.append(
                f"With the balancing payment, the first payment on account for the year "
                f"after is due as well, by this year's bill {following:,.2f}."
            )
        if half:
            working.notes.append(
                "The last day of January is the last day for two years at once: write "
                "tax-year to a payment on account, or it is taken for the year before."
            )
        due = [(each, half) for each in on_account if half] + [(balancing, balance)]
        parts = [
            Part(each.label, None, moved(each.due, rules.holidays), amount)
            for each, amount in due
        ]
        return Instalments(working, parts, ZERO)


def _on_account(rules: Rules, status: str, bill: Decimal, deducted: Decimal) -> Decimal:
    """Return each payment on account that a year's bill asks for in the year after."""
    most = rules.figure("on-account-most-deducted", status)
    if bill < rules.figure("on-account-least-bill", status):
        return ZERO
    if deducted > most * (bill + deducted):
        return ZERO
    return bill * rules.figure("on-account-share", status)


def _percent(share: Decimal) -> str:
    """Return a rate as it is spoken: 20 %."""
    return f"{(share * 100).normalize():f} %"
