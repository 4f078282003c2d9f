"""A report as what it says, apart from where it is shown.

Every report is made into a Statement: tables of typed cells, and sentences. The
terminal, the page, the workbook and CSV files each draw any statement, so that no figure
is computed in more than one place, and a report is the same wherever it is read.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass
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
Shown = Literal["always", "wide", "narrow"]
Role = Literal["line", "part", "subtotal", "total"]
Cell = str | Decimal | datetime.date | None

ROUNDING = (
    "Each figure is rounded by itself, so a column may miss its total by one or two in "
    "the last digit; the sums behind them are exact."
)


class Column(NamedTuple):
    """A column of a table.

    Attributes:
      heading: What stands above it.
      kind: What its cells are. `money` is in the table's currency, `price` is what one
        unit costs in it, to four places, `share` is of 1, `units` are pieces, `number` has
        at most two decimal places; a `month` is the date of one of its days. `prose` is
        sentences; `verbatim` is lines to be copied, whose breaks are kept.
      shown: Where: `wide` columns are left out on a narrow terminal, where `narrow`
        ones stand for several of them; everywhere else these are left out.
      adds_up: Whether the lines' cells come to the total's.
      is_result: Whether less than nothing in it is a loss, to be marked as one.
    """

    heading: str
    kind: Kind = "money"
    shown: Shown = "always"
    adds_up: bool = False
    is_result: bool = False


class Source(NamedTuple):
    """What of a line comes from one place in the ledger.

    Attributes:
      cells: As the line's: the first shown one says what it is, and those of columns that
        add up are what of the line's it makes; the others have nothing to say.
      place: The file and line where it stands, the file as seen from the main ledger's
        folder: `imports/card-2025-03.beancount:112`. Of several together, how to see them.
      covers: How many it is; more than one where a line has too many to be told.
    """

    cells: tuple[Cell, ...]
    place: str
    covers: int = 1


class Line(NamedTuple):
    """A line of a table.

    Attributes:
      cells: One for each column; None where there is nothing to say.
      role: A `part` is of the line above it and not added up again.
      code: The commodity, the account or the like that the line is about, where its
        first cell is a name.
      sums: The positions of the lines that it is the sum of, in columns that add up.
      depth: How many steps it stands below the top, in a table that is a tree.
      sources: What it is made of, where that is known: they add up to it in the columns
        that add up and in which a source has anything to say. A page shows them.
    """

    cells: tuple[Cell, ...]
    role: Role = "line"
    code: str = ""
    sums: tuple[int, ...] = ()
    depth: int = 0
    sources: tuple[Source, ...] = ()


class Bar(NamedTuple):
    """A pair of bars: what came in, and what of it was left.

    Attributes:
      name: What it is about.
      whole: Drawn pale.
      part: Drawn over it.
    """

    name: str
    whole: Decimal
    part: Decimal


class Chart(NamedTuple):
    """A chart of a table, whose figures stand beside it in the table.

    Attributes:
      bars: What to draw, from the top.
      whole: What the pale bars are: "what buyers paid".
      part: What the others are: "contribution".
    """

    bars: tuple[Bar, ...]
    whole: str
    part: str


class Plot(NamedTuple):
    """A chart of a table whose lines follow each other in time.

    Attributes:
      title: What it shows.
      column: The position of the column to draw: upright bars, from left to right.
      beside: That of the column to draw over them, as a stepped line; None for none.
      lines: The positions of the lines to draw, the earliest first.
    """

    title: str
    column: int
    beside: int | None
    lines: tuple[int, ...]


class Course(NamedTuple):
    """Columns of a table that follow each other in time: each line's are drawn small.

    Attributes:
      heading: What stands above the drawings: "By month".
      columns: Their positions, the earliest first.
    """

    heading: str
    columns: tuple[int, ...]


@dataclass(frozen=True)
class Table:
    """A table of a statement.

    Attributes:
      title: Its name.
      columns: Its columns; the first names what each line is about.
      lines: Its lines, subtotals and totals after what they sum.
      currency: The currency of its money.
      empty: What to say where it has no lines.
      chart: A drawing of it.
      plots: Drawings of its lines as steps in time.
      course: Columns of it that are steps in time.
      slug: Its name in files: letters, digits and hyphens.
      in_bands: Whether a terminal prints it, where it is too wide, as several narrower
        tables below each other, each with the first column.
    """

    title: str
    columns: tuple[Column, ...]
    lines: tuple[Line, ...]
    slug: str
    currency: str = ""
    empty: str = "Nothing on these days."
    chart: Chart | None = None
    plots: tuple[Plot, ...] = ()
    course: Course | None = None
    in_bands: bool = False

    @property
    def has_cards(self) -> bool:
        """Whether there is more to each line than stands beside each other."""
        return any(column.kind in BELOW for column in self.columns)

    def shown_columns(self, narrow: bool) -> list[int]:
        """Return the positions of the columns that are shown."""
        left_out = "wide" if narrow else "narrow"
        return [at for at, each in enumerate(self.columns) if each.shown != left_out]


class Headline(NamedTuple):
    """A figure to begin with.

    Attributes:
      label: What it is.
      amount: The figure, in the currency of the statement's first table.
    """

    label: str
    amount: Decimal


class Note(NamedTuple):
    """A sentence or two on how to read a statement, or what to know about it.

    Attributes:
      text: The sentences.
      shown: Where, as for columns.
    """

    text: str
    shown: Shown = "always"


class Check(NamedTuple):
    """A statement's figures held against the ledger.

    Attributes:
      sentence: What was found.
      holds: Whether they agree.
    """

    sentence: str
    holds: bool


@dataclass(frozen=True)
class Statement:
    """A report.

    Attributes:
      title: What it reports on.
      period: The days, in words.
      tables: Its tables.
      headlines: What it comes to.
      checks: Its figures held against the ledger, in sentences.
      notes: What to know about it: how to read it first.
      caution: What must stand beside every figure, as with tax; empty where nothing must.
    """

    title: str
    period: str
    tables: tuple[Table, ...]
    headlines: tuple[Headline, ...] = ()
    checks: tuple[Check, ...] = ()
    notes: tuple[Note, ...] = ()
    caution: str = ""

    def shown_notes(self, narrow: bool) -> list[str]:
        """Return the notes that are shown, what rounding does among them."""
        left_out = "wide" if narrow else "narrow"
        notes = [note.text for note in self.notes if note.shown != left_out]
        if any(rounding_shows(table) for table in self.tables):
            notes.insert(1, ROUNDING)
        return notes

    @property
    def holds(self) -> bool:
        """Whether its figures agree with the ledger."""
        return all(check.holds for check in self.checks)


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
            return unit_price(cell, currency)
        case "share":
            return percentage(cell)
        case "units":
            return pieces(cell)
        case _:
            return pieces(rounded(cell, ""))


def is_loss(cell: Cell, column: Column) -> bool:
    """Tell whether a cell is a loss.

    Args:
      cell: The cell.
      column: Its column.
    """
    return column.is_result and isinstance(cell, Decimal) and cell < ZERO


def rounding_shows(table: Table) -> bool:
    """Tell whether a column as printed does not come to its total as printed.

    Args:
      table: The table.
    """
    return any(
        sum((rounded(cell, table.currency) for cell in cells), ZERO)
        != rounded(total, table.currency)
        for cells, total in _money_sums(table)
    )


def _money_sums(table: Table) -> Iterator[tuple[list[Decimal], Decimal]]:
    """Yield what each sum of money is the sum of, and the sum."""
    for at, column in enumerate(table.columns):
        if column.kind != "money" or not column.adds_up:
            continue
        for line in table.lines:
            total = line.cells[at]
            if line.sums and isinstance(total, Decimal):
                cells = [table.lines[each].cells[at] for each in line.sums]
                yield [cell for cell in cells if isinstance(cell, Decimal)], total
