"""A report as what it says, apart from where it is shown.

Every report is made into a Statement: tables of typed cells, and sentences. The
terminal, the page, the workbook and CSV files each draw any statement, so that no figure
is computed in more than one place, and a report is the same wherever it is read.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal, NamedTuple

from offcut.importers.splitting import ZERO
from offcut.reports.figures import decimal_places, rounded
from offcut.reports.statement_cells import (
    BELOW,
    UNEVEN,
    Cell,
    Column,
    Shown,
    cell_text,
)
from offcut.reports.statement_charts import Chart, Course, Plot

Role = Literal["line", "part", "subtotal", "total"]
ROUNDING = (
    "Each figure is rounded by itself, so a column may miss its total by one or two in "
    "the last digit; the sums behind them are exact."
)


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
      folded: Whether a page shows it only when it is asked for: the figures of a table
        before it, in more columns.
      more: What to say below it of lines that stand together in one.
      untold: What to say of lines whose sources are left out.
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
    folded: bool = False
    more: str = ""
    untold: str = ""

    def __post_init__(self) -> None:
        """Find out how many decimal places the numbers of each column need."""
        columns = tuple(
            column._replace(places=max(column.places, self._places(at, column)))
            if column.kind in UNEVEN
            else column
            for at, column in enumerate(self.columns)
        )
        object.__setattr__(self, "columns", columns)

    def _places(self, at: int, column: Column) -> int:
        """Return the most decimal places that a number of a column has."""
        cells = (line.cells[at] for line in self.lines)
        return max(
            (
                decimal_places(cell_text(cell, column, self.currency))
                for cell in cells
                # Most are whole, which is quickly told.
                if isinstance(cell, Decimal) and cell != cell.to_integral_value()
            ),
            default=0,
        )

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
      findings: What of it asks for a look, in sentences; a page begins with them.
    """

    title: str
    period: str
    tables: tuple[Table, ...]
    headlines: tuple[Headline, ...] = ()
    checks: tuple[Check, ...] = ()
    notes: tuple[Note, ...] = ()
    caution: str = ""
    findings: tuple[str, ...] = ()

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
