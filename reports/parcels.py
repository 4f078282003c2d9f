"""Give every parcel its equal share of what a day's packing used up.

The stock plugin relieves a day's parcels of one packing list in one transaction
(`offcut.plugins.packing`); here it comes back to the orders.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import NamedTuple

from beancount.core import data

from offcut.importers.splitting import split_in_cents
from offcut.importers.values import minor_unit
from offcut.plugins.packing import DIRECTIVE
from offcut.plugins.stock_events import packing_lists
from offcut.reports.order_lines import Flow, Row, orders_of

ONE = Decimal(1)


class Parcel(NamedTuple):
    """What was posted for an order.

    Attributes:
      order: The transaction that says so.
      lines: What it sold; empty where it sold nothing itself, as for a replacement.
    """

    order: data.Transaction
    lines: list[Row]


class Parcels:
    """The parcels of a ledger, by day and packing list."""

    def __init__(self) -> None:
        self._by_day: dict[tuple[datetime.date, str], list[Parcel]] = {}

    def add(self, order: data.Transaction, lines: list[Row]) -> None:
        """Note the parcels of a transaction, if it has any."""
        if "packing" not in order.meta:
            return
        try:
            names = packing_lists(order)
        except ValueError:
            return  # The stock plugin reports it, and packs nothing.
        for name in names:
            self._by_day.setdefault((order.date, name), []).append(Parcel(order, lines))

    def shares(
        self, packing: data.Transaction, flows: Sequence[Flow]
    ) -> Iterator[tuple[Parcel, list[Flow]]]:
        """Yield each parcel of a packing transaction with its share of the postings.

        Args:
          packing: A transaction that `is_packing`.
          flows: Its expenses.
        """
        meta = packing.meta
        parcels = self._by_day[meta["packed-on"], meta["packing-list"]]
        parts = [
            split_in_cents(flow.amount, [ONE] * len(parcels), minor_unit(flow.currency))
            for flow in flows
        ]
        if any(len(set(amounts)) > 1 for amounts in parts):
            # So that no odd cent depends on which file was read first.
            parcels = sorted(parcels, key=_content)
        for parcel, *amounts in zip(parcels, *parts, strict=True):
            yield (
                parcel,
                [
                    flow._replace(amount=amount)
                    for flow, amount in zip(flows, amounts, strict=True)
                ],
            )


def is_packing(entry: data.Transaction) -> bool:
    """Return whether a transaction is of a day's parcels.

    Args:
      entry: A transaction.
    """
    return entry.meta.get("directive") == DIRECTIVE


def _content(parcel: Parcel) -> str:
    """Return all that tells a parcel from another of its day."""
    lines = sorted(
        (line.product, line.account, line.channel, str(line.quantity), str(line.value))
        for line in parcel.lines
    )
    order = parcel.order
    return repr((orders_of(order), order.payee or "", order.narration or "", lines))
