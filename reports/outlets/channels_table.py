"""Tell what each channel sold and earned, and what is behind it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from pathlib import Path

import pandas as pd

from offcut.importers.splitting import EXACT
from offcut.reports.outlets.channels import Channel, channels
from offcut.reports.outlets.sums import exact_sum
from offcut.reports.sources import ALL_ORDERS, behind, more_text, rest_of
from offcut.reports.statement import Line, Source, Table
from offcut.reports.statement_cells import Cell, Column
from offcut.reports.statement_charts import Bar, Chart

NO_CHANNEL = "No channel"
CHANNELS = (
    Column("Channel", "text"),
    Column("Orders", "units", "wide"),
    Column("Pieces", "units", "wide", adds_up=True),
    Column("Sales", adds_up=True),
    Column("Shipping", shown="wide", adds_up=True),
    # On a narrow terminal it stands for shipping, and for postage and packing.
    Column("Carriage", shown="narrow", adds_up=True),
    Column("Fees", adds_up=True),
    Column("Post, pack", shown="wide", adds_up=True),
    Column("Goods", adds_up=True),
    Column("Other", adds_up=True),
    Column("Contribution", adds_up=True, is_result=True),
    Column("Margin", "share"),
    Column("An order", shown="wide"),
)


def channels_table(
    sold: Sequence[Channel], rows: pd.DataFrame, folder: Path, currency: str
) -> Table:
    """Return the table of channels.

    Args:
      sold: The channels.
      rows: The rows of the order table that they are of.
      folder: The main ledger's, from which files are named.
      currency: The currency of all amounts.
    """
    lines = list(_channel_lines(sold, rows, folder))
    chart = None
    if lines:
        together = Channel(
            "Total",
            sum(each.orders for each in sold),
            *(
                exact_sum(getattr(each, name) for each in sold)
                for name in Channel.__dataclass_fields__
                if name not in ("name", "orders")
            ),
        )
        positions = tuple(range(len(lines)))
        # Sales without an order's number would be counted in an average order.
        cells = (*_channel_cells(together)[:-1], None)
        lines.append(Line(cells, "total", sums=positions))
        chart = Chart(
            tuple(
                Bar(each.name, each.income, each.contribution) for each in sold if each.name
            ),
            whole="what buyers paid",
            part="contribution",
        )
    return Table(
        title="Channels",
        columns=CHANNELS,
        lines=tuple(lines),
        slug="channels",
        currency=currency,
        empty="No income and no costs on these days.",
        chart=chart,
    )


def _channel_lines(
    sold: Iterable[Channel], rows: pd.DataFrame, folder: Path
) -> Iterator[Line]:
    """Yield the line of each channel, with what is behind it."""
    found = behind(rows, rows["channel"].where(rows["channel"] != "", NO_CHANNEL), folder)
    # Each transaction as a channel of its own is summed up in the same way.
    each = found.rows.assign(channel=found.rows["at"].map(str))
    sums = {int(part.name): part for part in channels(each)}
    for channel in sold:
        name = channel.name or NO_CHANNEL
        cells = _channel_cells(channel)
        sources = []
        for at in found.figures[name]:
            transaction = found.transactions[at]
            amounts = (
                cell if column.adds_up else None
                for cell, column in zip(
                    _channel_cells(sums[at])[1:], CHANNELS[1:], strict=True
                )
            )
            sources.append(Source((transaction.name, *amounts), transaction.place))
        if more := found.left_out.get(name, 0):
            sources.append(rest_of(cells, sources, [more_text(more)], ALL_ORDERS, more))
        yield Line(cells, sources=tuple(sources))


def _channel_cells(channel: Channel) -> tuple[Cell, ...]:
    return (
        channel.name or NO_CHANNEL,
        Decimal(channel.orders) if channel.orders else None,
        channel.pieces,
        channel.sales,
        channel.shipping,
        EXACT.add(channel.shipping, channel.delivery),
        channel.fees,
        channel.delivery,
        channel.goods,
        channel.selling,
        channel.contribution,
        channel.margin,
        channel.each_order,
    )
