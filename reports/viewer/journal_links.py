"""Find the filter of fava under which the journal shows what a line is made of.

A link is the values of fava's filters: `{"filter": "^order-1042"}`.
"""

from __future__ import annotations

import datetime
import re
from collections import defaultdict
from collections.abc import Iterable, Sequence
from functools import cached_property

from offcut.reports.books import Books
from offcut.reports.design.made import CAME, LOTS
from offcut.reports.design.subject import Subject
from offcut.reports.figures import month_label
from offcut.reports.order_lines import EVENT_TAG, ORDER_LINK
from offcut.reports.statement import Line, Table

Link = dict[str, str]
# A step in time as fava's filter reads it.
STEP = re.compile(r"\d{4}(-(\d\d(-\d\d)?|W\d\d|Q\d))?")


class JournalLinks:
    """The links from statements of a ledger to its journal."""

    def __init__(self, books: Books, subject: Subject | None = None) -> None:
        """Take the whole ledger.

        Args:
          books: The ledger.
          subject: What the page with the links is about, where it is about one thing.
        """
        self._books = books
        self._subject = subject

    @cached_property
    def _designs(self) -> dict[str, list[str]]:
        """The products of each design."""
        designs: dict[str, list[str]] = defaultdict(list)
        for item in self._books.catalogue.values():
            designs[item.design].append(item.currency)
        return designs

    @cached_property
    def _channels(self) -> set[str]:
        """The channels; other lines beside theirs are of what has none."""
        return set(self._books.table["channel"].unique())

    def is_of_all(self, table: Table) -> bool:
        """Tell whether a table is of the whole ledger, on a page that filters may change.

        Args:
          table: A table of a statement.
        """
        return table.slug in (LOTS, CAME)

    def link(self, table: Table, line: Line) -> Link | None:
        """Return the link of a line; None where no filter shows just that.

        Args:
          table: A table of a statement.
          line: One of its lines.
        """
        name = line.cells[table.shown_columns(False)[0]]
        if line.role not in ("line", "part"):
            return None
        if isinstance(name, datetime.date):
            return {"time": month_label(name)} if table.slug == "trend" else None
        if not isinstance(name, str):
            return None
        slug = table.slug
        if slug == CAME:
            day = next(each for each in line.cells if isinstance(each, datetime.date))
            return {"time": str(day), **(self._units(line.code) or {})}
        if slug.startswith("earned-by-") and not line.code:
            return self._earned(slug, name)
        if slug.startswith("unallocated-per-"):
            return self._account(name)
        if slug.startswith("years-orders"):
            return {"time": name} if re.fullmatch(r"\d{4}", name) else None
        if slug == "receivables":
            return self._account(line.code)
        if slug == "buyers-on-invoice":
            return _filter(f"payee:{quoted}") if (quoted := _quoted([name])) else None
        if slug.startswith("shelf-") or slug == LOTS:
            return self._units(line.code)
        if line.code in self._books.catalogue:
            return _items([line.code])
        if line.code.startswith(f"^{ORDER_LINK}"):
            return _filter(line.code)
        if slug == "channels" or slug.endswith("per-channel") or "per-channel-" in slug:
            return self._channel(name)
        if slug == "fairs" or slug.startswith("profit-per-event"):
            return _filter(f"#{EVENT_TAG}{name}") if _is_tag(name) else None
        if "per-design" in slug:
            return _items(self._designs.get(name, []))
        return None

    def _earned(self, slug: str, name: str) -> Link | None:
        """Return the link to what one thing earned in a step in time, or on a channel."""
        link = _items(self._subject.products) if self._subject else {}
        if link is None:
            return None
        if slug == "earned-by-channel":
            channel = self._channel(name)
            return channel and joined(channel["filter"], link)
        return {"time": name, **link} if STEP.fullmatch(name) else None

    def _account(self, name: str) -> Link | None:
        """Return the link to an account of the ledger."""
        is_account = re.fullmatch(r"[^:\s]+(:[^:\s]+)+", name) is not None
        return _filter(f'any(account:"^{re.escape(name)}$")') if is_account else None

    def _units(self, item: str) -> Link | None:
        """Return the link to what moved an item, on any account."""
        return _filter(f'any(units:" {re.escape(item)}$")') if item else None

    def _channel(self, name: str) -> Link | None:
        """Return the link to a channel: its income accounts, and what names it."""
        quoted = _quoted([name])
        if not quoted or name not in self._channels:
            return None
        income = re.escape(str(self._books.options["name_income"]))
        accounts = f'any(account:"^{income}:[^:]+:{re.escape(name)}(:|$)")'
        return _filter(f"{accounts}, channel:{quoted}, any(channel:{quoted})")


def _items(items: Sequence[str]) -> Link | None:
    """Return the link to the postings that are about items."""
    quoted = _quoted(items)
    return _filter(f"any(item:{quoted})") if quoted else None


def _filter(text: str) -> Link:
    return {"filter": text}


def _quoted(names: Iterable[str]) -> str:
    """Return a pattern of just these names, quoted; empty where fava cannot quote it."""
    pattern = "|".join(map(re.escape, names))
    for quote in ('"', "'"):
        if pattern and quote not in pattern:
            return f"{quote}^({pattern})${quote}"
    return ""


def _is_tag(name: str) -> bool:
    """Tell whether fava's filter reads a tag to its end."""
    return re.fullmatch(r"[A-Za-z0-9\-_/.]+", name) is not None


def joined(filter: str, link: Link) -> Link:
    """Return a link that keeps to a filter as well.

    Args:
      filter: The filter of the page, as typed.
      link: A link from it.
    """
    if filter and "filter" in link:
        return {**link, "filter": f"({filter}) ({link['filter']})"}
    return link
