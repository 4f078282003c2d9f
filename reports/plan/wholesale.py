"""Tell which products lose money at a wholesale price.

Wholesale at half of retail is common practice, with no source; the rate is an argument.
What a piece costs in full is the piece itself, its packing, its fees, and the maker's
time where an hour is given a value. Of postage nothing is taken here: a shop that orders
in bulk pays the carriage, or is charged it.
"""

from __future__ import annotations

import decimal
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal
from typing import NamedTuple

import pandas as pd

from offcut.importers.splitting import EXACT, ZERO
from offcut.importers.values import minor_unit
from offcut.plugins.catalogue import Item
from offcut.reports.figures import money, rounded
from offcut.reports.plan.inputs import ONE, above_zero, not_negative, share_above_zero
from offcut.reports.plan.markup import margin, markup
from offcut.reports.plan.newest_costs import GRAIN_OF_A_PIECE
from offcut.reports.plan.piece_cost import PieceCost, PieceCosts

# Common practice, no source.
HALF_OF_RETAIL = Decimal("0.5")


class PieceCharges(NamedTuple):
    """What selling a piece cost in a period, beside the piece.

    Attributes:
      units: Pieces sold, less those that came back.
      packing: Packaging of them all.
      fees: Fees of them all.
    """

    units: Decimal
    packing: Decimal
    fees: Decimal

    @property
    def packing_each(self) -> Decimal:
        """Packaging of one piece."""
        return (self.packing / self.units).quantize(GRAIN_OF_A_PIECE)

    @property
    def fees_each(self) -> Decimal:
        """Fees of one piece."""
        return (self.fees / self.units).quantize(GRAIN_OF_A_PIECE)


class LeftOut(NamedTuple):
    """A product that there is no wholesale price for, and why."""

    product: str
    reason: str


@dataclass(frozen=True)
class Wholesale:
    """What a product earns at a wholesale price; all amounts are of one piece.

    Attributes:
      product: The commodity.
      currency: The currency of all amounts.
      retail: The list price.
      rate: The share of it that is the wholesale price.
      price: The wholesale price, rounded to the coin.
      piece: What the piece itself costs, and where that comes from.
      packing: What packing it costs.
      fees: What selling it costs.
      time: What the maker's time for it is worth; zero where no value is given.
      full_cost: These together.
      contribution: What is left of the wholesale price.
      margin: That as a share of the wholesale price.
      markup: That as a share of the full cost; None where a piece costs nothing.
      floor: The least wholesale price, in whole coins, that loses nothing.
      least_retail: The least list price, in whole coins, whose wholesale price loses
        nothing.
      warning: A sentence where each piece loses money; else empty.
    """

    product: str
    currency: str
    retail: Decimal
    rate: Decimal
    price: Decimal
    piece: PieceCost
    packing: Decimal
    fees: Decimal
    time: Decimal
    full_cost: Decimal
    contribution: Decimal
    margin: Decimal
    markup: Decimal | None
    floor: Decimal
    least_retail: Decimal
    warning: str


@dataclass(frozen=True)
class WholesaleList:
    """A shop's wholesale prices.

    Attributes:
      lines: The products, what loses most first.
      left_out: Products without a price or a cost, by commodity.
    """

    lines: tuple[Wholesale, ...]
    left_out: tuple[LeftOut, ...]


def wholesale(
    piece: PieceCost,
    retail: Decimal,
    rate: Decimal = HALF_OF_RETAIL,
    packing: Decimal = ZERO,
    fees: Decimal = ZERO,
    time: Decimal = ZERO,
) -> Wholesale:
    """Return what a product earns at a share of its list price.

    Args:
      piece: What a piece costs.
      retail: Its list price, in the currency of that cost.
      rate: The wholesale price as a share of the list price.
      packing: What packing a piece costs.
      fees: What selling a piece costs.
      time: What the maker's time for a piece is worth.

    Raises:
      ValueError: The price or the rate is not above zero, or a cost is below it.
    """
    product, currency = piece.product, piece.currency
    above_zero(retail, f"The list price of {product}")
    share_above_zero(rate, "The wholesale price")
    not_negative(packing, "What packing a piece costs")
    not_negative(fees, "What selling a piece costs")
    not_negative(time, "What the time for a piece is worth")
    coin = minor_unit(currency)
    with decimal.localcontext(EXACT):
        price = above_zero(
            rounded(retail * rate, currency), f"The wholesale price of {product}"
        )
        full_cost = piece.unit_cost + packing + fees + time
        contribution = price - full_cost
        floor = (full_cost / coin).quantize(ONE, ROUND_CEILING) * coin
        warning = ""
        if contribution < ZERO:
            warning = (
                f"{product} at {money(price, currency)} {currency}: each piece costs "
                f"{money(full_cost, currency)} {currency} and loses "
                f"{money(-contribution, currency)} {currency}"
            )
        return Wholesale(
            product=product,
            currency=currency,
            retail=retail,
            rate=rate,
            price=price,
            piece=piece,
            packing=packing,
            fees=fees,
            time=time,
            full_cost=full_cost,
            contribution=contribution,
            margin=margin(full_cost, price),
            markup=markup(full_cost, price) if full_cost else None,
            floor=floor,
            least_retail=_least_retail(floor, rate, currency),
            warning=warning,
        )


def wholesale_list(
    catalogue: Mapping[str, Item],
    costs: PieceCosts,
    charges: Mapping[str, PieceCharges],
    rate: Decimal = HALF_OF_RETAIL,
    times: Mapping[str, Decimal] | None = None,
) -> WholesaleList:
    """Return what every product earns at wholesale.

    Args:
      catalogue: The items of stock; products with a list price are taken.
      costs: What a piece of each costs.
      charges: What selling each cost in a period; nothing for one that is not there.
      rate: The wholesale price as a share of the list price.
      times: What the maker's time for a piece of each is worth; nothing where it is None.

    Raises:
      ValueError: The rate is not above zero and up to 1.
    """
    share_above_zero(rate, "The wholesale price")
    lines, left_out = [], []
    for product, item in sorted(catalogue.items()):
        if item.kind != "product":
            continue
        price = item.list_price
        piece = costs.pieces.get(product)
        if price is None or not price.number:
            left_out.append(LeftOut(product, "It has no list-price"))
        elif piece is None:
            left_out.append(LeftOut(product, costs.reasons[product]))
        elif piece.currency != price.currency:
            reason = f"Its list-price is in {price.currency}, its cost in {piece.currency}"
            left_out.append(LeftOut(product, reason))
        elif not rounded(price.number * rate, price.currency):
            left_out.append(LeftOut(product, "Its wholesale price rounds to nothing"))
        else:
            packing = fees = ZERO
            if product in charges:
                # Fees that were given back may exceed those of a short period.
                packing = max(charges[product].packing_each, ZERO)
                fees = max(charges[product].fees_each, ZERO)
            time = (times or {}).get(product, ZERO)
            lines.append(wholesale(piece, price.number, rate, packing, fees, time))
    lines.sort(key=lambda line: (line.contribution, line.product))
    return WholesaleList(tuple(lines), tuple(left_out))


def charges_of_products(
    table: pd.DataFrame, currency: str, channels: Iterable[str] | None = None
) -> dict[str, PieceCharges]:
    """Return what packing and fees of each product came to.

    Args:
      table: The rows of an order table in the period.
      currency: The currency to take.
      channels: Only what was sold there; everywhere where it is None.

    Returns:
      Charges by commodity; without products of which no piece was sold.
    """
    mine = table[(table["currency"] == currency) & (table["product"] != "")]
    if channels is not None:
        mine = mine[mine["channel"].isin(list(channels))]
    sums = mine.groupby("product")[["quantity", "packaging", "fees"]].sum()
    return {
        str(product): PieceCharges(row["quantity"], -row["packaging"], -row["fees"])
        for product, row in zip(sums.index, sums.to_dict("records"), strict=True)
        if row["quantity"] > ZERO
    }


def _least_retail(floor: Decimal, rate: Decimal, currency: str) -> Decimal:
    """Return the least list price whose share, rounded to the coin, is a price."""
    coin = minor_unit(currency)
    # Half a coin below is rounded up to it.
    least = ((floor - coin / 2) / rate / coin).quantize(ONE, ROUND_CEILING) * coin
    return max(least, coin)
