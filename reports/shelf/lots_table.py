"""Tell what is left of each lot, and what brought it."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from pathlib import Path

from offcut.importers.splitting import ZERO
from offcut.reports.books import Books
from offcut.reports.figures import pieces
from offcut.reports.shelf.on_hand import ShelfLine
from offcut.reports.sources import place_from
from offcut.reports.statement import Line, Source, Table
from offcut.reports.statement_cells import Cell, Column
from offcut.reports.trace.index import Receipt

VALUE = Column("Value", adds_up=True)
# On a narrow terminal, where names are cut short, an item goes by its commodity: many
# names begin with the same design.
ITEM = (Column("Item", "text", "wide"), Column("Item", "text", "narrow"))


def lots_table(books: Books, lines: Sequence[ShelfLine], currency: str) -> Table:
    """Return the table of what is left of each lot.

    Args:
      books: The books.
      lines: The items on hand; some have lots.
      currency: The currency of their cost.
    """
    in_shops = any(line.place for line in lines)
    folder = books.path.resolve().parent
    rows = []
    for line in lines:
        came = _receipts_by_day(books, line.item)
        for lot in line.lots:
            cells = (
                *(line.name, line.item),
                *([line.place] if in_shops else []),
                lot.date,
                None if line.averages else Decimal(lot.age),
                *(lot.units, lot.unit_cost, lot.value),
            )
            # An average is struck anew on a day on which nothing may have come.
            receipts = [] if line.averages else came.get(lot.date, [])
            sources = _receipt_sources(receipts, folder, cells)
            rows.append(Line(cells, code=line.item, sources=tuple(sources)))
    total = sum((lot.value for line in lines for lot in line.lots), ZERO)
    blank = (None,) * (len(rows[0].cells) - 3)
    rows.append(
        Line(("Total", "Total", *blank, total), "total", sums=tuple(range(len(rows))))
    )
    return Table(
        title="Lots, the oldest first",
        columns=(
            *ITEM,
            *([Column("Shop", "text")] if in_shops else []),
            Column("Came", "date"),
            Column("Age, days", "units"),
            Column("Left", "units"),
            Column("Unit cost", "price"),
            VALUE,
        ),
        lines=tuple(rows),
        slug="shelf-lots",
        currency=currency,
    )


def _receipts_by_day(books: Books, item: str) -> dict[datetime.date, list[Receipt]]:
    """Return what came of an item on each day."""
    came: dict[datetime.date, list[Receipt]] = {}
    for receipt in books.trace_index.receipts.get(item, ()):
        came.setdefault(receipt.entry.date, []).append(receipt)
    return came


def _receipt_sources(
    receipts: Iterable[Receipt], folder: Path, cells: Sequence[Cell]
) -> Iterator[Source]:
    """Yield what brought the lots of a day: how many came, not how many are left."""
    for receipt in receipts:
        entry = receipt.entry
        text = " ".join(filter(None, (entry.payee, entry.narration)))
        name = f"{entry.date} {text}: {pieces(receipt.units)} came"
        meta = receipt.lines[0].meta if receipt.lines else None
        place = {**entry.meta, **(meta or {})}
        yield Source(
            (name, *([None] * (len(cells) - 1))),
            place_from(folder, place["filename"], place["lineno"]),
        )
