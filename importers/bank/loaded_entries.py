"""Book the rows of a bank against entries of a loaded ledger, for beangulp and the viewer.

Here one file is seen at a time, and what the ledger has of it is extracted again, to be
marked as a duplicate.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from decimal import Decimal

from beancount.core import data
from beancount.parser import printer

from offcut.importers.bank.rows import book_bank
from offcut.importers.bank.state import BankAccounts, bank_accounts
from offcut.importers.layout import Layout, shipped_layouts
from offcut.importers.ledger_text import escaped, posting_text
from offcut.importers.postings import Booking, Meta, source_id
from offcut.importers.records import Payment
from offcut.importers.settings import Settings


def bank_bookings(
    rows: Collection[Payment],
    others: Iterable[Booking],
    existing: Iterable[data.Directive],
    layout: Layout,
    settings: Settings,
) -> list[Booking]:
    """Return the transactions of a bank's rows, and of those that waited for others.

    Args:
      rows: The rows of the file; none where it is no bank's.
      others: What else is booked of the file.
      existing: The ledger's entries.
      layout: The layout of the file.
      settings: The user's layouts and rules.
    """
    layouts = [layout, *settings.layouts.values(), *shipped_layouts().values()]
    entries = list(_entries_that_count(existing, bank_accounts(layouts)))
    waits = any(link.startswith("bank-") for entry in entries for link in entry.links)
    if not rows and not waits:
        return []
    known = {escaped(entry.meta.get("source-id", "")) for entry in entries}
    texts = [printer.format_entry(entry) for entry in entries]
    texts += [each.text for each in others if _id_in(each.text) not in known]
    contents = ["\n".join(texts).encode()]
    known_rows = [row for row in rows if escaped(source_id(row)) in known]
    new_rows = [row for row in rows if escaped(source_id(row)) not in known]
    bookings = book_bank(new_rows, contents, layouts, settings.bank, _write, None).bookings
    again = book_bank(known_rows, [], layouts, settings.bank, _write, None).bookings
    return [*again, *bookings]


def _entries_that_count(
    entries: Iterable[data.Directive], accounts: BankAccounts
) -> Iterator[data.Transaction]:
    """Yield the transactions of banks, of payouts, and of what is owed for orders."""
    for entry in entries:
        if isinstance(entry, data.Transaction) and (
            any(link.startswith(("bank-", "payout-")) for link in entry.links)
            or entry.meta.get("movement") == "bank"
            or any(accounts.is_receivable(posting.account) for posting in entry.postings)
        ):
            yield entry


def _id_in(text: str) -> str:
    """Return the id of the row that a transaction of ours is of."""
    return text.partition('\n  source-id: "')[2].partition('"\n')[0]


def _write(account: str, amount: Decimal, currency: str, meta: Meta) -> str:
    return posting_text(account, amount, currency, meta)
