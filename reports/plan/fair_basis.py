"""What past fairs tell of one to come: what is left of sales, and what a piece brings."""

from __future__ import annotations

import decimal
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from typing import NamedTuple

import pandas as pd

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.outlets.fairs import fairs
from offcut.reports.period import Period
from offcut.reports.plan.break_even import FairBreakEven, break_even_sales, fair_break_even
from offcut.reports.plan.inputs import ONE, above_zero, share_above_zero


class Stall(NamedTuple):
    """What a product sold at fairs: pieces, and what for."""

    product: str
    units: Decimal
    sales: Decimal


@dataclass(frozen=True)
class FairBasis:
    """What sales at a fair are like.

    Attributes:
      currency: The currency of all amounts.
      sales: After discounts and refunds.
      units: Pieces sold, less those that came back.
      contribution: What is left of the sales before what is fixed.
      fairs: The fairs that this is taken from; none where it is given.
      stalls: What each product sold there, what brought most first.
    """

    currency: str
    sales: Decimal
    units: Decimal
    contribution: Decimal
    fairs: tuple[FairBreakEven, ...] = ()
    stalls: tuple[Stall, ...] = ()

    @property
    def ratio(self) -> Decimal:
        """What is left of sales, as a share of them."""
        return EXACT.divide(self.contribution, self.sales)

    def sales_for(self, amount: Decimal) -> Decimal | None:
        """Return the sales that pay for an amount; None where nothing is left of sales."""
        if self.contribution <= ZERO:
            return None
        return break_even_sales(max(amount, ZERO), self.ratio, self.currency)

    def pieces_for(self, amount: Decimal) -> Decimal | None:
        """Return the whole pieces that pay for an amount; None where none ever do."""
        return self.share_for(amount, self.units)

    def share_for(self, amount: Decimal, units: Decimal) -> Decimal | None:
        """Return how many of some pieces a fair needs that sells like this.

        Args:
          amount: What is to be paid for.
          units: The pieces, of all that were sold.
        """
        if self.contribution <= ZERO or units <= ZERO:
            return None
        with decimal.localcontext(EXACT):
            needed = units * max(amount, ZERO) / self.contribution
            return needed.quantize(ONE, ROUND_CEILING)


def basis_of_fairs(
    table: pd.DataFrame,
    events: Sequence[str],
    currency: str,
    period: Period | None = None,
    expenses: str = "Expenses",
) -> FairBasis:
    """Return what sales were like at fairs that were.

    Args:
      table: An order table.
      events: The fairs' tags, without `event-`; all with sales where there is none.
      currency: The currency to take.
      period: Where none is named, only fairs with sales in it; each counts whole.
      expenses: The name of the ledger's expenses.

    Raises:
      ValueError: There is no such fair, or nothing was sold at it.
    """
    mine = table[(table["event"] != "") & (table["currency"] == currency)]
    if not events:
        past = fairs(table, period or Period(), currency, expenses)
        events = sorted(fair.event for fair in past if fair.break_even)
        if not events:
            raise ValueError(
                f"The ledger has no fair with sales in {currency} to go by; say what is "
                "left of sales and what a piece sells for: --left 60% --price 6.00"
            )
    found = tuple(fair_break_even(table, event, currency, expenses) for event in events)
    rows = mine[mine["event"].isin(list(events))]
    with decimal.localcontext(EXACT):
        stalls = []
        for product, some in rows[rows["product"] != ""].groupby("product"):
            units, sales = sum(some["quantity"], ZERO), sum(some["sales"], ZERO)
            if units > ZERO:
                stalls.append(Stall(str(product), units, sales))
        stalls.sort(key=lambda stall: (-stall.sales, stall.product))
        return FairBasis(
            currency=currency,
            sales=sum((fair.sales for fair in found), ZERO),
            units=sum(rows["quantity"], ZERO),
            contribution=sum((fair.contribution for fair in found), ZERO),
            fairs=found,
            stalls=tuple(stalls),
        )


def basis_given(left: Decimal, price: Decimal, currency: str) -> FairBasis:
    """Return what sales are like, as given.

    Args:
      left: What is left of sales after goods and fees, as a share of them.
      price: What a piece sells for on average.
      currency: The currency.

    Raises:
      ValueError: A figure cannot be.
    """
    share_above_zero(left, "What is left of sales")
    above_zero(price, "What a piece sells for")
    return FairBasis(currency, price, ONE, EXACT.multiply(price, left))
