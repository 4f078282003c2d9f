"""Know the currencies of a table: which one to report, and its smallest coin."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pandas as pd


def report_currency(table: pd.DataFrame, options_map: Mapping[str, Any]) -> str:
    """Return the currency that a report is made in when none is asked for.

    Args:
      table: An order table.
      options_map: The ledger's options.

    Returns:
      The first operating currency; else the one with the most rows, the first in the
      alphabet of several; an empty text when there are no rows either.
    """
    operating = options_map.get("operating_currency") or []
    if operating:
        return str(operating[0])
    counts = table["currency"].value_counts()
    if counts.empty:
        return ""
    return min(str(currency) for currency in counts.index[counts == counts.max()])
