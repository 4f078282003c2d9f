"""Read an order of which nothing is out of the ordinary in one look at its postings.

Nearly all orders are such: one currency, each item on one line, and nothing about what the
order did not sell. `order_lines` reads any transaction, these as well, and to the same
rows; it takes twice as long, which tells where there are a hundred thousand.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from beancount.core import data

from offcut.reports.account_columns import DISCOUNT, AccountPlaces
from offcut.reports.allocation import Allocation
from offcut.reports.order_lines import Row, event_of, orders_of, share_totals


def plain_lines(
    entry: data.Transaction, places: AccountPlaces, allocation: Allocation
) -> list[Row] | None:
    """Return a row for each line of a plain order, complete.

    Args:
      entry: A booked transaction.
      places: The places of the ledger's accounts.
      allocation: By what the lines share what names no item.

    Returns:
      The rows, in the order of the postings; None where the transaction has no lines, or
      is not plain.
    """
    meta = entry.meta
    date, file, at = entry.date, meta["filename"], meta["lineno"]
    order = event = currency = ""
    lines: dict[str, Row] = {}
    of_items: list[tuple[str, int, Decimal]] = []
    shared: dict[tuple[int, str], Decimal] = {}
    postings: Sequence[Any] = entry.postings
    for account, units, cost, price, _, its_meta in postings:
        place = places[account]
        if place is None:
            continue
        column, channel, item, is_income, is_suspense = place
        if is_suspense or units is None or cost is not None or price is not None:
            return None
        number, unit = units
        if not isinstance(number, Decimal) or (currency and unit != currency):
            return None
        currency, amount, sells = unit, -number, False
        if its_meta:
            item = its_meta.get("item", item)
            if not isinstance(item, str) or "item-text" in its_meta:
                return None
            sells = is_income and column != DISCOUNT and "quantity" in its_meta
        if not item:
            key = (column, currency)
            shared[key] = shared[key] + amount if key in shared else amount
        elif not sells:
            of_items.append((item, column, amount))
        elif item in lines:
            return None
        else:
            channel = its_meta.get("channel", meta.get("channel", channel))
            if not isinstance(channel, str):
                return None
            if not lines:
                order, event = next(iter(orders_of(entry)), ""), event_of(entry)
            lines[item] = line = Row(
                order, date, channel, event, item, "", currency, file, at
            )
            line.sell(column, amount, its_meta["quantity"])
    if not lines or not all(item in lines for item, _, _ in of_items):
        return None
    for item, column, amount in of_items:
        lines[item].amounts[column] += amount
    found = list(lines.values())
    values = []
    for line in found:
        line.value = value = line.sold_for
        values.append(value)
    share_totals(found, values, shared, allocation)
    return found
