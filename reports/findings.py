"""Say in a sentence what of a report asks for a look: a loss, a shelf that runs out.

The first page of a report begins with them; each is taken from the figures of the table
that it leads to, and tells nothing that does not stand there.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal

from offcut.importers.splitting import ZERO
from offcut.reports.figures import money, named, pieces
from offcut.reports.outlets.fairs import Fair
from offcut.reports.outlets.receivables import OpenInvoice
from offcut.reports.outlets.sums import exact_sum
from offcut.reports.period import long_date
from offcut.reports.profit import ProfitReport
from offcut.reports.shelf.on_hand import ShelfLine

# So many are named; the others are a number.
MOST_NAMED = 3
# Invoices are mostly due by then, and paper is here by then: common practice, no source.
DUE_DAYS, SOON_WEEKS = 30, Decimal(4)


def losses(report: ProfitReport) -> Iterator[str]:
    """Yield what lost money.

    Args:
      report: A report whose lines are designs, products or the like.
    """
    lost = [line for line in report.lines if line.figures.contribution < ZERO]
    lost.sort(key=lambda line: line.figures.contribution)
    if lost:
        amount = exact_sum(line.figures.contribution for line in lost)
        yield _loss([line.name for line in lost], amount, report.currency)


def fair_losses(been_at: Iterable[Fair], currency: str) -> Iterator[str]:
    """Yield which fairs lost money.

    Args:
      been_at: The fairs.
      currency: The currency of their amounts.
    """
    lost = [fair for fair in been_at if fair.result < ZERO]
    if lost:
        amount = exact_sum(fair.result for fair in lost)
        yield _loss([fair.event for fair in lost], amount, currency)


def _loss(names: Sequence[str], amount: Decimal, currency: str) -> str:
    whole = " together" if len(names) > 1 else ""
    return f"{_few(names)} lost {money(-amount, currency)} {currency}{whole}."


def overdue(
    invoices: Iterable[OpenInvoice], day: datetime.date, currency: str
) -> Iterator[str]:
    """Yield what is owed for long.

    Args:
      invoices: What is open, of one currency.
      day: The day to count to.
      currency: That currency.
    """
    late = [each for each in invoices if each.age(day) > DUE_DAYS and each.amount > ZERO]
    if late:
        amount = money(exact_sum(each.amount for each in late), currency)
        names = list(dict.fromkeys(each.buyer or each.account for each in late))
        yield (
            f"On {long_date(day)}, {amount} {currency} was owed for more than {DUE_DAYS} "
            f"days, by {_few(names)}."
        )


def shelf_findings(
    lines: Sequence[ShelfLine], last: datetime.date | None, currency: str
) -> Iterator[str]:
    """Yield what is out, what soon will be, and what lies.

    Args:
      lines: The items on the maker's own shelf and in shops.
      last: The day that they are of; None for the ledger's last.
      currency: The currency of their value.
    """
    own = [line for line in lines if not line.place]
    when = f"On {long_date(last)}" if last else "At the end"
    out = [line.name for line in own if line.units <= ZERO and _moved(line)]
    if out:
        yield f"{when}, nothing was left of {_few(out)}."
    soon = [
        line
        for line in own
        if line.units > ZERO and line.weeks_of_cover and line.weeks_of_cover < SOON_WEEKS
    ]
    if soon:
        soon.sort(key=lambda line: line.weeks_of_cover or ZERO)
        names = _few([line.name for line in soon])
        weeks = pieces(SOON_WEEKS)
        yield f"{when}, there was enough for less than {weeks} weeks of {names}."
    dead = [line for line in own if line.dead and line.units > ZERO]
    if dead:
        value = money(exact_sum(line.value for line in dead), currency)
        names = _few([line.name for line in dead])
        yield (
            f"None of {names} has been sold or used for long; what lies there cost "
            f"{value} {currency}."
        )


def _moved(line: ShelfLine) -> bool:
    """Tell whether any of an item was sold or used, so that it may be wanted again."""
    return bool(line.turned.sold or line.turned.used)


def _few(names: Sequence[str]) -> str:
    return named(names, MOST_NAMED)
