"""Begin books with what is on the shelf already, from a CSV file.

    Item,Quantity,Unit cost,Date
    HERON-STK,40,0.41,2025-01-01
    VINYL,12,0.45,2025-01-01

Each row becomes a lot like any purchase, in the item's own account, against the owner's
opening equity. Rows that the ledger has already are not booked again.
"""

from __future__ import annotations

import datetime
from contextlib import nullcontext
from decimal import Decimal
from pathlib import Path
from typing import NamedTuple

from beancount.core import data

from offcut.importers.file_bytes import read_bytes
from offcut.importers.known import scan_ledger
from offcut.importers.ledger_text import escaped, posting_text
from offcut.importers.load_cache import load_file
from offcut.importers.month_files import additions
from offcut.importers.postings import Booking
from offcut.importers.problems import ImportRefused, Problem, quoted
from offcut.importers.sheet import read_cell, read_sheet
from offcut.importers.values import date_reader, number_reader
from offcut.importers.writing import Written, add_texts, line_end_of, locked
from offcut.plugins.catalogue import nearest, read_catalogue
from offcut.plugins.costing import trimmed
from offcut.plugins.shelf import Shelf, make_shelves

# The product of two numbers of so many digits is exact in a Decimal.
DIGITS_AT_MOST = 14
COLUMNS = ("Item", "Quantity", "Unit cost", "Date")
SOURCE = "opening-stock"
EQUITY = "Equity:Opening-Stock"


class OpeningRow(NamedTuple):
    """A row of the file: units of an item at a cost each, on the shelf on a day."""

    row: int
    item: str
    units: Decimal
    unit_cost: Decimal
    day: datetime.date

    @property
    def source_id(self) -> str:
        """What tells that the ledger has the row already."""
        return f"{SOURCE}/{self.item}/{self.day}"

    @property
    def value(self) -> Decimal:
        """What the units cost together."""
        return trimmed(self.units * self.unit_cost)

    def booking(self, account: str, currency: str) -> Booking:
        """Return the transaction of the row.

        Args:
          account: The account of the item's shelf.
          currency: The currency of the cost.
        """
        cost = f"{self.item} {{{self.unit_cost:f} {currency}}}"
        text = (
            f'{self.day} * "Opening stock: {self.units:f} {self.item}"\n'
            f'  source-id: "{escaped(self.source_id)}"\n'
            + posting_text(account, self.units, cost)
            + posting_text(EQUITY, -self.value, currency)
        )
        return Booking(self.day.isoformat(), SOURCE, text)


class OpeningReport(NamedTuple):
    """What was done with a file of opening stock.

    Attributes:
      rows: How many rows it has.
      booked: How many were new.
      value: What the new ones cost together.
      currency: The currency of that.
      written: The files that were written, or would be.
    """

    rows: int
    booked: int
    value: Decimal
    currency: str
    written: tuple[Written, ...]


def import_opening_stock(file: Path, ledger: Path, dry_run: bool = False) -> OpeningReport:
    """Book opening stock into a ledger.

    Args:
      file: The CSV file.
      ledger: The path of the main ledger file.
      dry_run: Whether to find out and report only.

    Raises:
      ImportRefused: Something has to be put right first; nothing was written.
    """
    contents = read_bytes(file)
    with nullcontext() if dry_run else locked(ledger):
        known = scan_ledger(ledger)
        entries, _, options = load_file(ledger)
        opens = [entry for entry in entries if isinstance(entry, data.Open)]
        shelves, _ = make_shelves(read_catalogue(entries), opens, options)
        if not options["operating_currency"]:
            message = (
                "expected an operating currency, which unit costs are in, found none; "
                'write in the ledger: option "operating_currency" "USD"'
            )
            raise ImportRefused([Problem(ledger.name, None, None, message)])
        currency = options["operating_currency"][0]

        rows = read_opening_stock(file.name, contents, shelves)
        new = [row for row in rows if row.source_id not in known.source_ids]
        bookings = [row.booking(shelves[row.item].account, currency) for row in new]
        accounts = {EQUITY, *(shelves[row.item].account for row in new)} if new else set()
        main = ledger.resolve()
        adding = additions(bookings, accounts, main, known)
        if adding and not dry_run:
            texts = {path: addition.text for path, addition in adding.items()}
            add_texts(texts, line_end_of(known.files[main]))
    return OpeningReport(
        rows=len(rows),
        booked=len(new),
        value=sum((row.value for row in new), Decimal(0)),
        currency=currency,
        written=tuple(Written(path, each.transactions) for path, each in adding.items()),
    )


def read_opening_stock(
    name: str, contents: bytes, shelves: dict[str, Shelf]
) -> list[OpeningRow]:
    """Return the rows of a file.

    Args:
      name: The file's name, for problems.
      contents: Its bytes.
      shelves: The items that the ledger declares.

    Raises:
      ImportRefused: With a problem for each cell that cannot be read.
    """
    problems: list[Problem] = []
    rows: list[OpeningRow] = []
    seen: dict[tuple[str, datetime.date], int] = {}
    read_number, date = number_reader("en_US"), date_reader(["%Y-%m-%d"])

    def number(cell: str) -> Decimal:
        return _exact(read_number(cell), cell)

    for at, cells in read_sheet(name, contents, COLUMNS):
        item = read_cell(
            problems, (name, at, "Item"), cells[0], lambda cell: _known_item(cell, shelves)
        )
        units = read_cell(
            *(problems, (name, at, "Quantity"), cells[1]),
            lambda cell: _above_zero(number(cell), cell),
        )
        cost = read_cell(
            *(problems, (name, at, "Unit cost"), cells[2]),
            lambda cell: _not_below_zero(number(cell), cell),
        )
        day = read_cell(problems, (name, at, "Date"), cells[3], date)
        if item is None or units is None or cost is None or day is None:
            continue
        first = seen.setdefault((item, day), at)
        if first != at:
            message = f"{item} on {day} is in row {first} too; put both into one row"
            problems.append(Problem(name, at, "Item", message))
        rows.append(OpeningRow(at, item, units, cost, day))
    if problems:
        raise ImportRefused(problems)
    return rows


def _known_item(cell: str, shelves: dict[str, Shelf]) -> str:
    if cell in shelves:
        return cell
    raise ValueError(
        f"expected an item of the ledger's catalogue, found {quoted(cell)}"
        f"{nearest(cell, shelves)}; declare it in the ledger: commodity {cell or 'ITEM'} "
        'with stock: "product"'
    )


def _exact(number: Decimal, cell: str) -> Decimal:
    if len(number.as_tuple().digits) <= DIGITS_AT_MOST:
        return number
    raise ValueError(
        f"expected a number of at most {DIGITS_AT_MOST} digits, found {quoted(cell)}; "
        "correct the row"
    )


def _above_zero(number: Decimal, cell: str) -> Decimal:
    if number > 0:
        return number
    raise ValueError(f"expected a number above zero, found {quoted(cell)}; correct the row")


def _not_below_zero(number: Decimal, cell: str) -> Decimal:
    if number >= 0:
        return number
    raise ValueError(f"expected zero or more, found {quoted(cell)}; correct the row")
