"""What a design, an order, a channel or an account comes to, and how it is summed up."""

from __future__ import annotations

import datetime
import decimal
from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import NamedTuple

import pandas as pd

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.account_columns import AMOUNT_COLUMNS
from offcut.reports.exact_sums import groups_together, sums_of_groups
from offcut.reports.working_hours import WorkingHours

# As fine as a rate is kept: of a hundredth of a cent nobody asks more.
GRAIN = Decimal("0.0001")
MINUTES_AN_HOUR = 60


class Figures(NamedTuple):
    """What something comes to.

    Income is positive and costs are negative, so the amounts add up to the contribution.

    Attributes:
      units: Pieces sold, less those that came back.
      gross: Sales before what was taken off them.
      discounts: Taken off prices.
      refunds: Paid back.
      shipping: Charged to buyers.
      fees: Of payments and marketplaces.
      postage: Postage.
      packaging: Packaging.
      goods: Cost of goods sold.
      giveaways: What was given away.
      spoilage: Spoiled pieces, and what was missing at a count.
      selling: Costs of channels and events: tables, travel, advertising.
      other: All other income and costs.
      minutes: The maker's minutes in the pieces, as far as they are known.
      untimed: Pieces sold or taken back that were printed, nobody says in what time.
    """

    units: Decimal = ZERO
    gross: Decimal = ZERO
    discounts: Decimal = ZERO
    refunds: Decimal = ZERO
    shipping: Decimal = ZERO
    fees: Decimal = ZERO
    postage: Decimal = ZERO
    packaging: Decimal = ZERO
    goods: Decimal = ZERO
    giveaways: Decimal = ZERO
    spoilage: Decimal = ZERO
    selling: Decimal = ZERO
    other: Decimal = ZERO
    minutes: Decimal = ZERO
    untimed: Decimal = ZERO

    @property
    def sales(self) -> Decimal:
        """Sales after discounts and refunds."""
        return _sum(self.gross, self.discounts, self.refunds)

    @property
    def income(self) -> Decimal:
        """What buyers paid, sales tax apart: sales and shipping."""
        return _sum(self.sales, self.shipping)

    @property
    def delivery(self) -> Decimal:
        """Postage and packaging."""
        return _sum(self.postage, self.packaging)

    @property
    def carriage(self) -> Decimal:
        """What buyers were charged for shipping, less what postage and packaging cost."""
        return _sum(self.shipping, self.delivery)

    @property
    def rest(self) -> Decimal:
        """All income and costs that are neither of sales, delivery, fees nor goods."""
        return _sum(self.giveaways, self.spoilage, self.selling, self.other)

    @property
    def charges(self) -> Decimal:
        """Fees, and all other income and costs."""
        return _sum(self.fees, self.rest)

    @property
    def contribution(self) -> Decimal:
        """All amounts together."""
        return _sum(self.income, self.delivery, self.goods, self.charges)

    @property
    def margin(self) -> Decimal | None:
        """The contribution as a share of the income; None where there is no income."""
        return self.contribution / self.income if self.income > ZERO else None

    @property
    def each(self) -> Decimal | None:
        """The contribution of a piece; None where none was sold."""
        return _per(self.contribution, self.units)

    @property
    def hours(self) -> Decimal | None:
        """The maker's hours in the pieces; None where they are not known, or none."""
        if self.untimed or not self.minutes:
            return None
        return EXACT.divide(self.minutes, Decimal(MINUTES_AN_HOUR)).quantize(GRAIN)

    @property
    def hourly(self) -> Decimal | None:
        """The contribution an hour; None where the hours are not known."""
        if self.hours is None:
            return None
        return _per(
            EXACT.multiply(self.contribution, Decimal(MINUTES_AN_HOUR)), self.minutes
        )


# The columns of the order table that make the first of the figures, in their order.
SUMMED = ("quantity", *AMOUNT_COLUMNS)
MINUTES, UNTIMED = (Figures._fields.index(name) for name in ("minutes", "untimed"))


class Sums(NamedTuple):
    """The figures of groups of rows while they are summed up.

    Attributes:
      groups: The figures of each group, as a list in the order of Figures.
      dates: The date of each group's first row.
    """

    groups: dict[tuple[str, ...], list[Decimal]]
    dates: dict[tuple[str, ...], datetime.date]

    def add(
        self, group: tuple[str, ...], date: datetime.date, at: int, by: Decimal
    ) -> None:
        """Add to one of a group's figures, in the context of the caller.

        Args:
          group: The group.
          date: The date, for a group that is new.
          at: Which of the figures.
          by: What to add.
        """
        if group not in self.groups:
            self.groups[group] = [ZERO] * len(Figures._fields)
            self.dates[group] = date
        self.groups[group][at] += by


def together(figures: Iterable[Figures]) -> Figures:
    """Return the sum of figures.

    Args:
      figures: What several come to.
    """
    with decimal.localcontext(EXACT):
        each = zip(*figures, strict=True)
        return Figures(*(sum(filter(None, amounts), ZERO) for amounts in each))


def figures_by(
    table: pd.DataFrame, keys: Sequence[str], hours: WorkingHours
) -> dict[tuple[str, ...], Figures]:
    """Return what each group of rows comes to.

    Args:
      table: Rows of one currency of an order table.
      keys: The columns of which equal values make a group.
      hours: What is known of the time that pieces took.
    """
    groups = sums_by(table, keys, hours).groups
    return {group: Figures(*row) for group, row in groups.items()}


def sums_by(table: pd.DataFrame, keys: Sequence[str], hours: WorkingHours) -> Sums:
    """Return what each group of rows comes to, for more to be added; see `figures_by`."""
    if table.empty:
        return Sums({}, {})
    numbers = table.groupby(list(keys), sort=False).ngroup().to_numpy()
    together, starts = groups_together(numbers)
    firsts = table[[*keys, "date"]].iloc[together[starts]]
    groups = list(zip(*(firsts[key].tolist() for key in keys), strict=True))
    columns = sums_of_groups(table, SUMMED, together, starts)
    sums = [[*row, ZERO, ZERO] for row in zip(*columns, strict=True)]
    with decimal.localcontext(EXACT):
        if hours.minutes or hours.unknown:
            for group, product, quantity in zip(
                numbers.tolist(),
                table["product"].tolist(),
                table["quantity"].tolist(),
                strict=True,
            ):
                _add_minutes(sums[group], product, quantity, hours)
    return Sums(
        dict(zip(groups, sums, strict=True)),
        dict(zip(groups, firsts["date"].tolist(), strict=True)),
    )


def _add_minutes(
    row: list[Decimal], product: str, quantity: Decimal, hours: WorkingHours
) -> None:
    """Add the minutes of pieces to the figures of their group."""
    each = hours.minutes.get(product)
    if each is not None:
        row[MINUTES] += each * quantity
    elif product in hours.unknown:
        row[UNTIMED] += abs(quantity)


def _sum(*amounts: Decimal) -> Decimal:
    """Return a sum, to the last digit."""
    total = amounts[0]
    for amount in amounts[1:]:
        if amount:
            total = EXACT.add(total, amount)
    return total


def _per(amount: Decimal, number: Decimal) -> Decimal | None:
    """Return an amount for each of a number; None where that is not above zero."""
    if number <= ZERO:
        return None
    return EXACT.divide(amount, number).quantize(GRAIN, context=EXACT)
