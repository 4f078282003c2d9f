"""Which files lie in `inbox/` beside the ledger and are not imported."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import NamedTuple

from beancount.core import data

from offcut.importers.file_bytes import read_bytes
from offcut.importers.importing import read_records
from offcut.importers.layout_choice import candidates, choose_layout
from offcut.importers.ledger_text import escaped
from offcut.importers.novelty import Sorted, sort_out
from offcut.importers.problems import ImportRefused
from offcut.importers.settings import Settings
from offcut.reports.close.month import Month
from offcut.reports.close.points import (
    TO_DO,
    TO_KNOW,
    ClosePoint,
    Found,
    Looked,
    counted,
    several,
)
from offcut.reports.close.settling import command

INBOX = "inbox"
# Nobody waits for more than this at a month's end, and no month of one shop has more.
LARGEST = 32 << 20


class Waiting(NamedTuple):
    """A file in the inbox that has rows which the ledger has not.

    Attributes:
      path: The file.
      source: Its source.
      rows: How many of its payments or orders are not in the ledger.
      days: Their days.
    """

    path: Path
    source: str
    rows: int
    days: tuple[datetime.date, ...]

    def has_rows_by(self, month: Month) -> bool:
        """Return whether any of them is of the month, or before it."""
        return min(self.days) <= month.last

    def has_rows_in(self, month: Month) -> bool:
        """Return whether any of them is of the month."""
        return any(month.first <= day <= month.last for day in self.days)


class Inbox(NamedTuple):
    """What lies in the inbox.

    Attributes:
      waiting: The files that are not imported, or not wholly.
      imported: The names of those that are.
      refused: Those that cannot be read, each with the reason.
      tallies: The sheets of fairs, which are booked with the cash that was counted.
    """

    waiting: tuple[Waiting, ...]
    imported: tuple[str, ...]
    refused: tuple[tuple[Path, str], ...]
    tallies: tuple[Path, ...]


def read_inbox(
    folder: Path, settings: Settings, entries: Iterable[data.Directive]
) -> Inbox:
    """Return what lies in the inbox beside a ledger.

    Files are read as an import reads them; the ledger's entries are looked at only where
    there are any.

    Args:
      folder: The ledger's folder.
      settings: The user's settings.
      entries: The ledger's directives.
    """
    inbox = folder / INBOX
    files = sorted(
        path
        for path in (inbox.iterdir() if inbox.is_dir() else ())
        if path.is_file() and not path.name.startswith(".")
    )
    waiting, imported, refused, tallies = [], [], [], []
    ids = set(_ids(entries)) if files else set()
    groups = candidates((), settings.layouts)
    for path in files:
        try:
            if path.stat().st_size > LARGEST:
                size = f"the file has more than {LARGEST >> 20} MiB, and was not read"
                refused.append((path, size))
                continue
            contents = read_bytes(path)
            layout = choose_layout(path.name, contents, groups)
            if layout.kind == "tally":
                tallies.append(path)
                continue
            (read,) = sort_out([read_records(path.name, contents, layout)], ids, ids)
        except ImportRefused as problems:
            (problem, *_) = problems.problems
            # The file is named beside it already.
            refused.append((path, problem.line("").removeprefix(f"{problem.file}: ")))
            continue
        days = _new_days(read)
        if days:
            waiting.append(Waiting(path, layout.source, len(days), days))
        else:
            imported.append(path.name)
    return Inbox(tuple(waiting), tuple(imported), tuple(refused), tuple(tallies))


def _ids(entries: Iterable[data.Directive]) -> Iterator[str]:
    """Yield the ids of all rows and orders of a ledger, as its text has them."""
    for entry in entries:
        for key in ("source-id", "lines-id"):
            if isinstance(name := entry.meta.get(key), str):
                yield escaped(name)
        if isinstance(entry, data.Transaction):
            for posting in entry.postings:
                name = posting.meta.get("source-id") if posting.meta else None
                if isinstance(name, str):
                    yield escaped(name)


def _new_days(read: Sorted) -> tuple[datetime.date, ...]:
    """Return the days of what the ledger has not."""
    payments = [payment.date for payment in read.payments]
    return (*payments, *(order.date for order in read.orders))


def check_inbox(inbox: Inbox, month: Month, ledger: str) -> Found:
    """Return the files of the inbox that are not imported.

    Args:
      inbox: What lies in it.
      month: The month.
      ledger: The main ledger as a command names it.
    """
    points = []
    by_month = [each for each in inbox.waiting if each.has_rows_by(month)]
    files = [str(each.path) for each in by_month]
    for each in by_month:
        first, last = min(each.days), max(each.days)
        days = f"of {first}" if first == last else f"from {first} to {last}"
        points.append(
            ClosePoint(
                TO_DO,
                "File not imported",
                f"{counted(each.rows, 'record')} of {each.source} in {each.path.name}, "
                f"{days}, that the books do not have.",
                date=last,
                file=str(each.path.absolute()),
                settle=command("import", *files, "--into", ledger),
            )
        )
    for path, reason in inbox.refused:
        points.append(
            ClosePoint(
                TO_DO,
                "File cannot be imported",
                f"{path.name} in {INBOX}/: {reason}. If it is no file to import, take it "
                "out of the folder.",
                file=str(path.absolute()),
                settle=command("layout", str(path)),
            )
        )
    for path in inbox.tallies:
        points.append(
            ClosePoint(
                TO_KNOW,
                "Tally sheet of a fair",
                f"{path.name} in {INBOX}/ is booked by `offcut fair`, with the cash that "
                "was counted. Take it out of the folder once it is.",
                file=str(path.absolute()),
            )
        )
    in_order = []
    if inbox.imported:
        there = f"{several(inbox.imported)} in {INBOX}/: the books have all of it."
        in_order.append(Looked("The inbox is imported", there))
    if later := [each.path.name for each in inbox.waiting if each not in by_month]:
        there = f"{several(later)} in {INBOX}/: all of it is of later days."
        in_order.append(Looked("The inbox has later files", there))
    if not points and not in_order:
        in_order.append(Looked("The inbox is imported", f"Nothing lies in {INBOX}/."))
    return Found(tuple(points), tuple(in_order))
