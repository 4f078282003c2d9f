"""What an import read, booked and left, with the counts and sums that must tie."""

from __future__ import annotations

import dataclasses
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from decimal import Decimal

from offcut.importers.bank.statements import BankReport
from offcut.importers.books import Books, EditedOrder
from offcut.importers.items import UNKNOWN
from offcut.importers.line_postings import Match
from offcut.importers.novelty import Sorted
from offcut.importers.order_edits import ChangedOrder
from offcut.importers.order_parts import OTHER_LINES
from offcut.importers.postings import lines_id
from offcut.importers.records import Order, Payment
from offcut.importers.totals import Total, merged, order_totals, payment_totals
from offcut.importers.writing import Written

REFUSED = "of an order of which the ledger has other lines, see the notes"


@dataclasses.dataclass(frozen=True)
class FileReport:
    """What became of the rows of one file.

    Attributes:
      file: Its name.
      layout: The name of the layout that it was read by.
      rows: The rows read, blank ones and the header not counted.
      booked: Rows that were booked.
      changed: Rows of orders that were edited since, and of which the difference was
        booked.
      already_there: Rows that the ledger had.
      left_out: Rows left out, by reason.
      totals: The sums of all rows that were read into records.
      booked_totals: The sums of the rows booked.
      changed_totals: The sums of the rows of orders that were edited.
      known_totals: The sums of the rows that the ledger had.
      repeated_totals: The sums of the rows that another file of the import has too.
      refused_totals: The sums of the rows left out as the ledger has other lines of their
        orders.
      checks: What of the file was checked by its own figures, a sentence each.
    """

    file: str
    layout: str
    rows: int
    booked: int
    already_there: int
    left_out: Mapping[str, int]
    totals: tuple[Total, ...]
    booked_totals: tuple[Total, ...]
    known_totals: tuple[Total, ...]
    repeated_totals: tuple[Total, ...]
    checks: tuple[str, ...] = ()
    changed: int = 0
    changed_totals: tuple[Total, ...] = ()
    refused_totals: tuple[Total, ...] = ()

    @property
    def ties(self) -> bool:
        """Whether every row is accounted for, and the sums of the parts make the whole."""
        rows = self.booked + self.changed + self.already_there
        rows += sum(self.left_out.values())
        parts = self.booked_totals + self.changed_totals
        parts += self.known_totals + self.repeated_totals + self.refused_totals
        return rows == self.rows and merged(parts) == self.totals


@dataclasses.dataclass(frozen=True)
class UnknownItem:
    """An item text that no rule knows, booked to suspense.

    Attributes:
      text: The text.
      count: How many lines have it.
      amount: What they come to before discount.
      currency: The amount's currency.
    """

    text: str
    count: int
    amount: Decimal
    currency: str


@dataclasses.dataclass(frozen=True)
class ImportReport:
    """What an import did, or would do.

    Attributes:
      files: What became of each file's rows.
      written: The files written, or that would be, with their new transactions.
      unknown_items: Item texts that went to suspense, the largest amounts first.
      notes: What to look at, a sentence each: differences, payments in suspense,
        orders that changed, rounding.
      dry_run: Whether nothing was written because that was asked for.
      bank: What is to be said of banks.
      parked_lines: Lines that stood in suspense and were booked by a rule that is new.
    """

    files: tuple[FileReport, ...]
    written: tuple[Written, ...]
    unknown_items: tuple[UnknownItem, ...]
    notes: tuple[str, ...]
    dry_run: bool
    bank: BankReport = dataclasses.field(default_factory=BankReport)
    parked_lines: int = 0

    @property
    def ties(self) -> bool:
        """Whether the counts and sums of every file tie."""
        return all(file.ties for file in self.files)


def file_report(
    file: Sorted,
    edited: Iterable[EditedOrder] = (),
    not_booked: Iterable[ChangedOrder] = (),
) -> FileReport:
    """Return what became of the rows of a file.

    Args:
      file: The file.
      edited: The orders whose edits the import has booked.
      not_booked: The orders that changed otherwise.
    """
    read = file.read
    edits = {lines_id(each.edit.order): each.edit.order for each in edited}
    others = {id(each.order) for each in not_booked if each.part == OTHER_LINES}
    refused = [each for each in file.known_orders if id(each) in others]
    left_out = Counter(each.reason for each in read.left_out)
    if refused:
        left_out[REFUSED] += _lines(refused)
    changed: list[Order] = []
    there: list[Order] = []
    for order in file.known_orders:
        if id(order) in others:
            continue
        edit = edits.get(lines_id(order)) if edits else None
        same = edit and edit._replace(file=order.file, row=order.row) == order
        (changed if same else there).append(order)
    return FileReport(
        file=read.file,
        layout=read.layout.name,
        rows=read.rows,
        booked=len(file.payments) + _lines(file.orders),
        already_there=len(file.known_payments) + _lines(there),
        left_out=dict(left_out),
        totals=read.totals,
        booked_totals=_totals(file.payments, file.orders),
        known_totals=_totals(file.known_payments, there),
        repeated_totals=_totals(file.repeated_payments, file.repeated_orders),
        checks=read.balances.checks,
        changed=_lines(changed),
        changed_totals=order_totals(changed),
        refused_totals=order_totals(refused),
    )


def unknown_items(orders: Iterable[Order], match: Match) -> tuple[UnknownItem, ...]:
    """Return the item texts that went to suspense, the largest amounts first."""
    counts: Counter[tuple[str, str]] = Counter()
    amounts: dict[tuple[str, str], Decimal] = defaultdict(Decimal)
    for order in orders:
        for line in order.lines:
            if match(line.item) is UNKNOWN:
                key = (line.item, order.currency)
                counts[key] += 1
                amounts[key] += line.amount
    found = [
        UnknownItem(text, count, amounts[text, currency], currency)
        for (text, currency), count in counts.items()
    ]
    return tuple(sorted(found, key=lambda each: (-abs(each.amount), each.text)))


def added_lines(books: Books) -> list[Order]:
    """Return the lines that edits of orders brought, as orders."""
    return [
        each.edit.order._replace(lines=each.edit.added)
        for each in books.edited
        if each.edit.added
    ]


def _lines(orders: Iterable[Order]) -> int:
    return sum(len(order.lines) for order in orders)


def _totals(payments: Iterable[Payment], orders: Iterable[Order]) -> tuple[Total, ...]:
    return payment_totals(payments) + order_totals(orders)
