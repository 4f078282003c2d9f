"""What the month-end list looks at, as one pass over a ledger's entries takes it."""

from __future__ import annotations

import datetime
from collections import defaultdict
from dataclasses import dataclass, field
from decimal import Decimal

from beancount.core import data

from offcut.reports.close.month import Month
from offcut.reports.close.open_items import (
    Account,
    Group,
    Links,
    OpenItem,
    Posted,
    open_items,
)
from offcut.reports.close.roles import Role, Roles


@dataclass(slots=True)
class Shelf:
    """An item on the maker's own shelf.

    Attributes:
      units: How many there are at the month's end.
      since: The first day that there was any.
    """

    units: Decimal
    since: datetime.date


@dataclass
class LedgerPass:
    """What the month-end list looks at.

    Attributes:
      month: The month.
      roles: What the accounts are for.
      transactions: How many transactions the month has.
      opened: The accounts that are opened.
      closed: The accounts that are closed, and when.
      months: The numbers of the months that each source has rows in.
      none: The sources that the ledger says to have no rows in the month.
      balances: What there is of banks and processors at the month's end.
      moved: The accounts of these that move in the month.
      later: What moves on processors' accounts after the month, by day.
      money: The transactions that post to a bank.
      groups: What is open or was, by role, account and links.
      loose: The postings of such accounts that have no links.
      parked: The postings in suspense that have an item text.
      asserted: The balances that hold, from the month's last day on.
      asserted_before: The day of the last one before that.
      counts: The last count of each item by the month's end.
      shelves: What is on the maker's own shelf then of each item.
      bills: The first day of a bill of materials of each item that has one.
      labels: The transactions of postage labels by the month's end.
      orders: The links of all orders that have anything else.
    """

    month: Month
    roles: Roles
    transactions: int = 0
    opened: set[str] = field(default_factory=set)
    closed: dict[str, datetime.date] = field(default_factory=dict)
    months: dict[str, set[int]] = field(default_factory=lambda: defaultdict(set))
    none: set[str] = field(default_factory=set)
    balances: dict[Account, Decimal] = field(default_factory=dict)
    moved: set[Account] = field(default_factory=set)
    later: dict[Account, dict[datetime.date, Decimal]] = field(default_factory=dict)
    money: list[data.Transaction] = field(default_factory=list)
    groups: dict[Role, dict[Account, dict[Links, Group]]] = field(
        default_factory=lambda: defaultdict(lambda: defaultdict(dict))
    )
    loose: dict[Role, dict[Account, list[Posted]]] = field(default_factory=dict)
    parked: list[Posted] = field(default_factory=list)
    asserted: dict[Account, data.Balance] = field(default_factory=dict)
    asserted_before: dict[Account, datetime.date] = field(default_factory=dict)
    counts: dict[str, datetime.date] = field(default_factory=dict)
    shelves: dict[str, Shelf] = field(default_factory=dict)
    bills: dict[str, datetime.date] = field(default_factory=dict)
    labels: list[data.Transaction] = field(default_factory=list)
    orders: set[str] = field(default_factory=set)

    def open_items(self, role: Role, all_days: bool = False) -> list[OpenItem]:
        """Return what was open in the accounts of a role at the month's end.

        Args:
          role: The role.
          all_days: Whether to return what is open after all days of the ledger instead.
        """
        end = None if all_days else self.month.last
        groups = (
            (account, of_account.values())
            for account, of_account in self.groups.get(role, {}).items()
        )
        return open_items(groups, self.loose.get(role, {}).items(), end)
