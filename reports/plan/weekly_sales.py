"""Tell how a product sold week by week, and how much the weeks differ."""

from __future__ import annotations

import datetime
import decimal
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

import pandas as pd

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.period import Period
from offcut.reports.plan.order_size import ROOTS

Sold = tuple[datetime.date, Decimal]
WEEK = 7
WEEKS_A_YEAR = Decimal(52)


@dataclass(frozen=True)
class WeeklySales:
    """How a product sold, week by week.

    Attributes:
      product: The commodity.
      first: The first day of the first whole week.
      last: The last day of the last.
      days_left_out: Days at the beginning of the period that make no whole week.
      weeks: Pieces sold in each week, less those that came back, the oldest first.
      total: All of them.
      rate: Pieces a week.
      spread: The sample standard deviation of a week; None of a single week.
    """

    product: str
    first: datetime.date
    last: datetime.date
    days_left_out: int
    weeks: tuple[Decimal, ...]
    total: Decimal
    rate: Decimal
    spread: Decimal | None

    @property
    def a_year(self) -> Decimal:
        """Pieces in 52 weeks at this rate."""
        return EXACT.multiply(self.rate, WEEKS_A_YEAR)


def sold_by_product(table: pd.DataFrame) -> dict[str, list[Sold]]:
    """Return the days and pieces of each product's sales, and of what came back.

    Args:
      table: An order table.
    """
    sold: dict[str, list[Sold]] = {}
    columns = (table[name].tolist() for name in ("product", "date", "quantity"))
    for product, date, quantity in zip(*columns, strict=True):
        if product and quantity:
            sold.setdefault(product, []).append((date, quantity))
    return sold


def weekly_sales(
    product: str, rows: Iterable[Sold], period: Period, today: datetime.date
) -> WeeklySales | None:
    """Return how a product sold in the whole weeks of a period.

    The weeks are counted back from its last day, so that the newest is whole.

    Args:
      product: The commodity.
      rows: The days and pieces of its sales, and of what came back.
      period: The days; open at its beginning, it begins with the product's first sale,
        and open at its end, it ends today.
      today: The day.

    Returns:
      The weeks; None where the product was not sold, or there is no whole week.
    """
    sold = [
        (date, quantity)
        for date, quantity in rows
        if date in period and (period.last or date <= today)
    ]
    if not sold:
        return None
    last = period.last or today
    begin = period.first or min(date for date, _ in sold)
    count, left_out = divmod((last - begin).days + 1, WEEK)
    if count < 1:
        return None
    weeks = [ZERO] * count
    for date, quantity in sold:
        back = (last - date).days // WEEK
        if back < count:
            weeks[count - 1 - back] += quantity
    total = sum(weeks, ZERO)
    with decimal.localcontext(ROOTS):
        return WeeklySales(
            product=product,
            first=last - datetime.timedelta(days=count * WEEK - 1),
            last=last,
            days_left_out=left_out,
            weeks=tuple(weeks),
            total=total,
            rate=total / count,
            spread=sample_deviation(weeks),
        )


def sample_deviation(numbers: Sequence[Decimal]) -> Decimal | None:
    """Return the sample standard deviation, to 28 digits.

    Args:
      numbers: The sample.

    Returns:
      The root of the squared distances from the mean over one less than their number;
      None where there are fewer than two.
    """
    count = len(numbers)
    if count < 2:
        return None
    with decimal.localcontext(EXACT):
        # The same without the mean, so that only the root is ever rounded.
        squares = sum((number * number for number in numbers), ZERO)
        total = sum(numbers, ZERO)
        variance = (count * squares - total * total) / (count * (count - 1))
    return variance.sqrt(ROOTS)
