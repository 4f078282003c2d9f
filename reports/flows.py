"""Find the postings that make the year's profit, and what each is worth."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal

from beancount.core import convert, data

# Where beancount's own opening and closing of a period says that its entries come from.
SUMMARIES = frozenset({"<transfer_balances>", "<summarize>", "<conversions>"})


def money_transactions(entries: Iterable[data.Directive]) -> Iterator[data.Transaction]:
    """Yield the transactions that happened, and not those that only sum up others.

    Args:
      entries: The ledger's directives.
    """
    for entry in entries:
        if isinstance(entry, data.Transaction) and entry.meta["filename"] not in SUMMARIES:
            yield entry


def weight(posting: data.Posting) -> tuple[Decimal, str] | None:
    """Return what a posting weighs in its transaction: its cost, else price, else units.

    Args:
      posting: A booked posting.

    Returns:
      The number and its currency; None where an error of the ledger left no amount.
    """
    units = posting.units
    if units is None or not isinstance(units.number, Decimal):
        return None
    # Nearly all postings; beancount's own function would say the same, slower.
    if posting.cost is None and posting.price is None:
        return units.number, units.currency
    amount = convert.get_weight(posting)  # type: ignore[no-untyped-call]
    return amount.number, amount.currency
