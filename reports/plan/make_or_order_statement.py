"""State what making pieces costs against ordering them, and from which quantity on."""

from __future__ import annotations

import decimal
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from offcut.importers.splitting import EXACT, ZERO
from offcut.plugins.catalogue import Item
from offcut.reports.books import Books
from offcut.reports.figures import money, pieces
from offcut.reports.period import Period
from offcut.reports.plan.assumed import Assumed, Assumption, assumptions_table
from offcut.reports.plan.make_or_order import (
    MINUTES_AN_HOUR,
    Comparison,
    OwnMaking,
    Way,
    compare,
)
from offcut.reports.plan.make_or_order_working import (
    bill_table,
    making_table,
    ordering_table,
    quote_table,
    shelf_table,
)
from offcut.reports.plan.minutes import minutes_for_pieces
from offcut.reports.plan.newest_costs import newest_lot_costs
from offcut.reports.plan.order_break_even import BreakEven, break_even
from offcut.reports.plan.piece_cost import PieceCost, bills_on, cost_by_bill
from offcut.reports.plan.price_breaks import PriceTable
from offcut.reports.statement import Check, Headline, Line, Note, Statement, Table
from offcut.reports.statement_cells import Column

TITLE = "Make or order"
WAYS: dict[Way, str] = {
    "make": "make",
    "order": "order",
    "same": "both cost the same",
}


@dataclass(frozen=True)
class MakingTerms:
    """What a maker asks of a comparison.

    Attributes:
      quantity: The good pieces that are needed.
      demand: The pieces that will be asked for; all that are needed where it is None.
      prices: The manufacturer's price table.
      hour: What an hour of the maker is worth.
      minutes: The time for a piece; that of its print runs where it has no figure.
      setup_minutes: The time that a run takes besides.
    """

    quantity: Decimal
    demand: Decimal | None
    prices: PriceTable
    hour: Assumed
    minutes: Assumed
    setup_minutes: Assumed


def make_or_order_statement(books: Books, product: Item, terms: MakingTerms) -> Statement:
    """Return what pieces cost both ways.

    Args:
      books: The ledger.
      product: The product.
      terms: What the maker asks.

    Raises:
      ValueError: The product has no bill, or its materials no cost.
    """
    code = product.currency
    piece = cost_by_bill(
        code,
        bills_on(books.entries),
        newest_lot_costs(books.entries, books.options),
        books.catalogue,
    )
    minutes = terms.minutes
    if minutes.figure is None:
        setup = terms.setup_minutes.figure or ZERO
        found = minutes_for_pieces(books.entries, Period(), setup).get(code)
        runs = "its print runs, less setting up" if setup else "its print runs"
        minutes = Assumed(found, runs if found is not None else "not known")
    own = OwnMaking(
        materials=piece.unit_cost,
        minutes=minutes.figure or ZERO,
        hour=terms.hour.figure or ZERO,
        setup_minutes=terms.setup_minutes.figure or ZERO,
    )
    both = compare(own, terms.prices, terms.quantity, terms.demand)
    crossing = break_even(own, terms.prices)
    currency = piece.currency
    return Statement(
        title=f"{TITLE}: {code}",
        period=f"{pieces(terms.quantity)} pieces",
        tables=(
            _answer(both, terms.hour.figure is not None, currency),
            _stretches(crossing, currency),
            shelf_table(both, currency),
            making_table(both, own, currency),
            ordering_table(both, currency),
            bill_table(piece),
            quote_table(terms.prices, currency),
            _assumptions(terms, minutes, currency),
        ),
        headlines=(
            Headline("Making", both.making),
            Headline("Ordering", both.order.total),
            Headline("Saved by ordering", both.saved_by_ordering),
        ),
        checks=(_check(both, own),),
        notes=tuple(Note(text) for text in _notes(both, piece, terms, minutes)),
    )


def _answer(both: Comparison, timed: bool, currency: str) -> Table:
    """Return both ways, with and without the maker's time where it has a value."""
    rows = [("Materials only, no time", both.materials)]
    if timed:
        rows.append(("With your time", both.making))
    lines = []
    for name, making in rows:
        saved = EXACT.subtract(making, both.order.total)
        lines.append(Line((name, making, both.order.total, saved, _cheaper(saved))))
    return Table(
        title=f"What {pieces(both.quantity)} pieces cost",
        columns=(
            Column("Reckoned", "text"),
            Column("Made"),
            Column("Ordered"),
            Column("Saved by ordering", is_result=True),
            Column("Cheaper", "text"),
        ),
        lines=tuple(lines),
        slug="make-or-order",
        currency=currency,
    )


def _cheaper(saved: Decimal) -> str:
    if not saved:
        return WAYS["same"]
    return WAYS["order" if saved > ZERO else "make"]


def _stretches(found: BreakEven, currency: str) -> Table:
    """Return which way is cheaper from which quantity on."""
    ties = {crossing.first: crossing for crossing in found.crossings}
    lines = []
    for stretch in found.stretches:
        crossing = ties.get(stretch.first)
        lines.append(
            Line(
                (
                    WAYS[stretch.cheaper],
                    stretch.first,
                    stretch.last if stretch.last is not None else "no end",
                    crossing.quantity if crossing else None,
                    crossing.line.unit_price if crossing else None,
                )
            )
        )
    return Table(
        title="Break-even: the cheaper way by quantity",
        columns=(
            Column("Cheaper", "text"),
            Column("From", "units"),
            Column("To", "units"),
            Column("Same cost at", "number"),
            Column("Ordered at", "price"),
        ),
        lines=tuple(lines),
        slug="make-or-order-break-even",
        currency=currency,
    )


def _assumptions(terms: MakingTerms, minutes: Assumed, currency: str) -> Table:
    """Return what the comparison rests on."""
    return assumptions_table(
        (
            Assumption("An hour of yours", *_figure(terms.hour, currency)),
            Assumption("A piece takes", *_figure(minutes, "minutes")),
            Assumption("Setting up takes", *_figure(terms.setup_minutes, "minutes")),
        ),
        "make-or-order-assumptions",
    )


def _figure(figure: Assumed, unit: str) -> tuple[Decimal | None, str, str]:
    return figure.figure, unit, figure.source


def _check(both: Comparison, own: OwnMaking) -> Check:
    """Return the comparison held against its own parts."""
    order = both.order
    with decimal.localcontext(EXACT):
        steps = order.goods + order.line.setup + order.line.freight
        holds = steps == order.total and both.materials == own.materials * both.quantity
    return Check(
        "The steps of both ways add up to what they cost. It rests on the bill and on the "
        "newest lots of the ledger; nothing of it is booked."
        if holds
        else "THE STEPS DO NOT ADD UP. This is a fault in offcut: do not rely on these "
        "figures, and please report it.",
        holds,
    )


def _notes(
    both: Comparison, piece: PieceCost, terms: MakingTerms, minutes: Assumed
) -> Iterator[str]:
    """Yield how to read the statement, and what follows from it."""
    currency, order = piece.currency, both.order
    if order.beyond:
        yield (
            f"The manufacturer's order is of {pieces(order.ordered)} pieces, "
            f"{pieces(order.beyond)} more than needed: fewer cannot be ordered, or cost "
            "more at the next higher price."
        )
    if terms.hour.figure is None:
        yield (
            "No hour of yours has a value here, so making is reckoned at its materials "
            "only; --hour 18, or hour = 18 under [plan] in offcut.toml, gives it one."
        )
    if both.minutes and both.materials < order.total:
        with decimal.localcontext(EXACT):
            worth = (order.total - both.materials) * MINUTES_AN_HOUR / both.minutes
        yield (
            f"Making takes {pieces(both.minutes.quantize(Decimal(1)))} minutes. Ordering "
            "costs no more than making once an hour of yours is worth "
            f"{money(worth, currency)} {currency}."
        )
    elif both.materials >= order.total:
        yield (
            "Ordering costs no more than the materials alone, whatever your time is worth."
        )
    if minutes.figure is None:
        yield (
            "No print run of it says minutes, so no time is counted; --minutes gives them."
        )
    yield (
        "Ordering ties up the whole order, making its materials. What is left over is "
        "carried at what the pieces cost, set-up and freight with it. Spoiled pieces of "
        "making are in the cost of the good ones."
    )
