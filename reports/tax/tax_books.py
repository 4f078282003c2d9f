"""A ledger as the tax rules of a year look at it, made once for all that asks for it."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, NamedTuple

from beancount.core import data

from offcut.plugins.mileage import trips
from offcut.reports.books import Books
from offcut.reports.period import Period
from offcut.reports.tax.account_flows import AccountFlows, account_flows, entries_of
from offcut.reports.tax.equipment import (
    EquipmentError,
    check_equipment,
    equipment_bought,
)
from offcut.reports.tax.home_office import read_home_office
from offcut.reports.tax.mileage_allowance import read_mileage
from offcut.reports.tax.packing_stock import StockUses, stock_uses
from offcut.reports.tax.profit_for_tax import profit_for_tax
from offcut.reports.tax.rules import Rules
from offcut.reports.tax.tax_lines import TaxLineError, TaxLines, check_tax_lines
from offcut.reports.tax.tax_profit import Claims, TaxProfit
from offcut.reports.tax.tax_settings import TaxSettings


@dataclass(frozen=True)
class TaxBooks:
    """A ledger under the tax rules of a year.

    Attributes:
      books: The ledger.
      rules: The rules of the year.
      settings: What is set about taxes.
    """

    books: Books
    rules: Rules
    settings: TaxSettings

    @property
    def year(self) -> Period:
        """The days of the tax year."""
        return Period(self.rules.first, self.rules.last)

    @property
    def currency(self) -> str:
        """The currency of the rules; nothing in another one is counted."""
        return self.rules.currency

    @property
    def options(self) -> Mapping[str, Any]:
        """The ledger's options."""
        return self.books.options

    @cached_property
    def entries(self) -> Sequence[data.Directive]:
        """The ledger's directives of the year."""
        return entries_of(self.books.entries, self.year)

    @property
    def customs(self) -> list[data.Custom]:
        """The ledger's custom directives, of all years."""
        return self._of_kinds.customs

    @cached_property
    def lines(self) -> TaxLines:
        """Which line each account stands on."""
        return TaxLines(self._of_kinds.opens, self.options, self.rules)

    @cached_property
    def stock_uses(self) -> StockUses:
        """What the items of stock are for."""
        return stock_uses(self.customs, self.books.catalogue)

    @cached_property
    def flows(self) -> AccountFlows:
        """What was posted to income and expense accounts in the year."""
        return account_flows(self.books.entries, self.options, self.year, self.currency)

    @cached_property
    def claims(self) -> Claims:
        """What is deducted beside what was posted.

        Raises:
          TaxSettingsError: The settings have mistakes.
        """
        return Claims(
            trips=tuple(trips(self.customs)),
            mileage=read_mileage(self.settings.mileage_of(self.rules.year)),
            office=read_home_office(self.settings.home_office_of(self.rules.year)),
            equipment=tuple(
                equipment_bought(self.books.entries, self.options, self.currency)
            ),
            packing=self.stock_uses.packing,
        )

    @cached_property
    def errors(self) -> list[TaxLineError | EquipmentError]:
        """What the ledger says about taxes and is wrong."""
        return [
            *check_tax_lines(self._of_kinds.opens, self.rules),
            *check_equipment(self.claims.equipment),
        ]

    @cached_property
    def began(self) -> datetime.date | None:
        """The day of the ledger's first transaction; None where there is none."""
        return next(
            (
                entry.date
                for entry in self.books.entries
                if isinstance(entry, data.Transaction)
            ),
            None,
        )

    def profit(self, period: Period | None = None) -> TaxProfit:
        """Return the profit for tax.

        Args:
          period: Days of the tax year, or of a year before it, which is then looked at by
            the same rules; the whole tax year where none are given.

        Raises:
          TaxSettingsError: The settings have mistakes.
          RulesError: The rules do not have a figure that a claim is worked out by.
        """
        period = period or self.year
        flows = self.flows
        if period.first is None or period.first < self.rules.first:
            flows = self._flows_of_all
        return profit_for_tax(flows, self.lines, self.rules, period, self.claims)

    @cached_property
    def _flows_of_all(self) -> AccountFlows:
        """What was posted on all days, for looking back from the year."""
        return account_flows(self.books.entries, self.options, Period(), self.currency)

    @cached_property
    def _of_kinds(self) -> _OfKinds:
        """The ledger's accounts and custom directives, of all years, in one pass."""
        opens: list[data.Open] = []
        customs: list[data.Custom] = []
        for entry in self.books.entries:
            if isinstance(entry, data.Open):
                opens.append(entry)
            elif isinstance(entry, data.Custom):
                customs.append(entry)
        return _OfKinds(opens, customs)


class _OfKinds(NamedTuple):
    """Directives of two kinds."""

    opens: list[data.Open]
    customs: list[data.Custom]
