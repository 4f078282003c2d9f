"""What the United States federal tax asks of a household, and reads from its answers."""

from __future__ import annotations

from decimal import Decimal

from offcut.reports.tax.household import Fact, Household

JOINT = frozenset({"joint"})
SEPARATE = frozenset({"separate"})
ALONE = frozenset({"single", "head-of-household", "surviving-spouse"})

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


def wages(household: Household) -> Decimal:
    """Return the wages on the return: the spouse's as well on a joint one.

    Args:
      household: Who is taxed.
    """
    own = household.fact("wages")
    return own + household.fact("spouse-wages") if household.status in JOINT else own
