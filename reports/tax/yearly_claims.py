"""Tell what is deducted once for a year, however much of the year has passed.

Equipment by its election, and a room at home by its area: a year is not foreseen by
multiplying these, as it is with what comes and goes day by day.
"""

from __future__ import annotations

import datetime
import decimal
from collections.abc import Collection
from decimal import Decimal

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.period import Period
from offcut.reports.tax.equipment import deducted
from offcut.reports.tax.home_office import RATE, office_claim
from offcut.reports.tax.rules import Rules
from offcut.reports.tax.tax_profit import Claims

OFFICE, DEPRECIATION = "home-office", "depreciation"
WHOLE = Decimal(1)


def is_by_area(claims: Claims, rules: Rules, keys: Collection[str]) -> bool:
    """Tell whether a room at home is deducted by its area.

    Args:
      claims: What is deducted beside what was posted.
      rules: The rules of the year.
      keys: The keys of the form's lines on which something may be deducted.
    """
    return claims.office is not None and RATE in rules.figures and OFFICE in keys


def profit_after(
    running: Decimal, claims: Claims, rules: Rules, known: datetime.date
) -> Decimal:
    """Return a year's profit from what it is before what is deducted once for the year.

    Args:
      running: The year's profit before these.
      claims: What is deducted beside what was posted.
      rules: The rules of the year.
      known: The last day whose purchases of equipment count.
    """
    keys = {line.key for line in rules.form if line.side}
    year = Period(rules.first, rules.last)
    with decimal.localcontext(EXACT):
        if DEPRECIATION in keys:
            bought = (each for each in claims.equipment if each.date <= known)
            running -= sum((deducted(each, rules, year, WHOLE) for each in bought), ZERO)
        if is_by_area(claims, rules, keys):
            running -= office_claim(claims.office, rules, WHOLE, ZERO, running).amount
        return running
