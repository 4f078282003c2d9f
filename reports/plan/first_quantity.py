"""Tell how many pieces of a new product to print first, from the maker's following.

One in a hundred followers buys, five to ten in a hundred of these take one product, and
fewer than four pieces are not worth a run. All of it is common practice, with no source,
and each figure is an argument; once there are sales, `next_quantity` goes by those.
"""

from __future__ import annotations

import decimal
import math
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal

from offcut.importers.splitting import EXACT
from offcut.plugins.stock_directives import Bill
from offcut.reports.plan.inputs import (
    ONE,
    not_negative,
    share_above_zero,
    whole_above_zero,
)

# Common practice, no source.
BUYERS = Decimal("0.01")
FEW_TAKE_IT = Decimal("0.05")
MANY_TAKE_IT = Decimal("0.10")
NEVER_UNDER = Decimal(4)


@dataclass(frozen=True)
class Rounded:
    """A number of pieces, in whole pieces and on whole sheets.

    Attributes:
      pieces: Whole pieces, not under the least.
      sheets: The sheets that they fill, the last of them perhaps in part.
      on_sheets: The pieces that these sheets make.
    """

    pieces: Decimal
    sheets: Decimal
    on_sheets: Decimal


@dataclass(frozen=True)
class FirstQuantity:
    """How many to print first.

    Attributes:
      following: The people who follow the maker.
      buying: The share of them that buys anything.
      buyers: Their number.
      low_share: The share of the buyers that takes one product, at the least.
      high_share: The same, at the most.
      least: Never print fewer.
      per_sheet: The pieces that a sheet makes.
      low: Pieces for the low share.
      high: Pieces for the high share.
    """

    following: Decimal
    buying: Decimal
    buyers: Decimal
    low_share: Decimal
    high_share: Decimal
    least: Decimal
    per_sheet: Decimal
    low: Rounded
    high: Rounded


def first_quantity(
    following: Decimal,
    per_sheet: Decimal = ONE,
    buying: Decimal = BUYERS,
    low_share: Decimal = FEW_TAKE_IT,
    high_share: Decimal = MANY_TAKE_IT,
    least: Decimal = NEVER_UNDER,
) -> FirstQuantity:
    """Return how many pieces of a new product to print first.

    Args:
      following: The people who follow the maker.
      per_sheet: The pieces that a sheet makes, see `pieces_to_a_sheet`.
      buying: The share of them that buys anything.
      low_share: The share of these that takes one product, at the least.
      high_share: The same, at the most.
      least: Never print fewer.

    Returns:
      Good pieces, low and high; spoiled ones come on top.

    Raises:
      ValueError: A share is none, a number is not whole, or low is more than high.
    """
    not_negative(following, "The following")
    whole_above_zero(per_sheet, "The pieces to a sheet")
    whole_above_zero(least, "The least to print")
    share_above_zero(buying, "The followers who buy")
    share_above_zero(low_share, "The buyers who take one product, at the least,")
    share_above_zero(high_share, "The buyers who take one product, at the most,")
    if low_share > high_share:
        raise ValueError(
            f"The buyers who take one product are {low_share} at the least and "
            f"{high_share} at the most; exchange the two"
        )
    with decimal.localcontext(EXACT):
        buyers = following * buying
        return FirstQuantity(
            following=following,
            buying=buying,
            buyers=buyers,
            low_share=low_share,
            high_share=high_share,
            least=least,
            per_sheet=per_sheet,
            low=on_whole_sheets(max(buyers * low_share, least), per_sheet),
            high=on_whole_sheets(max(buyers * high_share, least), per_sheet),
        )


def on_whole_sheets(pieces: Decimal, per_sheet: Decimal) -> Rounded:
    """Return a number of pieces rounded up, to whole pieces and to whole sheets.

    Args:
      pieces: The pieces, zero or more.
      per_sheet: The pieces that a sheet makes.
    """
    not_negative(pieces, "The pieces to print")
    whole_above_zero(per_sheet, "The pieces to a sheet")
    with decimal.localcontext(EXACT):
        whole = pieces.quantize(ONE, ROUND_CEILING)
        sheets = (whole / per_sheet).quantize(ONE, ROUND_CEILING)
        return Rounded(whole, sheets, sheets * per_sheet)


def pieces_to_a_sheet(bill: Bill, sheet: str | None = None) -> Decimal:
    """Return the fewest pieces that a bill makes of whole sheets.

    Args:
      bill: A bill of materials: 6 HERON-STK of 1 VINYL, 1 FILM, 5.4 INK-ML.
      sheet: The material that comes in sheets; every one that the bill names by a whole
        number where it is None.

    Returns:
      Pieces: 6 of that bill; 4 of a bill that makes 100 of 25 sheets.

    Raises:
      ValueError: The bill has no such material, or makes a fraction of a piece.
    """
    product = bill.output.item
    whole_above_zero(bill.output.units, f"What the bill of {product} makes")
    inputs = [part for part in bill.inputs if sheet in (None, part.item)]
    if not inputs:
        raise ValueError(f"The bill of {product} has no {sheet}")
    whole = [int(part.units) for part in inputs if not part.units % 1]
    return (
        bill.output.units // math.gcd(int(bill.output.units), *whole)
        if whole
        else (bill.output.units)
    )
