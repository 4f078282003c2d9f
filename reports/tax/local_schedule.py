"""The taxes of the maker's own place, by the schedules that the settings give.

They are worked out on the year's figures and stand beside the national tax; whether one
may be deducted from the other is not known here.
"""

from __future__ import annotations

from decimal import Decimal
from typing import NamedTuple

from offcut.importers.splitting import ZERO
from offcut.reports.tax.local_settings import LocalSchedule
from offcut.reports.tax.tax_settings import TaxSettings


class LocalTax(NamedTuple):
    """A tax of the maker's own place.

    Attributes:
      schedule: Its name, base, rates and source.
      base: What it is of; nothing below zero is taxed.
      tax: What it comes to, exact.
    """

    schedule: LocalSchedule
    base: Decimal
    tax: Decimal


def local_taxes(
    settings: TaxSettings, profit: Decimal, taxable_income: Decimal
) -> list[LocalTax]:
    """Return what each local schedule comes to, in the order of the settings.

    Args:
      settings: What is set about taxes.
      profit: The year's net profit of the business.
      taxable_income: The year's taxable income by the jurisdiction's rules.
    """
    found = []
    for each in settings.local:
        base = max(profit if each.base == "profit" else taxable_income, ZERO)
        found.append(LocalTax(each, base, each.schedule.tax(base)))
    return found
