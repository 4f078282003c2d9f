"""The ledger's errors; what is short of stock is a point of its own."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from beancount.core import data

from offcut.importers.problems import LISTED
from offcut.plugins.stock_events import Shortage
from offcut.reports.close.month import Month
from offcut.reports.close.points import (
    TO_DO,
    TO_KNOW,
    ClosePoint,
    Found,
    Looked,
    counted,
    place_of,
)


def check_errors(errors: Iterable[Any], month: Month, ledger: str) -> Found:
    """Return the errors of loading a ledger.

    Args:
      errors: The errors, as beancount's tuples with source and message.
      month: The month; errors of later days stand in nobody's way.
      ledger: The main ledger as a command names it.
    """
    by_end, later = [], []
    for error in errors:
        entry = getattr(error, "entry", None)
        date = getattr(entry, "date", None)
        # A balance is of the beginning of its day.
        last = month.after if isinstance(entry, data.Balance) else month.last
        if date is not None and date > last:
            later.append(error)
        elif not isinstance(error, Shortage):
            by_end.append((date, error))
    listed = [
        ClosePoint(
            TO_DO,
            "Error in the ledger",
            " ".join(str(error.message).split()),
            date=date,
            file=place_of(error.source).file,
            line=place_of(error.source).line,
        )
        for date, error in by_end
    ]
    listed.sort(key=lambda point: (point.file, point.line, point.detail))
    points = listed[:LISTED]
    if len(listed) > LISTED:
        rest = counted(len(listed) - LISTED, "more error")
        points.append(
            ClosePoint(
                TO_DO,
                "More errors in the ledger",
                f"{rest}; `bean-check {ledger}` lists all of them.",
            )
        )
    if later:
        points.append(
            ClosePoint(
                TO_KNOW,
                "Errors of later days",
                f"{counted(len(later), 'error')} of days after {month.last}; "
                f"`bean-check {ledger}` lists them.",
            )
        )
    in_order = () if by_end else (Looked("The ledger has no errors", "It loads as it is."),)
    return Found(tuple(points), in_order)
