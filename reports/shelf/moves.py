"""Read off a ledger's postings what came to each shelf and what left it, and why.

The stock plugin writes the lots that leave and then the account that bears them, so that
an expense takes all stock postings of its item since the last one; what no expense takes
went into a run, came out of one, or moved between shelves.
"""

from __future__ import annotations

import datetime
import decimal
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from functools import cache
from typing import Any, Literal, NamedTuple

from beancount.core import data
from beancount.core.position import Cost

from offcut.importers.splitting import EXACT, ZERO
from offcut.plugins.catalogue import Item
from offcut.plugins.collector import collector_paused
from offcut.plugins.shelf import SOURCE
from offcut.reports.flows import money_transactions

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
      lots: The postings that it is the sum of: the cost of each, and its units.
      bearer: The account that bore what left; empty where none did.
    """

    date: datetime.date
    item: str
    account: str
    currency: str
    why: Why
    units: Decimal
    value: Decimal
    lots: Sequence[tuple[Cost, Decimal]] = ()
    bearer: str = ""


class Moves(NamedTuple):
    """What a transaction moved.

    Attributes:
      entry: The transaction.
      moves: Its moves, in the order of its postings.
    """

    entry: data.Transaction
    moves: tuple[Move, ...]


def stock_moves(
    entries: Iterable[data.Directive], catalogue: Mapping[str, Item], assets: str
) -> list[Moves]:
    """Return what moved, by date.

    Args:
      entries: The ledger's directives, after its plugins.
      catalogue: The items of stock.
      assets: What the names of asset accounts begin with: `Assets:`.
    """
    found = []
    with decimal.localcontext(EXACT), collector_paused():
        for entry in money_transactions(entries):
            moved = tuple(moves(entry, catalogue, assets))
            if moved:
                found.append(Moves(entry, moved))
    found.sort(key=lambda each: each.entry.date)
    return found


# What the plugin added and no expense has borne yet: units, value, lots.
_Unborne = tuple[Decimal, Decimal, list[tuple[Cost, Decimal]]]


def stocked(
    posting: data.Posting, catalogue: Mapping[str, Item], assets: str
) -> Stocked | None:
    """Return a posting as one that moves stock; None where it moves none.

    Args:
      posting: A booked posting.
      catalogue: The items of stock.
      assets: What the names of asset accounts begin with: `Assets:`.
    """
    stated: Any = posting  # `_is_stock` tells what of it is booked.
    account, units, cost, *_ = stated
    if not _is_stock(account, units, cost, catalogue, assets):
        return None
    return Stocked(units.currency, account, units.number, cost, posting)


def _is_stock(
    account: str, units: Any, cost: Any, catalogue: Mapping[str, Item], assets: str
) -> bool:
    """Tell whether a posting moves stock."""
    return (
        # An error of the ledger may have left a cost that was never booked, or no number.
        isinstance(cost, Cost)
        and units is not None
        and units.currency in catalogue
        and account.startswith(assets)
        and isinstance(units.number, Decimal)
        and bool(units.number)
    )


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
    unborne: dict[tuple[str, str, str], _Unborne] = {}
    postings: Sequence[Any] = entry.postings  # `_is_stock` tells what of them is booked.
    for account, units, cost, _, _, meta in postings:
        added = bool(meta) and meta.get("filename") == SOURCE
        if cost is None and not added:
            continue  # As most postings of a ledger are.
        if cost is not None and _is_stock(account, units, cost, catalogue, assets):
            item, currency = units.currency, cost.currency
            value, lot = units.number * cost.number, (cost, units.number)
            key = (item, account, currency)
            if not added:
                yield Move(date, *key, "bought", units.number, value, (lot,))
            elif key in unborne:
                some, worth, lots = unborne[key]
                unborne[key] = (some + units.number, worth + value, [*lots, lot])
            else:
                unborne[key] = (units.number, value, [lot])
        elif added and directive != RUN:
            item, amount = meta.get("item", ""), units
            # An amount of nothing counts too: what cost nothing leaves all the same.
            if item in catalogue and amount is not None and amount.number is not None:
                # A count of stamps too, whose cost is postage.
                why = "corrected" if directive == COUNT else why_borne(account)
                left = amount.number
                for key in [key for key in unborne if key[0] == item]:
                    some, worth, lots = unborne.pop(key)
                    # Without units it is a lot restated, which nothing bears.
                    why_moved: Why = why if some else "restated"
                    _, shelf, currency = key
                    yield Move(
                        date, item, shelf, currency, why_moved, some, worth, lots, account
                    )
                    if some:
                        left += worth
                if left:
                    yield Move(
                        *(date, item, "", amount.currency, why, ZERO, -left, (), account)
                    )
    for key, (some, worth, lots) in unborne.items():
        yield Move(date, *key, _why_unborne(directive, some), some, worth, lots)


@cache
def why_borne(account: str) -> Why:
    """Return why units moved that an account bears.

    Args:
      account: The account of an expense.
    """
    return BORNE_BY.get(account.split(":", 2)[1], "given")


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
