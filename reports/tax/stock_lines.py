"""Work out the cost of goods sold as the form has it: from stock to stock.

    opening + purchases + labour + materials + other costs - closing = cost of goods sold

All of it is of goods: envelopes and stamps are supplies. Purchases are of goods bought as
they are sold, less what the owner took; materials are what goes into goods made here. Of
both is taken off what other lines of the form bear, such as what was given away. Other
costs are freight and set-up, and what was posted to cost of goods by hand.
"""

from __future__ import annotations

import decimal
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.inventory_roll import InventoryRoll
from offcut.reports.period import Period
from offcut.reports.tax.account_flows import AccountFlows
from offcut.reports.tax.form_schema import NONE
from offcut.reports.tax.packing_stock import StockUses
from offcut.reports.tax.tax_lines import COST_OF_GOODS, TaxLines, line_of

LABOUR, MATERIALS, OTHER = "cost-of-labor", "cost-materials", "cost-other"


@dataclass(frozen=True)
class StockLines:
    """The cost of goods sold of a period, by the form's lines.

    Attributes:
      opening: Goods on hand before the first day, at cost.
      bought: Goods bought as they are sold.
      withdrawn: What the owner took, or no line of the form bears.
      elsewhere: What other lines bear, by line, of goods bought and made alike.
      materials: What was bought to be made into goods.
      labour: Accounts on the line of labour.
      freight: Freight, set-up and the like that became part of the cost of goods.
      by_hand: Posted to cost of goods by hand, without stock.
      declared: Accounts that the ledger puts on materials or other costs itself, by line.
      closing: Goods on hand after the last day, at cost.
      purchases: The form's line of purchases.
      materials_line: The form's line of materials and supplies.
      other: The form's line of other costs.
    """

    opening: Decimal
    bought: Decimal
    withdrawn: Decimal
    elsewhere: Mapping[str, Decimal]
    materials: Decimal
    labour: Decimal
    freight: Decimal
    by_hand: Decimal
    declared: Mapping[str, Decimal]
    closing: Decimal
    purchases: Decimal
    materials_line: Decimal
    other: Decimal

    @property
    def available(self) -> Decimal:
        """What there was to sell: all but what is left."""
        bought = self.purchases + self.materials_line
        return self.opening + bought + self.labour + self.other

    @property
    def cost_of_goods(self) -> Decimal:
        """What of it was sold, spoiled or lost."""
        return self.available - self.closing

    @property
    def lines(self) -> dict[str, Decimal]:
        """What stands on the form's lines, by key."""
        return {
            "opening-inventory": self.opening,
            "purchases": self.purchases,
            LABOUR: self.labour,
            MATERIALS: self.materials_line,
            OTHER: self.other,
            "closing-inventory": self.closing,
        }


def stock_lines(
    roll: InventoryRoll,
    flows: AccountFlows,
    lines: TaxLines,
    uses: StockUses,
    period: Period,
) -> StockLines:
    """Return the cost of goods sold of a period, by lines.

    Args:
      roll: The inventory roll of the period.
      flows: What was posted to the accounts, over the period at least.
      lines: Which line each account stands on.
      uses: What the items of stock are for.
      period: The days.
    """
    with decimal.localcontext(EXACT):
        return _stock_lines(roll, flows, lines, uses, period)


def _stock_lines(
    roll: InventoryRoll,
    flows: AccountFlows,
    lines: TaxLines,
    uses: StockUses,
    period: Period,
) -> StockLines:
    opening = closing = bought = materials = capitalised = ZERO
    for item, one in roll.items.items():
        if item in uses.packing:
            continue
        opening += one.opening.value
        closing += one.closing.value
        if _is_bought(item, uses):
            bought += one.bought.value
        else:
            materials += one.bought.value
        capitalised += one.freight.value + one.made.value + one.used.value
    packing_apart = bool(lines.of_packaging())
    sold_off = ZERO
    out = ZERO
    elsewhere: dict[str, Decimal] = {}
    beside = {True: ZERO, False: ZERO}
    spoiled = ZERO
    for (account, item), amount in flows.stock_borne(period).items():
        line = lines[account]
        key = line_of(line.key) if line else ""
        # Packing that is on the line of goods is no stock of goods all the same.
        if key == COST_OF_GOODS and (item not in uses.packing or packing_apart):
            sold_off += amount
        if item in uses.packing:
            continue
        spoiled += amount
        if key in ("", NONE):
            out += amount
        elif key != COST_OF_GOODS:
            beside[_is_bought(item, uses)] += amount
            elsewhere[key] = elsewhere.get(key, ZERO) + amount
    on_line: dict[str, Decimal] = {}
    for account, amount in flows.posted(period).items():
        line = lines[account]
        if line is not None and amount:
            on_line[line.key] = on_line.get(line.key, ZERO) + amount
    # What a run spoiled stands in an account, and no longer in what it made.
    capitalised += spoiled - _left_stock(roll, uses)
    by_hand = on_line.get(COST_OF_GOODS, ZERO) - sold_off
    declared = {key: on_line[key] for key in (MATERIALS, OTHER) if on_line.get(key, ZERO)}
    # A maker who buys no finished goods takes out what materials were made into.
    of_purchases = min(out, max(bought - beside[True], ZERO))
    return StockLines(
        opening=opening,
        bought=bought,
        withdrawn=out,
        elsewhere=elsewhere,
        materials=materials,
        labour=on_line.get(LABOUR, ZERO),
        freight=capitalised,
        by_hand=by_hand,
        declared=declared,
        closing=closing,
        purchases=bought - beside[True] - of_purchases,
        materials_line=materials
        - beside[False]
        - (out - of_purchases)
        + declared.get(MATERIALS, ZERO),
        other=capitalised + by_hand + declared.get(OTHER, ZERO),
    )


def _is_bought(item: str, uses: StockUses) -> bool:
    """Tell whether an item is bought as it is sold."""
    known = uses.catalogue.get(item)
    return known is not None and known.kind == "product" and item not in uses.made


def _left_stock(roll: InventoryRoll, uses: StockUses) -> Decimal:
    """Return what the roll says that accounts bore of goods, print runs aside."""
    return -sum(
        (
            each.value
            for item, one in roll.items.items()
            if item not in uses.packing
            for each in (one.corrected, one.sold, one.packed, one.written_down, one.other)
        ),
        ZERO,
    )
