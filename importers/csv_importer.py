"""Use a layout in beangulp's import command and in the viewer's import page.

An import configuration for both:

    from pathlib import Path
    import beangulp
    from offcut.importers.csv_importer import importers

    CONFIG = importers(Path("main.beancount"))
    if __name__ == "__main__":
        beangulp.Ingest(CONFIG)()

These see one file at a time: an order's payment and its lines are two transactions, which
meet in the receivable or the suspense account. `offcut import` joins them to one.
"""

from __future__ import annotations

import datetime
import logging
from collections.abc import Iterator, Mapping
from decimal import Decimal
from pathlib import Path

from beancount.core import data
from beancount.parser import parser
from beangulp import exceptions
from beangulp.extract import DUPLICATE, extract_from_file
from beangulp.importer import Importer

from offcut.importers.balance_entries import balance_bookings
from offcut.importers.bank.loaded_entries import bank_bookings
from offcut.importers.file_bytes import read_bytes
from offcut.importers.import_notes import change_notes
from offcut.importers.importing import read_records
from offcut.importers.items import item_matcher
from offcut.importers.joining import join
from offcut.importers.layout import Layout, shipped_layouts
from offcut.importers.layout_choice import fits
from offcut.importers.line_postings import Match
from offcut.importers.loaded_texts import conversions_in, linked_texts
from offcut.importers.novelty import FileRecords, known_by_their_ids
from offcut.importers.open_orders import find_states
from offcut.importers.order_accounts import check_order_accounts
from offcut.importers.order_age import compare_age, days_in_entries
from offcut.importers.postings import Booking, lines_id
from offcut.importers.problems import ImportRefused
from offcut.importers.settings import Settings, load_settings
from offcut.plugins.catalogue import read_catalogue

IDS = ("source-id", "lines-id")

_LOG = logging.getLogger(__name__)


def importers(ledger: Path) -> list[Importer]:
    """Return an importer for each layout: the user's own, and the shipped ones.

    A shipped layout for the same headings as one of the user's own is left out: a file
    must have one importer. A tally sheet is no file by itself: `offcut fair` books it with
    the money.

    Args:
      ledger: The main ledger file, with the settings beside it.

    Raises:
      ImportRefused: The settings, or a layout among them, have mistakes.
    """
    settings = load_settings(ledger)
    own = {frozenset(layout.headers) for layout in settings.layouts.values()}
    shipped = {
        name: layout
        for name, layout in shipped_layouts().items()
        if frozenset(layout.headers) not in own
    }
    return [
        LayoutImporter(layout, settings)
        for layout in {**shipped, **settings.layouts}.values()
        if layout.kind != "tally"
    ]


# The viewer gives a hook the importer only where its annotation has the word.
def extract_in_turn(
    extracted: list[tuple[str, data.Directives, str, Importer]], existing: data.Directives
) -> list[tuple[str, data.Directives, str, Importer]]:
    """Extract each file again, with what the files before it gave: a hook of beangulp.

    beangulp shows every file the ledger alone, so that of an order whose payment and
    lines are in two files each half would wait for the other.

    Args:
      extracted: The files' names, entries, accounts and importers.
      existing: The ledger's entries, with or without those extracted.
    """
    new = {id(entry) for _, entries, _, _ in extracted for entry in entries}
    seen = [entry for entry in existing if id(entry) not in new]
    result = []
    for name, entries, account, importer in extracted:
        if isinstance(importer, LayoutImporter):
            entries = extract_from_file(importer, name, seen)  # type: ignore[no-untyped-call]
            importer.deduplicate(entries, seen)
        seen += [entry for entry in entries if DUPLICATE not in entry.meta]
        result.append((name, entries, account, importer))
    return result


class LayoutImporter(Importer):
    """Import the files of one layout.

    Args:
      layout: How to read them.
      settings: What item texts mean, and how orders are packed.
    """

    def __init__(self, layout: Layout, settings: Settings | None = None) -> None:
        self.layout = layout
        self.settings = settings or Settings()

    @property
    def name(self) -> str:
        """The name of the importer, one for each layout."""
        return f"offcut.{self.layout.name}"

    def identify(self, filepath: str) -> bool:
        """Return whether a file has the layout's columns."""
        path = Path(filepath)
        if not path.is_file():
            return False
        try:
            return fits(read_bytes(path), self.layout)
        except ImportRefused:
            return False

    def account(self, filepath: str) -> str:
        """Return the account that a file is filed under."""
        accounts = self.layout.accounts
        money = self.layout.kind in ("payments", "bank")
        return accounts.clearing if money else accounts.receivable

    def date(self, filepath: str) -> datetime.date | None:
        """Return the latest day in a file, or None where it has no rows.

        None also where it cannot be read: the viewer asks each file in a folder for its
        day, and shows none of them if one raises. `extract` says what is wrong.
        """
        try:
            read = self._read(filepath)
        except exceptions.Error:
            return None
        days = [each.date for each in read.payments] + [each.date for each in read.orders]
        return max(days, default=None)

    def filename(self, filepath: str) -> str:
        """Return the name that a file is filed by."""
        return f"{self.layout.name}{Path(filepath).suffix}"

    def extract(self, filepath: str, existing: data.Directives) -> data.Directives:
        """Return the transactions of a file, those that the ledger has included.

        Args:
          filepath: The file.
          existing: The ledger's entries: an order's other half is looked for there.

        Raises:
          beangulp.exceptions.Error: The file is not what the layout says.
        """
        ids = {str(each.meta.get("source-id")) for each in existing if each.meta}
        read = known_by_their_ids(self._read(filepath), ids)
        rules = self.settings.items
        declared = {
            entry.currency for entry in existing if isinstance(entry, data.Commodity)
        }
        named = {rule.product for rule in rules}
        named |= {product for rule in rules for _, product in rule.products}
        prices = {
            name: (price.number, price.currency)
            for name, item in read_catalogue(existing).items()
            if (price := item.list_price) and price.number is not None
        }
        match = item_matcher(rules, declared | named, prices)
        linked = linked_texts(read, existing)
        try:
            layouts = [*self.settings.layouts.values(), *shipped_layouts().values()]
            check_order_accounts(linked, [*read.payments, *read.orders], layouts)
        except ImportRefused as refused:
            raise exceptions.Error(str(refused)) from refused  # type: ignore[no-untyped-call]
        states = find_states(linked, [*read.payments, *read.orders])
        is_bank = self.layout.kind == "bank"
        rows, payments = (read.payments, []) if is_bank else ([], read.payments)
        converted = conversions_in(payments, existing)
        books = join(
            *(payments, read.orders, states, match, self.settings.packing),
            known_conversions=converted,
        )
        # The text that `offcut import` would write is what is imported here too.
        bookings = [*books.bookings, *self._edits(read, existing, linked, match)]
        bookings += bank_bookings(rows, bookings, existing, self.layout, self.settings)
        bookings += balance_bookings(read, bookings, existing)
        text = "".join(booking.text for booking in bookings)
        entries, errors, _ = parser.parse_string(text)
        if errors:
            raise RuntimeError(
                f"offcut wrote text that does not parse: {errors[0].message}"
            )
        return list(_located(entries, filepath))

    def deduplicate(self, entries: data.Directives, existing: data.Directives) -> None:
        """Mark the entries whose ids the ledger has."""
        known = {
            (key, entry.meta[key]): entry
            for entry in existing
            if isinstance(entry, (data.Transaction, data.Balance))
            for key in IDS
            if key in entry.meta
        }
        for entry in entries:
            for key in IDS:
                if target := known.get((key, entry.meta.get(key))):
                    entry.meta[DUPLICATE] = target

    def _read(self, filepath: str) -> FileRecords:
        path = Path(filepath)
        try:
            return read_records(path.name, read_bytes(path), self.layout)
        except ImportRefused as refused:
            raise exceptions.Error(str(refused)) from refused  # type: ignore[no-untyped-call]

    def _edits(
        self,
        read: FileRecords,
        existing: data.Directives,
        linked: Mapping[str, list[str]],
        match: Match,
    ) -> list[Booking]:
        """Return what changed in orders that the ledger has."""
        ids = {
            entry.meta.get("lines-id")
            for entry in existing
            if isinstance(entry, data.Transaction)
        }
        known = [
            (order, linked.get(order.order, []))
            for order in read.orders
            if lines_id(order) in ids
        ]
        age = compare_age([read], days_in_entries(existing))
        books = join((), (), {}, match, {}, known, linked, age)
        for note in change_notes(books.changed):
            # What a file says must not work the terminal that shows it.
            shown = "".join([char if char.isprintable() else "\ufffd" for char in note])
            _LOG.warning("%s", shown)
        return books.bookings


def _located(entries: data.Directives, filepath: str) -> Iterator[data.Directive]:
    """Yield entries that say which file they are from, with metadata that is text.

    The viewer's import page cannot save numbers in metadata.
    """
    for at, entry in enumerate(entries, 1):
        if isinstance(entry, data.Transaction):
            postings = [
                posting._replace(
                    meta={key: _text(value) for key, value in (posting.meta or {}).items()}
                )
                for posting in entry.postings
            ]
            entry = entry._replace(postings=postings)
        yield entry._replace(meta={**entry.meta, **data.new_metadata(filepath, at)})


def _text(value: object) -> object:
    return f"{value:f}" if isinstance(value, Decimal) else value
