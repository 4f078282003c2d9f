"""What an import read, booked and left, with the counts and sums that must tie."""

from __future__ import annotations

import dataclasses
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from decimal import Decimal

from offcut.importers.bank.statements import BankReport
from offcut.importers.books import Books, Difference, EditedOrder, Waiting
from offcut.importers.items import UNKNOWN
from offcut.importers.line_postings import Match
from offcut.importers.novelty import Sorted
from offcut.importers.order_edits import ChangedOrder
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
        checks=read.balances.checks,
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


def notes(files: Iterable[FileReport], books: Books) -> tuple[str, ...]:
    """Return what the user should look at, a sentence each."""
    found = _first([_difference(each) for each in books.differences], "orders differ so")
    found += _first([_edited(each) for each in books.edited], "orders were edited so")
    found += _first([_change(each) for each in books.changed], "orders changed so")

    waiting: dict[tuple[str, str], list[Waiting]] = defaultdict(list)
    for each in books.waiting:
        payment = each.payment
        waiting[payment.layout.accounts.suspense, payment.currency].append(each)
    for (account, currency), amounts in waiting.items():
        paid = sum((each.amount for each in amounts), ZERO)
        what = "payment names an order" if len(amounts) == 1 else "payments name orders"
        found.append(
            f"{len(amounts)} {what} whose lines are not imported: {paid} {currency} of "
            f"sales is in {account} until they are"
        )
    found.extend(_roundings(files))
    return tuple(found)


def _first(sentences: list[str], what: str) -> list[str]:
    """Return not more sentences than can be read, and how many more there are."""
    if len(sentences) <= LISTED:
        return sentences
    return [*sentences[:LISTED], f"and {len(sentences) - LISTED} more {what}"]


def _edited(each: EditedOrder) -> str:
    edit, order = each.edit, each.edit.order
    text = (
        f"{order.layout.channel} order {order.number} was edited: its lines come to "
        f"{edit.before + edit.owed} {order.currency} in {order.file} and came to "
        f"{edit.before}; the difference of {edit.owed} is booked"
    )
    return f"{text}, and {each.open} is in {each.account} now" if each.open else text


def _change(each: ChangedOrder) -> str:
    order = each.order
    name = f"{order.layout.channel} order {order.number}"
    if each.is_older:
        return (
            f"{name}: {order.file} has it as it was before it was edited; nothing was "
            "booked"
        )
    if each.products:
        return (
            f"{name}: {order.file} names {', '.join(each.products)}, and the ledger other "
            "products of the same pieces and amounts; it was not changed, correct it there "
            "if the file is right"
        )
    return (
        f"{name}: its lines come to {each.now} {order.currency} in {order.file} and to "
        f"{each.before} in the ledger, which was not changed; correct it there"
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
            if total.gross - total.fee - total.remitted != total.net:
                yield (
                    f"{file.file}: {total.kind} come to {total.gross} {total.currency} "
                    f"exactly and to {total.net} with each line rounded, as booked; the "
                    f"difference is {total.net - total.gross}"
                )


def _lines(orders: Iterable[Order]) -> int:
    return sum(len(order.lines) for order in orders)


def _totals(payments: Iterable[Payment], orders: Iterable[Order]) -> tuple[Total, ...]:
    return payment_totals(payments) + order_totals(orders)
