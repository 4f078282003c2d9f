"""Draw up the month-end list of a ledger: all checks, in the order of the work."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from typing import NamedTuple

from offcut.importers.settings import Settings
from offcut.plugins.collector import collector_paused
from offcut.reports.books import Books
from offcut.reports.close.bank_balances import check_banks
from offcut.reports.close.clearing import check_processors, check_remitted
from offcut.reports.close.entry_reader import read_entries
from offcut.reports.close.errors import check_errors
from offcut.reports.close.footing import check_footing
from offcut.reports.close.inbox import check_inbox, read_inbox
from offcut.reports.close.labels import check_labels
from offcut.reports.close.month import Month, check_month
from offcut.reports.close.owed import check_deposits, check_held, check_receivables
from offcut.reports.close.payouts import check_payouts
from offcut.reports.close.points import TO_DO, TO_KNOW, ClosePoint, Found, Looked
from offcut.reports.close.roles import Roles
from offcut.reports.close.sources import check_sources
from offcut.reports.close.stock import check_counts, check_shortages
from offcut.reports.close.suspense import check_suspense, check_texts


class Closing(NamedTuple):
    """The month-end list.

    Attributes:
      month: The month.
      points: What there is to do and to know, in the order of the work.
      in_order: What was looked at and is fine.
    """

    month: Month
    points: tuple[ClosePoint, ...]
    in_order: tuple[Looked, ...]

    @property
    def to_do(self) -> list[ClosePoint]:
        """What stands between the books and done."""
        return [point for point in self.points if point.severity == TO_DO]

    @property
    def to_know(self) -> list[ClosePoint]:
        """What is to be known only."""
        return [point for point in self.points if point.severity == TO_KNOW]

    @property
    def done(self) -> bool:
        """Whether nothing is to do."""
        return not self.to_do


def close_month(
    books: Books, settings: Settings, month: Month, today: datetime.date
) -> Closing:
    """Return what stands between a month's books and done.

    What is listed began by the month's end, and is open after all days that the ledger
    has; what was open at the month's end and is settled since is to be known.

    Args:
      books: The loaded ledger.
      settings: What is set beside it.
      month: The month.
      today: The day that it is.
    """
    points: list[ClosePoint] = []
    in_order: list[Looked] = []
    with collector_paused():
        for found in _checks(books, settings, month, today):
            points += sorted(found.points, key=_rank)
            in_order += found.in_order
    return Closing(month, tuple(points), tuple(in_order))


def _checks(
    books: Books, settings: Settings, month: Month, today: datetime.date
) -> Iterator[Found]:
    """Yield what each check found."""
    ledger = str(books.path)
    roles = Roles(settings, books.options)
    found = read_entries(books.entries, month, roles, books.catalogue)
    inbox = read_inbox(books.path.parent, settings, books.entries)
    waiting = {each.source for each in inbox.waiting if each.has_rows_in(month)}
    yield check_month(month, today, found.transactions, ledger)
    yield check_errors(books.errors, month, ledger)
    yield check_inbox(inbox, month, ledger)
    yield check_sources(found, settings, waiting)
    yield check_texts(found, books.catalogue, ledger)
    yield check_suspense(found)
    yield check_payouts(found)
    yield check_processors(found)
    yield check_remitted(found)
    yield check_held(found, settings.close.receivable_days)
    yield check_labels(found, books.options["name_expenses"])
    yield check_receivables(found, settings.close.receivable_days)
    yield check_deposits(found)
    yield check_shortages(
        found, books.errors, books.entries, books.catalogue, books.options["name_assets"]
    )
    yield check_counts(found, books.catalogue, settings.close.count_every_months)
    yield check_banks(found)
    yield check_footing(books, month, ledger)


def _rank(point: ClosePoint) -> tuple[object, ...]:
    """Return what points of one check are sorted by."""
    day = point.date or datetime.date.min
    return (point.severity, day, point.what, point.detail, point.file, point.line)
