"""Tell how many of the maker's minutes went into what was sold.

`minutes` under a print run says how long it took, and a piece's minutes are those of all
its runs by the pieces that they made. What was sold took as many as its pieces did. A
product that was never printed, but bought, took none; of one that was printed, and no run
of it says its minutes, nothing is known.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from beancount.core import data
from beancount.core.amount import Amount

from offcut.plugins.catalogue import Item
from offcut.reports.period import Period
from offcut.reports.plan.minutes import minutes_for_pieces

PRINT_RUN = "print-run"


@dataclass(frozen=True)
class WorkingHours:
    """What is known of the time that pieces took.

    Attributes:
      minutes: The minutes of a piece, by product.
      unknown: The products of print runs of which none says its minutes.
    """

    minutes: Mapping[str, Decimal] = field(default_factory=dict)
    unknown: frozenset[str] = frozenset()


def working_hours(
    entries: Iterable[data.Directive], catalogue: Mapping[str, Item], period: Period
) -> WorkingHours:
    """Return what is known of the time that pieces sold in a period took.

    Args:
      entries: The ledger's directives, after its plugins.
      catalogue: The items of stock.
      period: The days. Runs up to their end count, since what is sold now was printed
        before; later ones do not, so that the figures of a past month stay as they were.
    """
    entries = list(entries)
    until = Period(None, period.last)
    minutes = minutes_for_pieces(entries, until)
    printed = {
        value.value.currency
        for entry in entries
        if isinstance(entry, data.Custom) and entry.type == PRINT_RUN
        if entry.date in until
        for value in entry.values
        if isinstance(value.value, Amount)
    }
    return WorkingHours(
        minutes,
        frozenset(
            name
            for name in printed - minutes.keys()
            if name in catalogue and catalogue[name].kind == "product"
        ),
    )
