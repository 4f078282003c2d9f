"""Split an amount over parts without losing or inventing any of it."""

from __future__ import annotations

import decimal
import functools
import math
from collections.abc import Sequence
from decimal import Decimal

CENT = Decimal("0.01")
ZERO = Decimal(0)

# Wide enough that neither a split nor the sum of a report's column is ever rounded:
# a cost that beancount has divided carries 28 digits after the decimal point.
EXACT = decimal.Context(prec=200, traps=[decimal.InvalidOperation, decimal.DivisionByZero])


def split_in_cents(
    amount: Decimal, weights: Sequence[Decimal], minor_unit: Decimal = CENT
) -> list[Decimal]:
    """Split an amount in proportion to weights, largest remainder first.

    The parts are whole minor units, add up to the amount exactly, and each is within
    one minor unit of its exact share. An amount with more digits than the minor unit
    keeps them: it is split in units of its own last digit instead.

    Args:
      amount: What to split, of either sign.
      weights: One weight a part, none negative. Where all are zero the parts are equal.
      minor_unit: The smallest coin of the currency, a power of ten.

    Returns:
      The parts, in the order of the weights.

    Raises:
      ValueError: There are no weights, or one is negative.
    """
    return list(_split(amount, tuple(weights), minor_unit))


# A shop has few prices and few rates of postage: the same splits come again and again.
@functools.lru_cache(maxsize=8192)
def _split(
    amount: Decimal, weights: tuple[Decimal, ...], minor_unit: Decimal
) -> tuple[Decimal, ...]:
    """Split an amount as `split_in_cents` says."""
    if not weights:
        raise ValueError("There is nothing to split the amount over: no weights")
    shares = _in_whole_numbers(weights)
    total = sum(shares)
    if len(shares) == 1:
        return (amount,)
    if not amount:
        return (ZERO,) * len(shares)
    with decimal.localcontext(EXACT):
        unit = minor_unit if amount > 0 else -minor_unit
        if amount % minor_unit:
            unit = Decimal(1).copy_sign(amount).scaleb(int(amount.as_tuple().exponent))
        whole = int(amount // unit)
        parts = [whole * share // total for share in shares]
        left_over = whole - sum(parts)
        remainders = [whole * share % total for share in shares]
        largest_first = sorted(range(len(parts)), key=remainders.__getitem__, reverse=True)
        for index in largest_first[:left_over]:
            parts[index] += 1
        return tuple(unit * part for part in parts)


def _in_whole_numbers(weights: tuple[Decimal, ...]) -> tuple[int, ...]:
    """Return whole numbers in the same proportion; ones where all weights are zero."""
    if min(weights) < 0:
        raise ValueError(f"Weights must not be negative: {', '.join(map(str, weights))}")
    if not any(weights):
        return (1,) * len(weights)
    ratios = [weight.as_integer_ratio() for weight in weights]
    scale = math.lcm(*(denominator for _, denominator in ratios))
    return tuple(numerator * (scale // denominator) for numerator, denominator in ratios)
