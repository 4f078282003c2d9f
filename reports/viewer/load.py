"""Keep what is worked out from one load of a ledger, until fava loads it anew."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from pathlib import Path
from threading import RLock
from typing import TYPE_CHECKING, TypeVar

from beancount.core import data
from markupsafe import Markup

from offcut.plugins.collector import collector_paused
from offcut.reports.books import Books
from offcut.reports.ledger_file import report_errors
from offcut.reports.viewer.contents import CONTENTS
from offcut.reports.viewer.drawing import drawn
from offcut.reports.viewer.views import View

if TYPE_CHECKING:
    from fava.core import FavaLedger

# Pages are some 100 kB of text each, and books of a large ledger some 100 MB.
MOST_PAGES = 100
MOST_BOOKS = 4

Key = TypeVar("Key")
Value = TypeVar("Value")


class Load:
    """A ledger as fava loaded it: its books, and the pages that were made from them.

    fava answers several requests at once; of those that ask for the same, the first works
    it out and the others wait for it.
    """

    def __init__(self, ledger: FavaLedger) -> None:
        """Take a ledger that was loaded just now.

        Args:
          ledger: The ledger.
        """
        self._ledger = ledger
        self._lock = RLock()
        self._pages: OrderedDict[tuple[View, Beside], Markup] = OrderedDict()
        self._partial: OrderedDict[tuple[str, str], Books] = OrderedDict()
        path = Path(ledger.beancount_file_path)
        entries: data.Directives = list(ledger.all_entries)  # type: ignore[arg-type]
        #: What is wrong for reports; fava knows of the rest.
        self.errors = report_errors(path, entries, ledger.options)
        errors = [*ledger.load_errors, *self.errors]
        self.books = Books(entries, ledger.options, errors, path)

    def prepare(self) -> None:
        """Make what nearly all pages take, as a part of the load: a page shall not wait."""
        with collector_paused():
            self.books.allocated("value")
            _ = self.books.stock_moves

    def page(self, view: View) -> Markup:
        """Return a page.

        Args:
          view: What it shows.
        """
        content = CONTENTS.get(view.report)
        looks_beside = content is not None and content.looks_beside
        key = (view, _beside(self.books.path) if looks_beside else ())
        books = self._books_of(view)
        return self._kept(
            self._pages, key, MOST_PAGES, lambda: drawn(self.books, books, view)
        )

    def _books_of(self, view: View) -> Books:
        """Return the books without the transactions that fava's filters leave out.

        What is no transaction stays: the catalogue is that of the whole ledger.
        """
        if not view.is_partial:
            return self.books
        key = (view.account, view.filter)
        return self._kept(self._partial, key, MOST_BOOKS, lambda: self._filtered(*key))

    def _filtered(self, account: str, filter: str) -> Books:
        """Return the books of what matches filters."""
        # Not by time: fava would sum up what was before, where reports need the days.
        matching = self._ledger.get_filtered(account=account, filter=filter, time="")
        chosen = {id(entry) for entry in matching.entries}
        entries = [
            entry
            for entry in self.books.entries
            if not isinstance(entry, data.Transaction) or id(entry) in chosen
        ]
        return Books(entries, self.books.options, self.books.errors, self.books.path)

    def _kept(
        self,
        kept: OrderedDict[Key, Value],
        key: Key,
        most: int,
        make: Callable[[], Value],
    ) -> Value:
        """Return what is kept under a key; make it where it is not, and drop the oldest."""
        with self._lock:
            if key not in kept:
                with collector_paused():
                    kept[key] = make()
                while len(kept) > most:
                    kept.popitem(last=False)
            kept.move_to_end(key)
            return kept[key]


Beside = tuple[tuple[str, int, int], ...]


def _beside(ledger: Path) -> Beside:
    """Return the state of what some reports look at beside the ledger."""
    folder = ledger.parent
    files = [folder / "offcut.toml"]
    for each in ("layouts", "inbox", "taxes"):
        files += folder.glob(f"{each}/*")
    found = []
    for file in sorted(files):
        try:
            state = file.stat()
        except FileNotFoundError:
            continue
        found.append((str(file), state.st_mtime_ns, state.st_size))
    return tuple(found)
