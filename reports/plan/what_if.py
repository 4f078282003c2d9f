"""Tell what every design would have earned, had a price, a fee or a cost been another.

The units are those that were sold: nothing here guesses how many more or fewer people
would buy at another price. Of what else follows:

* price: sales, their discounts and refunds among them, change by the same share, and the
  fees of these lines with what buyers pay;
* fee: of what buyers pay, sales and shipping, another share goes in fees, on all channels
  or on one;
* postage: every order that was posted costs so much more, shared over its lines as its
  postage is;
* material: the cost of goods changes by the material's share in the product's bill.
"""

from __future__ import annotations

import decimal
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import NamedTuple

import pandas as pd

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.plan.earned import Earned, earned_by_product, together
from offcut.reports.plan.inputs import ONE
from offcut.reports.plan.newest_costs import GRAIN_OF_A_PIECE
from offcut.reports.plan.parcels import dearer_parcels
from offcut.reports.plan.piece_cost import PieceCost


@dataclass(frozen=True)
class Changes:
    """What would be otherwise; without arguments, nothing.

    Attributes:
      price: By what share prices change: 0.10 for a tenth more.
      prices: The same for single products, by commodity, instead of that.
      fee: What more of what buyers pay goes in fees: 0.01 for one in a hundred.
      fees: The same for single channels, instead of that.
      postage: What more a parcel costs.
      materials: By what share the cost of each material changes, by commodity.
    """

    price: Decimal = ZERO
    prices: Mapping[str, Decimal] = field(default_factory=dict)
    fee: Decimal = ZERO
    fees: Mapping[str, Decimal] = field(default_factory=dict)
    postage: Decimal = ZERO
    materials: Mapping[str, Decimal] = field(default_factory=dict)

    def price_change(self, product: str) -> Decimal:
        """Return by what share a product's price changes; what is no product has none."""
        return self.prices.get(product, self.price) if product else ZERO


class Charged(NamedTuple):
    """What other fees take of something, at the prices that it was sold at."""

    of_sales: Decimal = ZERO
    of_shipping: Decimal = ZERO


@dataclass(frozen=True)
class Design:
    """A design before and after a change.

    Attributes:
      name: The design; empty for what belongs to none.
      before: What the order table says.
      after: What it would say.
    """

    name: str
    before: Earned
    after: Earned

    @property
    def difference(self) -> Decimal:
        """What the change adds to the contribution."""
        return EXACT.subtract(self.after.contribution, self.before.contribution)


@dataclass(frozen=True)
class WhatIf:
    """Every design before and after a change.

    Attributes:
      changes: What would be otherwise.
      currency: The currency of all amounts.
      designs: By what they earned before, the most first.
      unallocated: What belongs to no design.
      total: Everything, the unallocated included.
      parcels: Orders that were posted; zero where postage does not change.
      without_bill: Products with a cost of goods and no bill, which a change of a
        material leaves as they are.
    """

    changes: Changes
    currency: str
    designs: tuple[Design, ...]
    unallocated: Design
    total: Design
    parcels: int
    without_bill: tuple[str, ...]


def what_if(
    table: pd.DataFrame,
    currency: str,
    changes: Changes,
    pieces: Mapping[str, PieceCost] | None = None,
) -> WhatIf:
    """Return every design before and after a change.

    Args:
      table: The rows of an order table in the period.
      currency: The currency to take.
      changes: What would be otherwise.
      pieces: What a piece of each product costs by its bill, for changes of materials.

    Raises:
      ValueError: A price or a cost falls by all of it or more, a product or a channel
        had no sales, or a material is in no bill.
    """
    mine = table[table["currency"] == currency]
    pieces = pieces or {}
    _check(changes, mine, pieces)
    with decimal.localcontext(EXACT):
        dearer, parcels = dearer_parcels(mine, changes.postage, currency)
        charged = _charged(mine, changes)
        before: dict[str, Earned] = {}
        after: dict[str, Earned] = {}
        without_bill = set()
        for design, product, earned in earned_by_product(mine):
            piece = pieces.get(product)
            if changes.materials and earned.goods and not (piece and piece.parts):
                without_bill.add(product)
            more = charged.get((design, product), Charged())
            changed = _changed(earned, product, changes, piece, more)
            postage = changed.postage - dearer.get((design, product), ZERO)
            before[design] = before.get(design, Earned()).plus(earned)
            changed = changed._replace(postage=postage)
            after[design] = after.get(design, Earned()).plus(changed)
    designs = [Design(name, before[name], after[name]) for name in before]
    designs.sort(key=lambda each: (-each.before.contribution, each.name))
    unallocated = next((each for each in designs if not each.name), None)
    return WhatIf(
        changes=changes,
        currency=currency,
        designs=tuple(each for each in designs if each.name),
        unallocated=unallocated or Design("", Earned(), Earned()),
        total=Design(
            "",
            together(each.before for each in designs),
            together(each.after for each in designs),
        ),
        parcels=parcels,
        without_bill=tuple(sorted(without_bill - {""})),
    )


def material_shares(piece: PieceCost) -> dict[str, Decimal]:
    """Return each material's share in what a piece costs.

    Args:
      piece: What it costs by its bill.

    Returns:
      Shares by commodity, which add up to 1; none where the materials cost nothing.
    """
    with decimal.localcontext(EXACT):
        total = sum((part.cost for part in piece.parts), ZERO)
        return {part.item: part.cost / total for part in piece.parts} if total else {}


def _charged(table: pd.DataFrame, changes: Changes) -> dict[tuple[str, str], Charged]:
    """Return what other fees take of each design's product at the prices of the table."""
    if (not changes.fee and not changes.fees) or table.empty:
        return {}
    charged: dict[tuple[str, str], Charged] = {}
    keys = ["design", "product", "channel"]
    sums = table.groupby(keys, sort=False)[["sales", "shipping"]].sum()
    for (design, product, channel), row in zip(
        sums.index, sums.to_dict("records"), strict=True
    ):
        rate = changes.fees.get(channel, changes.fee)
        sales, shipping = charged.get((design, product), Charged())
        charged[design, product] = Charged(
            sales + row["sales"] * rate, shipping + row["shipping"] * rate
        )
    return charged


def _check(changes: Changes, table: pd.DataFrame, pieces: Mapping[str, PieceCost]) -> None:
    """Refuse changes that cannot be.

    Raises:
      ValueError: See `what_if`.
    """
    for name, change in {"": changes.price, **changes.prices}.items():
        if not change.is_finite() or change <= -ONE:
            whose = f"The price of {name}" if name else "A price"
            raise ValueError(
                f"{whose} must stay above zero, but changes by {change} of itself"
            )
    sold = set(table["product"].unique())
    missing = sorted(changes.prices.keys() - sold)
    if missing:
        raise ValueError(f"{missing[0]} was not sold on these days")
    channels = set(table["channel"].unique())
    missing = sorted(changes.fees.keys() - channels)
    if missing:
        known = ", ".join(sorted(channels - {""})) or "none"
        raise ValueError(
            f"Nothing was sold on a channel {missing[0]} on these days; there is: {known}"
        )
    for each in changes.fees.values():
        if not each.is_finite():
            raise ValueError(f"The change of the fee must be a number, not {each}")
    for name, change in (("fee", changes.fee), ("postage", changes.postage)):
        if not change.is_finite():
            raise ValueError(f"The change of the {name} must be a number, not {change}")
    in_bills = {
        part.item for product in sold & pieces.keys() for part in pieces[product].parts
    }
    for item, change in changes.materials.items():
        if not change.is_finite() or change < -ONE:
            raise ValueError(
                f"{item} cannot cost less than nothing, but changes by {change} of itself"
            )
        if item not in in_bills:
            raise ValueError(
                f"{item} is in no bill of materials of what was sold; a change of packing "
                "or stamps is one of postage"
            )


def _changed(
    earned: Earned,
    product: str,
    changes: Changes,
    piece: PieceCost | None,
    charged: Charged,
) -> Earned:
    """Return what a product would have come to, postage apart."""
    sales, fees, goods = earned.sales, earned.fees, earned.goods
    price = changes.price_change(product)
    if price:
        sales += sales * price
        if earned.income > ZERO:
            more = fees * (sales - earned.sales) / earned.income
            fees += more.quantize(GRAIN_OF_A_PIECE)
    fees -= charged.of_sales * (ONE + price) + charged.of_shipping
    if changes.materials and piece is not None:
        shares = material_shares(piece)
        by = sum(
            (change * shares.get(item, ZERO) for item, change in changes.materials.items()),
            ZERO,
        )
        goods += (goods * by).quantize(GRAIN_OF_A_PIECE)
    return earned._replace(sales=sales, fees=fees, goods=goods)
