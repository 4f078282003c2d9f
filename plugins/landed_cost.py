"""Make freight, duty and set-up a part of the cost of the lots that they were paid for.

    2025-05-02 * "Manufacturer" "Die-cut stickers" ^purchase-7
      Assets:Stock:HERON-STK    200 HERON-STK {0.30 USD}
      Assets:Stock:MOTH-STK     100 MOTH-STK {0.40 USD}
      Expenses:Freight        24.00 USD
        spread: "value"
      Assets:Bank:Checking

spreads the freight over the lots of its own transaction, by their value or by their
`"quantity"`; the expense is credited and the lots restated at their landed cost. A bill
that comes later names the goods by a link of their purchase: what is still on hand is
restated, and the share of what has left is an expense with the cost of goods.

Cost of purchase: price, duties, transport and handling, less discounts (IAS 2, 11; US
Treas. Reg. 1.471-3(b)).
"""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from decimal import Decimal
from typing import NamedTuple

from beancount.core import data
from beancount.core.data import Posting

from offcut.plugins.costing import apportion, spread_evenly, value_of
from offcut.plugins.shelf import GRAIN, Shelf, StockLayers, added_posting, postings_of
from offcut.plugins.stock_events import Event
from offcut.plugins.stockroom import Bought, Stockroom

ZERO = Decimal(0)
RULES = ("value", "quantity")

# A material's cost has eight places; a share of freight with more would be cut again.
SHARE_GRAIN = GRAIN["material"]


class Spread(NamedTuple):
    """Shares of costs that belong to lots.

    Attributes:
      shares: A share for each lot.
      credits: The postings that take the costs off the accounts that they were put on.
    """

    shares: list[Decimal]
    credits: list[Posting]


def spread_postings(entry: data.Transaction) -> list[Posting]:
    """Return the postings of a transaction that are to be spread."""
    return [posting for posting in entry.postings if "spread" in (posting.meta or ())]


def spread_over(
    room: Stockroom, entry: data.Transaction, bought: Sequence[tuple[Shelf, StockLayers]]
) -> Spread:
    """Share a transaction's spread postings out over lots.

    Args:
      room: The shelves; takes the errors.
      entry: The transaction with the postings.
      bought: The lots, each with its shelf.
    """
    shares = [ZERO] * len(bought)
    credits = []
    currencies = {layers[0][1].cost.currency for _, layers in bought}
    for posting in spread_postings(entry):
        meta = posting.meta or {}
        rule = meta["spread"]
        problem = None
        if rule not in RULES:
            problem = f'spread must be "value" or "quantity", not {rule!r}'
        elif not posting.units or posting.cost or {posting.units.currency} != currencies:
            problem = (
                f"{posting.units} cannot be spread over lots that cost "
                f"{' and '.join(sorted(currencies))}; write it in their currency"
            )
        if problem or not posting.units:
            room.error(str(problem), entry, meta)
            continue
        amount = posting.units.number or ZERO
        weights = [
            value_of(layers) if rule == "value" else sum((u for u, _ in layers), ZERO)
            for _, layers in bought
        ]
        if not any(weights):  # all of it was free
            weights = [sum((u for u, _ in layers), ZERO) for _, layers in bought]
        parts = apportion(amount, weights, SHARE_GRAIN)
        spread = [share + part for share, part in zip(shares, parts, strict=True)]
        if any(
            value_of(layers) + share < ZERO
            for (_, layers), share in zip(bought, spread, strict=True)
        ):
            room.error(f"A discount of {-amount} is more than the goods cost", entry, meta)
            continue
        shares = spread
        credits.append(added_posting(posting.account, -amount, posting.units.currency))
    return Spread(shares, credits)


def landed(shelf: Shelf, layers: StockLayers, share: Decimal) -> StockLayers:
    """Return a lot's layers with a share of other costs in their unit cost."""
    units = sum((units for units, _ in layers), ZERO)
    lot = layers[0][1]
    return [
        (some, lot._replace(unit_cost=each, cost=lot.cost._replace(number=each)))
        for some, each in spread_evenly(value_of(layers) + share, units, shelf.grain)
    ]


def bill_later(room: Stockroom, event: Event) -> None:
    """Spread a bill over goods that came before it."""
    entry = event.entry
    bought = [lot for link in sorted(entry.links) for lot in room.bought.get(link, ())]
    if not bought:
        room.error(
            "There are no lots to spread this over; buy them in the same transaction, or "
            "give this one and their purchase the same link, such as ^purchase-7",
            entry,
            spread_postings(entry)[0].meta,
        )
        return
    spread = spread_over(room, entry, [(lot.shelf, lot.layers) for lot in bought])
    postings = list(spread.credits)
    for lot, share in zip(bought, spread.shares, strict=True):
        if share:
            postings += _correct(room, lot, share, event.date)
    room.add(event.position, postings)


def _correct(
    room: Stockroom, lot: Bought, share: Decimal, date: datetime.date
) -> list[Posting]:
    """Add a share to what is left of a lot; expense the part of what has left."""
    received = sum((units for units, _ in lot.layers), ZERO)
    unallotted, uncounted = share, received
    postings: list[Posting] = []
    for shelf in room.all_shelves(lot.shelf.name):
        # An average has forgotten its lots: what left came from all of them alike.
        here = [
            layer for layer in shelf.layers if shelf.averages or layer[1].cost in lot.costs
        ]
        on_hand = min(sum((units for units, _ in here), ZERO), uncounted)
        if not on_hand:
            continue
        kept, unallotted = apportion(
            unallotted, [on_hand, uncounted - on_hand], SHARE_GRAIN
        )
        # A discount on what was written down since may be more than it is carried at.
        excess = min(value_of(here) + kept, ZERO)
        kept -= excess
        unallotted += excess
        uncounted -= on_hand
        restated = landed(shelf, here, kept)
        _swap(shelf, here, restated)
        lot.costs.update(each.cost for _, each in restated)
        postings += postings_of(shelf, here, -1) + postings_of(shelf, restated, 1)
    if unallotted:
        expense = room.own(lot.shelf.cost_account, date)
        currency = lot.layers[0][1].cost.currency
        postings.append(added_posting(expense, unallotted, currency, lot.shelf.name))
    return postings


def _swap(shelf: Shelf, old: StockLayers, new: StockLayers) -> None:
    """Put layers into the place of others in a shelf's queue."""
    layers = list(shelf.layers)
    at = next(i for i, layer in enumerate(layers) if layer is old[0])
    others = [layer for layer in layers if not any(layer is each for each in old)]
    shelf.layers.clear()
    shelf.layers.extend([*others[:at], *new, *others[at:]])
