"""Say what each channel sold, what it cost to sell there, and its share of the whole."""

from __future__ import annotations

import decimal
from dataclasses import dataclass
from decimal import Decimal

import pandas as pd

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.profit_figures import figures_by
from offcut.reports.working_hours import WorkingHours


@dataclass(frozen=True)
class Channel:
    """A channel; costs are below zero.

    Attributes:
      name: Its name; empty for what belongs to none.
      orders: How many orders have a number; sales over a table have none.
      pieces: Pieces sold, less those that came back.
      sales: After discounts and refunds.
      shipping: Charged to buyers.
      fees: Of payments and marketplaces.
      delivery: Postage and packaging.
      goods: Cost of goods sold.
      selling: What else it cost, and other income: table fees, travel, advertising,
        subscriptions, giveaways.
      contribution: All amounts together.
    """

    name: str
    orders: int
    pieces: Decimal
    sales: Decimal
    shipping: Decimal
    fees: Decimal
    delivery: Decimal
    goods: Decimal
    selling: Decimal
    contribution: Decimal

    @property
    def income(self) -> Decimal:
        """Sales, and shipping that was charged."""
        return self.sales + self.shipping

    @property
    def margin(self) -> Decimal | None:
        """The contribution as a share of the income; None where there is none."""
        return self.contribution / self.income if self.income > ZERO else None

    @property
    def each_order(self) -> Decimal | None:
        """What an order came to, shipping included; None where orders have no numbers."""
        return self.income / self.orders if self.orders else None


def channels(table: pd.DataFrame) -> list[Channel]:
    """Return the channels, by contribution, the largest first; what has none last.

    Args:
      table: The rows of an order table to count, of one currency.
    """
    if table.empty:
        return []
    sold = table[(table["order"] != "") & (table["quantity"] != ZERO)]
    orders = sold[["channel", "order"]].drop_duplicates()["channel"].value_counts()
    with decimal.localcontext(EXACT):
        found = [
            Channel(
                name=name,
                orders=int(orders.get(name, 0)),
                pieces=figures.units,
                sales=figures.sales,
                shipping=figures.shipping,
                fees=figures.fees,
                delivery=figures.delivery,
                goods=figures.goods,
                selling=figures.rest,
                contribution=figures.contribution,
            )
            for (name,), figures in figures_by(table, ("channel",), WorkingHours()).items()
        ]
    return sorted(found, key=lambda each: (each.name == "", -each.contribution, each.name))
