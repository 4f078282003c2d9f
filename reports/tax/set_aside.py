"""Work out how much of the money in the bank is the tax office's on a day.

    tax of the year, as the year is foreseen
    - what employers withhold                       = left to pay for the year
    x share of the year's profit earned so far
    - paid so far                                   = the tax office's today
    - what the reserve has                          = to be moved to the reserve

Until the day on which the year's first payment is due the year before is not settled
either: what is left to pay for it is the tax office's as well.
"""

from __future__ import annotations

import datetime
import decimal
from dataclasses import dataclass
from decimal import Decimal

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.books import Books
from offcut.reports.period import long_date
from offcut.reports.tax.due_dates import moved
from offcut.reports.tax.instalments import Stand
from offcut.reports.tax.payments import Payments, tax_payments
from offcut.reports.tax.reserve import balances
from offcut.reports.tax.rules import RulesError
from offcut.reports.tax.rules_files import find_rules
from offcut.reports.tax.tax_settings import TaxSettings
from offcut.reports.tax.tax_years import rules_before, rules_on
from offcut.reports.tax.year_tax import YearTax, year_tax


@dataclass(frozen=True)
class SetAside:
    """What is the tax office's on a day, and what of it is set aside.

    Attributes:
      today: The day.
      year: The year in question.
      earlier: The year before, where it is not settled.
      every: All payments to the tax office.
      settings: What is set about taxes.
      reserve: What the reserve has.
      bank: What the account has that the reserve is filled from.
      in_payments: What the account has that payments are booked to.
    """

    today: datetime.date
    year: YearTax
    earlier: YearTax | None
    every: Payments
    settings: TaxSettings
    reserve: Decimal
    bank: Decimal
    in_payments: Decimal

    @property
    def years(self) -> list[YearTax]:
        """The years in question, the earlier first."""
        return [*([self.earlier] if self.earlier else []), self.year]

    @property
    def owed(self) -> Decimal:
        """What of the maker's money is the tax office's."""
        with decimal.localcontext(EXACT):
            return sum((each.owed for each in self.years), ZERO)

    @property
    def short_by(self) -> Decimal:
        """What is to be moved to the reserve."""
        return max(EXACT.subtract(self.owed, self.reserve), ZERO)

    @property
    def spare(self) -> Decimal:
        """What the reserve has more than is needed."""
        return max(EXACT.subtract(self.reserve, self.owed), ZERO)

    @property
    def stands(self) -> list[tuple[str, Stand]]:
        """The payments of the years in question, with their years, by due day."""
        several = [(year.rules.year, each) for year in self.years for each in year.stands]
        return sorted(several, key=lambda each: each[1].part.due)

    @property
    def with_returns(self) -> list[tuple[str, datetime.date, Decimal]]:
        """What is left for the returns of years that are over: year, day and amount."""
        return [
            (
                each.rules.year,
                moved(each.rules.return_due, each.rules.holidays),
                each.with_return,
            )
            for each in self.years
            if each.rules.return_due is not None
            and each.projection.way == "actual"
            and each.with_return
        ]

    @property
    def overdue(self) -> list[tuple[str, Stand]]:
        """Those whose day is past and that are not paid."""
        return [each for each in self.stands if each[1].state == "overdue"]


def set_aside(
    books: Books, settings: TaxSettings, year: str | None, today: datetime.date
) -> SetAside:
    """Return what is the tax office's on a day.

    Args:
      books: The books.
      settings: What is set about taxes; a jurisdiction among it.
      year: The year as the rules call it; None for the one that the day is in.
      today: The day.

    Raises:
      RulesError: There are no rules of the year, or it has not begun.
      HouseholdError: What the books cannot know is missing or wrong.
    """
    beside = books.path.parent
    key = settings.jurisdiction
    rules = rules_on(key, today, beside) if year is None else find_rules(key, year, beside)
    if rules.first > today:
        raise RulesError(
            f"{rules.year} has not begun: its first day is {long_date(rules.first)}, so "
            "there is nothing to set aside for it yet"
        )
    before = rules_before(rules, beside)
    every = tax_payments(
        books.entries,
        settings.payments,
        rules.currency,
        today,
        "-" in rules.year,
        [each.name for each in settings.local],
    )
    until_known = _known_until(books, today)
    current = year_tax(books, settings, rules, before, every, until_known, today)
    earlier = None
    due = [moved(each.due, rules.holidays) for each in rules.instalments]
    began = books.income_days[0] if books.income_days else today
    if before and due and today <= due[0] and began <= before.last:
        earlier = year_tax(
            *(books, settings, before, rules_before(before, beside)),
            *(every, until_known, today),
        )
    reserve, bank, in_payments = balances(
        *(books.entries, (settings.reserve, settings.bank, settings.payments)),
        *(rules.currency, today),
    )
    if settings.reserve.startswith(settings.bank + ":"):
        bank = EXACT.subtract(bank, reserve)
    return SetAside(today, current, earlier, every, settings, reserve, bank, in_payments)


def _known_until(books: Books, today: datetime.date) -> datetime.date:
    """Return the last day that the books tell of: that of the last income or cost."""
    days = [day for day in books.income_days if day <= today]
    return days[-1] if days else today
