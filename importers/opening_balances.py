"""Begin accounts with what was there before a file's first row.

Where the books have nothing of an account before a file's first day, what was there
before is booked as the opening balance, the day before. Rows of earlier days may still
come, with another file. They are part of that opening balance: what they move is taken
out of it, in the same file of the month, so that every later balance stays what it was.
The id of an opening balance says which row it stands before.
"""

from __future__ import annotations

import datetime
import re
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from decimal import Decimal
from operator import attrgetter, itemgetter
from typing import NamedTuple

from offcut.importers.known_ids import telling_ids
from offcut.importers.layout import Layout
from offcut.importers.ledger_text import balance_text, escaped, transaction_text
from offcut.importers.novelty import Sorted
from offcut.importers.postings import Booking, WritePosting
from offcut.importers.records import Payment, money_moved
from offcut.importers.running_balance import CurrencyBalance
from offcut.importers.values import ZERO, minor_unit

OPENING = "Equity:Opening-Balances"
DAY = datetime.timedelta(days=1)

_OPENING_ID = re.compile(r"([a-z][a-z0-9-]*)/opening-(\d{4}-\d\d-\d\d)-([A-Z]{3})/(.*)")


class Begun(NamedTuple):
    """Where the ledger begins an account: before a row.

    Attributes:
      first: The row's day.
      row: Its id, as the ledger's text has it.
    """

    first: datetime.date
    row: str


class Statement(NamedTuple):
    """What one file says of one currency of its account.

    Attributes:
      file: The file's name.
      layout: Its layout.
      balance: What it says.
      later: The ids of its rows but the first, as a ledger's text has them.
    """

    file: str
    layout: Layout
    balance: CurrencyBalance
    later: frozenset[str]

    @property
    def begun(self) -> Begun:
        """The opening balance that it says."""
        return Begun(self.balance.first, escaped(self.balance.row))

    def is_of_account(self, other: Statement) -> bool:
        """Return whether another file is of the same account and currency."""
        return (self.layout.source, self.balance.currency) == (
            other.layout.source,
            other.balance.currency,
        )


def statements(files: Iterable[Sorted]) -> list[Statement]:
    """Return what files say, those first that begin first."""
    said = []
    for file in files:
        for balance in file.read.balances.known:
            later = {escaped(each.id) for each in file.read.payments}
            later.discard(escaped(balance.row))
            said.append(
                Statement(file.read.file, file.read.layout, balance, frozenset(later))
            )
    # Of those that begin on one day, one may have the first row of another further down.
    inner = {(each.layout.source, row) for each in said for row in each.later}

    def when(each: Statement) -> tuple[object, ...]:
        starts_within = (each.layout.source, each.begun.row) in inner
        return each.balance.first, starts_within, each.balance.last, each.file

    return sorted(said, key=when)


class TakenOut(NamedTuple):
    """What rows of one month take out of an opening balance.

    Attributes:
      layout: The layout of their file.
      currency: Their currency.
      begun: The opening balance.
      last: Their latest day.
      moved: What they come to, an earlier opening balance among them.
      name: The id of it.
    """

    layout: Layout
    currency: str
    begun: Begun
    last: datetime.date
    moved: Decimal
    name: str


def begun_in(source_ids: Collection[str]) -> dict[tuple[str, str], list[Begun]]:
    """Return where the ledger begins accounts, by source and currency, sorted."""
    begun: dict[tuple[str, str], list[Begun]] = defaultdict(list)
    for name in telling_ids(source_ids):
        if "/opening-" in name and (match := _OPENING_ID.fullmatch(name)):
            source, first, currency, row = match.groups()
            with suppress(ValueError):  # a file's own id may look like one of these
                day = datetime.date.fromisoformat(first)
                begun[source, currency].append(Begun(day, row))
    return {key: sorted(each) for key, each in begun.items()}


def taken_out(
    files: Iterable[Sorted],
    opened: Iterable[Statement],
    begun: Mapping[tuple[str, str], Sequence[Begun]],
) -> Iterator[TakenOut]:
    """Yield what new rows take out of opening balances that the ledger has.

    Args:
      files: The files of an import.
      opened: What is booked as opening balances now.
      begun: The opening balances that the ledger has.
    """
    moved: dict[tuple[str, str, Begun, str], list[Payment]] = defaultdict(list)
    earlier: dict[tuple[str, str, Begun], Decimal] = defaultdict(Decimal)
    for said in opened:
        key = said.layout.source, said.balance.currency
        later = [each for each in begun.get(key, ()) if each.first >= said.balance.first]
        if later:
            earlier[*key, later[0]] += said.balance.opening
    for file in files:
        source = file.read.layout.source
        for currency in {each.currency for each in file.payments}:
            points = begun.get((source, currency))
            if points:
                for payment, point in _rows_before(file, currency, points):
                    month = payment.date.isoformat()[:7]
                    moved[source, currency, point, month].append(payment)
    for (source, currency, point, _), rows in sorted(moved.items(), key=itemgetter(0)):
        last = max(rows, key=attrgetter("date", "row"))
        opening = earlier.pop((source, currency, point), ZERO)
        amount = sum([money_moved(each) for each in rows], opening)
        name = f"{source}/before-{point.first}-{currency}/{last.id}"
        if amount:
            yield TakenOut(last.layout, currency, point, last.date, amount, name)


def _rows_before(
    file: Sorted, currency: str, points: Sequence[Begun]
) -> Iterator[tuple[Payment, Begun]]:
    """Yield the new rows of a file that were before an opening balance, with the first.

    On the day itself the rows before the one that it was begun with are; where a file
    begins earlier and has not that row, it ends before it.
    """
    said = [each for each in file.read.balances.known if each.currency == currency]
    places: dict[str, int] = {}
    if said:
        rows = file.read.payments[:: -1 if said[0].newest_first else 1]
        places = {escaped(payment.id): at for at, payment in enumerate(rows)}
    for payment in file.payments:
        if payment.currency != currency:
            continue
        for point in points:
            before = payment.date < point.first
            if payment.date == point.first and said:
                if point.row in places:
                    before = places[escaped(payment.id)] < places[point.row]
                else:
                    before = said[0].first < point.first
            if before:
                yield payment, point
                break


def opening_id(said: Statement) -> str:
    balance = said.balance
    return f"{said.layout.source}/opening-{balance.first}-{balance.currency}/{balance.row}"


def opening_booking(said: Statement, write: WritePosting) -> Booking:
    """Return the opening balance of an account; an assertion where it is nothing."""
    layout, (currency, first, opening) = said.layout, said.balance[:3]
    name = opening_id(said)
    if not opening:
        return assertion_booking(layout, first, opening, currency, name)
    return Booking(
        first.isoformat(),
        layout.source,
        _transaction(
            layout, first - DAY, "Opening balance", opening, currency, name, write
        ),
    )


def correction_booking(change: TakenOut, write: WritePosting) -> Booking:
    """Return the transaction that takes rows out of an opening balance."""
    text = _transaction(
        change.layout,
        change.begun.first - DAY,
        "Opening balance, less what is booked before it",
        -change.moved,
        change.currency,
        change.name,
        write,
    )
    # It stands in the file of the rows: one cannot be written without the other.
    return Booking(change.last.isoformat(), change.layout.source, text)


def _transaction(
    layout: Layout,
    day: datetime.date,
    narration: str,
    amount: Decimal,
    currency: str,
    name: str,
    write: WritePosting,
) -> str:
    postings = write(layout.accounts.clearing, amount, currency, ())
    postings += write(OPENING, -amount, currency, ())
    meta = (("source-id", name),)
    return transaction_text(day.isoformat(), narration, "", meta, postings)


def assertion_booking(
    layout: Layout,
    day: datetime.date,
    amount: Decimal,
    currency: str,
    name: str,
) -> Booking:
    """Return a balance assertion."""
    account, whole = layout.accounts.clearing, amount.quantize(minor_unit(currency))
    text = balance_text(day.isoformat(), account, whole, currency, name)
    return Booking(day.isoformat(), layout.source, text, transactions=0)
