"""Say in a screen how the books stand, and what to do next."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from typing import NamedTuple

from offcut.importers.settings import Settings
from offcut.reports.books import Books
from offcut.reports.close.closing import close_month
from offcut.reports.close.inbox import read_inbox
from offcut.reports.close.month import read_month
from offcut.reports.standing.entries import see
from offcut.reports.standing.files import files_left_out
from offcut.reports.standing.found import Found
from offcut.reports.standing.said import Said, said_of
from offcut.reports.standing.todo import todo_of

DAY = datetime.timedelta(days=1)


class Standing(NamedTuple):
    """How the books stand.

    Attributes:
      title: Their title.
      said: What is said of them, a few words each.
      todo: What to do next, and why; the first thing of several.
      how: The command that does it, or the line to write; empty where nothing is to do.
    """

    title: str
    said: tuple[Said, ...]
    todo: str
    how: str


def standing(
    books: Books,
    settings: Settings | None,
    mistakes: Sequence[str],
    today: datetime.date,
) -> Standing:
    """Return how books stand.

    Args:
      books: The loaded ledger.
      settings: What is set beside it; None where that has mistakes.
      mistakes: The mistakes, a line each.
      today: The day that it is.
    """
    month = read_month((today.replace(day=1) - DAY).isoformat()[:7])
    seen = see(books.entries)
    inbox = closing = None
    if settings is not None:
        inbox = read_inbox(books.path.parent, settings, books.entries)
        if seen.transactions:
            closing = close_month(books, settings, month, today)
    left_out = files_left_out(books.path, books.options)
    found = Found(books, settings, mistakes, seen, inbox, left_out, month, closing)
    todo, how = next(todo_of(found))
    title = str(books.options.get("title") or "Books without a title")
    return Standing(title, tuple(said_of(found, today)), todo, how)
