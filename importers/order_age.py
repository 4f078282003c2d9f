"""Tell by its days whether a file of orders is newer than what the ledger has of them.

A file with an order of a later day than any that the ledger has was exported after the
files before it, which would have that order otherwise. (Unless they were of chosen days
and exported later still: what is booked on this evidence is told.) What else there is
says less: a file's own time is that of its download, copying or unpacking, and a month
may be exported again.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Iterable
from contextlib import suppress
from functools import cache

from offcut.importers.novelty import Sorted
from offcut.importers.records import Order
from offcut.importers.transaction_texts import find_transactions


def newer_orders(
    files: Iterable[Sorted], contents: Callable[[], Iterable[bytes]]
) -> Callable[[Order], bool]:
    """Return a function that says of an order whether it is of such a file.

    Args:
      files: The files of the import, sorted.
      contents: Returns the bytes of the ledger's files; only called where it matters.
    """
    last: dict[tuple[str, str], datetime.date] = {}
    for file in files:
        if file.read.orders:
            key = file.read.layout.source, file.read.file
            day = max(order.date for order in file.read.orders)
            last[key] = min(last.get(key, day), day)  # two files may have one name

    @cache
    def last_there(source: str) -> datetime.date:
        found = [datetime.date.min]
        what = re.compile(rb'[ \t]lines-id:[ \t]*"' + re.escape(source.encode()) + rb"/")
        for each in contents():
            for text in find_transactions(each, what):
                with suppress(ValueError):
                    day = text[:10].replace("/", "-")
                    found.append(datetime.date.fromisoformat(day))
        return max(found)

    def is_newer(order: Order) -> bool:
        source = order.layout.source
        return last[source, order.file] > last_there(source)

    return is_newer
