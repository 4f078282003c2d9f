"""Choose the currency to report in when none is asked for."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from typing import Any

import pandas as pd
from beancount.core import data

from offcut.reports.flows import money_transactions


def operating_currency(options_map: Mapping[str, Any]) -> str:
    """Return a ledger's first operating currency; an empty text where it names none.

    Args:
      options_map: The ledger's options.
    """
    operating = options_map.get("operating_currency") or []
    return str(operating[0]) if operating else ""


def report_currency(table: pd.DataFrame, options_map: Mapping[str, Any]) -> str:
    """Return the currency that a report is made in when none is asked for.

    Args:
      table: An order table.
      options_map: The ledger's options.

    Returns:
      The first operating currency; else the one with the most rows, the first in the
      alphabet of several; an empty text when there are no rows either.
    """
    return operating_currency(options_map) or _most_common(table["currency"])


def stock_currency(
    entries: Iterable[data.Directive], options_map: Mapping[str, Any]
) -> str:
    """Return the currency to report stock in when none is asked for.

    Args:
      entries: The ledger's directives.
      options_map: The ledger's options.

    Returns:
      The first operating currency; else the one that most lots cost, the first in the
      alphabet of several; an empty text where there are no lots either.
    """
    return operating_currency(options_map) or _most_common(
        posting.cost.currency
        for entry in money_transactions(entries)
        for posting in entry.postings
        if posting.cost is not None and posting.cost.currency is not None
    )


def _most_common(currencies: Iterable[str]) -> str:
    counts = Counter(currencies)
    return min(counts, key=lambda each: (-counts[each], each)) if counts else ""
