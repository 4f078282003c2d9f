"""State the month-end list: what is to do, what to know, and what is in order."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from itertools import zip_longest
from pathlib import Path

from offcut.importers.splitting import ZERO
from offcut.reports.close.closing import Closing
from offcut.reports.close.points import ClosePoint, counted
from offcut.reports.figures import money
from offcut.reports.sources import place_from
from offcut.reports.statement import Check, Line, Note, Statement, Table
from offcut.reports.statement_cells import Cell, Column

TITLE = "Month end"
COLUMNS = (
    Column("What", "text"),
    Column("Amount"),
    Column("Date", "date"),
    Column("What was found", "prose"),
    Column("At", "prose"),
    Column("What settles it", "verbatim"),
)
READING = Note(
    "What is printed below a point settles it: a command, or lines to put into the ledger "
    "once they are true. Nothing is written by this list. What began by the month's end "
    "counts, with all that came in since."
)


def close_statement(closing: Closing, ledger: Path, currency: str) -> Statement:
    """Return the statement of a month-end list.

    Args:
      closing: The list.
      ledger: The main ledger; files are named from its folder.
      currency: The currency of the books, for points where none has more.
    """
    counts = Counter(point.currency for point in closing.points if point.currency)
    main = max(sorted(counts), key=lambda each: counts[each], default=currency)
    folder = ledger.resolve().parent
    number = len(closing.to_do)
    if closing.done:
        sentence = f"{closing.month.label} is done: nothing is left to do."
    else:
        points = counted(number, "point stands", "points stand")
        sentence = f"{closing.month.label} is NOT DONE: {points} between it and done."
    return Statement(
        title=TITLE,
        period=closing.month.label,
        tables=(
            _points("To do", "to-do", closing.to_do, main, folder),
            _points("To know", "to-know", closing.to_know, main, folder),
            Table(
                title="In order",
                columns=(Column("What was looked at", "text"), Column("Found", "prose")),
                lines=tuple(Line((each.what, each.found)) for each in closing.in_order),
                slug="in-order",
                empty="Nothing is in order yet.",
            ),
        ),
        checks=(Check(sentence, closing.done),),
        notes=(READING,) if closing.points else (),
    )


def _points(
    title: str, slug: str, points: Sequence[ClosePoint], currency: str, folder: Path
) -> Table:
    """Return the table of some points.

    What settles several that follow each other is said once, with the last of them.
    """
    return Table(
        title=title,
        columns=COLUMNS,
        lines=tuple(
            _line(point, then, currency, folder)
            for point, then in zip_longest(points, points[1:])
        ),
        slug=slug,
        currency=currency if any(point.currency == currency for point in points) else "",
        empty="Nothing.",
    )


def _line(
    point: ClosePoint, following: ClosePoint | None, currency: str, folder: Path
) -> Line:
    """Return the line of a point."""
    amount: Cell = point.amount
    if point.amount is not None and point.currency != currency:
        amount = f"{money(point.amount, point.currency)} {point.currency}"
    said_below = following is not None and following.settle == point.settle
    return Line(
        (
            point.what,
            amount if point.currency or point.amount != ZERO else None,
            point.date,
            point.detail,
            place_from(folder, point.file, point.line) if point.file else "",
            "" if said_below else point.settle,
        )
    )
