"""Write the transactions of one day of a fair."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable
from decimal import Decimal
from typing import NamedTuple

from offcut.importers.fair.accounts import FairAccounts
from offcut.importers.fair.tally import Tally
from offcut.importers.ledger_text import tagged, transaction_text
from offcut.importers.line_postings import Match, line_poster
from offcut.importers.postings import (
    Booking,
    Meta,
    WritePosting,
    payment_booking,
    source_id,
)
from offcut.importers.records import Payment
from offcut.importers.values import ZERO


class Fair(NamedTuple):
    """One day of a fair, by its papers.

    Attributes:
      event: Its name, as its tag has it.
      tally: What was sold.
      cash: What was taken in cash: what was counted, less what was there before.
      payments: What was taken by card.
      accounts: Where the money goes.
    """

    event: str
    tally: Tally
    cash: Decimal
    payments: tuple[Payment, ...]
    accounts: FairAccounts

    @property
    def clearing(self) -> str:
        """The account that the tally and the money meet in."""
        return self.tally.layout.accounts.clearing

    @property
    def tag(self) -> str:
        """The event's tag, without its mark."""
        return f"event-{self.event}"

    @property
    def card(self) -> Decimal:
        """What was taken by card for what was sold."""
        return sum([sold_for(payment) for payment in self.payments], ZERO)

    @property
    def tips(self) -> Decimal:
        """What was given by card beyond that."""
        return sum([payment.gross for payment in self.payments], ZERO) - self.card

    @property
    def over(self) -> Decimal:
        """How much more money there is than the tally says; negative where it is short."""
        return self.cash + self.card - self.tally.total

    def id(self, part: str = "") -> str:
        """Return the id of a part of the day, or of the day itself."""
        whole = f"{self.tally.layout.source}/{self.event}/{self.tally.day}"
        return f"{whole}/{part}" if part else whole


def sold_for(payment: Payment) -> Decimal:
    """Return what a payment at a fair pays of what was sold: all but its tip."""
    return ZERO if payment.movement == "tip" else payment.gross - payment.tip


def tally_booking(fair: Fair, match: Match, write: WritePosting) -> Booking:
    """Return the transaction of what was sold."""
    tally = fair.tally
    post = line_poster(match, tally.layout.accounts, tally.currency, write)
    postings = [write(fair.clearing, tally.total, tally.currency, ())]
    postings += [post(line).text for line in tally.lines]
    return _booking(fair, "tally", "tally", postings, lines_id=fair.id())


def money_booking(
    fair: Fair, part: str, account: str, amount: Decimal, write: WritePosting
) -> Booking:
    """Return the transaction of money that the tally's total is made of.

    Args:
      fair: The fair.
      part: What to call it: `cash`, or `cash over` or `short`.
      account: Where it is now.
      amount: How much it is.
      write: Writes a posting.
    """
    postings = [
        write(account, amount, fair.tally.currency, ()),
        write(fair.clearing, -amount, fair.tally.currency, ()),
    ]
    name = "over-short" if account == fair.accounts.over_short else "cash"
    return _booking(fair, name, part, postings)


def card_booking(fair: Fair, payment: Payment, write: WritePosting) -> Booking:
    """Return the transaction of a payment by card."""
    # A reader that takes payments for other channels too takes this one for the fair's.
    layout = dataclasses.replace(payment.layout, channel=fair.tally.layout.channel)
    ours = payment._replace(layout=layout, tip=ZERO)  # among what stands against it
    booking = payment_booking(ours, _contra(fair, payment, write), write)
    return booking._replace(text=tagged(booking.text, [fair.tag]))


def moving_booking(
    fair: Fair, payment: Payment, there: Iterable[tuple[str, Decimal]], write: WritePosting
) -> Booking:
    """Return the transaction that makes a payment, imported before, one of the fair.

    Args:
      fair: The fair.
      payment: The payment.
      there: The accounts and amounts that its import has put against the money.
      write: Writes a posting.
    """
    # What is taken back was the channel's that the import gave it to.
    was: Meta = (("channel", payment.layout.channel),)
    postings = [write(account, -number, payment.currency, was) for account, number in there]
    postings += _contra(fair, payment, write)
    return _booking(fair, source_id(payment), "card payment", postings)


def _contra(fair: Fair, payment: Payment, write: WritePosting) -> list[str]:
    """Return what stands against the money of a payment by card."""
    sold = sold_for(payment)
    parts = (
        (fair.tally.layout.accounts.tips, payment.gross - sold),
        (fair.clearing, sold),
    )
    return [write(account, -part, payment.currency, ()) for account, part in parts if part]


def _booking(
    fair: Fair, part: str, name: str, postings: Iterable[str], lines_id: str = ""
) -> Booking:
    layout, day = fair.tally.layout, fair.tally.day.isoformat()
    text = transaction_text(
        day,
        f"{fair.event}, {name}",
        "",
        (
            ("channel", layout.channel),
            ("source-id", fair.id(part)),
            ("lines-id", lines_id),
        ),
        "".join(postings),
    )
    return Booking(day, layout.source, tagged(text, [fair.tag]))
