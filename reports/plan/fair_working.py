"""State what a fair's break-even rests on: what it sold and cost, or what others did."""

from __future__ import annotations

import decimal
from collections.abc import Iterable
from decimal import Decimal

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.plan.assumed import GIVEN, Assumption, assumptions_table
from offcut.reports.plan.break_even import FairBreakEven, FixedCost
from offcut.reports.plan.fair_basis import FairBasis
from offcut.reports.plan.newest_costs import fine
from offcut.reports.statement import Line, Table
from offcut.reports.statement_cells import Cell, Column


def costs_table(costs: Iterable[FixedCost], currency: str) -> Table:
    """Return what a fair to come costs whatever is sold there.

    Args:
      costs: The costs.
      currency: The currency of all amounts.
    """
    lines = [Line((cost.account, cost.amount)) for cost in costs]
    total = sum((cost.amount for cost in costs), ZERO)
    lines.append(Line(("Together", total), "total", sums=tuple(range(len(lines)))))
    return Table(
        title="What it costs",
        columns=(Column("Cost", "text"), Column("Amount", adds_up=True)),
        lines=tuple(lines),
        slug="fair-costs",
        currency=currency,
    )


def left_table(fair: FairBreakEven) -> Table:
    """Return what was left of a fair's sales.

    Args:
      fair: The fair.
    """
    lines = (
        Line(("Sales, after discounts and refunds", fair.sales)),
        Line(("Goods, fees, packing, less shipping", fair.variable)),
        Line(("Left of sales", fair.contribution), "total", sums=(0, 1)),
    )
    return _steps("What was left of its sales", "fair-left", lines, fair.currency)


def result_table(fair: FairBreakEven) -> Table:
    """Return what a fair earned after what it cost whatever was sold.

    Args:
      fair: The fair.
    """
    lines = [
        Line(("Left of sales", fair.contribution)),
        *(Line((cost.account, -cost.amount)) for cost in fair.fixed),
    ]
    sums = tuple(range(len(lines)))
    lines.append(Line(("What it earned", fair.result), "total", sums=sums))
    return _steps("What it earned", "fair-result", lines, fair.currency)


def _steps(title: str, slug: str, lines: Iterable[Line], currency: str) -> Table:
    """Return the table of some steps."""
    return Table(
        title=title,
        columns=(Column("Step", "text"), Column("Amount", adds_up=True, is_result=True)),
        lines=tuple(lines),
        slug=slug,
        currency=currency,
    )


def stalls_table(basis: FairBasis, fixed: Decimal, time: Decimal | None) -> Table:
    """Return how many pieces of each product pay, sold in the same mix.

    Args:
      basis: What sales are like.
      fixed: What the fair costs.
      time: What the maker's time for it is worth; None where that is not known.
    """
    lines = []
    for stall in basis.stalls:
        cells: list[Cell] = [
            stall.product,
            stall.units,
            stall.sales,
            fine(EXACT.divide(stall.sales, stall.units)),
            basis.share_for(fixed, stall.units),
        ]
        if time is not None:
            cells.append(basis.share_for(EXACT.add(fixed, time), stall.units))
        lines.append(Line(tuple(cells)))
    return Table(
        title="Pieces that pay for it, in the mix that sold",
        columns=(
            Column("Product", "text"),
            Column("Sold", "units"),
            Column("Sales"),
            Column("A piece"),
            Column("Needed", "units"),
            *([Column("With your time", "units")] if time is not None else []),
        ),
        lines=tuple(lines),
        slug="fair-pieces",
        currency=basis.currency,
    )


def fairs_table(basis: FairBasis) -> Table:
    """Return the fairs that a plan goes by.

    Args:
      basis: What sales are like.
    """
    lines = [
        Line((fair.event, fair.sales, fair.contribution, fair.ratio, fair.result))
        for fair in basis.fairs
    ]
    if len(lines) > 1:
        with decimal.localcontext(EXACT):
            result = sum((fair.result for fair in basis.fairs), ZERO)
        whole = ("Together", basis.sales, basis.contribution, fine(basis.ratio), result)
        lines.append(Line(whole, "total", sums=tuple(range(len(lines)))))
    return Table(
        title="The fairs it goes by",
        columns=(
            Column("Fair", "text"),
            Column("Sales", adds_up=True),
            Column("Left", adds_up=True, is_result=True),
            Column("Of sales", "share"),
            Column("Earned", adds_up=True, is_result=True),
        ),
        lines=tuple(lines),
        slug="fair-basis",
        currency=basis.currency,
    )


def given_table(basis: FairBasis) -> Table:
    """Return what sales are like, as given.

    Args:
      basis: What sales are like.
    """
    return assumptions_table(
        (
            Assumption("Left of sales", basis.ratio * 100, "%", GIVEN),
            Assumption("A piece sells for", basis.sales, basis.currency, GIVEN),
        ),
        "fair-given",
    )
