"""Say of books in a few words each what was found out about them."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from typing import NamedTuple

from offcut.importers.settings import FILE
from offcut.reports.close.inbox import Inbox
from offcut.reports.close.points import counted, place_of, several
from offcut.reports.figures import money
from offcut.reports.outlets.receivables import open_invoices
from offcut.reports.sources import place_from
from offcut.reports.standing.files import PLUGINS, is_costed, lost_plugin_line
from offcut.reports.standing.found import Found


class Said(NamedTuple):
    """A line of what is said of the books: what of, and what."""

    what: str
    text: str


def said_of(found: Found, today: datetime.date) -> Iterator[Said]:
    """Yield what is said of books.

    Args:
      found: What was found out about them.
      today: The day that it is.
    """
    books, seen = found.books, found.seen
    if seen.first and seen.last:
        number = counted(seen.transactions, "transaction")
        yield Said("Ledger", f"{number}, {seen.first} to {seen.last}")
    else:
        yield Said("Ledger", "no transactions yet")
    errors = books.errors
    if errors:
        yield Said("Errors", f"{len(errors):,}; the first: {_error(found)}")
    else:
        yield Said("Errors", "none")
    if found.left_out:
        yield Said("Not included", several(found.left_out))
    yield Said("Costing", _costing(found))
    yield Said("Catalogue", _catalogue(found))
    yield Said("Settings", _settings(found))
    yield Said("Imported to", _latest(seen.imports) or "nothing imported yet")
    if found.inbox:
        yield Said("Inbox", _inbox(found.inbox))
    if seen.suspense:
        parts = (
            f"{account} {money(amount, currency)} {currency}"
            for (account, currency), amount in sorted(seen.suspense.items())
        )
        yield Said("In suspense", several(parts))
    yield Said("Counted", _counted(found))
    yield Said("Balances", _latest(seen.asserted) or "none asserted yet")
    owed = open_invoices(books.on_account, books.options, today)
    if owed:
        sums = {
            currency: sum(each.amount for each in owed if each.currency == currency)
            for currency in dict.fromkeys(each.currency for each in owed)
        }
        parts = (f"{money(sum_, each)} {each}" for each, sum_ in sums.items() if sum_)
        days = counted(max(each.age(today) for each in owed), "day")
        yield Said("Owed to you", f"{', '.join(parts)}; the oldest for {days}")
    if found.closing:
        points = len(found.closing.to_do)
        state = f"{counted(points, 'point')} to settle" if points else "done"
        yield Said("Month's end", f"{found.month.label}: {state}")


def _error(found: Found) -> str:
    """Return the first error, at its line as seen from the ledger's folder."""
    (error, *_) = found.books.errors
    place = place_of(error.source)
    message = " ".join(str(error.message).split())
    if not place.file:
        return message
    folder = found.books.path.resolve().parent
    return f"{place_from(folder, *place)}: {message}"


def _costing(found: Found) -> str:
    if is_costed(found.books.options):
        return "on"
    lost = lost_plugin_line(found.books.path, found.books.options)
    if lost:
        return f"OFF: the plugin line at {lost.file}:{lost.line} does not count there"
    return f'OFF: there is no line plugin "{PLUGINS}"'


def _catalogue(found: Found) -> str:
    kinds = [item.kind for item in found.books.catalogue.values()]
    return ", ".join(
        counted(kinds.count(kind), kind) for kind in ("product", "material", "stamp")
    )


def _settings(found: Found) -> str:
    if found.settings is None:
        return f"MISTAKES: {found.mistakes[0]}"
    if found.settings.path is None:
        return f"no {FILE} beside the ledger"
    own = len(found.settings.layouts)
    rules = counted(len(found.settings.items), "rule")
    return f"{FILE}: {rules} for item texts, {counted(own, 'own layout')}"


def _latest(days: Mapping[str, datetime.date]) -> str:
    """Return the last days of several things, the earliest first."""
    by_day = sorted(days.items(), key=lambda each: (each[1], each[0]))
    return several(f"{name} {day}" for name, day in by_day)


def _inbox(inbox: Inbox) -> str:
    parts = [
        f"{counted(len(names), 'file')} {what}"
        for names, what in (
            (inbox.waiting, "not imported"),
            (inbox.refused, "that cannot be imported"),
            (inbox.tallies, "of fairs"),
            (inbox.imported, "imported"),
        )
        if names
    ]
    return ", ".join(parts) or "empty"


def _counted(found: Found) -> str:
    counts, items = found.seen.counts, found.books.catalogue
    if not items:
        return "nothing to count"
    if not counts:
        return "nothing counted yet"
    never = len(items.keys() - counts.keys())
    rest = f"; {counted(never, 'item')} never" if never else ""
    return f"last on {max(counts.values())}{rest}"
