"""A loaded ledger, and what several reports take from it, worked out once."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property
from pathlib import Path
from typing import Any

import pandas as pd
from beancount.core import data

from offcut.plugins.catalogue import Item, read_catalogue
from offcut.reports.allocation import Rule, read_allocation
from offcut.reports.currencies import (
    operating_currency,
    report_currency,
    stock_currency,
)
from offcut.reports.flows import money_transactions
from offcut.reports.net_income import DailyIncome, income_over, net_income_by_day
from offcut.reports.order_table import order_table
from offcut.reports.outlets.receivables import RECEIVABLE
from offcut.reports.period import Period
from offcut.reports.shared_costs import with_shared_costs
from offcut.reports.shelf.balances import StockDays, stock_days
from offcut.reports.shelf.moves import Moves, stock_moves
from offcut.reports.trace.index import TraceIndex


@dataclass(frozen=True)
class Books:
    """A loaded ledger; what is derived from it is made at the first look.

    Attributes:
      entries: Its directives, after its plugins.
      options: Its options.
      errors: What is wrong in it, as beancount's tuples with source and message.
      path: Its main file.
    """

    entries: data.Directives
    options: Mapping[str, Any]
    errors: list[Any] = field(default_factory=list)
    path: Path = Path("main.beancount")
    _tables: dict[tuple[Rule, bool], pd.DataFrame] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )

    @property
    def table(self) -> pd.DataFrame:
        """The order table of all dates and currencies."""
        return self.table_by("value")

    def table_by(self, rule: Rule) -> pd.DataFrame:
        """Return the order table in which orders are split by a rule.

        Args:
          rule: The rule.
        """
        key = (rule, False)
        if key not in self._tables:
            self._tables[key] = order_table(self.entries, self.options, rule)
        return self._tables[key]

    def allocated(self, rule: Rule) -> pd.DataFrame:
        """Return that table after what was sold has borne its events' and channels' costs.

        Args:
          rule: The rule, for these too.
        """
        key = (rule, True)
        if key not in self._tables:
            self._tables[key] = with_shared_costs(
                self.table_by(rule),
                read_allocation(self.entries, rule),
                self.options["name_expenses"],
            )
        return self._tables[key]

    @cached_property
    def catalogue(self) -> dict[str, Item]:
        """The items of stock, by commodity."""
        return read_catalogue(self.entries)

    @cached_property
    def trace_index(self) -> TraceIndex:
        """Where each lot, order and cost stands in the ledger's text."""
        return TraceIndex(self.entries, self.options)

    @cached_property
    def currency(self) -> str:
        """The currency to report in where none is asked for."""
        return operating_currency(self.options) or report_currency(self.table, self.options)

    @cached_property
    def stock_moves(self) -> list[Moves]:
        """What came to each shelf and left it, by date."""
        assets = self.options["name_assets"] + ":"
        return stock_moves(self.entries, self.catalogue, assets)

    @cached_property
    def stock_days(self) -> StockDays:
        """What the accounts of stock were posted on each day, apart from these moves."""
        return stock_days(self.entries, self.options, self.catalogue.keys())

    @cached_property
    def stock_currency(self) -> str:
        """The currency to report stock in where none is asked for."""
        return stock_currency(self.entries, self.options)

    @cached_property
    def _daily_income(self) -> DailyIncome:
        """The net income of each day and currency, taken apart from the order table."""
        return net_income_by_day(self.entries, self.options)

    @cached_property
    def on_account(self) -> list[data.Transaction]:
        """The transactions with a posting on what is owed to the maker: a few of all."""
        root = f"{self.options['name_assets']}:{RECEIVABLE}"
        found = []
        for entry in money_transactions(self.entries):
            for posting in entry.postings:
                if posting.account.startswith(root):
                    found.append(entry)
                    break
        return found

    @cached_property
    def income_days(self) -> list[datetime.date]:
        """The days that have an income or a cost, the earliest first."""
        return sorted({day for day, _ in self._daily_income})

    def net_income(self, period: Period) -> dict[str, Decimal]:
        """Return the ledger's net income over a period, by currency, for reports' ties.

        Args:
          period: The days.
        """
        return income_over(self._daily_income, period)
