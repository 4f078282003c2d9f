"""The columns of the order table: texts, exact amounts, and these as whole numbers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from operator import attrgetter
from typing import Any

import numpy as np
import pandas as pd

from offcut.plugins.catalogue import Item
from offcut.reports.account_columns import (
    AMOUNT_COLUMNS,
    DISCOUNT,
    GROSS,
    REFUND,
    SHIPPING,
)
from offcut.reports.exact_sums import (
    QUANTITY,
    Numbers,
    decimals_of,
    digits_of,
    whole_name,
    whole_numbers,
)
from offcut.reports.order_lines import Row

TEXT_COLUMNS = ("order", "channel", "event", "product", "design", "currency", "account")
COLUMNS = (
    *("order", "date", "channel", "event", "product", "design", "quantity"),
    *AMOUNT_COLUMNS[:SHIPPING],
    "sales",  # The sum of those before it.
    *AMOUNT_COLUMNS[SHIPPING:],
    *("contribution", "currency", "account", "file", "line"),
)
# A number for each row that is that of its transaction, and of its order.
TRANSACTION = "transaction"
# For sums, in whole numbers; absent where `exact_sums` cannot tell them so.
WHOLE_COLUMNS = tuple(
    map(whole_name, ("quantity", *AMOUNT_COLUMNS, "sales", "contribution"))
)


def in_columns(rows: Sequence[Row], catalogue: Mapping[str, Item]) -> pd.DataFrame:
    """Return rows as a data frame.

    Returns:
      COLUMNS, the TRANSACTION, and what of WHOLE_COLUMNS can be told so.
    """
    designs = {item.currency: item.design for item in catalogue.values()}
    columns: dict[str, Any] = {
        name: list(map(attrgetter(name), rows))
        for name in (
            *("order", "date", "channel", "event", "product"),
            *("quantity", "currency", "account"),
        )
    }
    columns["design"] = [designs.get(row.product, row.product) for row in rows]
    columns["file"] = [row.file for row in rows]
    columns["line"] = [row.line for row in rows]
    # A row at a time: each column by itself would fetch every row again from memory.
    flat = [amount for row in rows for amount in row.amounts]
    amounts = np.fromiter(flat, dtype=object, count=len(flat))
    amounts = amounts.reshape(len(rows), len(AMOUNT_COLUMNS))
    columns.update(zip(AMOUNT_COLUMNS, amounts.T, strict=True))
    whole = whole_columns(flat, columns["quantity"])
    sums = {"sales": [GROSS, DISCOUNT, REFUND], "contribution": range(len(AMOUNT_COLUMNS))}
    currencies = set(columns["currency"])
    for name, parts in sums.items():
        if len(currencies) == 1 and whole_name(name) in whole:
            digits = digits_of(*currencies)
            columns[name] = decimals_of(whole[whole_name(name)], digits)
        else:
            columns[name] = amounts[:, list(parts)].sum(axis=1)
    table = {
        name: pd.Series(
            np.asarray(columns[name], dtype=object),
            dtype="str" if name in TEXT_COLUMNS else object,
        )
        for name in COLUMNS
    }
    return pd.DataFrame(table | {TRANSACTION: np.array(_numbered(rows), np.int64)} | whole)


def _numbered(rows: Iterable[Row]) -> list[int]:
    """Return a number for each row that is that of its transaction, and of its order."""
    numbers: dict[tuple[str, int, str], int] = {}
    return [
        numbers.setdefault((row.file, row.line, row.order), len(numbers)) for row in rows
    ]


def whole_columns(
    amounts: Sequence[Decimal], quantities: Sequence[Decimal]
) -> dict[str, Numbers]:
    """Return the columns with the whole numbers of rows, as far as they can be told so.

    Args:
      amounts: The amounts of all rows, each row's by AMOUNT_COLUMNS.
      quantities: Their quantities.
    """
    found = {}
    pieces = whole_numbers(quantities)
    if pieces is not None:
        found[QUANTITY] = pieces
    numbers = whole_numbers(amounts)
    if numbers is not None:
        by_row = numbers.reshape(len(quantities), len(AMOUNT_COLUMNS))
        found.update(zip(AMOUNT_COLUMNS, by_row.T, strict=True))
        found["sales"] = by_row[:, [GROSS, DISCOUNT, REFUND]].sum(axis=1)
        found["contribution"] = by_row.sum(axis=1)
    return {whole_name(name): each for name, each in found.items()}
