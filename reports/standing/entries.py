"""Take what the directives of a ledger say of its last imports, counts and balances."""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import NamedTuple

from beancount.core import data

from offcut.importers.moving_in.beginnings import began_the_books
from offcut.reports.flows import weight

SUSPENSE = "Suspense"


class Seen(NamedTuple):
    """What the directives of a ledger say.

    Attributes:
      transactions: How many transactions were written, by a person or an import.
      first: The day of the first one; None where there is none.
      last: The day of the last one.
      imports: The last day that was imported, by source.
      counts: The day of the last count of each item.
      asserted: The day of the last balance asserted, by account.
      suspense: What stands in accounts of suspense, by account and currency.
    """

    transactions: int
    first: datetime.date | None
    last: datetime.date | None
    imports: Mapping[str, datetime.date]
    counts: Mapping[str, datetime.date]
    asserted: Mapping[str, datetime.date]
    suspense: Mapping[tuple[str, str], Decimal]


def see(entries: Iterable[data.Directive]) -> Seen:
    """Return what directives say, in one pass over them.

    Args:
      entries: A ledger's directives, after its plugins, by date.
    """
    days: list[datetime.date] = []
    imports: dict[str, datetime.date] = {}
    counts: dict[str, datetime.date] = {}
    asserted: dict[str, datetime.date] = {}
    suspense: dict[tuple[str, str], Decimal] = defaultdict(Decimal)
    for entry in entries:
        if isinstance(entry, data.Transaction):
            _see_transaction(entry, days, imports, suspense)
        elif isinstance(entry, data.Balance):
            asserted[entry.account] = entry.date
        elif isinstance(entry, data.Custom) and entry.type == "stock-count":
            for value in entry.values or ():
                counts[getattr(value.value, "currency", "")] = entry.date
    return Seen(
        len(days),
        days[0] if days else None,
        days[-1] if days else None,
        imports,
        counts,
        asserted,
        {key: sum_ for key, sum_ in suspense.items() if sum_},
    )


def _see_transaction(
    entry: data.Transaction,
    days: list[datetime.date],
    imports: dict[str, datetime.date],
    suspense: dict[tuple[str, str], Decimal],
) -> None:
    """Take what one transaction says."""
    if not str(entry.meta.get("filename", "")).startswith("<"):
        days.append(entry.date)
    ids = () if began_the_books(entry.meta) else ("source-id", "lines-id")
    for name in map(entry.meta.get, ids):
        if isinstance(name, str) and "/" in name:
            source = name.partition("/")[0]
            imports[source] = max(entry.date, imports.get(source, entry.date))
    for posting in entry.postings:
        if SUSPENSE in posting.account and SUSPENSE in posting.account.split(":"):
            weighed = weight(posting)
            if weighed is not None:
                suspense[posting.account, weighed[1]] += weighed[0]
