"""Say what each shop that buys on invoice bought, earned and owes."""

from __future__ import annotations

import datetime
import decimal
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

import pandas as pd
from beancount.core import data

from offcut.importers.splitting import EXACT, ZERO
from offcut.reports.flows import money_transactions, weight
from offcut.reports.order_lines import orders_of
from offcut.reports.outlets.receivables import RECEIVABLE, OpenInvoice


@dataclass(frozen=True)
class Buyer:
    """A buyer on invoice.

    Attributes:
      name: The payee of the invoices.
      invoices: How many invoices of the period have order lines.
      pieces: Pieces sold, less those that came back.
      sales: After discounts and refunds.
      contribution: After what the orders cost.
      owed: What is open at the end of the period.
      oldest: The day of the oldest open invoice; None where nothing is open.
    """

    name: str
    invoices: int
    pieces: Decimal
    sales: Decimal
    contribution: Decimal
    owed: Decimal
    oldest: datetime.date | None


def buyers(
    entries: Iterable[data.Directive],
    options_map: Mapping[str, Any],
    table: pd.DataFrame,
    invoices: Iterable[OpenInvoice],
    currency: str,
) -> list[Buyer]:
    """Return the buyers, by sales, the largest first.

    An order was sold on invoice when its transaction names a payee and debits a
    receivable account.

    Args:
      entries: The ledger's directives, after its plugins.
      options_map: The ledger's options.
      table: The rows of an order table to count, of one currency.
      invoices: What is open.
      currency: That currency.
    """
    names = buyers_of_orders(entries, f"{options_map['name_assets']}:{RECEIVABLE}")
    open_of: dict[str, list[OpenInvoice]] = {}
    for invoice in invoices:
        if invoice.currency == currency and invoice.buyer:
            name = names.get(invoice.order, invoice.buyer)
            open_of.setdefault(name, []).append(invoice)
    rows = table[table["order"].isin(names)]
    rows = rows.assign(buyer=rows["order"].map(names))
    bought = {str(name): some for name, some in rows.groupby("buyer", sort=False)}
    with decimal.localcontext(EXACT):
        found = [
            _buyer(name, bought.get(name, rows.iloc[:0]), open_of.get(name, []))
            for name in {**bought, **open_of}
        ]
    return sorted(found, key=lambda buyer: (-buyer.sales, buyer.name))


def _buyer(name: str, rows: pd.DataFrame, due: list[OpenInvoice]) -> Buyer:
    """Return what a buyer's rows and open invoices come to."""
    return Buyer(
        name=name,
        invoices=rows["order"].nunique(),
        pieces=sum(rows["quantity"], ZERO),
        sales=sum(rows["sales"], ZERO),
        contribution=sum(rows["contribution"], ZERO),
        owed=sum((each.amount for each in due), ZERO),
        oldest=min((each.date for each in due if each.amount > ZERO), default=None),
    )


def buyers_of_orders(entries: Iterable[data.Directive], root: str) -> dict[str, str]:
    """Return the payee of each order that was sold on invoice.

    Args:
      entries: The ledger's directives, after its plugins.
      root: The account above those of what is owed.
    """
    names: dict[str, str] = {}
    below = root + ":"
    for entry in money_transactions(entries):
        if not entry.payee or not entry.links:
            continue
        for posting in entry.postings:
            if not posting.account.startswith(below):
                continue
            weighed = weight(posting)
            if weighed and weighed[0] > ZERO:
                names.update((order, entry.payee) for order in orders_of(entry))
                break
    return names
