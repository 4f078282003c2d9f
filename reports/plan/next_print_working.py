"""State the working behind the next prints: reorder points, sizes of runs, price breaks."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from offcut.reports.figures import pieces
from offcut.reports.plan.newest_costs import fine
from offcut.reports.plan.next_prints import NextPrint
from offcut.reports.plan.order_size import OrderSize
from offcut.reports.statement import Line, Table
from offcut.reports.statement_cells import Column


def reorder_points_table(prints: Iterable[NextPrint]) -> Table:
    """Return the working of each reorder point.

    Args:
      prints: The products.
    """
    lines = []
    for each in prints:
        sales, reorder = each.plan.sales, each.plan.reorder
        spread = None if reorder.spread is None else fine(reorder.spread)
        lines.append(
            Line(
                (
                    each.product,
                    sales.total,
                    Decimal(len(sales.weeks)),
                    fine(sales.rate),
                    spread,
                    fine(reorder.lead_demand),
                    fine(reorder.reserve),
                    reorder.point,
                )
            )
        )
    return Table(
        title="Working: the reorder point",
        columns=(
            Column("Product", "text"),
            Column("Sold", "units"),
            Column("Weeks", "units"),
            Column("A week", "number"),
            Column("Spread", "number"),
            Column("Meanwhile", "number"),
            Column("Reserve", "number"),
            Column("Reorder at", "units"),
        ),
        lines=tuple(lines),
        slug="next-print-reorder-points",
        empty="No product was sold in a whole week of these.",
    )


def sizes_table(prints: Iterable[NextPrint], currency: str) -> Table:
    """Return the working of each run's size.

    Args:
      prints: The products whose runs have one.
      currency: The currency of all amounts.
    """
    lines = []
    for each in prints:
        size, run = each.plan.size, each.plan.run
        assert size is not None
        assert run is not None
        lines.append(
            Line(
                (
                    each.product,
                    fine(size.demand),
                    size.order_cost,
                    each.unit_cost,
                    size.holding,
                    fine(size.exact),
                    run.sheets if each.is_printed else None,
                    run.on_sheets,
                )
            )
        )
    return Table(
        title="Working: the size of a run",
        columns=(
            Column("Product", "text"),
            Column("A year", "number"),
            Column("A run costs"),
            Column("A piece", "price"),
            Column("Keeping it", "price"),
            Column("Least at", "number"),
            Column("Sheets", "units"),
            Column("A run", "units"),
        ),
        lines=tuple(lines),
        slug="next-print-sizes",
        currency=currency,
    )


def price_breaks_table(each: NextPrint, currency: str) -> Table:
    """Return what each line of a price table costs in a year, at its best size.

    Args:
      each: The product.
      currency: The currency of all amounts.
    """
    assert each.sizes is not None
    best = each.sizes.best
    return Table(
        title=f"A year of {each.product}, by price break",
        columns=(
            Column("From", "text"),
            Column("Each", "price"),
            Column("An order", "units"),
            Column("Ordering"),
            Column("Keeping"),
            Column("Goods"),
            Column("A year"),
            Column("Best", "text"),
        ),
        lines=tuple(_step(size, size == best) for size in each.sizes.steps),
        slug="next-print-price-breaks",
        currency=currency,
    )


def _step(size: OrderSize, is_best: bool) -> Line:
    assert size.line is not None
    return Line(
        (
            pieces(size.line.minimum),
            size.line.unit_price,
            size.quantity,
            size.ordering,
            size.keeping,
            size.goods,
            size.total,
            "best" if is_best else "",
        )
    )
