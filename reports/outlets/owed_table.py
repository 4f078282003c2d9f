"""Tell what buyers owe, by the days since the invoice."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from decimal import Decimal
from pathlib import Path
from typing import NamedTuple

from offcut.importers.splitting import ZERO
from offcut.reports.outlets.receivables import OpenInvoice
from offcut.reports.outlets.sums import exact_sum
from offcut.reports.period import long_date
from offcut.reports.sources import place_from
from offcut.reports.statement import Line, Source, Table
from offcut.reports.statement_cells import Column

# More lines than these are summed up in one.
MOST_LINES = 40


class Band(NamedTuple):
    """Days since the invoice; common practice, no source.

    Attributes:
      heading: What stands above its column.
      first: The least days.
      last: The most days; None where there are none.
    """

    heading: str
    first: int
    last: int | None


BANDS = (
    Band("Up to 30 days", -(10**9), 30),
    Band("31-60", 31, 60),
    Band("61-90", 61, 90),
    Band("Over 90", 91, None),
)


def owed_table(
    invoices: Sequence[OpenInvoice], day: datetime.date, currency: str, folder: Path
) -> Table:
    """Return the table of what is owed.

    Args:
      invoices: What is open, the oldest first.
      day: The day that it is owed on.
      currency: The currency of all of it.
      folder: The main ledger's, from which files are named.
    """
    lines = []
    for each in invoices[:MOST_LINES]:
        cells = (_invoice_name(each), each.date, *_banded([each], day))
        source = Source(cells, place_from(folder, each.file, each.line))
        lines.append(Line(cells, code=each.account, sources=(source,)))
    rest = invoices[MOST_LINES:]
    if rest:
        lines.append(Line((f"{len(rest):,} more invoices", None, *_banded(rest, day))))
    if len(lines) > 1:
        positions = tuple(range(len(lines)))
        total = ("Total", None, *_banded(invoices, day))
        lines.append(Line(total, "total", sums=positions))
    return Table(
        title=f"Owed on {long_date(day)}, by days since the invoice",
        columns=(
            Column("Order and buyer", "text"),
            Column("Invoice", "date"),
            *(Column(band.heading, adds_up=True) for band in BANDS),
            Column("Owed", adds_up=True),
        ),
        lines=tuple(lines),
        slug="receivables",
        currency=currency,
    )


def _invoice_name(invoice: OpenInvoice) -> str:
    """Return what an open invoice is called: its order and its buyer."""
    named = [text for text in (invoice.order, invoice.buyer) if text]
    name = ", ".join(named) or invoice.account
    return f"{name}: paid too much" if invoice.amount < ZERO else name


def _banded(invoices: Iterable[OpenInvoice], day: datetime.date) -> list[Decimal | None]:
    """Return what invoices come to in each band of days, and in all."""
    several = list(invoices)
    cells: list[Decimal | None] = []
    for band in BANDS:
        in_band = [
            each.amount
            for each in several
            if band.first <= each.age(day)
            and (band.last is None or each.age(day) <= band.last)
        ]
        cells.append(exact_sum(in_band) if in_band else None)
    return [*cells, exact_sum(each.amount for each in several)]
