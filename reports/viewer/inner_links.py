"""Find the page of the viewer that shows one line of a report by itself.

A link is the values of its address: `{"report": "product", "name": "HERON-STK"}`.
"""

from __future__ import annotations

import re
from decimal import Decimal
from functools import cached_property

from offcut.reports.books import Books
from offcut.reports.design.subject import Subject
from offcut.reports.order_lines import ORDER_LINK
from offcut.reports.statement import Line, Table

Link = dict[str, str]
# The report of each kind of line, by what the name of its table begins with, and of a
# line's part.
OF_LINES = (
    ("profit-per-design", "design"),
    ("trend-per-design", "design"),
    ("profit-per-product", "product"),
    ("earned-by-product", "product"),
    ("shelf-products", "product"),
    ("shelf-consigned", "product"),
    ("next-print", "product"),
    ("wholesale", "product"),
    ("profit-per-event", "event"),
    ("fairs", "event"),
)
MONTH = re.compile(r"\d{4}-\d{2}")


class InnerLinks:
    """The links from lines of statements to pages of their own."""

    def __init__(self, books: Books, subject: Subject | None) -> None:
        """Take the whole ledger.

        Args:
          books: The ledger.
          subject: What the page with the links is about, where it is about one thing.
        """
        self._books = books
        self._subject = subject

    @cached_property
    def _known(self) -> dict[str, set[str]]:
        """The names that a page can be of, by report."""
        table, items = self._books.table, self._books.catalogue.values()
        declared = {each.design for each in items if each.kind == "product"}
        return {
            "design": declared.union(table["design"].unique()) - {""},
            "product": {*self._books.catalogue, *table["product"].unique()} - {""},
            "event": {*table["event"].unique()} - {""},
        }

    def link(self, table: Table, line: Line) -> Link | None:
        """Return the link of a line; None where it has no page of its own.

        Args:
          table: A table of a statement.
          line: One of its lines.
        """
        if line.role not in ("line", "part"):
            return None
        name = line.cells[table.shown_columns(False)[0]]
        if not isinstance(name, str):
            return None
        if line.code.startswith(f"^{ORDER_LINK}"):
            return _trace(f"order {line.code.removeprefix(f'^{ORDER_LINK}')}")
        if self._subject is not None and table.slug == "earned-by-month":
            is_some = any(isinstance(cell, Decimal) and cell for cell in line.cells)
            if self._subject.kind == "design" and is_some and MONTH.fullmatch(name):
                return _trace(f"{self._subject.key} {name}")
        return self._of_line(table.slug, line, name)

    def _of_line(self, slug: str, line: Line, name: str) -> Link | None:
        """Return the link of a line by the table that it stands in."""
        reports = [report for begin, report in OF_LINES if slug.startswith(begin)]
        if not reports:
            return None
        report = reports[0]
        if line.role == "part":
            report = "product"
        key = (line.code or name) if report == "product" else name
        return {"report": report, "name": key} if key in self._known[report] else None


def _trace(figure: str) -> Link:
    return {"report": "trace", "name": figure}
