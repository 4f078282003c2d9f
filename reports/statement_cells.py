"""A cell of a table: its kind, its column, and how a reader sees it."""

from __future__ import annotations

import datetime
from decimal import Decimal
from typing import Literal, NamedTuple

from offcut.importers.splitting import ZERO
from offcut.reports.figures import (
    money,
    month_label,
    percentage,
    pieces,
    plain,
    rounded,
    unit_price,
)

Kind = Literal[
    "text",
    "money",
    "price",
    "units",
    "share",
    "number",
    "date",
    "month",
    "prose",
    "verbatim",
]
# Kinds that stand below a line, across the whole width.
BELOW: tuple[Kind, ...] = ("prose", "verbatim")
# Kinds whose numbers may have more decimal places or fewer.
UNEVEN: tuple[Kind, ...] = ("price", "units", "number")
Shown = Literal["always", "wide", "narrow"]
Cell = str | Decimal | datetime.date | None


class Column(NamedTuple):
    """A column of a table.

    Attributes:
      heading: What stands above it.
      kind: What its cells are. `money` is in the table's currency, `price` is what one
        unit costs in it, to four places, `share` is of 1, `units` are pieces, `number` is
        any other, both to two places; a `month` is the date of one of its days. `prose` is
        sentences; `verbatim` is lines to be copied, whose breaks are kept.
      shown: Where: `wide` columns are left out on a narrow terminal, where `narrow`
        ones stand for several of them; everywhere else these are left out.
      adds_up: Whether the lines' cells come to the total's.
      is_result: Whether less than nothing in it is a loss, to be marked as one.
      places: How many decimal places its numbers have at the least, so that the points
        stand below each other; a table finds it out from its cells.
    """

    heading: str
    kind: Kind = "money"
    shown: Shown = "always"
    adds_up: bool = False
    is_result: bool = False
    places: int = 0


def cell_text(cell: Cell, column: Column, currency: str) -> str:
    """Return a cell as a reader sees it.

    Args:
      cell: The cell.
      column: Its column.
      currency: The currency of money.
    """
    if cell is None:
        return ""
    if isinstance(cell, str):
        if column.kind == "verbatim":
            return "\n".join(map(plain, cell.split("\n")))
        return plain(cell)
    if isinstance(cell, datetime.date):
        return month_label(cell) if column.kind == "month" else cell.isoformat()
    match column.kind:
        case "money":
            return money(cell, currency)
        case "price":
            return unit_price(cell, currency, column.places)
        case "share":
            return percentage(cell)
        case _:
            return pieces(rounded(cell, ""), column.places)


def is_loss(cell: Cell, column: Column) -> bool:
    """Tell whether a cell is a loss.

    Args:
      cell: The cell.
      column: Its column.
    """
    return column.is_result and isinstance(cell, Decimal) and cell < ZERO
