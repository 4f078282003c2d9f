"""Refuse what the ledger's own accounts do not take: the day, or the currency.

A ledger says of an account when it is opened and closed, and which currencies it holds.
beancount would report what an import writes beside that at every load.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator

from offcut.importers.known import Known, Limits
from offcut.importers.ledger_text import escaped
from offcut.importers.postings import Booking, lines_id, source_id
from offcut.importers.problems import ImportRefused, Problem
from offcut.importers.records import Order, Payment

_ID = re.compile(r'^  (source|lines)-id: "((?:[^"\\]|\\.)*)"', re.M)


def check_accounts(
    bookings: Collection[Booking],
    accounts: Collection[str],
    known: Known,
    ledger: str,
    records: Collection[Payment | Order],
) -> None:
    """Check that the ledger's accounts take what is to be booked.

    Args:
      bookings: What is to be written.
      accounts: The accounts that are posted to.
      known: What the ledger has.
      ledger: The name of its main file.
      records: The payments and orders that are booked: they say file and row.

    Raises:
      ImportRefused: An account is opened later, was closed before, or holds other
        currencies; a line each.
    """
    if not bookings:
        return
    first = min([each.day for each in bookings])
    last = max([each.day for each in bookings])
    limited = {
        account: limits
        for account, limits in known.limits.items()
        if account in accounts and _may_refuse(limits, first, last)
    }
    if not limited:
        return
    names = "|".join(map(re.escape, sorted(limited, key=len, reverse=True)))
    posted = re.compile(
        rf"^(?:[ ]+|\d{{4}}-\d\d-\d\d balance )({names}) +[-\d.]+ ([A-Z]+)"
        rf'|^ +cost-account: "({names})"',
        re.M,
    )
    found: dict[tuple[str, str], Booking] = {}
    for booking in sorted(bookings, key=lambda each: each.day):
        for account, currency, bearing in posted.findall(booking.text):
            name = account or bearing
            if message := _refusal(name, limited[name], booking.day, currency):
                found.setdefault((name, message), booking)
    if found:
        rows = {name: (each.file, each.row) for each in records for name in _names(each)}
        seen = set()
        problems = []
        for (name, message), booking in found.items():
            kind = name, message.partition(", found")[0]
            if kind in seen:
                continue  # the same of another day
            seen.add(kind)
            ids = [f"{which}/{text}" for which, text in _ID.findall(booking.text)]
            file, row = next((rows[each] for each in ids if each in rows), (ledger, None))
            problems.append(Problem(file, row, None, message))
        raise ImportRefused(problems)


def _may_refuse(limits: Limits, first: str, last: str) -> bool:
    too_late = bool(limits.closed) and last > limits.closed
    return first < limits.opened or too_late or bool(limits.currencies)


def _refusal(account: str, limits: Limits, day: str, currency: str) -> str:
    """Return why an account does not take a posting; empty where it does."""
    if day < limits.opened:
        return (
            f"expected a day from {limits.opened} on, when the ledger opens {account}, "
            f"found {day}; open the account earlier, or leave the row out"
        )
    if limits.closed and day > limits.closed:
        return (
            f"expected a day up to {limits.closed}, when the ledger closes {account}, "
            f"found {day}; close the account later, or name another in the layout's "
            "[accounts]"
        )
    if currency and limits.currencies and currency not in limits.currencies:
        return (
            f"expected {' or '.join(limits.currencies)}, which is all that {account} takes"
            f", found {currency}; add it to the account's open directive, or name another "
            "account in the layout's [accounts]"
        )
    return ""


def _names(record: Payment | Order) -> Iterator[str]:
    """Yield the id that a record's transaction has."""
    if isinstance(record, Payment):
        yield f"source/{escaped(source_id(record))}"
    else:
        yield f"lines/{escaped(lines_id(record))}"
