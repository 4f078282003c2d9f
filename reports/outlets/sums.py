"""Add up to the last digit."""

from __future__ import annotations

import decimal
from collections.abc import Iterable
from decimal import Decimal

from offcut.importers.splitting import EXACT, ZERO


def exact_sum(amounts: Iterable[Decimal]) -> Decimal:
    """Return the sum of amounts, to the last digit.

    Args:
      amounts: The amounts.
    """
    with decimal.localcontext(EXACT):
        return sum(amounts, ZERO)
