"""Tell what each item of stock cost when it last came in."""

from __future__ import annotations

import datetime
import decimal
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any, NamedTuple

from beancount.core import data
from beancount.core.position import Cost

from offcut.importers.splitting import EXACT, ZERO
from offcut.plugins.catalogue import read_catalogue
from offcut.plugins.costing import trimmed
from offcut.plugins.shelf import GRAIN
from offcut.reports.flows import money_transactions

# As fine as the ledger's own costs of products.
GRAIN_OF_A_PIECE = Decimal(1).scaleb(-GRAIN["product"])


def fine(number: Decimal) -> Decimal:
    """Return a number that may have no end, as fine as a piece's cost.

    Args:
      number: The number.
    """
    return number.quantize(GRAIN_OF_A_PIECE, context=EXACT)


class LotCost(NamedTuple):
    """What one unit of an item cost in its newest lots.

    Attributes:
      unit_cost: Weighted by units, where lots of one day cost differently; as carried,
        so that of a lot written down it is the lower value.
      currency: Its currency.
      date: The date of the lots.
    """

    unit_cost: Decimal
    currency: str
    date: datetime.date


def newest_lot_costs(
    entries: Iterable[data.Directive],
    options_map: Mapping[str, Any],
    last: datetime.date | None = None,
) -> dict[str, LotCost]:
    """Return what each item cost in its newest lots.

    They are the newest of those on hand, wherever they are; of an item that is sold out,
    the newest that there was.

    Args:
      entries: The ledger's directives, after its plugins.
      options_map: The ledger's options.
      last: The last day to take; all where it is None.

    Returns:
      Costs by commodity; without items that had no lot yet.
    """
    entries = list(entries)
    catalogue = read_catalogue(entries)
    assets = options_map["name_assets"] + ":"
    lots: dict[str, dict[tuple[datetime.date, str, Decimal], Decimal]] = {}
    with decimal.localcontext(EXACT):
        for entry in money_transactions(entries):
            if last is not None and entry.date > last:
                continue
            for posting in entry.postings:
                units, cost = posting.units, posting.cost
                if not isinstance(cost, Cost) or units is None:
                    continue
                if units.currency not in catalogue or units.number is None:
                    continue
                if not posting.account.startswith(assets):
                    continue
                key = (cost.date, cost.currency, cost.number)
                # Kept in the order in which lots were last touched: a lot that a late
                # freight bill restated comes before the one that took its place.
                lots_of_item = lots.setdefault(units.currency, {})
                lots_of_item[key] = lots_of_item.pop(key, ZERO) + units.number
        return {item: _newest(lots_of_item) for item, lots_of_item in lots.items()}


def _newest(lots: Mapping[tuple[datetime.date, str, Decimal], Decimal]) -> LotCost:
    """Return the cost of the newest lots of an item."""
    on_hand = {key: units for key, units in lots.items() if units > ZERO}
    if not on_hand:
        newest = max(date for date, _, _ in lots)
        date, currency, number = [key for key in lots if key[0] == newest][-1]
        return LotCost(number, currency, date)
    date, currency, _ = max(on_hand)
    chosen = [
        (units, key[2]) for key, units in on_hand.items() if key[:2] == (date, currency)
    ]
    value = sum((units * number for units, number in chosen), ZERO)
    unit_cost = value / sum((units for units, _ in chosen), ZERO)
    return LotCost(trimmed(unit_cost.quantize(GRAIN_OF_A_PIECE)), currency, date)
