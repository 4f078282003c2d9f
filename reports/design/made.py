"""State how a design's products came to be: what is left, each run and purchase."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from decimal import Decimal

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.books import Books
from offcut.reports.design.subject import Subject
from offcut.reports.figures import money
from offcut.reports.period import Period, long_date
from offcut.reports.shelf.moves import RUN, Moves
from offcut.reports.shelf.on_hand import ShelfLine, shelf_report
from offcut.reports.sources import place_from
from offcut.reports.statement import Check, Headline, Line, Note, Statement, Table
from offcut.reports.statement_cells import Column
from offcut.reports.trace.index import Receipt
from offcut.reports.trace.nodes import title

TITLE = "made and in stock"
LOTS, CAME = "lots-of", "came-of"
# The latest that came, one by one.
MOST_LINES = 200
READING = (
    "Each print run and purchase says how many good pieces came and what they cost, "
    "freight and normal spoilage included, as it was booked on that day. Minutes are those "
    "of the whole run, where it says them."
)


def made_statement(
    books: Books, subject: Subject, period: Period, currency: str
) -> Statement:
    """Return what is left of each lot, and what brought the pieces.

    Args:
      books: The whole ledger.
      subject: The design or product.
      period: The days; what is left is as at the close of the last.
      currency: The currency of the cost.
    """
    mine = frozenset(subject.products)
    moves = [
        Moves(entry, some)
        for entry, moved in books.stock_moves
        if (some := tuple(move for move in moved if move.item in mine))
    ]
    shelf = shelf_report(books.entries, books.options, period, stock=moves)
    lines = [line for line in shelf.lines if line.currency == currency]
    came = sorted(
        (
            receipt
            for product in subject.products
            for receipt in books.trace_index.receipts.get(product, ())
            if receipt.currency == currency and receipt.entry.date in period
        ),
        key=lambda receipt: (receipt.entry.date, receipt.item),
    )
    last = shelf.period.last
    return Statement(
        title=f"{subject.name}, {TITLE}",
        period=f"at the close of {long_date(last)}" if last else period.label,
        tables=(
            _lots(lines, currency),
            _came(books, came, currency),
        ),
        headlines=(Headline("On hand, at cost", _value(lines)),) if lines else (),
        checks=tuple(_checks(lines, moves, last, currency)),
        notes=(Note(READING),) if came else (),
    )


def _value(lines: Sequence[ShelfLine]) -> Decimal:
    """Return what lines are carried at."""
    value = ZERO
    for line in lines:
        value = EXACT.add(value, line.value)
    return value


def _checks(
    lines: Sequence[ShelfLine],
    moves: Sequence[Moves],
    last: datetime.date | None,
    currency: str,
) -> Iterator[Check]:
    """Yield the lots held against what moved: the pieces that came less those that left."""
    if not lines or last is None:
        return
    on_hand = sum((line.units for line in lines), ZERO)
    in_lots = sum((lot.units for line in lines for lot in line.lots), ZERO)
    moved = sum(
        (
            move.units
            for entry, some in moves
            if entry.date <= last
            for move in some
            if move.account and move.currency == currency
        ),
        ZERO,
    )
    holds = on_hand == in_lots == moved
    verb = "are" if holds else "ARE NOT"
    yield Check(
        f"The {in_lots:,f} pieces left in lots, carried at "
        f"{money(_value(lines), currency)} {currency}, {verb} what came less what left.",
        holds,
    )


def _lots(lines: Sequence[ShelfLine], currency: str) -> Table:
    """Return the table of what is left of each lot."""
    places = any(line.place for line in lines)
    rows = [
        Line(
            (
                line.name,
                *([line.place] if places else []),
                lot.date,
                None if line.averages else Decimal(lot.age),
                lot.units,
                lot.unit_cost,
                lot.value,
            ),
            code=line.item,
        )
        for line in lines
        for lot in line.lots
    ]
    if len(rows) > 1:
        blank = [None] * (4 if places else 3)
        units = sum((lot.units for line in lines for lot in line.lots), ZERO)
        cells = ("Total", *blank[1:], units, None, _value(lines))
        rows.append(Line(cells, "total", sums=tuple(range(len(rows)))))
    return Table(
        title="Lots left, the oldest first",
        columns=(
            Column("Product", "text"),
            *([Column("Shop", "text")] if places else []),
            Column("Came", "date"),
            Column("Age, days", "units"),
            Column("Left", "units", adds_up=True),
            Column("Unit cost", "price"),
            Column("Value", adds_up=True),
        ),
        lines=tuple(rows),
        slug=LOTS,
        currency=currency,
        empty="None is left.",
    )


def _came(books: Books, came: Sequence[Receipt], currency: str) -> Table:
    """Return the table of print runs, purchases, and what a count found."""
    folder = books.path.resolve().parent
    names = {item.currency: item.name for item in books.catalogue.values()}
    rows = []
    for receipt in came[-MOST_LINES:]:
        entry = receipt.entry
        is_run = entry.meta.get("directive") == RUN
        lines = receipt.lines
        meta = lines[0].meta if lines and lines[0].meta else entry.meta
        each = EXACT.divide(receipt.value, receipt.units) if receipt.units else None
        rows.append(
            Line(
                (
                    names.get(receipt.item, receipt.item),
                    entry.date,
                    title(entry),
                    receipt.units,
                    _said(receipt, "spoiled") if is_run else None,
                    _said(receipt, "minutes") if is_run else None,
                    each,
                    receipt.value,
                    place_from(folder, str(meta["filename"]), int(meta["lineno"])),
                ),
                code=receipt.item,
            )
        )
    left_out = len(came) - len(rows)
    return Table(
        title="Print runs and purchases",
        columns=(
            Column("Product", "text"),
            Column("Date", "date"),
            Column("What", "text"),
            Column("Came", "units"),
            Column("Spoiled", "units"),
            Column("Minutes", "units"),
            Column("Unit cost", "price"),
            Column("Cost"),
            Column("At", "text"),
        ),
        lines=tuple(rows),
        slug=CAME,
        currency=currency,
        empty="None came on these days.",
        more=f"{left_out:,} earlier ones are not listed." if left_out > 0 else "",
    )


def _said(receipt: Receipt, key: str) -> Decimal | None:
    """Return a number under a print run's directive."""
    value = receipt.entry.meta.get(key)
    return value if isinstance(value, Decimal) else None
