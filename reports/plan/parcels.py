"""Share out what it would cost if every parcel cost more to post."""

from __future__ import annotations

from decimal import Decimal

import pandas as pd

from offcut.importers.splitting import ZERO, split_in_cents
from offcut.importers.values import minor_unit
from offcut.plugins.collector import collector_paused


def dearer_parcels(
    table: pd.DataFrame, change: Decimal, currency: str
) -> tuple[dict[tuple[str, str], Decimal], int]:
    """Return what dearer parcels cost each product.

    An order that has postage is one parcel. Postage of no order stays as it is, since
    nothing says how many parcels it was for.

    Args:
      table: The rows of one currency of an order table.
      change: What more a parcel costs.
      currency: The currency.

    Returns:
      What more it costs by design and product, and the number of parcels; nothing and
      zero where nothing changes.
    """
    if not change:
        return {}, 0
    dearer: dict[tuple[str, str], Decimal] = {}
    parcels = 0
    coin = minor_unit(currency)
    with collector_paused():
        for lines in _postage_by_order(table).values():
            # A label that was given back is no parcel.
            if sum([postage for _, postage in lines], ZERO) >= ZERO:
                continue
            parcels += 1
            parts = [change]
            if len(lines) > 1:
                parts = split_in_cents(change, [abs(each) for _, each in lines], coin)
            for (line, _), part in zip(lines, parts, strict=True):
                dearer[line] = dearer.get(line, ZERO) + part
    return dearer, parcels


def _postage_by_order(
    table: pd.DataFrame,
) -> dict[tuple[str, str], list[tuple[tuple[str, str], Decimal]]]:
    """Return design and product, and postage, of each order's lines that have any.

    An order is known by channel and number: two channels may number their orders alike.
    """
    names = ("channel", "order", "design", "product", "postage")
    # Lists, which are many times faster to walk through than columns of text.
    channels, numbers, designs, products, postages = (
        table[name].tolist() for name in names
    )
    orders: dict[tuple[str, str], list[tuple[tuple[str, str], Decimal]]] = {}
    for channel, number, design, product, postage in zip(
        channels, numbers, designs, products, postages, strict=True
    ):
        if postage and number:
            line = ((design, product), postage)
            orders.setdefault((channel, number), []).append(line)
    return orders
