"""Tell what one piece costs now: by the newest lots, or by its bill of materials.

    2025-01-06 custom "bill-of-materials" 6 HERON-STK 1 VINYL 1 FILM 5.4 INK-ML

By its bill, a piece costs a sixth of what these cost in the newest lots of each, and for
normal spoilage so much more that the good pieces bear the spoiled ones. A part that has
a bill of its own is taken apart in turn, down to what is bought.
"""

from __future__ import annotations

import datetime
import decimal
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal, NamedTuple

from beancount.core import data

from offcut.importers.splitting import EXACT, ZERO
from offcut.plugins.catalogue import Item
from offcut.plugins.costing import trimmed
from offcut.plugins.stock_directives import Bill, Malformed, read_directive
from offcut.plugins.stockroom import in_force
from offcut.reports.plan.inputs import ONE
from offcut.reports.plan.newest_costs import GRAIN_OF_A_PIECE, LotCost

Basis = Literal["bill", "lots"]


class Part(NamedTuple):
    """What a piece takes of one material.

    Attributes:
      item: The material.
      units: For one printed piece.
      unit_cost: What one unit costs in its newest lots.
      date: The date of these lots.
    """

    item: str
    units: Decimal
    unit_cost: Decimal
    date: datetime.date

    @property
    def cost(self) -> Decimal:
        """What this part adds to a printed piece."""
        return EXACT.multiply(self.units, self.unit_cost)


@dataclass(frozen=True)
class PieceCost:
    """What one good piece of a product costs.

    Attributes:
      product: The commodity.
      currency: The currency of all costs.
      basis: Where the cost comes from.
      parts: Its materials; empty where it comes from the product's own lots.
      printed: What one printed piece costs, good or not.
      normal_spoilage: Spoiled pieces to a good one; zero for lots, whose cost bears it.
      unit_cost: What one good piece costs.
      date: The newest lot that the cost rests on.
    """

    product: str
    currency: str
    basis: Basis
    parts: tuple[Part, ...]
    printed: Decimal
    normal_spoilage: Decimal
    unit_cost: Decimal
    date: datetime.date


class PieceCosts(NamedTuple):
    """What a piece of each product costs.

    Attributes:
      pieces: Costs by commodity.
      reasons: Why a product has none, in a sentence.
    """

    pieces: dict[str, PieceCost]
    reasons: dict[str, str]


def bills_on(
    entries: Iterable[data.Directive], date: datetime.date | None = None
) -> dict[str, Bill]:
    """Return each product's bill of materials in force on a day.

    Args:
      entries: The ledger's directives; the stock plugin reports what is wrong in them.
      date: The day; the newest bills where it is None.
    """
    versions: dict[str, list[Bill]] = {}
    for entry in entries:
        if isinstance(entry, data.Custom):
            try:
                record = read_directive(entry)
            except Malformed:
                continue
            if isinstance(record, Bill):
                versions.setdefault(record.output.item, []).append(record)
    bills = {}
    for product, found in versions.items():
        found.sort(key=lambda bill: bill.entry.date)
        bill = in_force(found, date or datetime.date.max)
        if bill is not None:
            bills[product] = bill
    return bills


def cost_by_bill(
    product: str,
    bills: Mapping[str, Bill],
    costs: Mapping[str, LotCost],
    catalogue: Mapping[str, Item],
) -> PieceCost:
    """Return what a good piece costs by its bill, at what its materials cost now.

    Args:
      product: The commodity.
      bills: The bills in force, by product.
      costs: What each item cost in its newest lots.
      catalogue: The items of stock, for their normal spoilage.

    Raises:
      ValueError: There is no bill, a material was never bought, or the materials cost
        several currencies.
    """
    if product not in bills:
        raise ValueError(
            f'{product} has no bill of materials; write custom "bill-of-materials" '
            f"1 {product} 1 SHEET"
        )
    with decimal.localcontext(EXACT):
        needed = _needs(product, bills, catalogue, ())
        missing = [item for item in needed if item not in costs]
        if missing:
            raise ValueError(
                f"{missing[0]}, in the bill of {product}, has no cost yet; record its "
                "purchase"
            )
        parts = tuple(
            Part(item, units, costs[item].unit_cost, costs[item].date)
            for item, units in needed.items()
        )
        currencies = sorted({costs[item].currency for item in needed})
        if len(currencies) > 1:
            raise ValueError(
                f"The materials of {product} cost {' and '.join(currencies)}; a piece can "
                "be costed in one currency only"
            )
        printed = sum((part.cost for part in parts), ZERO)
        spoilage = _spoilage(product, catalogue)
        return PieceCost(
            product=product,
            currency=currencies[0],
            basis="bill",
            parts=parts,
            printed=trimmed(printed.quantize(GRAIN_OF_A_PIECE)),
            normal_spoilage=spoilage,
            unit_cost=trimmed((printed * (ONE + spoilage)).quantize(GRAIN_OF_A_PIECE)),
            date=max(part.date for part in parts),
        )


def cost_by_lots(product: str, costs: Mapping[str, LotCost]) -> PieceCost:
    """Return what a piece cost in the newest lots of the product itself.

    Args:
      product: The commodity.
      costs: What each item cost in its newest lots.

    Raises:
      ValueError: There was no lot yet.
    """
    if product not in costs:
        raise ValueError(f"{product} has no cost yet; record its print run or its purchase")
    cost = costs[product]
    return PieceCost(
        *(product, cost.currency, "lots", (), cost.unit_cost, ZERO),
        *(cost.unit_cost, cost.date),
    )


def piece_costs(
    catalogue: Mapping[str, Item],
    bills: Mapping[str, Bill],
    costs: Mapping[str, LotCost],
    basis: Basis,
) -> PieceCosts:
    """Return what a good piece of every product costs.

    Args:
      catalogue: The items of stock.
      bills: The bills in force, by product.
      costs: What each item cost in its newest lots.
      basis: Where the costs come from. A product that was never printed here has no bill
        and takes its newest lots in any case.
    """
    found = PieceCosts({}, {})
    for product, item in sorted(catalogue.items()):
        if item.kind != "product":
            continue
        try:
            if basis == "bill" and product in bills:
                piece = cost_by_bill(product, bills, costs, catalogue)
            else:
                piece = cost_by_lots(product, costs)
        except ValueError as error:
            found.reasons[product] = str(error)
        else:
            found.pieces[product] = piece
    return found


def _needs(
    product: str,
    bills: Mapping[str, Bill],
    catalogue: Mapping[str, Item],
    path: tuple[str, ...],
) -> dict[str, Decimal]:
    """Return what a printed piece takes of each thing that is bought."""
    if product in path:
        raise ValueError(f"The bill of {product} comes back to itself by way of its parts")
    bill = bills[product]
    needed: dict[str, Decimal] = {}
    for part in bill.inputs:
        units = part.units / bill.output.units
        taken = {part.item: ONE}
        if part.item in bills:
            taken = _needs(part.item, bills, catalogue, (*path, product))
            units *= ONE + _spoilage(part.item, catalogue)
        for item, each in taken.items():
            needed[item] = needed.get(item, ZERO) + units * each
    return needed


def _spoilage(product: str, catalogue: Mapping[str, Item]) -> Decimal:
    return catalogue[product].normal_spoilage if product in catalogue else ZERO
