"""Make one transaction of the two sides of a currency conversion.

A file has a row for each currency: one out, one in. They are of one conversion where
their reference is the same, or, without one, their day and text; of several such pairs,
the rows stand beside each other. What does not pair off so is not guessed at: it goes to
suspense.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator

from offcut.importers.ledger_text import transaction_text
from offcut.importers.postings import (
    Booking,
    WritePosting,
    contra_postings,
    payment_booking,
    source_id,
)
from offcut.importers.records import Payment


def book_conversions(payments: Iterable[Payment], write: WritePosting) -> list[Booking]:
    """Return the transactions of conversions.

    Args:
      payments: Rows of conversions that are new, of any files.
      write: Writes a posting.
    """
    bookings = []
    for group, sides in _grouped(payments):
        if sides:
            bookings += [_conversion(out, into, write) for out, into in sides]
        else:
            bookings += [
                payment_booking(each, contra_postings(each, write), write) for each in group
            ]
    return bookings


def lone_sides(payments: Iterable[Payment]) -> list[Payment]:
    """Return the rows of conversions that are no two sides of one."""
    return [each for group, sides in _grouped(payments) if not sides for each in group]


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
