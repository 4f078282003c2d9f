"""Give the transactions of a loaded ledger as the text that an import reads."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from beancount.core import data
from beancount.parser import printer

from offcut.importers.conversion_sides import (
    NO_CONVERSIONS,
    KnownConversions,
    known_conversions,
)
from offcut.importers.novelty import FileRecords
from offcut.importers.open_orders import orders_of
from offcut.importers.order_states import paid_together
from offcut.importers.records import Payment
from offcut.plugins.shelf import SOURCE


def linked_texts(read: FileRecords, existing: data.Directives) -> dict[str, list[str]]:
    """Return the texts of the transactions of a file's orders, by the order's key."""
    entries: dict[str, list[data.Transaction]] = defaultdict(list)
    for entry in existing:
        if isinstance(entry, data.Transaction):
            for link in entry.links:
                if link.startswith("order-"):
                    entries[link.removeprefix("order-")].append(entry)
    texts: dict[str, list[str]] = {}
    wanted = orders_of([*read.payments, *read.orders])
    while wanted:
        for order in wanted & entries.keys():
            texts[order] = [_as_imported(each) for each in entries[order]]
        together = {other for each in texts.values() for other in paid_together(each)}
        wanted = (together & entries.keys()) - texts.keys()
    return texts


def conversions_in(
    payments: Iterable[Payment], existing: data.Directives
) -> KnownConversions:
    """Return what there is of conversions, where there are new ones."""
    if not any(each.movement == "conversion" for each in payments):
        return NO_CONVERSIONS
    return known_conversions(
        _as_imported(each)
        for each in existing
        if isinstance(each, data.Transaction) and each.meta.get("movement") == "conversion"
    )


def _as_imported(entry: data.Transaction) -> str:
    """Return an entry's text, without what the stock plugin has added to it."""
    own = [each for each in entry.postings if (each.meta or {}).get("filename") != SOURCE]
    return printer.format_entry(entry._replace(postings=own))
