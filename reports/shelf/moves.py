"""Read off a ledger's postings what came to each shelf and what left it, and why.

The stock plugin writes the lots that leave and then the account that bears them, so that
an expense takes all stock postings of its item since the last one; what no expense takes
went into a run, came out of one, or moved between shelves.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from typing import Any, Literal, NamedTuple

from beancount.core import data
from beancount.core.position import Cost

from offcut.importers.splitting import ZERO
from offcut.plugins.catalogue import Item
from offcut.plugins.shelf import SOURCE
from offcut.reports.flows import weight

Why = Literal["bought", "made", "sold", "used", "given", "moved", "corrected", "restated"]

# Why units moved, by the second part of the account that bears them; any other account
# is one that the user chose for what was taken out by hand.
BORNE_BY: Mapping[str, Why] = {
    "COGS": "sold",
    "Packaging": "used",
    "Postage": "used",
    "Shrinkage": "corrected",
    "Writedown": "restated",
}
RUN, COUNT = "print-run", "stock-count"
CONSIGNMENTS = ("consignment", "consignment-return")


class Stocked(NamedTuple):
    """A posting that moves stock.

    Attributes:
      item: The item.
      account: The stock account.
      units: How many; below zero where they leave.
      cost: Their lot's cost.
      posting: The posting.
    """

    item: str
    account: str
    units: Decimal
    cost: Cost
    posting: data.Posting


class Move(NamedTuple):
    """Units that came to a shelf, or left it.

    Attributes:
      date: The day.
      item: The item.
      account: The stock account; empty for a cost that no shelf bore, as of a bill for
        goods that have all left.
      currency: The currency of the cost.
      why: What moved them.
      units: How many; below zero where they left.
      value: What they cost, of the same sign.
    """

    date: datetime.date
    item: str
    account: str
    currency: str
    why: Why
    units: Decimal
    value: Decimal


def stocked(
    posting: data.Posting, catalogue: Mapping[str, Item], assets: str
) -> Stocked | None:
    """Return a posting as one that moves stock; None where it moves none.

    Args:
      posting: A booked posting.
      catalogue: The items of stock.
      assets: What the names of asset accounts begin with: `Assets:`.
    """
    units, cost, account = posting.units, posting.cost, posting.account
    # An error of the ledger may have left no number, or a cost that was never booked.
    if not isinstance(cost, Cost) or units is None or not isinstance(units.number, Decimal):
        return None
    if units.currency not in catalogue or not account.startswith(assets):
        return None
    if not units.number:
        return None
    return Stocked(units.currency, account, units.number, cost, posting)


def moves(
    entry: data.Transaction, catalogue: Mapping[str, Item], assets: str
) -> Iterator[Move]:
    """Yield what a transaction moved.

    Args:
      entry: A booked transaction.
      catalogue: The items of stock.
      assets: What the names of asset accounts begin with.
    """
    date, directive = entry.date, entry.meta.get("directive")
    unborne: dict[tuple[str, str, str], tuple[Decimal, Decimal]] = {}
    for posting in entry.postings:
        moved = stocked(posting, catalogue, assets)
        units = posting.units
        if moved is not None:
            weighed = weight(posting)
            value = weighed[0] if weighed else ZERO
            key = (moved.item, moved.account, moved.cost.currency)
            if is_added(posting):
                some, worth = unborne.get(key, (ZERO, ZERO))
                unborne[key] = (some + moved.units, worth + value)
            else:
                yield Move(date, *key, "bought", moved.units, value)
        elif directive != RUN and is_added(posting):
            item = (posting.meta or {}).get("item", "")
            # An amount of nothing counts too: what cost nothing leaves all the same.
            if item in catalogue and units is not None and units.number is not None:
                why = BORNE_BY.get(posting.account.split(":")[1], "given")
                if directive == COUNT:  # of stamps too, whose cost is postage
                    why = "corrected"
                left = units.number
                for key in [key for key in unborne if key[0] == item]:
                    some, worth = unborne.pop(key)
                    # Without units it is a lot restated, which nothing bears.
                    why_moved: Why = why if some else "restated"
                    yield Move(date, *key, why_moved, some, worth)
                    left += worth if some else ZERO
                if left:
                    yield Move(date, item, "", units.currency, why, ZERO, -left)
    for key, (some, worth) in unborne.items():
        yield Move(date, *key, _why_unborne(directive, some), some, worth)


def is_added(posting: data.Posting) -> bool:
    """Tell whether the stock plugin added a posting.

    Args:
      posting: A posting.
    """
    return (posting.meta or {}).get("filename") == SOURCE


def _why_unborne(directive: object, units: Decimal) -> Why:
    """Return what moved units that no expense bore."""
    if directive == RUN:
        return "made" if units > ZERO else "used"
    return "moved" if directive in CONSIGNMENTS else "restated"


def _is_consignment(entry: data.Transaction) -> bool:
    return entry.meta.get("directive") in CONSIGNMENTS


def places_by_account(
    entries: Iterable[data.Directive], catalogue: Mapping[str, Item], assets: str
) -> dict[str, str]:
    """Return where the goods of each account are that are consigned to a shop.

    Args:
      entries: The ledger's directives, after its plugins.
      catalogue: The items of stock.
      assets: What the names of asset accounts begin with.
    """
    named: dict[tuple[Any, Any], str] = {}
    moved: list[data.Transaction] = []
    for entry in entries:
        if isinstance(entry, data.Custom):
            if entry.type in CONSIGNMENTS and entry.values and len(entry.values) == 2:
                named[entry.meta["filename"], entry.meta["lineno"]] = entry.values[1].value
        elif isinstance(entry, data.Transaction) and _is_consignment(entry):
            moved.append(entry)
    places: dict[str, str] = {}
    for entry in moved:
        place = named[entry.meta["filename"], entry.meta["lineno"]]
        sent = entry.meta["directive"] == CONSIGNMENTS[0]
        for move in moves(entry, catalogue, assets):
            if move.units and (move.units > ZERO) == sent:
                # Names that differ in their marks alone share an account.
                places[move.account] = min(place, places.get(move.account, place))
    return places
