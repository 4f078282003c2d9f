"""Read a ledger's entries, once, into what the month-end list looks at."""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterable
from decimal import Decimal

from beancount.core import data

from offcut.importers.moving_in.beginnings import began_the_books
from offcut.importers.values import ZERO
from offcut.reports.close.ledger_pass import LedgerPass, Shelf
from offcut.reports.close.month import Month, month_number
from offcut.reports.close.open_items import Group, Links, Posted
from offcut.reports.close.roles import Role, Roles

NO_ROWS = "no-rows"
# An opening balance stands before the first row of a file, and is of none.
_OF_NO_ROW = ("opening-", "before-")
# What postings belong together by; in suspense there are rows and payouts, too.
_LINKED_BY = (("order-",), ("bank-", "payout-", "order-"))


def read_entries(
    entries: Iterable[data.Directive], month: Month, roles: Roles, items: Collection[str]
) -> LedgerPass:
    """Return what the month-end list looks at.

    Args:
      entries: The ledger's directives, after its plugins.
      month: The month.
      roles: What the accounts are for.
      items: The commodities that are items of stock.
    """
    found = LedgerPass(month, roles)
    reader = _Reader(found, items)
    for entry in entries:
        if isinstance(entry, data.Transaction):
            reader.read_transaction(entry)
        elif isinstance(entry, data.Balance):
            _read_balance(found, entry)
        elif isinstance(entry, data.Custom):
            _read_custom(found, entry)
        elif isinstance(entry, data.Open):
            found.opened.add(entry.account)
        elif isinstance(entry, data.Close):
            found.closed[entry.account] = entry.date
    return found


class _Reader:
    """Reads transactions: nearly all of the time that a large ledger takes goes by here."""

    def __init__(self, found: LedgerPass, items: Collection[str]) -> None:
        self.found = found
        self.items = items
        self.date: datetime.date | None = None
        self.by_end = self.in_month = False
        self.month_number = 0

    def read_transaction(self, entry: data.Transaction) -> None:
        """Take in a transaction."""
        found, date, meta = self.found, entry.date, entry.meta
        if date != self.date:
            self.date, self.month_number = date, month_number(date)
            self.by_end = date <= found.month.last
            self.in_month = self.by_end and date >= found.month.first
        if self.in_month:
            found.transactions += 1
        if not began_the_books(meta):
            if "source-id" in meta:
                self._read_id(meta["source-id"])
            if "lines-id" in meta:
                self._read_id(meta["lines-id"])
        movement = meta.get("movement")
        if movement == "postage":
            if self.by_end:
                found.labels.append(entry)
        elif entry.links:
            found.orders.update(entry.links)
            if movement == "conversion":  # each side of it is a row
                self._read_ids_of_postings(entry)
        elif movement == "conversion":
            self._read_ids_of_postings(entry)
        roles = found.roles
        for posting in entry.postings:
            role = roles[posting.account]
            if role is None:
                continue
            if role == "stock":
                if self.by_end:
                    self._read_stock(posting, date)
            elif posting.units is not None and isinstance(posting.units.number, Decimal):
                self._read_posting(entry, posting, role)

    def _read_id(self, name: object) -> None:
        """Note that a source has a row in this month."""
        if isinstance(name, str):
            source, mark, of_row = name.partition("/")
            if mark and not of_row.startswith(_OF_NO_ROW):
                self.found.months[source].add(self.month_number)

    def _read_ids_of_postings(self, entry: data.Transaction) -> None:
        for posting in entry.postings:
            self._read_id((posting.meta or {}).get("source-id"))

    def _read_stock(self, posting: data.Posting, date: datetime.date) -> None:
        """Take in what comes to the maker's own shelf, or leaves it."""
        units = posting.units
        if units is None or units.currency not in self.items:
            return
        if isinstance(units.number, Decimal):
            shelf = self.found.shelves.get(units.currency)
            if shelf is None:
                shelf = self.found.shelves[units.currency] = Shelf(ZERO, date)
            shelf.units += units.number
            if date < shelf.since:
                shelf.since = date

    def _read_posting(
        self, entry: data.Transaction, posting: data.Posting, role: Role
    ) -> None:
        """Take in a posting to an account that is for something."""
        units, found, date = posting.units, self.found, entry.date
        assert units is not None and units.number is not None
        account = posting.account, units.currency
        if role in ("bank", "processor"):
            if role == "bank":
                found.money.append(entry)
            if self.by_end:
                balances = found.balances
                balances[account] = balances.get(account, ZERO) + units.number
                if self.in_month:
                    found.moved.add(account)
            elif role == "processor":
                days = found.later.setdefault(account, {})
                days[date] = days.get(date, ZERO) + units.number
            return
        if role == "suspense" and posting.meta and "item-text" in posting.meta:
            found.parked.append(Posted(date, units.number, entry, posting))
            return
        links = _links_of(entry, posting, role)
        if not links:
            loose = found.loose.setdefault(role, {}).setdefault(account, [])
            loose.append(Posted(date, units.number, entry, posting))
            return
        of_account = found.groups[role][account]
        group = of_account.get(links)
        if group is None:
            group = of_account[links] = Group(
                links, Posted(date, units.number, entry, posting)
            )
        elif date <= group.since:
            group.begin_with(Posted(date, units.number, entry, posting))
        elif date > group.last:
            group.last = date
        group.total += units.number
        if self.by_end:
            group.at_end += units.number


def _links_of(entry: data.Transaction, posting: data.Posting, role: Role) -> Links:
    """Return the links of what a posting is about."""
    links = entry.links
    if not links:
        return ()
    if len(links) == 1 and role != "payouts":  # as most have it
        (link,) = links
        return (link,) if link.startswith(_LINKED_BY[role == "suspense"]) else ()
    if role == "payouts":
        return _starting(links, "payout-") or _starting(links, "bank-")
    if role == "suspense":
        if of_row := _starting(links, "bank-"):
            return of_row
        if _starting(links, "payout-"):
            return _starting(links, "payout-")
    orders = _starting(links, "order-")
    if len(orders) > 1 and posting.meta and isinstance(posting.meta.get("order"), str):
        of_one = f"order-{posting.meta['order']}"
        return (of_one,) if of_one in orders else orders
    return orders


def _starting(links: Iterable[str], start: str) -> Links:
    """Return the links that begin with a text, sorted."""
    found = tuple([link for link in links if link.startswith(start)])
    return found if len(found) < 2 else tuple(sorted(found))


def _read_balance(found: LedgerPass, entry: data.Balance) -> None:
    """Take in a balance that holds."""
    if entry.diff_amount is not None:
        return
    account = entry.account, entry.amount.currency
    if entry.date >= found.month.last:
        first = found.asserted.get(account)
        if first is None or entry.date < first.date:
            found.asserted[account] = entry
    else:
        before = found.asserted_before.get(account, entry.date)
        found.asserted_before[account] = max(before, entry.date)


def _read_custom(found: LedgerPass, entry: data.Custom) -> None:
    """Take in a count of stock, a bill of materials, or a source without rows."""
    values = [value.value for value in entry.values or ()]
    if not values:
        return
    currency = getattr(values[0], "currency", None)
    if entry.type == "stock-count" and currency and "place" not in entry.meta:
        if entry.date <= found.month.last:
            before = found.counts.get(currency, entry.date)
            found.counts[currency] = max(before, entry.date)
    elif entry.type == "bill-of-materials" and currency:
        found.bills[currency] = min(entry.date, found.bills.get(currency, entry.date))
    elif entry.type == NO_ROWS and found.month.first <= entry.date <= found.month.last:
        found.none.update(value for value in values if isinstance(value, str))
