"""Compare making pieces with ordering them from a manufacturer.

Making costs the materials of each good piece and the maker's own time at what an hour is
worth; ordering costs what the price table says, its minimum and dearer steps included.
From which quantity on the other way is cheaper is in `order_break_even`.
"""

from __future__ import annotations

import decimal
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.plan.inputs import not_negative, whole_above_zero
from offcut.reports.plan.newest_costs import GRAIN_OF_A_PIECE
from offcut.reports.plan.price_breaks import PriceTable, Purchase, purchase

Way = Literal["make", "order", "same"]
MINUTES_AN_HOUR = Decimal(60)


@dataclass(frozen=True)
class OwnMaking:
    """What it takes to make a piece.

    Attributes:
      materials: What a good piece costs, normal spoilage included.
      minutes: The time that a good piece takes.
      hour: What an hour of the maker is worth.
      setup_minutes: The time that a run takes besides, whatever its size.

    Raises:
      ValueError: One of them is less than zero.
    """

    materials: Decimal
    minutes: Decimal
    hour: Decimal
    setup_minutes: Decimal = ZERO

    def __post_init__(self) -> None:
        not_negative(self.materials, "What the materials of a piece cost")
        not_negative(self.minutes, "The minutes for a piece")
        not_negative(self.hour, "What an hour is worth")
        not_negative(self.setup_minutes, "The minutes to set up a run")

    @property
    def fixed_in_sixtieths(self) -> Decimal:
        """Sixty times what a run costs besides its pieces: of this, nothing is rounded."""
        return EXACT.multiply(self.setup_minutes, self.hour)

    @property
    def each_in_sixtieths(self) -> Decimal:
        """Sixty times what a piece costs."""
        return EXACT.add(
            EXACT.multiply(self.materials, MINUTES_AN_HOUR),
            EXACT.multiply(self.minutes, self.hour),
        )


@dataclass(frozen=True)
class Comparison:
    """What a number of pieces costs both ways.

    Attributes:
      quantity: The good pieces that are needed.
      materials: What they cost to make in materials: the money that making ties up.
      minutes: The maker's time for them, set-up included.
      time: What that time is worth.
      making: Materials and time.
      order: The cheapest order; its total is the money that ordering ties up.
      saved_by_ordering: Making less ordering; below zero where ordering costs more.
      cheaper: The way that costs less.
      demand: The pieces that will be asked for.
      left_of_making: Pieces that are left over when they are made.
      left_of_order: Pieces that are left over when they are ordered.
      value_left_of_making: What these cost in materials.
      value_left_of_order: What these cost, set-up and freight included.
    """

    quantity: Decimal
    materials: Decimal
    minutes: Decimal
    time: Decimal
    making: Decimal
    order: Purchase
    saved_by_ordering: Decimal
    cheaper: Way
    demand: Decimal
    left_of_making: Decimal
    left_of_order: Decimal
    value_left_of_making: Decimal
    value_left_of_order: Decimal


def compare(
    own: OwnMaking, prices: PriceTable, quantity: Decimal, demand: Decimal | None = None
) -> Comparison:
    """Return what a number of pieces costs both ways.

    Args:
      own: What it takes to make a piece.
      prices: The manufacturer's price table.
      quantity: The good pieces that are needed.
      demand: The pieces that will be asked for; all that are needed where it is None.

    Raises:
      ValueError: The quantity is not a whole number above zero, or the demand below it.
    """
    whole_above_zero(quantity, "The quantity")
    demand = quantity if demand is None else not_negative(demand, "The demand")
    order = purchase(prices, quantity)
    with decimal.localcontext(EXACT):
        materials = own.materials * quantity
        minutes = own.setup_minutes + own.minutes * quantity
        time = (minutes * own.hour / MINUTES_AN_HOUR).quantize(GRAIN_OF_A_PIECE)
        left_of_making = max(quantity - demand, ZERO)
        left_of_order = max(order.ordered - demand, ZERO)
        value_left = order.total * left_of_order / order.ordered
        making = own.fixed_in_sixtieths + own.each_in_sixtieths * quantity
        return Comparison(
            quantity=quantity,
            materials=materials,
            minutes=minutes,
            time=time,
            making=materials + time,
            order=order,
            saved_by_ordering=materials + time - order.total,
            cheaper=cheaper_way(order.total * MINUTES_AN_HOUR - making),
            demand=demand,
            left_of_making=left_of_making,
            left_of_order=left_of_order,
            value_left_of_making=own.materials * left_of_making,
            value_left_of_order=value_left.quantize(GRAIN_OF_A_PIECE),
        )


def cheaper_way(beyond_making: Decimal) -> Way:
    """Return the cheaper way.

    Args:
      beyond_making: What ordering costs more than making, in any unit.
    """
    if not beyond_making:
        return "same"
    return "order" if beyond_making < ZERO else "make"
