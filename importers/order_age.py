"""Tell by its days whether a file of orders is newer than what the ledger has of them.

A file with a later order than all that the ledger has was exported after the files before
it, which would have that order otherwise. (Unless they were of chosen days and exported
later still: what is booked on this evidence is told.) What else there is says less: a
file's own time is that of its download, copying or unpacking, and a month may be exported
again. So a file that ends before the ledger does may be old, and of one that has the same
orders nobody can tell: what such a file has otherwise is booked only where the user says
that the file is the newer one.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from functools import cache

from beancount.core import data

from offcut.importers.novelty import FileRecords
from offcut.importers.postings import lines_id
from offcut.importers.records import Order
from offcut.importers.transaction_texts import find_transactions


def compare_age(
    files: Iterable[FileRecords], days_there: Callable[[str], Mapping[str, datetime.date]]
) -> Callable[[Order], int]:
    """Return a function that compares the age of an order's file with the ledger's.

    It returns 1 where the file has an order that the ledger has not, of the day of the
    last one there or later, -1 where the ledger has one of a later day than all of the
    file's that is not in the file, and else 0.

    Args:
      files: The files of the import.
      days_there: Returns the last day of each order of a source that the ledger has, by
        the id of its lines; only called where it matters.
    """
    ours: dict[tuple[str, str], dict[str, datetime.date]] = {}
    for file in files:
        if file.orders:
            days = ours.setdefault((file.layout.source, file.file), {})
            days |= {lines_id(order): order.date for order in file.orders}

    @cache
    def age(source: str, file: str) -> int:
        here = ours[source, file]
        # In the ledger an order may have the day of its payment.
        there = {name: here.get(name, day) for name, day in days_there(source).items()}
        last = max(there.values(), default=datetime.date.min)
        if any(day >= last and name not in there for name, day in here.items()):
            return 1
        return -1 if last > max(here.values()) else 0

    return lambda order: age(order.layout.source, order.file)


def days_in_texts(
    contents: Callable[[], Iterable[bytes]],
) -> Callable[[str], Mapping[str, datetime.date]]:
    """Return a function that finds the days of a source's orders in a ledger's text.

    Args:
      contents: Returns the bytes of the ledger's files.
    """

    @cache
    def days_there(source: str) -> Mapping[str, datetime.date]:
        found: dict[str, datetime.date] = {}
        what = rb'[ \t]lines-id:[ \t]*"(' + re.escape(source.encode()) + rb'/[^"#\n]*)'
        for each in contents():
            for text in find_transactions(each, re.compile(what)):
                with suppress(ValueError):
                    day = datetime.date.fromisoformat(text[:10].replace("/", "-"))
                    for name in re.findall(what, text.encode()):
                        order = name.decode()
                        found[order] = max(found.get(order, day), day)
        return found

    return days_there


def days_in_entries(
    entries: Iterable[data.Directive],
) -> Callable[[str], Mapping[str, datetime.date]]:
    """Return a function that finds the days of a source's orders in a loaded ledger.

    Args:
      entries: The ledger's entries.
    """

    @cache
    def days_there(source: str) -> Mapping[str, datetime.date]:
        found: dict[str, datetime.date] = {}
        for entry in entries:
            name = str((entry.meta or {}).get("lines-id", "")).partition("#")[0]
            if isinstance(entry, data.Transaction) and name.startswith(f"{source}/"):
                found[name] = max(found.get(name, entry.date), entry.date)
        return found

    return days_there


def always_newer(order: Order) -> int:
    """Return the age of a file of which the user says that it is the newer one."""
    return 1
