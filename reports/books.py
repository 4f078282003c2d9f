"""A loaded ledger, and what several reports take from it, worked out once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

import pandas as pd
from beancount.core import data

from offcut.plugins.catalogue import Item, read_catalogue
from offcut.reports.currencies import report_currency
from offcut.reports.order_table import order_table
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

    @cached_property
    def table(self) -> pd.DataFrame:
        """The order table of all dates and currencies."""
        return order_table(self.entries, self.options)

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
        return report_currency(self.table, self.options)
