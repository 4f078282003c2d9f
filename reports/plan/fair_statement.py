"""State what a fair had to sell to pay for itself, or what one to come will have to."""

from __future__ import annotations

import decimal
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.books import Books
from offcut.reports.figures import pieces
from offcut.reports.net_income import Tie, net_income
from offcut.reports.period import Period
from offcut.reports.plan.assumed import Assumed, Assumption, assumptions_table
from offcut.reports.plan.break_even import FixedCost
from offcut.reports.plan.fair_basis import FairBasis
from offcut.reports.plan.fair_working import (
    costs_table,
    fairs_table,
    given_table,
    left_table,
    result_table,
    stalls_table,
)
from offcut.reports.plan.newest_costs import fine
from offcut.reports.statement import Check, Line, Note, Statement, Table
from offcut.reports.statement_cells import Column

READING = (
    "Left of sales is what remains of them after goods, fees, packing and postage. The "
    "sales that pay are the costs over that share, rounded up to the coin; the pieces at "
    "what a piece brought on average. Sales are without sales tax."
)
NO_HOUR = (
    "Your own time is not among the costs: give --hours 16 and --hour 18 to see what pays "
    "for it too."
)


@dataclass(frozen=True)
class FairTerms:
    """What a fair has to pay for.

    Attributes:
      costs: What it will cost whatever is sold there; none where it was.
      hours: The maker's hours for it.
      hour: What one is worth.
    """

    costs: tuple[FixedCost, ...]
    hours: Assumed
    hour: Assumed

    @property
    def time(self) -> Decimal | None:
        """What the hours are worth; None where that is not known."""
        if not self.hours.figure or not self.hour.figure:
            return None
        return EXACT.multiply(self.hours.figure, self.hour.figure)


def fair_statement(books: Books, basis: FairBasis, terms: FairTerms) -> Statement:
    """Return what a fair had to sell, or has to.

    Args:
      books: The ledger.
      basis: What sales are like; of the one fair, where no costs are given.
      terms: What it has to pay for.
    """
    currency = basis.currency
    tables: list[Table] = []
    if terms.costs:
        title, days = "Break-even of a fair to come", _going_by(basis)
        costs = terms.costs
        tables.append(costs_table(costs, currency))
        sold = None
    else:
        (fair,) = basis.fairs
        title, days = f"Break-even of {fair.event}", "all its days"
        costs, sold = fair.fixed, fair.sales
        tables += [left_table(fair), result_table(fair)]
    fixed = sum((cost.amount for cost in costs), ZERO)
    tables.append(_needed(basis, fixed, terms, sold))
    if basis.stalls:
        tables.append(stalls_table(basis, fixed, terms.time))
    if terms.costs and basis.fairs:
        tables.append(fairs_table(basis))
    if terms.costs and not basis.fairs:
        tables.append(given_table(basis))
    if terms.hours.figure is not None or terms.hour.figure is not None:
        hours, hour = terms.hours, terms.hour
        rows = (
            Assumption("Your hours for it", hours.figure, "hours", hours.source),
            Assumption("An hour of yours", hour.figure, currency, hour.source),
        )
        tables.append(assumptions_table(rows, "fair-assumptions"))
    return Statement(
        title=title,
        period=days,
        tables=tuple(tables),
        checks=tuple(_checks(books, basis)),
        notes=tuple(Note(text) for text in _notes(basis, terms)),
    )


def _going_by(basis: FairBasis) -> str:
    if not basis.fairs:
        return "as given"
    names = [fair.event for fair in basis.fairs]
    return f"going by {names[0]}" if len(names) == 1 else f"going by {len(names)} fairs"


def _needed(
    basis: FairBasis, fixed: Decimal, terms: FairTerms, sold: Decimal | None
) -> Table:
    """Return the sales and pieces that pay for the fair, and for the maker's time too."""
    goals = [("The fair itself", fixed)]
    if terms.time is not None:
        hours = pieces(terms.hours.figure or ZERO)
        goals.append((f"And {hours} hours", fixed + terms.time))
    lines = []
    for name, amount in goals:
        needed = basis.sales_for(amount)
        beyond = safety = None
        if sold is not None and needed is not None:
            beyond = sold - needed
            safety = fine(EXACT.divide(beyond, sold))
        lines.append(
            Line(
                (
                    name,
                    amount,
                    fine(basis.ratio),
                    needed if needed is not None else "never",
                    basis.pieces_for(amount),
                    *(() if sold is None else (beyond, safety)),
                )
            )
        )
    return Table(
        title="Sales that pay for it",
        columns=(
            Column("To pay for", "text"),
            Column("Amount"),
            Column("Left of sales", "share"),
            Column("Sales"),
            Column("Pieces", "units"),
            *(
                []
                if sold is None
                else [Column("Sold beyond", is_result=True), Column("Safety", "share")]
            ),
        ),
        lines=tuple(lines),
        slug="fair-break-even",
        currency=basis.currency,
    )


def _checks(books: Books, basis: FairBasis) -> Iterator[Check]:
    """Yield the order table, which fairs are taken from, held against the ledger."""
    if not basis.fairs:
        return
    mine = books.table[books.table["currency"] == basis.currency]
    with decimal.localcontext(EXACT):
        total = sum(mine["contribution"], ZERO)
        fairs = sum((fair.result for fair in basis.fairs), ZERO)
    ledger = net_income(books.entries, books.options, Period()).get(basis.currency, ZERO)
    tie = Tie(total, ledger, basis.currency)
    yield Check(f"The fair is part of the order table. {tie.sentence}", tie.holds)
    events = {fair.event for fair in basis.fairs}
    with decimal.localcontext(EXACT):
        rows = sum(mine[mine["event"].isin(events)]["contribution"], ZERO)
    if rows != fairs:
        yield Check(
            "THE FAIR DOES NOT ADD UP to its rows of the order table. This is a fault in "
            "offcut: do not rely on these figures, and please report it.",
            False,
        )


def _notes(basis: FairBasis, terms: FairTerms) -> Iterator[str]:
    """Yield how to read the statement."""
    yield READING
    if basis.contribution <= ZERO:
        yield "Nothing is left of these sales, so no number of them pays for a fair."
    if basis.stalls:
        yield "Pieces needed are rounded up for each product."
    if terms.time is None:
        yield NO_HOUR
