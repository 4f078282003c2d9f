"""What tests ask of a costed ledger."""

from __future__ import annotations

from collections import defaultdict
from decimal import Decimal, localcontext

from beancount.core import convert, data

from tests.conftest import Loaded

Lots = list[tuple[Decimal, Decimal]]


def transactions(loaded: Loaded) -> list[data.Transaction]:
    """Return a ledger's transactions, in its order."""
    return [entry for entry in loaded.entries if isinstance(entry, data.Transaction)]


def complaints(loaded: Loaded) -> list[tuple[int, str]]:
    """Return line and message of each error."""
    return [(error.source["lineno"], error.message) for error in loaded.errors]


def costs(loaded: Loaded, under: str = "Expenses:COGS") -> dict[str, Decimal]:
    """Return what was booked under an account, by the narration that it was booked with."""
    found: dict[str, Decimal] = defaultdict(Decimal)
    for entry in transactions(loaded):
        for posting in entry.postings:
            if (posting.account + ":").startswith(under + ":"):
                found[entry.narration] += posting.units.number
    return dict(found)


def total(loaded: Loaded, under: str) -> Decimal:
    """Return the sum of what was booked under an account."""
    return sum(costs(loaded, under).values(), Decimal(0))


def on_hand(loaded: Loaded, item: str) -> Lots:
    """Return the units that are left of an item by unit cost, the oldest lot first."""
    lots: dict[tuple[object, ...], Decimal] = defaultdict(Decimal)
    for entry in transactions(loaded):
        for posting in entry.postings:
            if posting.units.currency == item and posting.cost:
                cost = posting.cost
                lots[cost.date, cost.number, posting.account] += posting.units.number
    return [(units, key[1]) for key, units in sorted(lots.items()) if units]  # type: ignore[misc]


def units_on_hand(loaded: Loaded, item: str) -> Decimal:
    """Return how many units of an item are left."""
    return sum((units for units, _ in on_hand(loaded, item)), Decimal(0))


def value_on_hand(loaded: Loaded, item: str) -> Decimal:
    """Return what the units that are left of an item cost."""
    return sum((units * cost for units, cost in on_hand(loaded, item)), Decimal(0))


def weights(loaded: Loaded) -> dict[str, Decimal]:
    """Return the sum of weights by account, to the last digit; one currency is assumed."""
    found: dict[str, Decimal] = defaultdict(Decimal)
    with localcontext(prec=80):
        for entry in transactions(loaded):
            for posting in entry.postings:
                found[posting.account] += convert.get_weight(posting).number
    return found
