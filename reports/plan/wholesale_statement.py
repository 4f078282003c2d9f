"""State what every product earns at wholesale, and which lose money there."""

from __future__ import annotations

import decimal
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.books import Books
from offcut.reports.figures import plain
from offcut.reports.period import Period
from offcut.reports.plan.assumed import Assumed, Assumption, assumptions_table
from offcut.reports.plan.costs_now import HOW, costs_now
from offcut.reports.plan.make_or_order import MINUTES_AN_HOUR
from offcut.reports.plan.minutes import minutes_for_pieces
from offcut.reports.plan.newest_costs import fine
from offcut.reports.plan.piece_cost import Basis
from offcut.reports.plan.wholesale import (
    LeftOut,
    Wholesale,
    charges_of_products,
    wholesale_list,
)
from offcut.reports.plan.wholesale_working import earned_table, floors_table, losing_table
from offcut.reports.profit import in_period
from offcut.reports.statement import Note, Statement, Table

TITLE = "Wholesale"
READING = (
    "Left is what remains of the wholesale price after the full cost; margin is its share "
    "of that price, and markup its share of the cost. The floor is the least wholesale "
    "price that loses nothing, and the least retail the list price that it is the "
    "wholesale price of. Carriage is not in it: a shop that orders in bulk pays it, or is "
    "charged it."
)
NO_HOUR = (
    "Your own time is not in these costs, since no hour has a value here: give it with "
    "--hour 18, or write hour = 18 under [plan] in offcut.toml."
)


class WholesaleTerms(NamedTuple):
    """What a maker sells by at wholesale.

    Attributes:
      rate: The wholesale price as a share of the list price.
      hour: What an hour of the maker is worth.
      channels: Where packing and fees are taken from; everywhere where it is empty.
      basis: Where the cost of a piece comes from.
      products: Only these, by commodity; all where it is empty.
    """

    rate: Assumed
    hour: Assumed
    channels: tuple[str, ...] = ()
    basis: Basis = "bill"
    products: frozenset[str] = frozenset()


def wholesale_statement(
    books: Books, period: Period, currency: str, terms: WholesaleTerms
) -> Statement:
    """Return what every product earns at wholesale.

    Args:
      books: The ledger.
      period: The days that packing and fees are taken from; costs are those at its end.
      currency: The currency to report in.
      terms: What the maker sells by.

    Raises:
      ValueError: Nothing was ever sold on one of the channels.
    """
    _check_channels(books, terms.channels)
    table = in_period(books.table, period)
    charges = charges_of_products(table, currency, terms.channels or None)
    minutes = minutes_for_pieces(books.entries, Period(None, period.last))
    hour = terms.hour.figure
    catalogue = {
        code: item
        for code, item in books.catalogue.items()
        if not terms.products or code in terms.products
    }
    with decimal.localcontext(EXACT):
        times = {
            product: fine(each * (hour or ZERO) / MINUTES_AN_HOUR)
            for product, each in minutes.items()
        }
        found = wholesale_list(
            catalogue,
            costs_now(books, period.last, terms.basis),
            charges,
            terms.rate.figure or ZERO,
            times,
        )
    lines = [line for line in found.lines if line.currency == currency]
    left_out = [
        *found.left_out,
        *(
            LeftOut(line.product, f"It sells in {line.currency}, not {currency}")
            for line in found.lines
            if line.currency != currency
        ),
    ]
    notes = _notes(lines, left_out, charges, terms, minutes)
    tables = [
        earned_table(lines, currency, hour is not None),
        floors_table(lines, minutes, currency),
    ]
    losing = [line for line in lines if line.contribution < ZERO]
    if losing:
        tables.insert(0, losing_table(losing, currency))
    return Statement(
        title=TITLE,
        period=period.label,
        tables=(*tables, _assumptions(terms, currency)),
        notes=tuple(Note(text) for text in notes),
    )


def _check_channels(books: Books, channels: Iterable[str]) -> None:
    """Refuse a channel that nothing was ever sold on.

    Raises:
      ValueError: There is one.
    """
    known = sorted(set(books.table["channel"].unique()) - {""})
    for channel in channels:
        if channel not in known:
            raise ValueError(
                f"Nothing was sold on a channel {channel}; there is: "
                f"{', '.join(known) or 'none'}"
            )


def _assumptions(terms: WholesaleTerms, currency: str) -> Table:
    """Return what the prices rest on."""
    rate = terms.rate.figure or ZERO
    hour = Assumption("An hour of yours", terms.hour.figure, currency, terms.hour.source)
    share = Assumption("Wholesale of retail", rate * 100, "%", terms.rate.source)
    return assumptions_table((share, hour), "wholesale-assumptions")


def _notes(
    lines: list[Wholesale],
    left_out: Iterable[LeftOut],
    charges: Iterable[str],
    terms: WholesaleTerms,
    minutes: Iterable[str],
) -> Iterator[str]:
    """Yield how to read the statement, and what is not in it."""
    where = " and ".join(terms.channels) or "all channels"
    if lines:
        yield (
            f"Piece is {HOW[terms.basis]}. Packing and fees are what a piece of the "
            f"product bore on {where} on these days; --channel names where to take them "
            "from."
        )
        yield READING
        unsold = [line.product for line in lines if line.product not in set(charges)]
        if unsold:
            yield (
                f"Not sold on {where} on these days, so without packing and fees: "
                f"{', '.join(unsold)}."
            )
        untimed = [line.product for line in lines if line.product not in set(minutes)]
        if terms.hour.figure is None:
            yield NO_HOUR
        elif untimed:
            yield f"No print run says minutes, so without time: {', '.join(untimed)}."
    by_reason: dict[str, list[str]] = {}
    for product, reason in left_out:
        by_reason.setdefault(reason, []).append(product)
    for reason, products in by_reason.items():
        yield f"Left out: {plain(', '.join(sorted(products)))}. {plain(reason)}."
