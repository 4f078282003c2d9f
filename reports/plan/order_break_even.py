"""Find the quantities at which ordering pieces becomes cheaper than making them, or dearer.

Both cost straight lines between the steps of the price table, so the quantities at which
they cross are exact. There may be none, or several: each price break can turn the
comparison round.
"""

from __future__ import annotations

import decimal
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_FLOOR, Decimal
from itertools import pairwise
from typing import NamedTuple

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.plan.inputs import ONE
from offcut.reports.plan.make_or_order import MINUTES_AN_HOUR, OwnMaking, Way, cheaper_way
from offcut.reports.plan.price_breaks import PriceBreak, PriceTable


class Stretch(NamedTuple):
    """Quantities for which the same way is the cheaper.

    Attributes:
      first: The smallest of them.
      last: The largest; None where there is no end.
      cheaper: The way.
    """

    first: Decimal
    last: Decimal | None
    cheaper: Way


class Crossing(NamedTuple):
    """A quantity at which the other way becomes the cheaper.

    Attributes:
      quantity: Where both cost the same, which need not be whole, and of several the
        smallest; None where the cheaper way changes between two steps of the table.
      first: The first whole quantity at which the new way costs less.
      before: The cheaper way below it.
      after: The cheaper way from `first` on.
      line: The line of the price table that the order of `first` pieces is made by.
    """

    quantity: Decimal | None
    first: Decimal
    before: Way
    after: Way
    line: PriceBreak


@dataclass(frozen=True)
class BreakEven:
    """Which way is cheaper for which quantity.

    Attributes:
      stretches: All quantities from one piece on, in turn.
      crossings: Where the cheaper way changes; empty where one always is.
    """

    stretches: tuple[Stretch, ...]
    crossings: tuple[Crossing, ...]


class _Piece(NamedTuple):
    """A straight piece of what ordering costs: `fixed + each * quantity`."""

    first: Decimal
    last: Decimal | None
    fixed: Decimal
    each: Decimal
    line: PriceBreak


def break_even(own: OwnMaking, prices: PriceTable) -> BreakEven:
    """Return which way is cheaper for which quantity, from one piece on.

    Args:
      own: What it takes to make a piece.
      prices: The manufacturer's price table.
    """
    with decimal.localcontext(EXACT):
        found: list[tuple[Stretch, _Piece, Decimal | None]] = []
        for piece in _pieces(prices):
            # What ordering costs beyond making, in sixtieths: a line of the quantity.
            fixed = piece.fixed * MINUTES_AN_HOUR - own.fixed_in_sixtieths
            each = piece.each * MINUTES_AN_HOUR - own.each_in_sixtieths
            root = -fixed / each if each else None
            found += [
                (stretch, piece, root)
                for stretch in _stretches(piece.first, piece.last, fixed, each)
            ]
    stretches: list[Stretch] = []
    for stretch, _, _ in found:
        if stretches and stretches[-1].cheaper == stretch.cheaper:
            stretches[-1] = stretches[-1]._replace(last=stretch.last)
        else:
            stretches.append(stretch)
    return BreakEven(tuple(stretches), tuple(_crossings(found)))


def _pieces(prices: PriceTable) -> Iterator[_Piece]:
    """Yield what ordering costs as straight pieces, from one piece on without a gap."""
    lines = prices.breaks
    if prices.minimum > ONE:
        cost, line = _larger_orders(prices, 0)[0]
        yield _Piece(ONE, prices.minimum - 1, cost, ZERO, line)
    for at, line in enumerate(lines):
        end = prices.upper_end(at)
        if end is None:
            yield _Piece(line.minimum, None, line.fixed, line.unit_price, line)
            return
        cost, larger = _larger_orders(prices, at + 1)[0]
        # Up to here the pieces that are needed cost no more than a larger order.
        upto = ((cost - line.fixed) / line.unit_price).quantize(ONE, ROUND_FLOOR)
        upto = min(max(upto, line.minimum - 1), end - 1)
        if upto >= line.minimum:
            yield _Piece(line.minimum, upto, line.fixed, line.unit_price, line)
        if upto < end - 1:
            yield _Piece(upto + 1, end - 1, cost, ZERO, larger)


def _larger_orders(prices: PriceTable, at: int) -> list[tuple[Decimal, PriceBreak]]:
    """Return what the least order of each line from one on costs, the cheapest first."""
    orders = [(line.cost(line.minimum), line) for line in prices.breaks[at:]]
    return sorted(orders, key=lambda order: (order[0], order[1].minimum))


def _stretches(
    first: Decimal, last: Decimal | None, fixed: Decimal, each: Decimal
) -> Iterator[Stretch]:
    """Yield the stretches of a line that is below zero where ordering is cheaper."""
    begins = cheaper_way(fixed + each * first)
    ends = cheaper_way(each or fixed) if last is None else cheaper_way(fixed + each * last)
    if begins == ends and (begins != "same" or first == last or not each):
        yield Stretch(first, last, begins)
        return
    # The line crosses zero between first and last, both of which are above zero.
    upto, over = divmod(-fixed, each)
    below = upto if over else upto - 1
    if below >= first:
        yield Stretch(first, below, begins)
    if not over:
        yield Stretch(upto, upto, "same")
    if last is None or upto < last:
        yield Stretch(upto + 1, last, ends)


def _crossings(
    found: list[tuple[Stretch, _Piece, Decimal | None]],
) -> Iterator[Crossing]:
    """Yield where the cheaper way changes."""
    decided = [each for each in found if each[0].cheaper != "same"]
    for (before, earlier, _), (after, piece, root) in pairwise(decided):
        if before.cheaper == after.cheaper:
            continue
        ties = [
            stretch.first
            for stretch, _, _ in found
            if stretch.cheaper == "same" and before.first < stretch.first < after.first
        ]
        quantity = None
        if ties:
            quantity = ties[0]
        elif root is not None and earlier is piece:
            quantity = +root  # to the 28 digits of the default context
        yield Crossing(quantity, after.first, before.cheaper, after.cheaper, piece.line)
