"""Make one transaction of the rows of a currency conversion.

A file has a row for each currency, one out, one in, and maybe one for what the exchange
cost. They are of one conversion where their reference is the same, or, without one, their
day and text; of several such pairs, or threes, the rows stand beside each other. Of two
rows that went out in one currency the fee is the one of a tenth of the other at most. What
does not fit together so is not guessed at: it goes to suspense.

Where the other rows come with a later import, its transaction moves what waits out of
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

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from typing import NamedTuple

from offcut.importers.conversion_sides import (
    NO_CONVERSIONS,
    OTHER_SIDE,
    KnownConversions,
    ParkedSide,
)
from offcut.importers.ledger_text import transaction_text
from offcut.importers.postings import (
    Booking,
    WritePosting,
    contra_postings,
    narration_of,
    payment_booking,
    source_id,
)
from offcut.importers.records import Payment

Side = Payment | ParkedSide

# What an exchange costs, of what is exchanged; common practice, no source.
FEE_AT_MOST = Decimal("0.1")


class _Conversion(NamedTuple):
    """The rows of one conversion; a fee alone where the ledger has the others."""

    out: Side | None
    into: Side | None
    fee: Side | None


def book_conversions(
    payments: Iterable[Payment],
    write: WritePosting,
    known: KnownConversions = NO_CONVERSIONS,
) -> list[Booking]:
    """Return the transactions of conversions.

    Args:
      payments: Rows of conversions that are new, of any files.
      write: Writes a posting.
      known: What the ledger has of conversions.
    """
    bookings = []
    for group, found in _grouped(payments, known):
        for each in found:
            bookings += _bookings(each, write)
        if not found:
            bookings += [
                payment_booking(each, contra_postings(each, write), write) for each in group
            ]
    return bookings


def lone_sides(
    payments: Iterable[Payment], known: KnownConversions = NO_CONVERSIONS
) -> list[Payment]:
    """Return the rows of conversions that do not make one.

    Args:
      payments: Rows of conversions that are new.
      known: What the ledger had of conversions.
    """
    return [row for group, found in _grouped(payments, known) if not found for row in group]


def _grouped(
    payments: Iterable[Payment], known: KnownConversions
) -> Iterator[tuple[list[Payment], list[_Conversion]]]:
    """Yield the rows that belong together, and the conversions that all of them make."""
    groups: dict[tuple[object, ...], list[Payment]] = defaultdict(list)
    for payment in payments:
        same: tuple[object, ...] = (payment.date, payment.text)
        if payment.reference:
            same = (payment.reference,)
        groups[payment.layout, *same].append(payment)
    for group in groups.values():
        if any(each.account for each in group):
            yield group, []  # the user has said what it is
        else:
            yield group, _conversions(group, known)


def _conversions(group: Sequence[Payment], known: KnownConversions) -> list[_Conversion]:
    """Return the conversions that rows make; [] where not all of them make one."""
    first = group[0]
    source = first.layout.source
    waiting = [each for each in known.parked if _belongs(each, first)]
    if waiting and (whole := _conversion_of([*group, *waiting])):
        return [whole]
    for size in (2, 3):
        parts = [group[at : at + size] for at in range(0, len(group), size)]
        found = [each for each in map(_conversion_of, parts) if each]
        if len(found) == len(parts) and all(len(part) == size for part in parts):
            return found
    if len(group) > 1:
        return []
    met = [pair for each in waiting if (pair := _conversion_of([first, each]))]
    if len(met) == 1:
        return met
    legs = known.complete.get((source, first.reference), {})
    leg = legs.get(first.currency, Decimal(0)) if first.reference else Decimal(0)
    return [_Conversion(None, None, first)] if _is_fee(_brought(first), leg) else []


def _belongs(side: ParkedSide, payment: Payment) -> bool:
    """Return whether a side that waits may be of the conversion of a row."""
    if not side.id.startswith(f"{payment.layout.source}/"):
        return False
    if payment.reference or side.reference:
        return side.reference == payment.reference
    return (side.date, side.text) == (payment.date, narration_of(payment))


def _conversion_of(sides: Sequence[Side]) -> _Conversion | None:
    """Return what two or three rows make; None where they are no conversion."""
    ins = [each for each in sides if _brought(each) > 0]
    outs = sorted([each for each in sides if _brought(each) < 0], key=_brought)
    if len(sides) not in (2, 3) or len(ins) != 1 or len(outs) != len(sides) - 1:
        return None
    (into,) = ins
    others = [each for each in outs if each.currency != into.currency]
    if not others:
        return None
    out = others[0]  # of two of one currency, what most went out by
    fees = [each for each in outs if each is not out]
    for fee in fees:
        legs = {out.currency: -_brought(out), into.currency: _brought(into)}
        if not _is_fee(_brought(fee), legs.get(fee.currency, Decimal(0))):
            return None
    return _Conversion(out, into, fees[0] if fees else None)


def _is_fee(brought: Decimal, leg: Decimal) -> bool:
    """Return whether what went out is little enough to be a fee of what was exchanged."""
    return brought < 0 and -brought <= FEE_AT_MOST * leg


def _brought(side: Side) -> Decimal:
    return side.amount if isinstance(side, ParkedSide) else side.gross - side.tip


def _bookings(conversion: _Conversion, write: WritePosting) -> list[Booking]:
    """Return the transactions of a conversion, of the rows that are new."""
    out, into, fee = conversion
    bookings = []
    taken = []
    if isinstance(fee, ParkedSide):  # it is taken out by a row that is new
        accounts = next(e.layout.accounts for e in (out, into) if isinstance(e, Payment))
        taken = [
            _take(fee, write),
            write(accounts.fees, -fee.amount, fee.currency, ()),
        ]
    elif fee:
        cost = [write(fee.layout.accounts.fees, -_brought(fee), fee.currency, ())]
        if isinstance(out, ParkedSide) and isinstance(into, ParkedSide):
            cost += [_take(out, write, into), _take(into, write)]
        bookings.append(payment_booking(fee, cost, write))
    if isinstance(out, Payment) and isinstance(into, Payment):
        bookings.append(_of_both(out, into, taken, write))
    elif isinstance(out, Payment) and into:
        bookings.append(payment_booking(out, [_take(into, write, out), *taken], write))
    elif isinstance(into, Payment) and out:
        bookings.append(payment_booking(into, [_take(out, write, into), *taken], write))
    return bookings


def _take(side: Side, write: WritePosting, price: Side | None = None) -> str:
    """Return the posting that takes a side out of suspense, maybe priced at another.

    A total price is exact, where a rate would be rounded.
    """
    assert isinstance(side, ParkedSide)
    priced = side.currency
    if price:
        priced += f" @@ {abs(_brought(price))} {price.currency}"
    return write(side.account, side.amount, priced, ((OTHER_SIDE, side.id),))


def _of_both(
    out: Payment, into: Payment, more: Iterable[str], write: WritePosting
) -> Booking:
    """Return the transaction of what went out, priced at what came in."""
    accounts = out.layout.accounts
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
        "".join([*postings, *more]),
        out.payee,
    )
    return Booking(day, out.layout.source, text)
