"""State the working behind wholesale prices: what is left of a piece, and the floors."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal

from offcut.importers.splitting import EXACT
from offcut.reports.figures import money
from offcut.reports.plan.make_or_order import MINUTES_AN_HOUR
from offcut.reports.plan.newest_costs import fine
from offcut.reports.plan.wholesale import Wholesale
from offcut.reports.statement import Line, Table
from offcut.reports.statement_cells import Column


def losing_table(lines: Iterable[Wholesale], currency: str) -> Table:
    """Return the products that lose money, in words.

    Args:
      lines: The products.
      currency: The currency of all amounts.
    """
    return Table(
        title="Loses money at wholesale",
        columns=(Column("Product", "text"), Column("What happens", "text")),
        lines=tuple(
            Line(
                (
                    line.product,
                    f"Sold at {money(line.price, currency)} it costs "
                    f"{money(line.full_cost, currency)}: each piece loses "
                    f"{money(-line.contribution, currency)}",
                )
            )
            for line in lines
        ),
        slug="wholesale-losses",
        currency=currency,
    )


def earned_table(lines: Iterable[Wholesale], currency: str, timed: bool) -> Table:
    """Return what is left of each wholesale price, step by step.

    Args:
      lines: The products.
      currency: The currency of all amounts.
      timed: Whether the maker's time has a value.
    """
    return Table(
        title="What is left of a piece",
        columns=(
            Column("Product", "text"),
            Column("Retail"),
            Column("Wholesale"),
            Column("Piece"),
            Column("Packing"),
            Column("Fees"),
            *([Column("Time")] if timed else []),
            Column("Full cost"),
            Column("Left", is_result=True),
            Column("Margin", "share"),
        ),
        lines=tuple(
            Line(
                (
                    line.product,
                    line.retail,
                    line.price,
                    line.piece.unit_cost,
                    line.packing,
                    line.fees,
                    *([line.time] if timed else []),
                    line.full_cost,
                    line.contribution,
                    line.margin,
                )
            )
            for line in lines
        ),
        slug="wholesale-a-piece",
        currency=currency,
        empty="No product has a list-price and a cost in this currency.",
    )


def floors_table(
    lines: Iterable[Wholesale], minutes: Mapping[str, Decimal], currency: str
) -> Table:
    """Return the least prices of each product.

    Args:
      lines: The products.
      minutes: The minutes that a piece takes, by product.
      currency: The currency of all amounts.
    """
    return Table(
        title="Prices that lose nothing",
        columns=(
            Column("Product", "text"),
            Column("Wholesale"),
            Column("Floor"),
            Column("Retail"),
            Column("Least retail"),
            Column("Markup", "share"),
            Column("Minutes", "number"),
            Column("An hour earns", is_result=True),
        ),
        lines=tuple(
            Line(
                (
                    line.product,
                    line.price,
                    line.floor,
                    line.retail,
                    line.least_retail,
                    line.markup,
                    minutes.get(line.product),
                    _an_hour(line, minutes.get(line.product)),
                )
            )
            for line in lines
        ),
        slug="wholesale-floors",
        currency=currency,
        empty="No product has a list-price and a cost in this currency.",
    )


def _an_hour(line: Wholesale, minutes: Decimal | None) -> Decimal | None:
    """Return what an hour at making a product earns at wholesale, the hour not paid."""
    if not minutes:
        return None
    earned = EXACT.add(line.contribution, line.time)
    return fine(EXACT.divide(EXACT.multiply(earned, MINUTES_AN_HOUR), minutes))
