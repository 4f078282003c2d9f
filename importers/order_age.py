"""Tell by its days whether a file of orders is newer than what the ledger has of them.

A file with an order of a later day than any that the ledger has was exported after the
files before it, which would have that order otherwise. (Unless they were of chosen days
and exported later still: what is booked on this evidence is told.) What else there is
says less: a file's own time is that of its download, copying or unpacking, and a month
may be exported again. So a file that ends before the ledger does may be old: what it
leaves out of an order is not taken for gone.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Iterable
from contextlib import suppress
from functools import cache

from offcut.importers.novelty import Sorted
from offcut.importers.postings import lines_id
from offcut.importers.records import Order
from offcut.importers.transaction_texts import find_transactions


def compare_age(
    files: Iterable[Sorted], contents: Callable[[], Iterable[bytes]]
) -> Callable[[Order], int]:
    """Return a function that compares the age of an order's file with the ledger's.

    It returns 1 where the file has a later order than all that the ledger has of the
    source, -1 where the ledger has a later order that is not in the file, and else 0.

    Args:
      files: The files of the import, sorted.
      contents: Returns the bytes of the ledger's files; only called where it matters.
    """
    last: dict[tuple[str, str], datetime.date] = {}
    ours: dict[tuple[str, str], set[str]] = {}
    for file in files:
        if file.read.orders:
            key = file.read.layout.source, file.read.file
            day = max(order.date for order in file.read.orders)
            last[key] = min(last.get(key, day), day)  # two files may have one name
            ours.setdefault(key, set()).update(map(lines_id, file.read.orders))

    @cache
    def days_there(source: str) -> dict[str, datetime.date]:
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

    @cache
    def age(source: str, file: str) -> int:
        there, here = days_there(source), last[source, file]
        if all(day < here for day in there.values()):
            return 1
        # An order has the day of its payment: one that the file has is no later than it.
        names = ours[source, file]
        return -1 if any(day > here and at not in names for at, day in there.items()) else 0

    return lambda order: age(order.layout.source, order.file)
