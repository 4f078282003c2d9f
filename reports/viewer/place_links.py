"""Find the page of fava that shows a place in the ledger's files."""

from __future__ import annotations

import re
from pathlib import Path

from offcut.reports.books import Books
from offcut.reports.close.inbox import INBOX

PLACE = re.compile(r"(?P<file>.+?)(?::(?P<line>\d+))?", re.DOTALL)


class PlaceLinks:
    """The links from statements of a ledger to its files."""

    def __init__(self, books: Books) -> None:
        """Take the whole ledger.

        Args:
          books: The ledger.
        """
        self._folder = books.path.resolve().parent
        self._files = {str(Path(each).resolve()) for each in books.options["include"]}

    def link(self, place: str) -> dict[str, str] | None:
        """Return the values of fava's address of a place; None where it is in no page.

        Args:
          place: A file as seen from the ledger's folder, maybe with a line:
            "purchases.beancount:12".
        """
        found = PLACE.fullmatch(place)
        if not found:
            return None
        path = self._folder / found["file"]
        if str(path) in self._files:
            line = {"line": found["line"]} if found["line"] else {}
            return {"report_name": "editor", "file_path": str(path), **line}
        if path.parent == self._folder / INBOX:
            return {"report_name": "import"}
        return None
