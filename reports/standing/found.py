"""What is found out about books, before anything is said of them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from offcut.importers.settings import Settings
from offcut.reports.books import Books
from offcut.reports.close.closing import Closing
from offcut.reports.close.inbox import Inbox
from offcut.reports.close.month import Month
from offcut.reports.standing.entries import Seen


class Found(NamedTuple):
    """What was found out about the books.

    Attributes:
      books: The loaded ledger.
      settings: What is set beside it; None where that has mistakes.
      mistakes: The mistakes, a line each.
      seen: What its directives say.
      inbox: What lies in the inbox; None where the settings have mistakes.
      left_out: The ledger files beside it that it does not include.
      month: The last month that is over.
      closing: What is to do for that month; None where it cannot be said.
    """

    books: Books
    settings: Settings | None
    mistakes: Sequence[str]
    seen: Seen
    inbox: Inbox | None
    left_out: Sequence[str]
    month: Month
    closing: Closing | None
