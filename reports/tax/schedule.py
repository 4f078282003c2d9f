"""Tax by brackets: each part of an amount at the rate of the bracket that it is in."""

from __future__ import annotations

import decimal
from decimal import Decimal
from typing import NamedTuple

from offcut.importers.splitting import EXACT, ZERO


class Slice(NamedTuple):
    """The part of an amount that is in one bracket.

    Attributes:
      rate: The bracket's rate.
      amount: How much is in it.
      tax: The rate of that.
    """

    rate: Decimal
    amount: Decimal
    tax: Decimal


class Schedule(NamedTuple):
    """Rates by brackets.

    Attributes:
      rates: From the lowest bracket up; shares of 1.
      edges: The upper edge of each bracket but the last.
    """

    rates: tuple[Decimal, ...]
    edges: tuple[Decimal, ...]

    def slices(self, amount: Decimal) -> list[Slice]:
        """Return the parts of an amount, the lowest bracket first.

        Args:
          amount: What is taxed; nothing below zero is.
        """
        found = []
        below = ZERO
        with decimal.localcontext(EXACT):
            for rate, edge in zip(self.rates, (*self.edges, amount), strict=True):
                part = min(amount, edge) - below
                if part <= ZERO:
                    break
                found.append(Slice(rate, part, part * rate))
                below = edge
        return found

    def tax(self, amount: Decimal) -> Decimal:
        """Return the tax on an amount, exact."""
        with decimal.localcontext(EXACT):
            return sum((each.tax for each in self.slices(amount)), ZERO)

    def marginal(self, amount: Decimal) -> Decimal:
        """Return the rate of the next coin after an amount."""
        for rate, edge in zip(self.rates, self.edges, strict=False):
            if amount < edge:
                return rate
        return self.rates[-1]
