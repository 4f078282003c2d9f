"""The tax of a year on its profit as it is foreseen, and what is paid of it."""

from __future__ import annotations

import datetime
import decimal
from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from offcut.importers.settings import FILE
from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.books import Books
from offcut.reports.figures import rounded
from offcut.reports.period import Period
from offcut.reports.tax.equipment import EquipmentError
from offcut.reports.tax.household import Fact, Household, read_household
from offcut.reports.tax.instalments import Stand, stands
from offcut.reports.tax.jurisdiction_table import jurisdiction_of
from offcut.reports.tax.local_schedule import LocalTax, local_taxes
from offcut.reports.tax.payments import Payment, Payments, Window, paid
from offcut.reports.tax.projection import Profit, Projection, Way, project
from offcut.reports.tax.rules import Rules
from offcut.reports.tax.tax_books import TaxBooks
from offcut.reports.tax.tax_lines import TaxLineError
from offcut.reports.tax.tax_profit import TaxProfit
from offcut.reports.tax.tax_settings import TaxSettings
from offcut.reports.tax.tax_years import payment_window
from offcut.reports.tax.working import Working
from offcut.reports.tax.yearly_claims import profit_after


@dataclass(frozen=True)
class YearTax:
    """The tax of a year, and what is paid of it.

    Attributes:
      rules: The rules of the year.
      household: Who is taxed.
      facts: What only they can say.
      projection: What the year's profit may come to.
      to_date: The profit so far, and how it comes about.
      errors: What the ledger says about taxes and is wrong.
      tax: The working of the tax on the year's profit.
      withheld: What employers withhold of it, over the year.
      local: The taxes of the maker's own place.
      required: The working of what must be paid in the course of the year.
      stands: The payments that this is made in, and how each stands.
      window: The days on which a payment is for this year.
      payments: What was paid for it.
      foreseen: What the year may come to, by each way: the way, the profit and the tax.
    """

    rules: Rules
    household: Household
    facts: tuple[Fact, ...]
    projection: Projection
    to_date: TaxProfit
    errors: tuple[TaxLineError | EquipmentError, ...]
    tax: Working
    withheld: Decimal
    local: tuple[LocalTax, ...]
    required: Working
    stands: tuple[Stand, ...]
    window: Window
    payments: tuple[Payment, ...]
    foreseen: tuple[tuple[Way, Decimal, Decimal], ...]

    @property
    def left(self) -> Decimal:
        """What is left to pay for the year, after what employers withhold."""
        with decimal.localcontext(EXACT):
            own = max(self.tax["total-tax"] - self.withheld, ZERO)
            return own + sum((each.tax for each in self.local), ZERO)

    @property
    def earned_share(self) -> Decimal:
        """The share of the year that is earned: of its profit, or without one its days."""
        projection = self.projection
        return (
            projection.earned_share if projection.profit > ZERO else projection.days_share
        )

    @property
    def accrued(self) -> Decimal:
        """What of it is on the profit earned so far, in whole minor units."""
        with decimal.localcontext(EXACT):
            return rounded(self.left * self.earned_share, self.rules.currency)

    @property
    def paid(self) -> Decimal:
        """What was paid so far."""
        return paid(self.payments, datetime.date.max)

    @property
    def owed(self) -> Decimal:
        """What of the maker's money is the tax office's today."""
        return max(EXACT.subtract(self.accrued, self.paid), ZERO)

    @property
    def with_return(self) -> Decimal:
        """What is left for the return of a year that is over, after all its instalments.

        Local taxes have returns of their own.
        """
        currency = self.rules.currency
        with decimal.localcontext(EXACT):
            own = rounded(max(self.tax["total-tax"] - self.withheld, ZERO), currency)
            so_far = sum((each.amount for each in self.payments if not each.local), ZERO)
            still_open = max((each.open for each in self.stands), default=ZERO)
            return max(own - so_far - still_open, ZERO)


def year_tax(
    books: Books,
    settings: TaxSettings,
    rules: Rules,
    before: Rules | None,
    every: Payments,
    until_known: datetime.date,
    today: datetime.date,
) -> YearTax:
    """Return the tax of a year, and what is paid of it.

    Args:
      books: The books.
      settings: What is set about taxes.
      rules: The rules of the year.
      before: Those of the year before; None where there are none.
      every: All payments to the tax office.
      until_known: The last day that the books tell of.
      today: The day.

    Raises:
      RulesError: The rules do not have what the tax is worked out by.
      HouseholdError: What the books cannot know is missing or wrong.
      TaxSettingsError: The settings have mistakes.
    """
    country = jurisdiction_of(rules)
    household = read_household(
        settings.answers_of(rules.year), rules.statuses, country.facts, f"{FILE}: [tax]"
    )
    tax_books = TaxBooks(books, rules, settings)

    @cache
    def earned(first: datetime.date, last: datetime.date) -> TaxProfit:
        return tax_books.profit(Period(first, last))

    def profit(first: datetime.date, last: datetime.date) -> Decimal:
        return earned(first, last).profit

    projection = project(
        profit,
        rules.first,
        rules.last,
        today if today >= rules.last else until_known,
        books.income_days[0] if books.income_days else None,
        settings.projection,
        running=lambda first, last: earned(first, last).running,
        after=lambda running: profit_after(running, tax_books.claims, rules, today),
    )

    def tax_on(profit: Decimal) -> Working:
        return country.annual_tax(rules, household, profit)

    tax = tax_on(projection.profit)
    ways: list[tuple[Way, Decimal]] = [("year-to-date", projection.by_days)]
    if projection.by_season is not None:
        ways.append(("last-year", projection.by_season))
    ends = [each.period_ends for each in rules.instalments if each.period_ends]
    required, parts, withheld = country.instalments(
        rules,
        household,
        tax,
        settings.method,
        [foreseen(projection, profit, each) for each in ends],
    )
    window = payment_window(rules, before)
    payments = tuple(each for each in every.found if window.counts(each))
    national = [each for each in payments if not each.local]
    return YearTax(
        rules=rules,
        household=household,
        facts=tuple(country.facts),
        projection=projection,
        to_date=earned(projection.first, projection.until),
        errors=tuple(tax_books.errors),
        tax=tax,
        withheld=country.withheld(household),
        local=tuple(local_taxes(settings, projection.profit, tax.get("taxable-income"))),
        required=required,
        stands=tuple(stands(parts, withheld, national, rules.currency, today)),
        window=window,
        payments=payments,
        foreseen=tuple((way, each, tax_on(each)["total-tax"]) for way, each in ways),
    )


def foreseen(projection: Projection, profit: Profit, until: datetime.date) -> Decimal:
    """Return the profit of a year up to a day, which may be still to come.

    What is still to come is taken to come evenly.

    Args:
      projection: What the year may come to.
      profit: Returns the profit from a day to another, both included.
      until: The day.
    """
    if until < projection.first:
        return ZERO
    if until <= projection.until:
        return profit(projection.first, until)
    with decimal.localcontext(EXACT):
        days = Decimal((until - projection.until).days)
        rest = (projection.last - projection.until).days
        return projection.to_date + (projection.profit - projection.to_date) * days / rest
