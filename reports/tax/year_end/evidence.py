"""List larger expenses and purchases that no receipt is filed for.

A receipt is a `document` directive that has a link of the transaction, or its day and one
of its accounts; or `document: "receipts/2025-03-04.pdf"` on the transaction or a posting.
What an import booked from a processor's own file, and what beancount or offcut added, is
not asked for.
"""

from __future__ import annotations

import datetime
import decimal
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any, NamedTuple

from beancount.core import data

from offcut.importers.splitting import EXACT, ZERO
from offcut.plugins.shelf import SOURCE
from offcut.reports.flows import money_transactions, weight

KEY = "document"


class Unproved(NamedTuple):
    """An expense without a receipt.

    Attributes:
      date: The day.
      text: Whom and what for.
      account: Its largest account.
      amount: How much.
      place: The file and line.
    """

    date: datetime.date
    text: str
    account: str
    amount: Decimal
    place: str


def receipts_missing(
    entries: Iterable[data.Directive],
    documents: Iterable[data.Document],
    options_map: Mapping[str, Any],
    currency: str,
    limit: Decimal,
) -> list[Unproved]:
    """Return expenses from a limit on that no receipt is filed for, by day.

    Args:
      entries: The directives of the year.
      documents: The ledger's documents, of all years.
      options_map: The ledger's options.
      currency: The currency to take.
      limit: From which amount on.
    """
    assets = options_map["name_assets"]
    spent_on = (options_map["name_expenses"] + ":", f"{assets}:Equipment")
    income = options_map["name_income"] + ":"
    links: set[str] = set()
    filed: set[tuple[datetime.date, str]] = set()
    for each in documents:
        links |= each.links or set()
        filed.add((each.date, each.account))
    found = []
    with decimal.localcontext(EXACT):
        for entry in money_transactions(entries):
            if "source-id" in entry.meta or entry.links & links:
                continue
            amounts = _amounts(entry, spent_on, income, currency)
            whole = sum(amounts.values(), ZERO)
            if whole <= ZERO or whole < limit or _is_filed(entry, filed):
                continue
            largest = max(amounts, key=lambda account: amounts[account])
            text = " · ".join(filter(None, (entry.payee, entry.narration)))
            place = f"{_name(entry.meta['filename'])}:{entry.meta['lineno']}"
            found.append(Unproved(entry.date, text, largest, whole, place))
    return found


def _amounts(
    entry: data.Transaction, spent_on: tuple[str, ...], income: str, currency: str
) -> dict[str, Decimal]:
    """Return what a transaction spent, by account; nothing where it is a sale."""
    amounts: dict[str, Decimal] = {}
    for posting in entry.postings:
        if posting.account.startswith(income):
            return {}
        meta = posting.meta
        if meta and meta.get("filename") == SOURCE:
            continue
        if posting.cost is None and not posting.account.startswith(spent_on):
            continue
        number, posted = weight(posting) or (ZERO, "")
        if posted == currency:
            amounts[posting.account] = amounts.get(posting.account, ZERO) + number
    return amounts


def _is_filed(entry: data.Transaction, filed: set[tuple[datetime.date, str]]) -> bool:
    """Tell whether a receipt is named on a transaction, or filed on its day."""
    return KEY in entry.meta or any(
        KEY in (posting.meta or ()) or (entry.date, posting.account) in filed
        for posting in entry.postings
    )


def _name(path: str) -> str:
    """Return the last part of a file's path."""
    return path.replace("\\", "/").rsplit("/", 1)[-1]
