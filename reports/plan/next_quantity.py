"""Tell when to print again and how much, from how a product has sold.

A product's rate is the mean of its whole weeks, those without a sale included, and its
spread their sample standard deviation. Stock must last until the new pieces are there:

    reorder point = rate * L + z * spread * sqrt(L)

with `L` weeks of lead time and `z` from the normal distribution, so that with the chosen
probability nothing is missing meanwhile. A week in which there was nothing left to sell
counts as one without a sale: what people would have bought, no ledger knows.
"""

from __future__ import annotations

import datetime
import decimal
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from statistics import NormalDist

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.plan.first_quantity import Rounded, on_whole_sheets
from offcut.reports.plan.inputs import ONE, not_negative
from offcut.reports.plan.newest_costs import GRAIN_OF_A_PIECE
from offcut.reports.plan.order_size import ROOTS, OrderSize, order_size
from offcut.reports.plan.weekly_sales import WEEK, WeeklySales

CENTURY = 36_525
ONE_WEEK_ONLY = (
    "There is one whole week of sales only, and no spread can be told from one: the "
    "reorder point holds nothing in reserve"
)


@dataclass(frozen=True)
class ReorderPoint:
    """The stock at which to print again.

    Attributes:
      rate: Pieces a week.
      spread: The standard deviation of a week; None where it cannot be told.
      lead_weeks: Weeks until new pieces are there.
      service: The probability that nothing is missing meanwhile.
      z: The standard deviations that this takes.
      lead_demand: Pieces asked for meanwhile, on average.
      lead_spread: The standard deviation of that.
      reserve: Pieces beyond that average: the safety stock.
      exact: Average and reserve, with their fraction.
      point: The same in whole pieces, rounded up; never below zero.
      note: A sentence where there is something to know; else empty.
    """

    rate: Decimal
    spread: Decimal | None
    lead_weeks: Decimal
    service: Decimal
    z: Decimal
    lead_demand: Decimal
    lead_spread: Decimal | None
    reserve: Decimal
    exact: Decimal
    point: Decimal
    note: str = ""

    def due(self, on_hand: Decimal) -> bool:
        """Tell whether so much on hand calls for printing again."""
        return on_hand <= self.point


@dataclass(frozen=True)
class NextQuantity:
    """When to print a product again, and how much of it.

    Attributes:
      sales: How it sold.
      reorder: The stock at which to print again.
      size: The pieces of a run at which setting up and keeping cost least; None where
        it is not known what these cost.
      run: The same on whole sheets.
      on_hand: What there is.
      due: Whether that calls for printing now.
      now: What to print now: the fewest runs, or where no run has a size the fewest
        sheets, that bring the stock above the reorder point; None where it is there.
    """

    sales: WeeklySales
    reorder: ReorderPoint
    size: OrderSize | None
    run: Rounded | None
    on_hand: Decimal
    due: bool
    now: Rounded | None

    @property
    def weeks_left(self) -> Decimal:
        """For how many weeks the pieces last at this rate; zero where there are none."""
        return max(self.on_hand, ZERO) / self.reorder.rate

    @property
    def runs_out(self) -> datetime.date | None:
        """The day on which there is none left; None where that is centuries away."""
        days = (self.weeks_left * WEEK).to_integral_value(ROUND_FLOOR)
        if days > CENTURY:
            return None
        return self.sales.last + datetime.timedelta(days=int(days))


def next_quantity(
    sales: WeeklySales,
    lead_weeks: Decimal,
    service: Decimal,
    run_cost: Decimal | None,
    holding: Decimal | None,
    on_hand: Decimal,
    per_sheet: Decimal = ONE,
) -> NextQuantity | None:
    """Return when to print a product again, and how much of it.

    Args:
      sales: How it sold.
      lead_weeks: Weeks until new pieces are there.
      service: The probability that nothing is missing meanwhile: 0.95.
      run_cost: What a run costs whatever its size: setting up, at what an hour is worth;
        None where that is not known.
      holding: What keeping a piece for a year costs; None where that is not known.
      on_hand: The pieces that there are.
      per_sheet: The pieces that a sheet makes.

    Returns:
      The quantity, for a year of 52 such weeks; None where nothing is asked for.

    Raises:
      ValueError: A cost is not above zero, or the service not between 0 and 1.
    """
    reorder = reorder_point(sales.rate, sales.spread, lead_weeks, service)
    if reorder is None:
        return None
    size = run = None
    if run_cost is not None and holding is not None:
        size = order_size(sales.a_year, run_cost, holding)
        assert size is not None  # the demand is the same that there is a reorder point for
        run = on_whole_sheets(size.quantity, per_sheet)
    due = reorder.due(on_hand)
    now = to_print_now(reorder, on_hand, per_sheet, run) if due else None
    return NextQuantity(sales, reorder, size, run, on_hand, due, now)


def to_print_now(
    reorder: ReorderPoint, on_hand: Decimal, per_sheet: Decimal, run: Rounded | None
) -> Rounded:
    """Return the fewest runs, or sheets, that bring the stock above the reorder point.

    Args:
      reorder: The stock at which to print again.
      on_hand: The pieces that there are.
      per_sheet: The pieces that a sheet makes.
      run: A run; None where it has no size.
    """
    with decimal.localcontext(EXACT):
        missing = reorder.point - on_hand + ONE
        if run is not None:
            runs = (missing / run.on_sheets).quantize(ONE, ROUND_CEILING)
            missing = max(runs, ONE) * run.on_sheets
        return on_whole_sheets(max(missing, ONE), per_sheet)


def reorder_point(
    rate: Decimal, spread: Decimal | None, lead_weeks: Decimal, service: Decimal
) -> ReorderPoint | None:
    """Return the stock at which to print again.

    Args:
      rate: Pieces a week.
      spread: The standard deviation of a week; None where it cannot be told.
      lead_weeks: Weeks until new pieces are there; the units of time of rate and spread
        may be others, if this is in the same.
      service: The probability that nothing is missing meanwhile: 0.95.

    Returns:
      The point; None where nothing is asked for.

    Raises:
      ValueError: The service is not between 0 and 1, or another figure below zero.
    """
    if not service.is_finite() or not ZERO < service < ONE:
        raise ValueError(
            "The service level must lie between 0 and 1, such as 0.95 for 19 times out of "
            f"20; it is {service}"
        )
    not_negative(lead_weeks, "The lead time")
    if spread is not None:
        not_negative(spread, "The spread")
    if rate <= ZERO:
        return None
    with decimal.localcontext(ROOTS):
        # No Decimal knows the normal distribution. The float is within 1E-15 of it, and
        # is taken in as it prints; a demand is known to three digits at the best.
        z = Decimal(str(NormalDist().inv_cdf(float(service))))
        lead_demand = rate * lead_weeks
        lead_spread = None if spread is None else spread * lead_weeks.sqrt()
        reserve = ZERO if lead_spread is None else z * lead_spread
        exact = lead_demand + reserve
        # A rate of 2/3 over three weeks is two pieces, not the third for a last digit.
        whole = exact.quantize(GRAIN_OF_A_PIECE).quantize(ONE, ROUND_CEILING)
        return ReorderPoint(
            rate=rate,
            spread=spread,
            lead_weeks=lead_weeks,
            service=service,
            z=z,
            lead_demand=lead_demand,
            lead_spread=lead_spread,
            reserve=reserve,
            exact=exact,
            point=max(whole, ZERO),
            note=ONE_WEEK_ONLY if spread is None else "",
        )
