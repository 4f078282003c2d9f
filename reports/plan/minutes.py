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


def minutes_for_pieces(
    entries: Iterable[data.Directive], period: Period, setup: Decimal = ZERO
) -> dict[str, Decimal]:
    """Return the minutes that a good piece of each product took in the runs of a period.

    Runs that say no minutes are left out; the minutes of a run of several products are
    shared by its good pieces.

    Args:
      entries: The ledger's directives, after its plugins.
      period: The days of the runs.
      setup: The minutes of each run that are not for its pieces.

    Returns:
      Minutes by commodity, to the grain of a unit cost; without products of whose runs
      none says any.
    """
    minutes: dict[str, Decimal] = {}
    pieces: dict[str, Decimal] = {}
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
            spent = max(said - setup, ZERO)
            made = {item: units for item, units in moved.items() if units > ZERO}
            total = sum(made.values(), ZERO)
            for item, units in made.items():
                pieces[item] = pieces.get(item, ZERO) + units
                minutes[item] = minutes.get(item, ZERO) + spent * units / total
        return {
            item: trimmed((minutes[item] / pieces[item]).quantize(GRAIN_OF_A_PIECE))
            for item in pieces
        }
