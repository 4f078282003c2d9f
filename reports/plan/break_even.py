"""Tell what must be sold to pay for what does not depend on sales, such as a fair's table.

    break-even sales = fixed costs / contribution ratio

where the contribution ratio is what is left of a sale, after goods, fees, packing and
postage, as a share of it.
"""

from __future__ import annotations

import decimal
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from typing import NamedTuple

import pandas as pd

from offcut.importers.splitting import EXACT, ZERO
from offcut.importers.values import minor_unit
from offcut.reports.plan.inputs import ONE, above_zero, not_negative
from offcut.reports.plan.newest_costs import fine

# The columns of the order table that do not follow from each sale.
FIXED = ("giveaways", "spoilage", "selling", "other")


class MixPart(NamedTuple):
    """A product in a mix of sales.

    Attributes:
      price: What a piece sells for.
      variable: What a piece costs: goods, fees, packing.
      share: Pieces of it in one basket of the mix.
    """

    price: Decimal
    variable: Decimal
    share: Decimal = ONE


@dataclass(frozen=True)
class MixBreakEven:
    """The baskets that pay for what is fixed.

    Attributes:
      fixed: Costs that do not depend on sales.
      target: What is to be left besides.
      price: What a basket sells for.
      variable: What it costs.
      contribution: What is left of it.
      baskets: The baskets needed, with their fraction.
      units: Pieces of each part needed, with their fraction, in the order of the mix.
      sales: What these baskets sell for.
    """

    fixed: Decimal
    target: Decimal
    price: Decimal
    variable: Decimal
    contribution: Decimal
    baskets: Decimal
    units: tuple[Decimal, ...]
    sales: Decimal


class FixedCost(NamedTuple):
    """What a fair cost whatever was sold there: its account, and how much."""

    account: str
    amount: Decimal


@dataclass(frozen=True)
class FairBreakEven:
    """A fair's sales, held against what it cost.

    Attributes:
      event: The fair's tag.
      currency: The currency of all amounts.
      sales: After discounts and refunds.
      variable: What depends on them, less shipping charged; below zero for a cost.
      contribution: What is left of the sales before what is fixed.
      ratio: That as a share of the sales.
      fixed: Table fee, travel and all other costs of the fair, by account.
      fixed_total: These together.
      needed: The sales that pay for them, in whole coins rounded up; None where each
        sale loses money.
      beyond: What was sold beyond that; below zero where it was less.
      result: What the fair earned.
    """

    event: str
    currency: str
    sales: Decimal
    variable: Decimal
    contribution: Decimal
    ratio: Decimal
    fixed: tuple[FixedCost, ...]
    fixed_total: Decimal
    needed: Decimal | None
    beyond: Decimal | None
    result: Decimal

    @property
    def safety(self) -> Decimal | None:
        """The share of the sales that could have been missing: the margin of safety."""
        return None if self.beyond is None else self.beyond / self.sales


def break_even_sales(fixed: Decimal, ratio: Decimal, currency: str) -> Decimal:
    """Return the sales that pay for what is fixed, in whole coins rounded up.

    Args:
      fixed: Costs that do not depend on sales.
      ratio: What is left of sales, as a share of them.
      currency: The currency.

    Raises:
      ValueError: The costs are below zero, or nothing is left of sales.
    """
    not_negative(fixed, "What the fair costs")
    above_zero(ratio, "What is left of sales, as a share of them,")
    coin = minor_unit(currency)
    with decimal.localcontext(EXACT):
        return (fixed / ratio / coin).quantize(ONE, ROUND_CEILING) * coin


def mix_break_even(
    fixed: Decimal, mix: Sequence[MixPart], target: Decimal = ZERO
) -> MixBreakEven:
    """Return the pieces that pay for what is fixed; of one product, or of a steady mix.

    Args:
      fixed: Costs that do not depend on sales.
      mix: What a basket of the mix holds.
      target: What is to be left besides.

    Raises:
      ValueError: The mix is empty, a price or share is none, or a basket leaves nothing.
    """
    not_negative(fixed, "What is fixed")
    not_negative(target, "What is to be left")
    if not mix:
        raise ValueError("There is no product in the mix of sales")
    for part in mix:
        above_zero(part.price, "The price of a piece")
        not_negative(part.variable, "What a piece costs")
        above_zero(part.share, "The pieces in a basket")
    with decimal.localcontext(EXACT):
        price = sum((part.price * part.share for part in mix), ZERO)
        variable = sum((part.variable * part.share for part in mix), ZERO)
        contribution = price - variable
        if contribution <= ZERO:
            raise ValueError(
                f"Sales of {price} cost {variable}: nothing is left of them, and no number "
                "of them pays for what is fixed"
            )
        needed = fixed + target
        return MixBreakEven(
            fixed=fixed,
            target=target,
            price=price,
            variable=variable,
            contribution=contribution,
            baskets=fine(needed / contribution),
            units=tuple(fine(needed * part.share / contribution) for part in mix),
            sales=fine(needed * price / contribution),
        )


def fair_break_even(
    table: pd.DataFrame, event: str, currency: str, expenses: str = "Expenses"
) -> FairBreakEven:
    """Return what a fair had to sell, and did.

    Fixed is what belongs to no order line and is no fee, postage, packaging or cost of
    goods: the table fee, the way there, the night there.

    Args:
      table: An order table.
      event: The fair's tag, without `event-`.
      currency: The currency to take.
      expenses: The name of the ledger's expenses.

    Raises:
      ValueError: The ledger has no such fair, or no sales of it.
    """
    mine = table[(table["event"] == event) & (table["currency"] == currency)]
    if mine.empty:
        known = ", ".join(sorted(set(table["event"].unique()) - {""})) or "none"
        raise ValueError(
            f"Nothing in {currency} is tagged #event-{event}; there is: {known}"
        )
    with decimal.localcontext(EXACT):
        sales = sum(mine["sales"], ZERO)
        if sales <= ZERO:
            raise ValueError(f"Nothing was sold at {event} yet, so no share is left of it")
        fixed: dict[str, Decimal] = {}
        loose = mine[mine["account"].str.startswith(expenses + ":")]
        for column in FIXED:
            for account, amount in zip(loose["account"], loose[column], strict=True):
                if amount:
                    fixed[account] = fixed.get(account, ZERO) - amount
        fixed_total = sum(fixed.values(), ZERO)
        result = sum(mine["contribution"], ZERO)
        contribution = result + fixed_total
        ratio = contribution / sales
        needed = beyond = None
        if contribution > ZERO:
            needed = break_even_sales(max(fixed_total, ZERO), ratio, currency)
            beyond = sales - needed
        return FairBreakEven(
            event=event,
            currency=currency,
            sales=sales,
            variable=contribution - sales,
            contribution=contribution,
            ratio=fine(ratio),
            fixed=tuple(FixedCost(*each) for each in sorted(fixed.items())),
            fixed_total=fixed_total,
            needed=needed,
            beyond=beyond,
            result=result,
        )
