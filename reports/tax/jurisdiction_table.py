"""What each jurisdiction's tax is worked out by: its data is in the rules.

Adding a country is a file of rules for each year, and a line here with at most one small
module. A country whose tax is brackets alone needs no module either: its rules say
`calculation = "schedule-only"`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from offcut.reports.tax import (
    schedule_only,
    uk_household,
    uk_payments_on_account,
    uk_sole_trader,
    us_estimated,
    us_federal,
    us_household,
)
from offcut.reports.tax.household import Fact, Household
from offcut.reports.tax.instalments import Instalments
from offcut.reports.tax.rules import Rules, RulesError
from offcut.reports.tax.tax_settings import Method
from offcut.reports.tax.toml_checks import either, meant
from offcut.reports.tax.working import Working

# The rules, the household, the year's working, the method, and the profits from the
# year's first day to the end of each period that the rules' instalments name.
InstalmentsOf = Callable[
    [Rules, Household, Working, Method, Sequence[Decimal]], Instalments
]


@dataclass(frozen=True)
class Jurisdiction:
    """What a jurisdiction's tax is worked out by.

    Attributes:
      annual_tax: Returns the working of a year's tax; its `total-tax` is before what is
        withheld, its `taxable-income` is what local taxes may be of.
      facts: What the books cannot know and it asks for.
      withheld_fact: The one of them that says what is withheld over the year.
      instalments: Returns what is paid in the course of the year.
    """

    annual_tax: Callable[[Rules, Household, Decimal], Working]
    facts: tuple[Fact, ...]
    withheld_fact: str
    instalments: InstalmentsOf

    def withheld(self, household: Household) -> Decimal:
        """Return what is withheld from a household's other income over the year.

        Args:
          household: Who is taxed.
        """
        return household.fact(self.withheld_fact)


JURISDICTIONS: Mapping[str, Jurisdiction] = {
    "us-federal": Jurisdiction(
        us_federal.annual_tax,
        us_household.FACTS,
        "withholding",
        us_estimated.instalments,
    ),
    "uk-sole-trader": Jurisdiction(
        uk_sole_trader.annual_tax,
        uk_household.FACTS,
        "tax-deducted",
        uk_payments_on_account.instalments,
    ),
    "schedule-only": Jurisdiction(
        schedule_only.annual_tax,
        schedule_only.FACTS,
        "withholding",
        schedule_only.instalments,
    ),
}


def jurisdiction_of(rules: Rules) -> Jurisdiction:
    """Return what the tax of rules is worked out by.

    Args:
      rules: The rules; their `calculation` names it, or else their jurisdiction.

    Raises:
      RulesError: There is no such calculation.
    """
    name = rules.calculation or rules.jurisdiction
    if name in JURISDICTIONS:
        return JURISDICTIONS[name]
    known = sorted(JURISDICTIONS)
    raise RulesError(
        f"{rules.path}: no calculation is called {name!r}{meant(name, known)}; write "
        f'calculation = "schedule-only", or one of {either(known)}'
    )
