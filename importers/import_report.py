"""What an import read, booked and left, with the counts and sums that must tie."""

from __future__ import annotations

import dataclasses
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import NamedTuple

from offcut.importers.items import UNKNOWN
from offcut.importers.joining import Books, Difference
from offcut.importers.novelty import Sorted
from offcut.importers.postings import Match
from offcut.importers.problems import LISTED
from offcut.importers.records import Order, Payment
from offcut.importers.totals import Total, merged, order_totals, payment_totals
from offcut.importers.values import ZERO
from offcut.importers.writing import Written


@dataclasses.dataclass(frozen=True)
class FileReport:
    """What became of the rows of one file.

    Attributes:
      file: Its name.
      layout: The name of the layout that it was read by.
      rows: The rows read, blank ones and the header not counted.
      booked: Rows that were booked.
      already_there: Rows that the ledger had.
      left_out: Rows left out, by reason.
      totals: The sums of all rows that were read into records.
      booked_totals: The sums of the rows booked.
      known_totals: The sums of the rows that the ledger had.
      repeated_totals: The sums of the rows that another file of the import has too.
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

    @property
    def ties(self) -> bool:
        """Whether every row is accounted for, and the sums of the parts make the whole."""
        rows = self.booked + self.already_there + sum(self.left_out.values())
        parts = self.booked_totals + self.known_totals + self.repeated_totals
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


class ChangedOrder(NamedTuple):
    """An order that the ledger has, with other lines than a file.

    Attributes:
      order: The order as the file has it.
      before: What its lines come to in the ledger.
      now: What they come to in the file.
    """

    order: Order
    before: Decimal
    now: Decimal


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
    """

    files: tuple[FileReport, ...]
    written: tuple[Written, ...]
    unknown_items: tuple[UnknownItem, ...]
    notes: tuple[str, ...]
    dry_run: bool

    @property
    def ties(self) -> bool:
        """Whether the counts and sums of every file tie."""
        return all(file.ties for file in self.files)


def file_report(file: Sorted) -> FileReport:
    """Return what became of the rows of a file."""
    read = file.read
    return FileReport(
        file=read.file,
        layout=read.layout.name,
        rows=read.rows,
        booked=len(file.payments) + _lines(file.orders),
        already_there=len(file.known_payments) + _lines(file.known_orders),
        left_out=dict(Counter(each.reason for each in read.left_out)),
        totals=read.totals,
        booked_totals=_totals(file.payments, file.orders),
        known_totals=_totals(file.known_payments, file.known_orders),
        repeated_totals=_totals(file.repeated_payments, file.repeated_orders),
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


def notes(
    files: Iterable[FileReport], books: Books, changed: Iterable[ChangedOrder]
) -> tuple[str, ...]:
    """Return what the user should look at, a sentence each."""
    found = _first([_difference(each) for each in books.differences], "orders differ so")
    found += _first([_change(each) for each in changed], "orders changed so")

    waiting: dict[tuple[str, str], list[Payment]] = defaultdict(list)
    for payment in books.waiting:
        waiting[payment.layout.accounts.suspense, payment.currency].append(payment)
    for (account, currency), payments in waiting.items():
        gross = sum((payment.gross for payment in payments), ZERO)
        what = "payment names an order" if len(payments) == 1 else "payments name orders"
        found.append(
            f"{len(payments)} {what} whose lines are not imported: {gross} {currency} of "
            f"sales is in {account} until they are"
        )
    found.extend(_roundings(files))
    return tuple(found)


def _first(sentences: list[str], what: str) -> list[str]:
    """Return not more sentences than can be read, and how many more there are."""
    if len(sentences) <= LISTED:
        return sentences
    return [*sentences[:LISTED], f"and {len(sentences) - LISTED} more {what}"]


def _change(each: ChangedOrder) -> str:
    order = each.order
    return (
        f"{order.layout.channel} order {order.number}: its lines come to {each.now} "
        f"{order.currency} in {order.file} and to {each.before} in the ledger, which was "
        "not changed; correct it there"
    )


def _difference(each: Difference) -> str:
    return (
        f"{each.order}: paid {each.paid}, owed {each.owed} {each.currency}; the difference "
        f"of {each.paid - each.owed} is in {each.account}"
    )


def _roundings(files: Iterable[FileReport]) -> Iterable[str]:
    """Yield what rounding quantity times unit price to whole minor units came to."""
    for file in files:
        for total in file.booked_totals:
            if total.gross - total.fee != total.net:
                yield (
                    f"{file.file}: {total.kind} come to {total.gross} {total.currency} "
                    f"exactly and to {total.net} with each line rounded, as booked; the "
                    f"difference is {total.net - total.gross}"
                )


def _lines(orders: Iterable[Order]) -> int:
    return sum(len(order.lines) for order in orders)


def _totals(payments: Iterable[Payment], orders: Iterable[Order]) -> tuple[Total, ...]:
    return payment_totals(payments) + order_totals(orders)
