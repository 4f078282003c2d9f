"""What the United Kingdom tax of a sole trader asks of a household."""

from __future__ import annotations

from offcut.reports.tax.household import Fact

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
