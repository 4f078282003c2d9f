"""Book one day of a fair: the tally of what was sold, the cash, and the card payments.

    2026-06-14 * "harbour-fair-2026, tally" #event-harbour-fair-2026
      channel: "Fair"
      source-id: "fair/harbour-fair-2026/2026-06-14/tally"
      lines-id: "fair/harbour-fair-2026/2026-06-14"
      Assets:Clearing:Fair                               260.00 USD
      Income:Sales:Fair                                 -260.00 USD
        item: "HERON-STK"
        quantity: 65

Cash and cards are booked out of the clearing account, and so is what the money differs
by from the tally: the account ends at zero. A payment that `offcut import` has booked
before is moved there from where the import put it.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator, Sequence
from contextlib import nullcontext
from pathlib import Path
from typing import NamedTuple

from offcut.importers.fair.bookings import (
    Fair,
    card_booking,
    money_booking,
    moving_booking,
    tally_booking,
)
from offcut.importers.fair.papers import FairPapers, read_fair
from offcut.importers.fair.state import Settled, differences, fair_state, settled_payments
from offcut.importers.fair.tally import Tally
from offcut.importers.import_report import UnknownItem
from offcut.importers.items import UNKNOWN, item_matcher
from offcut.importers.known import Known, list_prices, scan_ledger
from offcut.importers.line_postings import Match
from offcut.importers.month_files import additions
from offcut.importers.postings import Booking, posting_writer, source_id
from offcut.importers.problems import ImportRefused, Problem
from offcut.importers.settings import load_settings
from offcut.importers.writing import Written, add_texts, line_end_of, locked

_TAG = re.compile(rb"#event-([A-Za-z0-9_/.-]+)")


class FairReport(NamedTuple):
    """What was booked of a day of a fair.

    Attributes:
      fair: The day.
      already_there: Whether the ledger had all of it.
      written: The files that were written, or would be.
      unknown_items: Item texts that went to suspense.
      notes: What to look at, a sentence each.
      dry_run: Whether nothing was written because that was asked for.
    """

    fair: Fair
    already_there: bool
    written: tuple[Written, ...]
    unknown_items: tuple[UnknownItem, ...]
    notes: tuple[str, ...]
    dry_run: bool


def book_fair(
    papers: FairPapers,
    ledger: Path,
    layout_names: Sequence[str] = (),
    dry_run: bool = False,
) -> FairReport:
    """Book a day of a fair; to book it again with the same figures changes nothing.

    Args:
      papers: What there is of it.
      ledger: The path of the main ledger file.
      layout_names: Layouts to read the files by; those that fit where none is given.
      dry_run: Whether to find out and report only.

    Raises:
      ImportRefused: Something has to be put right first; nothing was written.
    """
    settings = load_settings(ledger)
    with nullcontext() if dry_run else locked(ledger):
        known = scan_ledger(ledger)
        fair, notes = read_fair(papers, known, settings, layout_names)
        match = item_matcher(settings.items, known.commodities, list_prices(known))
        settled = settled_payments(known, fair)
        ours = [each for each in fair.payments if each not in settled.elsewhere]
        fair = fair._replace(payments=tuple(ours))
        there = fair_state(known, fair, match)
        differing = "; ".join(differences(fair, there, match)) if there else ""
        if differing:
            message = (
                f"the ledger has this day with other figures: {differing}; correct the "
                "ledger by hand, as nothing in it is booked over"
            )
            what = f"{fair.event} {fair.tally.day}"
            raise ImportRefused([Problem(what, None, None, message)])
        accounts: set[str] = set()
        bookings = list(_bookings(fair, there is None, settled, match, accounts))
        main = ledger.resolve()
        adding = additions(bookings, accounts, main, known)
        if adding and not dry_run:
            texts = {path: addition.text for path, addition in adding.items()}
            add_texts(texts, line_end_of(known.files[main]))
    return FairReport(
        fair,
        not adding,
        tuple(Written(path, each.transactions) for path, each in adding.items()),
        _unknown(fair.tally, match),
        (*notes, *_ledger_notes(fair, known, settled)),
        dry_run,
    )


def _bookings(
    fair: Fair, is_new: bool, settled: Settled, match: Match, accounts: set[str]
) -> Iterator[Booking]:
    """Yield what is to be written."""
    write = posting_writer(accounts)
    if is_new:
        yield tally_booking(fair, match, write)
        if fair.cash:
            yield money_booking(fair, "cash", fair.accounts.cash, fair.cash, write)
        if fair.over:
            part = "cash over" if fair.over > 0 else "cash short"
            yield money_booking(fair, part, fair.accounts.over_short, -fair.over, write)
    there = {source_id(each) for each in (*settled.done, *settled.elsewhere)}
    moved = {source_id(each): contra for each, contra in settled.to_move}
    for payment in fair.payments:
        name = source_id(payment)
        if name in moved:
            yield moving_booking(fair, payment, moved[name], write)
        elif name not in there:
            yield card_booking(fair, payment, write)


def _ledger_notes(fair: Fair, known: Known, settled: Settled) -> Iterator[str]:
    """Yield what to look at in the ledger."""
    if settled.to_move:
        yield (
            f"card payments that were imported before: {len(settled.to_move)}; they are "
            f"moved to the fair, their fees stay without the tag #{fair.tag}"
        )
    for payment in settled.elsewhere:
        yield (
            f"the card payment {source_id(payment)} is booked as something else in the "
            "ledger, and is not counted"
        )
    events = {
        each.decode()
        for contents in known.files.values()
        for each in _TAG.findall(contents)
    }
    if fair.event not in events:
        near = difflib.get_close_matches(fair.event, events, n=1)
        hint = f" (did you mean {near[0]}?)" if near else ""
        yield f"nothing else in the ledger has the tag #{fair.tag}{hint}"


def _unknown(tally: Tally, match: Match) -> tuple[UnknownItem, ...]:
    unknown = [line for line in tally.lines if match(line.item) == UNKNOWN]
    return tuple(
        UnknownItem(line.item, 1, line.amount, tally.currency)
        for line in sorted(unknown, key=lambda line: (-line.amount, line.item))
    )
