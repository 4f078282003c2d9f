"""Find out what a ledger has of a day of a fair, from its text."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from decimal import Decimal
from typing import NamedTuple

from beancount.core.amount import Amount

from offcut.importers.fair.bookings import Fair, sold_for
from offcut.importers.items import UNKNOWN
from offcut.importers.known import Known
from offcut.importers.learning.parked_line import parked_line
from offcut.importers.learning.parked_lines import parsed_transaction
from offcut.importers.ledger_text import escaped
from offcut.importers.line_postings import Match, line_postings
from offcut.importers.postings import source_id
from offcut.importers.records import OrderLine, Payment
from offcut.importers.transaction_texts import find_transactions, read_transaction
from offcut.importers.values import ZERO

Sold = Mapping[str, tuple[Decimal, Decimal]]
"""How many of each product, or of each text, and for how much."""


class FairState(NamedTuple):
    """The figures of a day that a ledger has.

    Attributes:
      tally: What was sold for, after reductions.
      cash: What was taken in cash.
      over: How much more money there was than that; negative where it was short.
      sold: What was sold.
    """

    tally: Decimal
    cash: Decimal
    over: Decimal
    sold: Sold

    @property
    def card(self) -> Decimal:
        """What was taken by card for what was sold."""
        return self.tally + self.over - self.cash


class Settled(NamedTuple):
    """Card payments of a fair that a ledger has.

    Attributes:
      done: Those that are booked as the fair's.
      to_move: Those that an import has booked, with the accounts and amounts that stand
        against the money.
      elsewhere: Those that somebody has booked as something else.
    """

    done: list[Payment]
    to_move: list[tuple[Payment, list[tuple[str, Decimal]]]]
    elsewhere: list[Payment]


def fair_state(known: Known, fair: Fair, match: Match) -> FairState | None:
    """Return the figures of a day that a ledger has; None where it has nothing of it.

    Args:
      known: The ledger.
      fair: The day.
      match: Says what an item text means.
    """
    parts = [fair.id(part) for part in ("tally", "cash", "over-short")]
    texts = _texts_by_id(
        known, [part for part in parts if escaped(part) in known.source_ids]
    )
    if not texts:
        return None
    figures = []
    for part in parts:
        read = read_transaction(texts[part]) if part in texts else None
        sums = read.sums([fair.clearing]) if read else {}
        figures.append(sums.get(fair.tally.currency, ZERO))
    tally, cash, short = figures
    return FairState(tally, -cash, short, _sold_there(texts.get(parts[0], ""), fair, match))


def differences(fair: Fair, there: FairState, match: Match) -> Iterator[str]:
    """Yield what a ledger has otherwise than the papers of a day say."""
    for name, before, now in (
        ("tally", there.tally, fair.tally.total),
        ("cash", there.cash, fair.cash),
        ("card", there.card, fair.card),
    ):
        if before != now:
            yield f"{name} {before}, not {now}"
    sold = _sold(_booked(fair.tally.lines, fair, match))
    for name in sorted(sold.keys() | there.sold.keys()):
        (before_pieces, before_amount), (pieces, amount) = (
            each.get(name, (ZERO, ZERO)) for each in (there.sold, sold)
        )
        if (before_pieces, before_amount) != (pieces, amount):
            yield (
                f"{before_pieces:f} {name} for {before_amount}, not {pieces:f} for {amount}"
            )


def settled_payments(known: Known, fair: Fair) -> Settled:
    """Return the card payments of a day that a ledger has already.

    Args:
      known: The ledger.
      fair: The day.
    """
    settled = Settled([], [], [])
    there = {
        source_id(payment): payment
        for payment in fair.payments
        if escaped(source_id(payment)) in known.source_ids
    }
    texts = _texts_by_id(known, there)
    for name, payment in there.items():
        read = read_transaction(texts[name]) if name in texts else None
        sold, currency = sold_for(payment), payment.currency
        accounts = payment.layout.accounts
        usual = (
            *(accounts.sales, accounts.refunds, accounts.suspense, accounts.tips),
            *(accounts.tax, accounts.shipping),
        )
        contra = [
            (each.account, each.number)
            for each in (read.postings if read else ())
            if each.account in usual and each.number and each.currency == currency
        ]
        # A tip pays nothing of what was sold; it is known by the account that has it.
        place = fair.clearing if sold else fair.tally.layout.accounts.tips
        expected = -sold if sold else -payment.gross
        if escaped(fair.id(name)) in known.source_ids or (
            read and read.sums([place]).get(currency, ZERO) == expected
        ):
            settled.done.append(payment)
        elif (
            read
            and "lines-id" not in read.meta
            and sum([number for _, number in contra], ZERO) == -payment.gross
        ):
            settled.to_move.append((payment, contra))
        else:
            settled.elsewhere.append(payment)
    return settled


def _texts_by_id(known: Known, ids: Collection[str]) -> dict[str, str]:
    """Return the texts of the transactions with some source-ids."""
    if not ids:
        return {}
    found = {}
    several = b"|".join(re.escape(escaped(each).encode()) for each in ids)
    what = re.compile(rb'[ \t]source-id:[ \t]*"(?:' + several + rb')"')
    for contents in known.files.with_ids(map(escaped, ids), len(ids)):
        for text in find_transactions(contents, what):
            if read := read_transaction(text):
                found[read.meta.get("source-id", "")] = text
    return found


def _booked(
    lines: Iterable[OrderLine], fair: Fair, match: Match
) -> Iterator[tuple[Mapping[str, object], Decimal]]:
    """Yield the metadata and the amount of each posting of lines."""
    tally = fair.tally
    for line in lines:
        for posting in line_postings(
            line, match(line.item), tally.layout.accounts, tally.currency
        ):
            yield dict(posting.meta), posting.amount


def _sold_there(text: str, fair: Fair, match: Match) -> Sold:
    """Return what a transaction of a tally sells, by what its texts mean now."""
    entry = parsed_transaction(text)
    postings: list[tuple[Mapping[str, object], Decimal]] = []
    for posting in entry.postings if entry else ():
        line = parked_line(posting)
        if line and match(line.item) != UNKNOWN:
            postings.extend(_booked([line], fair, match))
        elif isinstance(posting.units, Amount) and isinstance(
            posting.units.number, Decimal
        ):
            postings.append((posting.meta or {}, posting.units.number))
    return _sold(postings)


def _sold(postings: Iterable[tuple[Mapping[str, object], Decimal]]) -> Sold:
    sums: dict[str, list[Decimal]] = defaultdict(lambda: [ZERO, ZERO])
    for meta, amount in postings:
        for key in ("item", "item-text", "line-text"):
            if key in meta and "quantity" in meta:
                sums[str(meta[key])][0] += Decimal(str(meta["quantity"]))
                sums[str(meta[key])][1] -= amount
    return {name: (pieces, amount) for name, (pieces, amount) in sums.items()}
