"""State how many pieces of a new product to print first."""

from __future__ import annotations

import decimal
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from offcut.importers.splitting import EXACT, ZERO
from offcut.plugins.catalogue import Item
from offcut.plugins.stock_directives import Bill
from offcut.reports.books import Books
from offcut.reports.figures import pieces
from offcut.reports.plan.assumed import Assumed, Assumption, assumptions_table
from offcut.reports.plan.first_quantity import (
    FirstQuantity,
    Rounded,
    first_quantity,
    pieces_to_a_sheet,
)
from offcut.reports.plan.inputs import ONE
from offcut.reports.plan.newest_costs import newest_lot_costs
from offcut.reports.plan.piece_cost import PieceCost, bills_on, cost_by_bill
from offcut.reports.statement import Check, Line, Note, Statement, Table
from offcut.reports.statement_cells import Column

TITLE = "First print"
PRACTICE = (
    "One follower in a hundred buys, five to ten in a hundred buyers take one product, and "
    "fewer than four pieces are not worth a run: common practice, no source. Once it "
    "sells, `offcut plan next-print` goes by its own sales."
)


@dataclass(frozen=True)
class FirstTerms:
    """What a first print rests on.

    Attributes:
      following: The people who follow the maker.
      buying: The share of them that buys anything.
      low: The share of the buyers that takes one product, at the least.
      high: The same, at the most.
      least: Never print fewer.
    """

    following: Assumed
    buying: Assumed
    low: Assumed
    high: Assumed
    least: Assumed


def first_print_statement(books: Books, product: Item, terms: FirstTerms) -> Statement:
    """Return how many pieces of a product to print first.

    Args:
      books: The ledger, for the bill and what its materials cost.
      product: The product.
      terms: What the print rests on.

    Raises:
      ValueError: A share or a number cannot be.
    """
    code = product.currency
    bills = bills_on(books.entries)
    bill = bills.get(code)
    per_sheet = pieces_to_a_sheet(bill) if bill else ONE
    first = first_quantity(
        terms.following.figure or ZERO,
        per_sheet,
        terms.buying.figure or ZERO,
        terms.low.figure or ZERO,
        terms.high.figure or ZERO,
        terms.least.figure or ZERO,
    )
    piece, why_not = _cost(books, code, bills)
    tables = [_steps(first, bill is not None)]
    if piece:
        tables.append(_costs(first, piece))
    sold = sum(books.table[books.table["product"] == code]["quantity"], ZERO)
    return Statement(
        title=f"{TITLE}: {code}",
        period=f"{pieces(first.following)} followers",
        tables=(*tables, _assumptions(terms)),
        checks=(_check(first),),
        notes=tuple(Note(text) for text in _notes(first, code, bill, why_not, sold)),
    )


def _cost(books: Books, code: str, bills: dict[str, Bill]) -> tuple[PieceCost | None, str]:
    """Return what a piece costs, or why that is not known."""
    try:
        costs = newest_lot_costs(books.entries, books.options)
        return cost_by_bill(code, bills, costs, books.catalogue), ""
    except ValueError as error:
        return None, str(error)


def _steps(first: FirstQuantity, on_sheets: bool) -> Table:
    """Return the working, from the followers to the pieces."""
    low, high = first.low, first.high
    with decimal.localcontext(EXACT):
        taken = first.buyers * first.low_share, first.buyers * first.high_share
    shares = f"{_percent(first.low_share)}, {_percent(first.high_share)}"
    steps: list[tuple[str, Decimal, Decimal]] = [
        ("People who follow you", first.following, first.following),
        (f"Of these buy {_percent(first.buying)}", first.buyers, first.buyers),
        (f"Of these take it {shares}", *taken),
        (
            f"Whole pieces, never under {pieces(first.least)}",
            low.pieces,
            high.pieces,
        ),
    ]
    if on_sheets:
        steps.append(
            (f"Sheets of {pieces(first.per_sheet)} pieces", low.sheets, high.sheets)
        )
    lines = [Line(step) for step in steps]
    lines.append(Line(("Good pieces to print", low.on_sheets, high.on_sheets), "total"))
    return Table(
        title="How many to print first",
        columns=(
            Column("Step", "text"),
            Column("At the least", "number"),
            Column("At the most", "number"),
        ),
        lines=tuple(lines),
        slug="first-print",
    )


def _percent(share: Decimal) -> str:
    return f"{pieces(share * 100)}%"


def _costs(first: FirstQuantity, piece: PieceCost) -> Table:
    """Return the money that a first print ties up."""

    def line(name: str, run: Rounded) -> Line:
        with decimal.localcontext(EXACT):
            spoiled = run.on_sheets * piece.normal_spoilage
            amount = run.on_sheets * piece.unit_cost
        return Line((name, run.on_sheets, spoiled, piece.unit_cost, amount))

    return Table(
        title="What its materials cost",
        columns=(
            Column("Print", "text"),
            Column("Good pieces", "units"),
            Column("Spoiled to expect", "number"),
            Column("A good piece", "price"),
            Column("Money tied up"),
        ),
        lines=(line("At the least", first.low), line("At the most", first.high)),
        slug="first-print-cost",
        currency=piece.currency,
    )


def _assumptions(terms: FirstTerms) -> Table:
    """Return what the print rests on."""

    def share(what: str, of: Assumed) -> Assumption:
        return Assumption(what, (of.figure or ZERO) * 100, "%", of.source)

    following = terms.following
    return assumptions_table(
        (
            Assumption("Following", following.figure, "people", following.source),
            share("Followers who buy", terms.buying),
            share("Buyers who take one product, least", terms.low),
            share("Buyers who take one product, most", terms.high),
            Assumption("Never under", terms.least.figure, "pieces", terms.least.source),
        ),
        "first-print-assumptions",
    )


def _check(first: FirstQuantity) -> Check:
    """Return the pieces held against the sheets that they fill."""
    runs = (first.low, first.high)
    holds = all(run.sheets * first.per_sheet == run.on_sheets >= run.pieces for run in runs)
    return Check(
        "These sheets hold all of the pieces. Nothing of it is booked."
        if holds
        else "THE SHEETS DO NOT HOLD THESE PIECES. This is a fault in offcut: do not rely "
        "on these figures, and please report it.",
        holds,
    )


def _notes(
    first: FirstQuantity, code: str, bill: Bill | None, why_not: str, sold: Decimal
) -> Iterator[str]:
    """Yield how to read the statement."""
    yield PRACTICE
    if bill is None:
        yield f"{code} has no bill of materials, so its pieces are on no sheets here."
    elif why_not:
        yield f"What it costs is not known: {why_not}."
    if bill is not None:
        yield "Spoiled pieces come on top of the good ones; their cost is in that of these."
    if sold > ZERO:
        yield (
            f"{pieces(sold)} pieces of it were sold already: `offcut plan next-print "
            f"--product {code}` goes by these."
        )
