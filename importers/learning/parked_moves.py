"""Book what parked order lines mean, once a rule knows their texts.

What is in the ledger stays as it is; a transaction of the same day, links and tags moves
each line out of the suspense account:

    2025-03-03 * "Web order W1042" ^order-W1042
      channel: "Web"
      parked-id: "shop-orders/W1042/1"
      Income:Suspense:Web                                  4.00 USD
        item-text: "Owl sticker"
        quantity: 1
      Income:Sales:Web                                    -4.00 USD
        item: "OWL-STK"
        quantity: 1

The line's discount was booked with the text that it is of, and goes with it.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import NamedTuple

from offcut.importers.booked_lines import GONE
from offcut.importers.books import Books
from offcut.importers.items import UNKNOWN
from offcut.importers.known import Known
from offcut.importers.layout import Layout
from offcut.importers.learning.parked_line import ParkedLine
from offcut.importers.learning.parked_lines import parked_lines, source_of
from offcut.importers.ledger_text import tagged, transaction_text
from offcut.importers.line_postings import Match, line_poster
from offcut.importers.order_postings import DISCOUNT_OF
from offcut.importers.order_states import order_transactions
from offcut.importers.postings import Booking, posting_writer
from offcut.importers.values import one_line

_PACKING = re.compile(r"\n[ \t]+packing:")


class MovedLines(NamedTuple):
    """What there is to write for lines that are parked no more.

    Attributes:
      bookings: A transaction for each.
      accounts: The accounts that these post to.
      strange: How many have a meaning, but no layout that says where to book it, by
        source.
    """

    bookings: list[Booking]
    accounts: set[str]
    strange: Mapping[str, int]


def move_known(
    known: Known, layouts: Iterable[Layout], match: Match, packing: Mapping[str, str]
) -> MovedLines:
    """Return what to write for parked lines whose text means something now.

    Args:
      known: The ledger.
      layouts: The layouts that there are, those to be preferred first.
      match: Says what an item text means.
      packing: The packing list of each channel's orders.
    """
    parked = parked_lines(known, layouts, lambda text: match(text) != UNKNOWN)
    bookings: list[Booking] = []
    accounts: set[str] = set()
    strange: Counter[str] = Counter()
    write = posting_writer(accounts)
    packed = _packed_orders(known, parked) if parked else set()
    for each in parked:
        layout = each.layout
        if layout is None:
            strange[source_of(each.lines_id)] += 1
            continue
        posted = line_poster(match, layout.accounts, each.currency, write)(each.line)
        if posted.text.startswith(f"  {layout.accounts.suspense} "):
            continue  # such as cancelled pieces that cost something: nobody can say
        listed = ""
        # Its parcel is the order's; a fair has none, and what an edit adds has none of
        # its own.
        has_parcel = layout.kind == "order-lines" and "#" not in each.lines_id
        if posted.packed and has_parcel and packed.isdisjoint(_order_of(each)):
            listed = packing.get(layout.channel, "")
            packed |= _order_of(each)
        meta = (("item-text", each.line.item), ("quantity", each.line.quantity))
        postings = write(each.account, each.line.amount, each.currency, meta)
        if each.line.discount:
            of = ((DISCOUNT_OF, each.line.item),)
            postings += write(each.discounts, -each.line.discount, each.currency, of)
        postings += posted.text
        bookings.append(_booking(each, layout, listed, postings))
    return MovedLines(bookings, accounts, strange)


def with_edits(known: Known, books: Books) -> Known:
    """Return a ledger with what takes lines out of its orders now.

    A line that is out of its order and was parked stays so until both are moved.

    Args:
      known: The ledger.
      books: What there is to write.
    """
    if not books.edited:
        return known
    edits = "\n".join([each.text for each in books.bookings if GONE in each.text])
    return known._replace(files=known.files.also(Path("edits"), edits.encode()))


def strange_notes(strange: Mapping[str, int]) -> list[str]:
    """Return what to say of lines whose layout is not there, a sentence each."""
    return [
        f"{count} parked {'line' if count == 1 else 'lines'} of the source {source} could "
        "be booked by the rules, but no layout has this source; choose it by --layout"
        for source, count in strange.items()
    ]


def _packed_orders(known: Known, parked: Iterable[ParkedLine]) -> set[tuple[str, str]]:
    """Return the channels and links of orders that a packing list was used for."""
    orders = set().union(*map(_order_of, parked))
    texts = order_transactions(known, {link.removeprefix("order-") for _, link in orders})
    return {
        (channel, link)
        for channel, link in orders
        for text in texts.get(link.removeprefix("order-"), ())
        if _PACKING.search(text) and f'channel: "{channel}"' in text
    }


def _order_of(line: ParkedLine) -> set[tuple[str, str]]:
    """Return the channel and links of the order that a line is one of."""
    channel = line.layout.channel if line.layout else ""
    return {(channel, link) for link in line.entry.links if link.startswith("order-")}


def _booking(line: ParkedLine, layout: Layout, packing: str, postings: str) -> Booking:
    """Return the transaction that moves a line."""
    entry = line.entry
    place = entry.meta.get("place")
    day = entry.date.isoformat()
    text = transaction_text(
        day,
        # What the stock plugin sorts sales of a day by is as it is where they began.
        one_line(entry.narration or ""),
        " ".join(sorted(entry.links)),
        (
            ("channel", layout.channel),
            ("packing", packing),
            ("place", place if isinstance(place, str) else ""),
            ("parked-id", f"{line.lines_id}/{line.number}"),
        ),
        postings,
        payee=one_line(entry.payee or ""),
    )
    return Booking(day, layout.source, tagged(text, sorted(entry.tags)))
