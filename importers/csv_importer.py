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
from collections import defaultdict
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

from beancount.core import data
from beancount.parser import parser, printer
from beangulp import exceptions
from beangulp.extract import DUPLICATE
from beangulp.importer import Importer

from offcut.importers.importing import read_records
from offcut.importers.items import item_matcher
from offcut.importers.joining import Key, join
from offcut.importers.layout import Layout, shipped_layouts
from offcut.importers.layout_choice import fits
from offcut.importers.novelty import FileRecords
from offcut.importers.order_states import OrderState, order_state
from offcut.importers.problems import ImportRefused
from offcut.importers.settings import Settings, load_settings
from offcut.importers.source_file import read_bytes

IDS = ("source-id", "lines-id")


def importers(ledger: Path) -> list[Importer]:
    """Return an importer for each layout: the user's own, and the shipped ones.

    Args:
      ledger: The main ledger file, with the settings beside it.

    Raises:
      ImportRefused: The settings, or a layout among them, have mistakes.
    """
    settings = load_settings(ledger)
    layouts = {**shipped_layouts(), **settings.layouts}
    return [LayoutImporter(layout, settings) for layout in layouts.values()]


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
        return accounts.clearing if self.layout.kind == "payments" else accounts.receivable

    def date(self, filepath: str) -> datetime.date | None:
        """Return the latest day in a file, or None where it has no rows."""
        read = self._read(filepath)
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
        read = self._read(filepath)
        rules = self.settings.items
        declared = {
            entry.currency for entry in existing if isinstance(entry, data.Commodity)
        }
        match = item_matcher(rules, declared | {rule.product for rule in rules})
        states = self._states(read, existing)
        books = join(read.payments, read.orders, states, match, self.settings.packing)
        # The text that `offcut import` would write is what is imported here too.
        text = "".join(booking.text for booking in books.bookings)
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
            if isinstance(entry, data.Transaction)
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

    def _states(
        self, read: FileRecords, existing: data.Directives
    ) -> dict[Key, OrderState]:
        """Return what the ledger's entries have of a file's orders."""
        channel = self.layout.channel
        orders = {each.order for each in read.payments} | {
            each.order for each in read.orders
        }
        wanted = {f"order-{order}" for order in orders}
        texts: dict[str, list[str]] = defaultdict(list)
        for entry in existing:
            if isinstance(entry, data.Transaction):
                for link in wanted & entry.links:
                    texts[link.removeprefix("order-")].append(printer.format_entry(entry))
        states = {
            (channel, order): order_state(of_order, channel, self.layout.accounts)
            for order, of_order in texts.items()
        }
        return {key: state for key, state in states.items() if state is not None}


def _located(entries: data.Directives, filepath: str) -> Iterator[data.Transaction]:
    """Yield transactions that say which file they are from, with metadata that is text.

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
            meta = {**entry.meta, **data.new_metadata(filepath, at)}
            yield entry._replace(meta=meta, postings=postings)


def _text(value: object) -> object:
    return f"{value:f}" if isinstance(value, Decimal) else value
