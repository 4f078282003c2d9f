"""Tell what began the books from what was imported since."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from offcut.importers import opening_stock
from offcut.importers.moving_in import balances, invoices

_IDS = tuple(
    f"{source}/" for source in (opening_stock.SOURCE, balances.SOURCE, invoices.SOURCE)
)


def began_the_books(meta: Mapping[str, Any]) -> bool:
    """Return whether a transaction is of a sheet that somebody moved in with.

    It has an id of a row then, and may have that of an order's lines; but no file that
    comes every month has brought it.

    Args:
      meta: The transaction's metadata.
    """
    name = meta.get("source-id")
    return isinstance(name, str) and name.startswith(_IDS)
