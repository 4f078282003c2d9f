"""Sum an order table up by product, column by column, for plans to change."""

from __future__ import annotations

import decimal
from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import NamedTuple

import pandas as pd

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.plan.newest_costs import fine

COLUMNS = {
    "quantity": "units",
    "sales": "sales",
    "shipping": "shipping",
    "fees": "fees",
    "postage": "postage",
    "packaging": "packaging",
    "cost_of_goods": "goods",
    "giveaways": "other",
    "spoilage": "other",
    "selling": "other",
    "other": "other",
}


class Earned(NamedTuple):
    """What a design comes to; costs are negative, so the amounts add up.

    Attributes:
      units: Pieces sold, less those that came back.
      sales: After discounts and refunds.
      shipping: Charged to buyers.
      fees: Of payments and marketplaces.
      postage: Postage.
      packaging: Packaging.
      goods: Cost of goods sold.
      other: All other income and costs, giveaways, spoilage and selling among them.
    """

    units: Decimal = ZERO
    sales: Decimal = ZERO
    shipping: Decimal = ZERO
    fees: Decimal = ZERO
    postage: Decimal = ZERO
    packaging: Decimal = ZERO
    goods: Decimal = ZERO
    other: Decimal = ZERO

    @property
    def income(self) -> Decimal:
        """What buyers paid: sales and shipping."""
        return EXACT.add(self.sales, self.shipping)

    @property
    def contribution(self) -> Decimal:
        """All amounts together."""
        with decimal.localcontext(EXACT):
            return sum(self[1:], ZERO)

    @property
    def each(self) -> Decimal | None:
        """The contribution of a piece; None where none was sold."""
        return _share(self.contribution, self.units)

    @property
    def margin(self) -> Decimal | None:
        """The contribution as a share of the income; None where there is no income."""
        return _share(self.contribution, self.income)

    def plus(self, more: Earned) -> Earned:
        """Return the sum with another."""
        with decimal.localcontext(EXACT):
            return Earned(*(one + two for one, two in zip(self, more, strict=True)))


def earned_by_product(table: pd.DataFrame) -> Iterator[tuple[str, str, Earned]]:
    """Yield design, product and what it comes to; both are empty of what has none.

    Args:
      table: The rows of one currency of an order table.
    """
    if table.empty:
        return
    sums = table.groupby(["design", "product"], sort=True)[list(COLUMNS)].sum()
    for (design, product), row in zip(sums.index, sums.to_dict("records"), strict=True):
        named = dict.fromkeys(COLUMNS.values(), ZERO)
        for column, name in COLUMNS.items():
            named[name] = EXACT.add(named[name], row[column])
        yield str(design), str(product), Earned(**named)


def together(several: Iterable[Earned]) -> Earned:
    """Return the sum of several.

    Args:
      several: What designs or products come to.
    """
    total = Earned()
    for each in several:
        total = total.plus(each)
    return total


def _share(part: Decimal, whole: Decimal) -> Decimal | None:
    """Return a part as a share of a whole; None where that is not above zero."""
    return fine(EXACT.divide(part, whole)) if whole > ZERO else None
