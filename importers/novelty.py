"""Tell what is new in files from what the ledger, or a file before, has already."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Iterator
from typing import NamedTuple, TypeVar

from offcut.importers.layout import Layout
from offcut.importers.ledger_text import escaped
from offcut.importers.postings import lines_id, source_id
from offcut.importers.problems import ImportRefused, Problem
from offcut.importers.records import Order, Payment
from offcut.importers.row_ids import UnnamedRows, with_known_ids
from offcut.importers.rows import LeftOut
from offcut.importers.running_balance import Balances
from offcut.importers.totals import Total

IN_ANOTHER_FILE = "in another file too"

Record = TypeVar("Record", Payment, Order)


class FileRecords(NamedTuple):
    """What was read of one file.

    Attributes:
      file: Its name.
      layout: The layout that it was read by.
      rows: How many rows it has.
      payments: Its payments; [] for a file of order lines.
      orders: Its orders; [] for a file of payments.
      left_out: Rows that are in neither.
      totals: The sums of the rows that are in one of them.
      balances: What it says of its account's balances.
      unnamed: What tells rows without an id apart; None where there are none.
    """

    file: str
    layout: Layout
    rows: int
    payments: list[Payment]
    orders: list[Order]
    left_out: list[LeftOut]
    totals: tuple[Total, ...]
    balances: Balances = Balances()
    unnamed: UnnamedRows | None = None


class Sorted(NamedTuple):
    """The records of one file, sorted into new ones and those that the ledger has.

    Attributes:
      read: All that was read; `left_out` with what a file before has too.
      payments: Payments to book.
      known_payments: Payments that the ledger has.
      repeated_payments: Payments that a file before has.
      orders: Orders to book.
      known_orders: Orders whose lines the ledger has.
      repeated_orders: Orders that a file before has.
    """

    read: FileRecords
    payments: list[Payment]
    known_payments: list[Payment]
    repeated_payments: list[Payment]
    orders: list[Order]
    known_orders: list[Order]
    repeated_orders: list[Order]


def ids_of(files: Iterable[FileRecords]) -> Iterator[str]:
    """Yield the ids of all records, as a ledger's text would have them."""
    for file in files:
        yield from (escaped(source_id(each)) for each in file.payments)
        yield from (escaped(lines_id(each)) for each in file.orders)


def sort_out(
    files: Iterable[FileRecords], source_ids: Collection[str], lines_ids: Collection[str]
) -> list[Sorted]:
    """Return the records of each file, sorted.

    Args:
      files: What was read.
      source_ids: The ids of payments in the ledger, as its text has them.
      lines_ids: The ids of orders in the ledger, likewise.

    Raises:
      ImportRefused: Two files have an id in common, with different contents.
    """
    problems: list[Problem] = []
    seen_payments: dict[str, Payment] = {}
    files = list(files)
    # Of two files the one that has an order, or lines of it, as cancelled is the later.
    marked = [order for file in files for order in file.orders if order.cancelled]
    marked.sort(key=lambda order: order.is_cancelled)
    seen_orders = {escaped(lines_id(order)): order for order in marked}
    result = []
    for file in files:
        file = known_by_their_ids(file, source_ids)
        payments = _sort(
            [(escaped(source_id(each)), each) for each in file.payments],
            source_ids,
            seen_payments,
            problems,
        )
        orders = _sort(
            [(escaped(lines_id(each)), each) for each in file.orders],
            lines_ids,
            seen_orders,
            problems,
        )
        left_out = list(file.left_out)
        left_out += [LeftOut(each.row, IN_ANOTHER_FILE) for each in payments[2]]
        for order in orders[2]:
            left_out += [LeftOut(order.row, IN_ANOTHER_FILE)] * len(order.lines)
        result.append(Sorted(file._replace(left_out=left_out), *payments, *orders))
    if problems:
        raise ImportRefused(problems)
    return result


def known_by_their_ids(file: FileRecords, source_ids: Collection[str]) -> FileRecords:
    """Return a file in which rows that the ledger has are called as they are there.

    Args:
      file: What was read.
      source_ids: The ids of payments in the ledger, as its text has them.
    """
    payments = with_known_ids(file.payments, file.unnamed, source_ids)
    if payments is file.payments:
        return file
    names = {before.id: now.id for before, now in zip(file.payments, payments, strict=True)}
    balances = [each._replace(row=names[each.row]) for each in file.balances.known]
    return file._replace(
        payments=payments, balances=file.balances._replace(known=tuple(balances))
    )


def _sort(
    records: Iterable[tuple[str, Record]],
    known: Collection[str],
    seen: dict[str, Record],
    problems: list[Problem],
) -> tuple[list[Record], list[Record], list[Record]]:
    """Return the new records, those that are known, and those of a file before."""
    new: list[Record] = []
    there: list[Record] = []
    repeated: list[Record] = []
    for name, record in records:
        if name in known:
            there.append(record)
            continue
        before = seen.setdefault(name, record)
        if before is record:
            new.append(record)
        elif _cancels(before, record) or before == record._replace(
            file=before.file, row=before.row
        ):
            repeated.append(record)
        else:
            message = (
                f"expected the same contents as in {before.file}, row {before.row}, which "
                "has the same id; correct the files, or import the one that is right"
            )
            if isinstance(record, Order):
                message += (
                    "; put the lines of an order that is split over both into one file"
                )
            problems.append(Problem(record.file, record.row, None, message))
    return new, there, repeated


def _cancels(one: Payment | Order, other: Payment | Order) -> bool:
    """Return whether a file has an order as another one has it, but for what it cancels."""
    if not isinstance(one, Order) or not isinstance(other, Order) or not one.cancelled:
        return False
    texts = Counter(line.item for line in one.lines) + Counter(one.cancelled)
    return one.is_cancelled or texts == Counter(line.item for line in other.lines)
