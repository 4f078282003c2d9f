"""What a profit for tax is made of: the accounts, the form's lines, and the differences."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import NamedTuple

from offcut.importers.splitting import EXACT
from offcut.plugins.mileage import Trip
from offcut.reports.period import Period
from offcut.reports.tax.equipment import Equipment
from offcut.reports.tax.home_office import HomeOffice, OfficeClaim
from offcut.reports.tax.mileage_allowance import CarClaim, MileageSettings
from offcut.reports.tax.rules import Rules

NET_PROFIT = "net-profit"
NO_SETTINGS = MileageSettings()


class OnLine(NamedTuple):
    """What an account came to, and where it stands.

    Attributes:
      account: The account.
      key: Its `tax-line`; empty where it is on no line.
      posted: As an amount of its kind: income, or an expense, above zero.
      is_income: Whether it is an income account.
      declared: Whether the ledger says the line itself.
      catches_all: Whether it is income that the rules have no better line for.
    """

    account: str
    key: str
    posted: Decimal
    is_income: bool
    declared: bool
    catches_all: bool


class Step(NamedTuple):
    """A difference between the books' net income and the profit for tax.

    Attributes:
      label: What it is.
      amount: What it adds to profit.
      account: The account that it is of; empty where it is of none.
    """

    label: str
    amount: Decimal
    account: str = ""


@dataclass(frozen=True)
class Claims:
    """What is deducted beside, or in the place of, what was posted to accounts.

    Attributes:
      trips: The log of trips.
      mileage: What is set about them.
      office: The room at home; None for none.
      equipment: The equipment, of all years.
      packing: The items of stock that are only for packing and posting.
    """

    trips: tuple[Trip, ...] = ()
    mileage: MileageSettings = NO_SETTINGS
    office: HomeOffice | None = None
    equipment: tuple[Equipment, ...] = ()
    packing: frozenset[str] = frozenset()


@dataclass(frozen=True)
class TaxProfit:
    """The profit for tax of some days, and how it comes about.

    Attributes:
      rules: The rules of the year.
      period: The days.
      lines: What stands on each line of the form, by key, sums among them.
      accounts: The accounts that were posted to.
      steps: From the books' net income to the profit for tax.
      net_income: The books' net income, as the accounts have it.
      profit: The profit for tax, by its steps.
      once: What of the deductions is deducted once for the year, and is no running cost.
      car: The vehicle.
      office: The room at home.
      equipment: What is deducted of equipment, the nothings too.
      notes: What was taken for granted.
    """

    rules: Rules
    period: Period
    lines: Mapping[str, Decimal]
    accounts: tuple[OnLine, ...]
    steps: tuple[Step, ...]
    net_income: Decimal
    profit: Decimal
    once: Decimal
    car: CarClaim
    office: OfficeClaim
    equipment: tuple[tuple[Equipment, Decimal], ...]
    notes: tuple[str, ...]

    @property
    def running(self) -> Decimal:
        """The profit before what is deducted once for the year."""
        return EXACT.add(self.profit, self.once)

    @property
    def ties(self) -> bool:
        """Whether the form's last line is where the steps lead to."""
        return self.lines.get(NET_PROFIT, self.profit) == self.profit

    @property
    def unplaced(self) -> list[OnLine]:
        """The accounts that are on no line, or income on the line for any income.

        None are where the rules have no form: all income and expenses count then.
        """
        if not self.rules.form:
            return []
        return [each for each in self.accounts if not each.key or each.catches_all]
