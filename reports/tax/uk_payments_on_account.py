"""United Kingdom payments of a sole trader's tax: on account, and what is left after it.

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
from offcut.reports.tax.household import Household
from offcut.reports.tax.instalments import Instalments, Part
from offcut.reports.tax.rules import Rules, RulesError
from offcut.reports.tax.tax_settings import Method
from offcut.reports.tax.working import Working

# What the rules of a year must have.
FIGURES = (
    "on-account-share",
    "on-account-least-bill",
    "on-account-most-deducted",
)


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
    rules.require(FIGURES)
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
