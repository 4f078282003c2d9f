"""What a piece of each product costs at the end of a period, from a loaded ledger."""

from __future__ import annotations

import datetime

from offcut.reports.books import Books
from offcut.reports.plan.newest_costs import newest_lot_costs
from offcut.reports.plan.piece_cost import Basis, PieceCosts, bills_on, piece_costs

HOW: dict[Basis, str] = {
    "bill": (
        "what a good piece costs by its bill of materials, at what these last cost, with "
        "normal spoilage; of a product without a bill, what its newest lots cost"
    ),
    "lots": "what a piece of the product's newest lots cost",
}


def costs_now(books: Books, last: datetime.date | None, basis: Basis) -> PieceCosts:
    """Return what a piece of every product costs.

    Args:
      books: The ledger.
      last: The day; the end of the ledger where it is None.
      basis: Where the costs come from.
    """
    bills = bills_on(books.entries, last)
    costs = newest_lot_costs(books.entries, books.options, last)
    return piece_costs(books.catalogue, bills, costs, basis)
