"""Book what a file says of balances against the entries of a loaded ledger."""

from __future__ import annotations

from collections.abc import Iterable

from beancount.core import data
from beancount.parser import printer

from offcut.importers.balance_assertions import book_balances
from offcut.importers.ledger_text import escaped, posting_text
from offcut.importers.novelty import FileRecords, sort_out
from offcut.importers.postings import Booking


def balance_bookings(
    read: FileRecords, bookings: Iterable[Booking], existing: Iterable[data.Directive]
) -> list[Booking]:
    """Return the opening balances and assertions of a file that the ledger has not.

    Args:
      read: The file.
      bookings: What else is booked of it, what the ledger has included.
      existing: The ledger's entries.
    """
    if not read.balances.known:
        return []
    account = read.layout.accounts.clearing
    ids: set[str] = set()
    texts = []
    for entry in existing:
        ids.add(escaped(entry.meta.get("source-id", "")))
        if isinstance(entry, data.Transaction):
            for posting in entry.postings:
                ids.add(escaped((posting.meta or {}).get("source-id", "")))
            if any(posting.account == account for posting in entry.postings):
                texts.append(printer.format_entry(entry))
    texts += [each.text for each in bookings if _id_in(each.text) not in ids]
    contents = ["\n".join(texts).encode()]
    return book_balances(sort_out([read], ids, ()), ids, contents, posting_text).bookings


def _id_in(text: str) -> str:
    """Return the id of the row that a transaction of ours is of, as its text has it."""
    return text.partition('\n  source-id: "')[2].partition('"\n')[0] or "\n"
