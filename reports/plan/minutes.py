"""Tell how many of the maker's minutes a piece takes."""

from __future__ import annotations

import decimal
from collections.abc import Iterable
from decimal import Decimal

from beancount.core import data

from offcut.importers.splitting import EXACT, ZERO
from offcut.plugins.costing import trimmed
from offcut.reports.flows import money_transactions
from offcut.reports.period import Period
from offcut.reports.plan.newest_costs import GRAIN_OF_A_PIECE


def minutes_for_a_piece(
    entries: Iterable[data.Directive], product: str, period: Period
) -> Decimal | None:
    """Return the minutes that a good piece took in the print runs of a period.

    Runs that say no minutes are left out; the minutes of a run of several products are
    shared by its good pieces.

    Args:
      entries: The ledger's directives, after its plugins.
      product: The commodity.
      period: The days of the runs.

    Returns:
      Minutes, to the grain of a unit cost; None where no run says any.
    """
    minutes = pieces = ZERO
    with decimal.localcontext(EXACT):
        for entry in money_transactions(entries):
            said = entry.meta.get("minutes")
            if entry.meta.get("directive") != "print-run" or entry.date not in period:
                continue
            if not isinstance(said, Decimal):
                continue
            # A moving average is restated in the same transaction; that comes to zero.
            moved: dict[str, Decimal] = {}
            for posting in entry.postings:
                if posting.cost is not None and posting.units is not None:
                    item, units = posting.units.currency, posting.units.number or ZERO
                    moved[item] = moved.get(item, ZERO) + units
            made = {item: units for item, units in moved.items() if units > ZERO}
            if product in made:
                pieces += made[product]
                minutes += said * made[product] / sum(made.values(), ZERO)
        if not pieces:
            return None
        return trimmed((minutes / pieces).quantize(GRAIN_OF_A_PIECE))
