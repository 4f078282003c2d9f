"""Put what was bought on its shelf: plain lots in the ledger's own text."""

from __future__ import annotations

from collections import defaultdict
from decimal import Decimal, localcontext

from beancount.core import convert
from beancount.core.amount import Amount
from beancount.core.data import Posting

from offcut.plugins.costing import spread_evenly, trimmed
from offcut.plugins.landed_cost import landed, spread_over
from offcut.plugins.shelf import Shelf, StockLayers, StockLot, postings_of
from offcut.plugins.stock_events import Event, Receipt
from offcut.plugins.stockroom import Bought, Stockroom

ZERO = Decimal(0)

# A unit cost with more decimal places was divided by beancount from a total.
LONGEST_WRITTEN_COST = 16

# More than a division leaves over: beancount rounded the leg that it filled in.
DIVISION_DUST = Decimal("1E-12")


def receive(room: Stockroom, event: Event) -> None:
    """Put the lots of one transaction on their shelves."""
    bought: list[tuple[Shelf, StockLayers]] = []
    swaps: list[tuple[Posting, list[Posting]]] = []
    for receipt in event.detail:
        shelf = room.shelves[receipt.item]
        problem = _problem(receipt, shelf)
        if problem:
            room.error(problem, event.entry, receipt.posting.meta)
            continue
        layers = _layers(receipt, shelf)
        if layers[0][1].cost != receipt.cost:
            restated = [
                receipt.posting._replace(units=Amount(units, receipt.item), cost=lot.cost)
                for units, lot in layers
            ]
            swaps.append((receipt.posting, restated))
        bought.append((shelf, layers))
    spread = spread_over(room, event.entry, bought)
    additions = spread.credits
    for (shelf, layers), share in zip(bought, spread.shares, strict=True):
        arriving = landed(shelf, layers, share) if share else layers
        if share:
            additions += postings_of(shelf, layers, -1) + postings_of(shelf, arriving, 1)
        additions += room.receive(shelf, arriving, event.date)
        for link in event.entry.links & room.bought.keys():
            costs = {lot.cost for _, lot in arriving}
            room.bought[link].append(Bought(shelf, arriving, costs))
    if swaps:
        room.restated[event.position] = _restated(event.entry.postings, swaps)
    room.add(event.position, additions)


def _problem(receipt: Receipt, shelf: Shelf) -> str | None:
    """Return what is wrong with a posting to stock, in a sentence."""
    units = receipt.posting.units
    if receipt.units < ZERO:
        return (
            f"{units} are taken out of {receipt.posting.account} by hand, but stock is "
            "reduced by the plugin alone. Remove the posting: a sale says item and "
            'quantity, anything else is custom "stock-out"'
        )
    if receipt.cost is None:
        return (
            f"{units} have no cost; write {units} {{0.45 USD}} for each, or "
            f"{units} {{{{22.50 USD}}}} for all"
        )
    if shelf.currency and receipt.cost.currency != shelf.currency:
        return (
            f"{units} cost {receipt.cost.currency}, but earlier {shelf.name} cost "
            f"{shelf.currency}; write the cost in {shelf.currency}"
        )
    return None


def _layers(receipt: Receipt, shelf: Shelf) -> StockLayers:
    """Return the layers of a lot: one, unless beancount divided its cost from a total.

    10.00 for 3 becomes 3.33… to 28 digits, which times 3 is not 10.00 any more.
    """
    cost, account = receipt.cost, receipt.posting.account
    assert cost is not None
    if -int(cost.number.as_tuple().exponent) <= LONGEST_WRITTEN_COST:
        return [(receipt.units, StockLot(cost.number, account, cost))]
    total = trimmed((receipt.units * cost.number).quantize(Decimal("1E-12")))
    return [
        (units, StockLot(each, account, cost._replace(number=each)))
        for units, each in spread_evenly(total, receipt.units, shelf.grain)
    ]


def _restated(
    postings: list[Posting], swaps: list[tuple[Posting, list[Posting]]]
) -> list[Posting]:
    """Return postings with some of them restated, in balance to the last digit.

    A leg that beancount filled in took up 9.99…9 where the lot is 10.00 again; a leg
    that the user typed, or that beancount rounded to the cent, is not touched: its cents
    are the balance's tolerance.
    """
    restated: list[Posting] = []
    for posting in postings:
        restated += next((new for old, new in swaps if old is posting), [posting])
    with localcontext(prec=60):
        residual: dict[str, Decimal] = defaultdict(Decimal)
        for posting in restated:
            weight = convert.get_weight(posting)  # type: ignore[no-untyped-call]
            residual[weight.currency] += weight.number
        for at, posting in enumerate(restated):
            filled_in = posting.meta and posting.meta.get("__automatic__")
            if filled_in and posting.units and not posting.cost and not posting.price:
                number, currency = posting.units
                excess = residual.pop(currency, ZERO)
                if number is not None and ZERO < abs(excess) < DIVISION_DUST:
                    units = Amount(trimmed(number - excess), currency)
                    restated[at] = posting._replace(units=units)
    return restated
