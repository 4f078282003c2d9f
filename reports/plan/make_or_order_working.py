"""State the working behind making or ordering: both costs, the bill, and the quote."""

from __future__ import annotations

import decimal

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.figures import pieces
from offcut.reports.plan.make_or_order import MINUTES_AN_HOUR, Comparison, OwnMaking
from offcut.reports.plan.newest_costs import fine
from offcut.reports.plan.piece_cost import PieceCost
from offcut.reports.plan.price_breaks import PriceBreak, PriceTable
from offcut.reports.statement import Line, Table
from offcut.reports.statement_cells import Cell, Column


def making_table(both: Comparison, own: OwnMaking, currency: str) -> Table:
    """Return what making costs, step by step.

    Args:
      both: What the pieces cost both ways.
      own: What it takes to make one.
      currency: The currency of all amounts.
    """
    with decimal.localcontext(EXACT):
        run = own.minutes * both.quantity
        each_time = fine(own.minutes * own.hour / MINUTES_AN_HOUR)
        setting_up = fine(own.setup_minutes * own.hour / MINUTES_AN_HOUR)
        each = fine(both.making / both.quantity)
        time = both.time - setting_up
    lines = [Line(("Materials", both.quantity, None, own.materials, both.materials))]
    if own.minutes:
        lines.append(Line(("Your time, pieces", both.quantity, run, each_time, time)))
    if own.setup_minutes:
        cells = ("Your time, setting up", None, own.setup_minutes, None, setting_up)
        lines.append(Line(cells))
    whole = ("Making", both.quantity, both.minutes or None, each, both.making)
    return _steps("Working: making", "making", lines, whole, currency)


def ordering_table(both: Comparison, currency: str) -> Table:
    """Return what ordering costs, step by step.

    Args:
      both: What the pieces cost both ways.
      currency: The currency of all amounts.
    """
    order = both.order
    lines = [Line(("Goods", order.ordered, None, order.line.unit_price, order.goods))]
    for name, amount in (("Set-up", order.line.setup), ("Freight", order.line.freight)):
        if amount:
            lines.append(Line((name, None, None, None, amount)))
    each = fine(EXACT.divide(order.total, order.ordered))
    whole = ("Ordering", order.ordered, None, each, order.total)
    return _steps("Working: ordering", "ordering", lines, whole, currency)


def _steps(
    title: str, way: str, lines: list[Line], whole: tuple[Cell, ...], currency: str
) -> Table:
    """Return steps and what they come to."""
    total = Line(whole, "total", sums=tuple(range(len(lines))))
    return Table(
        title=title,
        columns=(
            Column("Step", "text"),
            Column("Pieces", "units"),
            Column("Minutes", "number"),
            Column("Each", "price"),
            Column("Amount", adds_up=True),
        ),
        lines=(*lines, total),
        slug=f"make-or-order-{way}",
        currency=currency,
    )


def bill_table(piece: PieceCost) -> Table:
    """Return what a good piece is made of.

    Args:
      piece: What it costs by its bill.
    """
    lines = [
        Line((part.item, fine(part.units), part.unit_cost, part.date, fine(part.cost)))
        for part in piece.parts
    ]
    count = len(lines)
    with decimal.localcontext(EXACT):
        spoiled = piece.unit_cost - sum((fine(part.cost) for part in piece.parts), ZERO)
    share = pieces(piece.normal_spoilage * 100)
    lines.append(Line((f"Normal spoilage, {share}%", None, None, None, spoiled)))
    whole = ("A good piece", None, None, None, piece.unit_cost)
    lines.append(Line(whole, "total", sums=tuple(range(count + 1))))
    return Table(
        title="What a good piece is made of",
        columns=(
            Column("Material", "text"),
            Column("Of a piece", "price"),
            Column("Unit cost", "price"),
            Column("Bought", "date"),
            Column("Cost", "price", adds_up=True),
        ),
        lines=tuple(lines),
        slug="make-or-order-bill",
        currency=piece.currency,
    )


def quote_table(prices: PriceTable, currency: str) -> Table:
    """Return the manufacturer's prices.

    Args:
      prices: The price table.
      currency: The currency of all amounts.
    """
    return Table(
        title="What the manufacturer asks",
        columns=(
            Column("From so many pieces", "text"),
            Column("Each", "price"),
            Column("Set-up"),
            Column("Freight"),
            Column("Least order"),
        ),
        lines=tuple(_quote_line(line) for line in prices.breaks),
        slug="make-or-order-quote",
        currency=currency,
    )


def _quote_line(line: PriceBreak) -> Line:
    return Line(
        (
            pieces(line.minimum),
            line.unit_price,
            line.setup,
            line.freight,
            line.cost(line.minimum),
        )
    )


def shelf_table(both: Comparison, currency: str) -> Table:
    """Return the money that each way ties up, and what is left over.

    Args:
      both: What the pieces cost both ways.
      currency: The currency of all amounts.
    """
    return Table(
        title="Money tied up, and left over",
        columns=(
            Column("Way", "text"),
            Column("Pieces", "units"),
            Column("Asked for", "units"),
            Column("Left over", "units"),
            Column("Money tied up"),
            Column("Of it left over"),
        ),
        lines=(
            Line(
                (
                    "Making",
                    both.quantity,
                    both.demand,
                    both.left_of_making,
                    both.materials,
                    both.value_left_of_making,
                )
            ),
            Line(
                (
                    "Ordering",
                    both.order.ordered,
                    both.demand,
                    both.left_of_order,
                    both.order.total,
                    both.value_left_of_order,
                )
            ),
        ),
        slug="make-or-order-shelf",
        currency=currency,
    )
