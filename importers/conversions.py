"""Make one transaction of the two sides of a currency conversion.

A file has a row for each currency: one out, one in. They are of one conversion where
their reference is the same, or, without one, their day and text; of several such pairs,
the rows stand beside each other. What does not pair off so is not guessed at: it goes to
suspense.

Where the other side comes with a later import, its transaction moves what waits out of
suspense, priced at what it brings:

    2025-03-05 * "From euros"
      channel: "Web"
      movement: "conversion"
      source-id: "wallet/x2"
      reference: "c1"
      Assets:Clearing:Wallet   108.00 USD
      Income:Suspense:Web     -100.00 EUR @@ 108.00 USD
        other-side: "wallet/x1"
"""

from __future__ import annotations

import datetime
import re
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from decimal import Decimal
from typing import NamedTuple

from offcut.importers.ledger_text import transaction_text
from offcut.importers.postings import (
    ONE_SIDED,
    Booking,
    WritePosting,
    contra_postings,
    narration_of,
    payment_booking,
    source_id,
)
from offcut.importers.records import Payment
from offcut.importers.transaction_texts import find_transactions, read_transaction

OTHER_SIDE = "other-side"

_PARKED = re.compile(rb'"' + ONE_SIDED.encode() + rb'"|[ \t]other-side:')


class ParkedSide(NamedTuple):
    """A side of a conversion that waits in suspense, as the ledger's text has it.

    Attributes:
      id: The id of its row.
      date: Its day.
      text: What the file said of it.
      reference: What ties it to its other side; empty where nothing does.
      account: The account that it waits in.
      amount: What it brought; negative where it took.
      currency: The amount's currency.
    """

    id: str
    date: datetime.date
    text: str
    reference: str
    account: str
    amount: Decimal
    currency: str


def conversion_texts(contents: Iterable[bytes]) -> Iterator[str]:
    """Yield the texts of the transactions in which `parked_sides` looks.

    Args:
      contents: The bytes of a ledger's files.
    """
    for each in contents:
        yield from find_transactions(each, _PARKED)


def parked_sides(texts: Iterable[str]) -> list[ParkedSide]:
    """Return the sides that wait for their other one.

    Args:
      texts: The texts of transactions, those of conversions among them.
    """
    parked: list[ParkedSide] = []
    met: set[str] = set()
    for read in filter(None, map(read_transaction, texts)):
        name = read.meta.get("source-id", "")
        for account, number, currency, meta, _ in read.postings:
            if OTHER_SIDE in meta:
                met.add(meta[OTHER_SIDE])
            elif meta.get("note") == ONE_SIDED and number and name:
                reference = read.meta.get("reference", "")
                side = (read.date, read.narration, reference, account, -number, currency)
                parked.append(ParkedSide(name, *side))
    return [each for each in parked if each.id not in met]


def book_conversions(
    payments: Iterable[Payment], write: WritePosting, parked: Collection[ParkedSide] = ()
) -> list[Booking]:
    """Return the transactions of conversions.

    Args:
      payments: Rows of conversions that are new, of any files.
      write: Writes a posting.
      parked: The sides that wait in the ledger.
    """
    bookings = []
    for group, sides in _grouped(payments):
        if sides:
            bookings += [_conversion(out, into, write) for out, into in sides]
        elif other := _other_side(group, parked):
            meeting = _meeting(group[0], other, write)
            bookings.append(payment_booking(group[0], meeting, write))
        else:
            bookings += [
                payment_booking(each, contra_postings(each, write), write) for each in group
            ]
    return bookings


def lone_sides(
    payments: Iterable[Payment], parked: Collection[ParkedSide] = ()
) -> list[Payment]:
    """Return the rows of conversions that are no two sides of one.

    Args:
      payments: Rows of conversions that are new.
      parked: The sides that waited in the ledger.
    """
    return [
        each
        for group, sides in _grouped(payments)
        if not sides and not _other_side(group, parked)
        for each in group
    ]


def _other_side(
    group: Collection[Payment], parked: Iterable[ParkedSide]
) -> ParkedSide | None:
    """Return the one side in the ledger that a new one can only be the other of."""
    if len(group) != 1:
        return None
    (payment,) = group
    amount = _brought(payment)
    source = f"{payment.layout.source}/"
    found = [
        each
        for each in parked
        if each.id.startswith(source)
        and each.currency != payment.currency
        and (each.amount < 0 < amount or amount < 0 < each.amount)
        and (
            each.reference == payment.reference
            if payment.reference or each.reference
            else (each.date, each.text) == (payment.date, narration_of(payment))
        )
    ]
    return found[0] if len(found) == 1 and not payment.account else None


def _meeting(payment: Payment, other: ParkedSide, write: WritePosting) -> list[str]:
    """Return the postings that take a side out of suspense by its other one."""
    # A total price is exact, where a rate would be rounded.
    priced = f"{other.currency} @@ {abs(_brought(payment))} {payment.currency}"
    return [write(other.account, other.amount, priced, ((OTHER_SIDE, other.id),))]


def _brought(payment: Payment) -> Decimal:
    return payment.gross - payment.tip


def _grouped(
    payments: Iterable[Payment],
) -> Iterator[tuple[list[Payment], list[tuple[Payment, Payment]]]]:
    """Yield the rows that belong together, and their pairs: [] where they do not pair."""
    groups: dict[tuple[object, ...], list[Payment]] = defaultdict(list)
    for payment in payments:
        same: tuple[object, ...] = (payment.date, payment.text)
        if payment.reference:
            same = (payment.reference,)
        groups[payment.layout, *same].append(payment)
    for group in groups.values():
        pairs = [_sides(*pair) for pair in zip(group[::2], group[1::2], strict=False)]
        sides = [pair for pair in pairs if pair is not None]
        yield group, sides if len(group) == 2 * len(sides) else []


def _sides(one: Payment, other: Payment) -> tuple[Payment, Payment] | None:
    """Return what went out and what came in; None where they are no two sides."""
    out, into = sorted([one, other], key=lambda each: each.gross)
    if out.gross < 0 < into.gross and out.currency != into.currency:
        return (out, into) if not out.account and not into.account else None
    return None


def _conversion(out: Payment, into: Payment, write: WritePosting) -> Booking:
    """Return the transaction of a conversion: what went out, priced at what came in."""
    accounts = out.layout.accounts
    # A total price is exact, where a rate would be rounded.
    priced = f"{out.currency} @@ {into.gross} {into.currency}"
    other: tuple[tuple[str, str], ...] = (("source-id", source_id(into)),)
    postings = [
        write(accounts.clearing, out.gross, priced, ()),
        write(accounts.clearing, into.gross, into.currency, other),
    ]
    for side in (out, into):
        if side.fee:
            postings += [
                write(accounts.clearing, -side.fee, side.currency, ()),
                write(accounts.fees, side.fee, side.currency, ()),
            ]
    day = out.date.isoformat()
    text = transaction_text(
        day,
        out.text or into.text or "Conversion",
        "",
        (
            ("channel", out.layout.channel),
            ("movement", "conversion"),
            ("source-id", source_id(out)),
            ("reference", out.reference),
        ),
        "".join(postings),
        out.payee,
    )
    return Booking(day, out.layout.source, text)
