"""Tell whether a file has the whole of an order that the ledger has, or a part of it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from decimal import Decimal

from offcut.importers.booked_lines import Stage
from offcut.importers.line_comparison import Changes, booked_parts, compare
from offcut.importers.line_postings import Match
from offcut.importers.records import Order
from offcut.importers.values import ZERO

OTHER_LINES = "none of the lines that the ledger has"
CANCELLED_ONLY = "cancelled lines of what it does not list"
ADDED_ONLY = "only lines that an edit has added"


def part_of_order(
    stages: Sequence[Stage], changes: Changes, order: Order, match: Match
) -> str:
    """Return what a file has of an order, where that is not the whole; else "".

    Args:
      stages: The stages of the order in the ledger, the last one being what it is now.
      changes: What the file has otherwise than that.
      order: The order as the file has it.
      match: Says what an item text means.
    """
    if not changes.shares:
        return OTHER_LINES
    there = _pieces((each.name, each.quantity) for each in stages[-1].lines)
    here = _pieces_of(order, match)
    if any(pieces < 0 < there.get(name, ZERO) for name, pieces in here.items()):
        return CANCELLED_ONLY
    for stage in stages[1:]:
        if stage.added and not stage.removed:
            only = compare(Stage(lines=stage.added), order, match, order.layout.accounts)
            if not (only.gone or only.added):
                return ADDED_ONLY
    return ""


def lacks_cancelled_lines(changes: Changes, order: Order, match: Match) -> bool:
    """Return whether a file has all that the ledger has but cancelled lines.

    The lines that these cancel are in the file: it is older than the cancellation.

    Args:
      changes: What the file has otherwise than the ledger.
      order: The order as the file has it.
      match: Says what an item text means.
    """
    if changes.added or not changes.gone:
        return False
    here = _pieces_of(order, match)
    return all(
        each.quantity is not None and each.quantity < 0 < here.get(each.name, ZERO)
        for each in changes.gone
    )


def only_cancels(changes: Changes, order: Order, match: Match) -> bool:
    """Return whether a file has what the ledger has, but for what it says is cancelled.

    It says that by a line of its own, or by a mark.

    Args:
      changes: What the file has otherwise than the ledger.
      order: The order as the file has it.
      match: Says what an item text means.
    """
    if not (changes.gone or changes.added):
        return False
    marked = set(order.cancelled)
    for text in order.cancelled:
        meaning = match(text)
        marked |= {meaning.product, *(part.product for part in meaning.parts)}
    gone = order.is_cancelled or all(each.name in marked for each in changes.gone)
    return gone and all(line.quantity < 0 for line in changes.added)


def _pieces_of(order: Order, match: Match) -> dict[str, Decimal]:
    """Return how many pieces of what a file has of an order, less cancelled ones."""
    return _pieces(
        (part.name, part.quantity)
        for line in order.lines
        for part in booked_parts(line, match, order.layout.accounts, order.currency)[0]
    )


def _pieces(parts: Iterable[tuple[str, Decimal | None]]) -> dict[str, Decimal]:
    sums: dict[str, Decimal] = defaultdict(Decimal)
    for name, quantity in parts:
        sums[name] += quantity or ZERO
    return dict(sums)
