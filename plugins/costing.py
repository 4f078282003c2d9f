"""Cost stock in plain Decimals: first in first out, or moving weighted average.

Nothing here knows of beancount, accounts or dates. An item's stock is a queue of
layers; a layer is a number of units that share one lot, and a lot is anything with
a `unit_cost`. Goods leave from the front of the queue under both methods, which
differ only in what an arrival does to the queue:

* first in, first out: the new layer goes to the back, the older ones stay as they are;
* moving average: the whole queue and the arrival become one layer at the average.

All of it is exact. An average such as 10.00 / 3 has no exact decimal, so a value is
spread over its units in grains, as the cents of a shared amount are: some units get
the cost rounded down to the grain and the others one grain more, and the two layers
together are worth the value to the last digit (`spread_evenly`). Costs never get
longer than the grain, so a chain of averages and print runs stays inside the 28 digits
of Decimal's default context.

Both methods: IAS 2 Inventories, paragraphs 25 to 27 (paragraph numbers from memory);
the figures of three textbooks are in the tests.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from decimal import ROUND_DOWN, ROUND_FLOOR, Decimal
from typing import Generic, NamedTuple, Protocol, TypeVar

ZERO = Decimal(0)


class Lot(Protocol):
    """What the units of a layer share."""

    @property
    def unit_cost(self) -> Decimal:
        """The cost of one unit."""


LotT = TypeVar("LotT", bound=Lot)

# Units and their lot, oldest first. A tuple and not a class of ours: a ledger of
# 100,000 orders makes some 200,000 of them at every load.
Layers = deque[tuple[Decimal, LotT]]


class Arrival(NamedTuple, Generic[LotT]):
    """What an arrival did to the queue beside adding to it.

    Attributes:
      withdrawn: Layers that were given up to be averaged, the arrival's own included.
      restated: The layers that took their place; worth exactly as much.
    """

    withdrawn: list[tuple[Decimal, LotT]]
    restated: list[tuple[Decimal, LotT]]


def units_in(layers: Layers[LotT]) -> Decimal:
    """Return the number of units in a queue."""
    return sum((units for units, _ in layers), ZERO)


def value_of(layers: Layers[LotT] | list[tuple[Decimal, LotT]]) -> Decimal:
    """Return the cost of all units in a queue."""
    return sum((units * lot.unit_cost for units, lot in layers), ZERO)


def spread_evenly(
    value: Decimal, units: Decimal, grain: int
) -> list[tuple[Decimal, Decimal]]:
    """Spread a value over units so that nothing is lost to rounding.

    Args:
      value: The amount to spread, zero or more.
      units: Over how many units, more than zero.
      grain: The decimal places that a unit cost may have.

    Returns:
      One or two pairs of (units, unit cost). The units add up to `units`, units times
      unit costs to `value`, both exactly; two unit costs differ by one grain.
    """
    step = Decimal(1).scaleb(-grain)
    low = (value / units).quantize(step, ROUND_FLOOR)
    if low * units > value:  # the division itself was rounded up
        low -= step
    dearer = (value - low * units).scaleb(grain)
    low = trimmed(low)
    if not dearer:
        return [(units, low)]
    if dearer == units:
        return [(units, trimmed(low + step))]
    return [(units - dearer, low), (dearer, trimmed(low + step))]


def trimmed(number: Decimal) -> Decimal:
    """Return a number without trailing zeros after the point, and never as 1E+2."""
    number = number.normalize()
    return number.quantize(Decimal(1)) if number.as_tuple().exponent > 0 else number  # type: ignore[operator]


def relieve(layers: Layers[LotT], units: Decimal) -> list[tuple[Decimal, LotT]]:
    """Take units from the front of a queue, changing the queue.

    Args:
      layers: The queue.
      units: How many to take, more than zero.

    Returns:
      What was taken, as layers. They add up to `units`, or to all that there was
      where that is less; then the queue is empty and the rest is the caller's to settle.
    """
    taken = []
    while layers:
        available, lot = layers[0]
        if available > units:
            layers[0] = (available - units, lot)
            taken.append((units, lot))
            break
        layers.popleft()
        taken.append((available, lot))
        if available == units:
            break
        units -= available
    return taken


def receive_first_in_first_out(
    layers: Layers[LotT],
    arriving: list[tuple[Decimal, LotT]],
    _lot_at: Callable[[Decimal], LotT],
    _grain: int,
) -> Arrival[LotT] | None:
    """Put arriving layers at the back of the queue; nothing else changes."""
    layers.extend(arriving)
    return None


def receive_into_average(
    layers: Layers[LotT],
    arriving: list[tuple[Decimal, LotT]],
    lot_at: Callable[[Decimal], LotT],
    grain: int,
) -> Arrival[LotT] | None:
    """Average the queue with the arriving layers, units weighted.

    Args:
      layers: The queue; it holds one average afterwards (in one or two layers,
        see `spread_evenly`).
      arriving: What comes in.
      lot_at: Makes a lot of a unit cost.
      grain: The decimal places that a unit cost may have.

    Returns:
      What was restated, or None where nothing had to be: the queue was empty, or
      held the same cost already.
    """
    before = [*layers, *arriving]
    layers.extend(arriving)
    costs = {lot.unit_cost for _, lot in before}
    if len(costs) == 1:
        return None
    average = spread_evenly(value_of(before), units_in(layers), grain)
    if costs == {cost for _, cost in average}:
        return None
    layers.clear()
    layers.extend((units, lot_at(cost)) for units, cost in average)
    return Arrival(withdrawn=before, restated=list(layers))


def put_back(layers: Layers[LotT], units: Decimal, lot: LotT) -> None:
    """Put units that had left at the front of the queue, as the oldest that there are."""
    if layers and layers[0][1] == lot:
        units += layers.popleft()[0]
    layers.appendleft((units, lot))


def apportion(value: Decimal, weights: list[Decimal], grain: int) -> list[Decimal]:
    """Split a value by weights so that the parts add up to it exactly.

    Args:
      value: The amount to split; no part has another sign.
      weights: The shares, zero or more each; they need not add up to one.
      grain: The decimal places that a part may have, the last part aside.

    Returns:
      A part for each weight, within one grain of its exact share.
    """
    step = Decimal(1).scaleb(-grain)
    total = sum(weights, ZERO)
    parts = []
    passed, given = ZERO, ZERO
    for weight in weights[:-1]:
        passed += weight
        until = (value * passed / total).quantize(step, ROUND_DOWN)
        parts.append(trimmed(until - given))
        given = until
    return [*parts, trimmed(value - given)]
