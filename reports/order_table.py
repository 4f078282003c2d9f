"""Turn the ledger into the one table that every report is grouped from.

A row is an order line; or what came later for that line (its share of a label, a refund
or a dispute, on that day); or one income or cost that belongs to no order. One sign
holds throughout: what adds to the profit is positive and what takes from it negative,
costs and refunds included, so a row's amounts add up to its `contribution`, and the rows
of a currency to the ledger's net income in it.

    order, date, channel, event, product, design, quantity,
    gross, discount, refund, sales (those three together),
    shipping (charged to the buyer), fees, postage, packaging, cost_of_goods, giveaways,
    spoilage (and what is missing at a count), selling (advertising, fairs), other,
    contribution, currency, account (of a row whose order or product is not known),
    file and line (where the row's transaction begins)

What an order's lines share (fees, shipping, packing) is split over them in cents, by sales
value or by another rule (`allocation`). A product's own cost, discount and refund go to
its own line. Of what a day's parcels used up, each parcel has an equal share. What waits in
suspense and is no line, such as what was paid too much, is a row by itself.
"""

from __future__ import annotations

import decimal
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from operator import attrgetter
from typing import Any, NamedTuple

import pandas as pd
from beancount.core import data

from offcut.importers.splitting import EXACT, ZERO
from offcut.plugins.catalogue import Item, read_catalogue
from offcut.plugins.collector import collector_paused
from offcut.reports.account_columns import AccountPlaces
from offcut.reports.allocation import Allocation, Rule, read_allocation
from offcut.reports.flows import money_transactions
from offcut.reports.learned_lines import PARKED_ID, LearnedLines
from offcut.reports.order_columns import in_columns
from offcut.reports.order_lines import (
    Flow,
    Row,
    channel_of,
    event_of,
    flows_of,
    give,
    order_lines,
    orders_of,
    share,
)
from offcut.reports.parcels import Parcels, is_packing
from offcut.reports.period import Period
from offcut.reports.plain_orders import plain_lines


class Later(NamedTuple):
    """Postings about an order, or orders, whose lines stand elsewhere.

    Attributes:
      entry: Their transaction; of a parcel packed later, the order's, on that later day.
      flows: The postings.
      orders: The orders' numbers.
      lines: The order's lines, where these are known without a number.
    """

    entry: data.Transaction
    flows: list[Flow]
    orders: list[str]
    lines: list[Row]


def order_table(
    entries: Iterable[data.Directive], options_map: Mapping[str, Any], rule: Rule = "value"
) -> pd.DataFrame:
    """Return the table of order lines and loose incomes and costs.

    It is always made from the whole ledger, since a label of April may belong to an
    order of March; take a period's rows from it by their dates.

    Args:
      entries: The ledger's directives, after its plugins.
      options_map: The ledger's options.
      rule: By what the lines of an order share its costs.

    Returns:
      A data frame with the columns of `order_columns`: amounts and quantities are
      Decimal, date is a datetime.date, line a number, the rest text; sorted by date.
      Besides, a number for its TRANSACTION, and the amounts and quantities once more as
      WHOLE_COLUMNS. Any order of the entries gives the same rows.
    """
    entries = list(entries)
    catalogue = read_catalogue(entries)
    places = AccountPlaces(entries, options_map, catalogue)
    with decimal.localcontext(EXACT), collector_paused():
        allocation = read_allocation(entries, rule)
        rows = list(_rows(entries, places, catalogue, allocation))
        rows.sort(key=attrgetter("date", "order", "product", "account", "currency"))
        return in_columns(rows, catalogue)


def in_period(table: pd.DataFrame, period: Period) -> pd.DataFrame:
    """Return the rows of an order table that fall in a period.

    Args:
      table: An order table, or rows of one in their order.
      period: The days to keep.
    """
    # Sorted by date: the rows of a stretch of days stand together.
    dates = table["date"]
    first, last = period.first, period.last
    begin = 0 if first is None else int(dates.searchsorted(first))
    end = len(table) if last is None else int(dates.searchsorted(last, "right"))
    return table.iloc[begin:end]


def of_currency(table: pd.DataFrame, currency: str) -> pd.DataFrame:
    """Return the rows of an order table that are of a currency.

    Args:
      table: An order table.
      currency: The currency to keep.
    """
    mine = table["currency"] == currency
    # As nearly always; and a selection is a copy.
    return table if mine.all() else table[mine]


def _rows(
    entries: Iterable[data.Directive],
    places: AccountPlaces,
    catalogue: Mapping[str, Item],
    allocation: Allocation,
) -> Iterator[Row]:
    """Yield the rows, those of transactions about an order's lines elsewhere last."""
    all_lines: list[Row] = []
    parcels = Parcels()
    packed: list[tuple[data.Transaction, list[Flow]]] = []
    later: list[Later] = []
    waiting: list[Later] = []
    transactions = list(money_transactions(entries))
    learned = LearnedLines(transactions, places)
    moves: dict[int, list[Row]] = {}
    if learned:
        # An order stands before the moves of its day or after them.
        transactions.sort(key=lambda entry: PARKED_ID in entry.meta)
    for entry in transactions:
        if id(entry) in moves:
            parcels.add(entry, moves[id(entry)])
            continue
        plain = None if entry in learned else plain_lines(entry, places, allocation)
        if plain is not None:
            parcels.add(entry, plain)
            all_lines += plain
            continue
        flows = flows_of(entry, places)
        if is_packing(entry):
            packed.append((entry, flows))
            continue
        taken: list[data.Transaction] = []
        if learned:
            flows, taken = learned.moves_of(entry, flows)
        if any(flow.place.is_suspense for flow in flows):
            waits = [flow for flow in flows if flow.waits]
            waiting.append(Later(entry, waits, orders_of(entry), []))
            flows = [flow for flow in flows if not flow.waits]
        lines = order_lines(entry, flows, allocation)
        if taken:
            moves.update((id(move), lines) for move in taken)
        parcels.add(entry, lines)
        all_lines += lines
        if flows and not lines:
            orders = orders_of(entry)
            if orders:
                later.append(Later(entry, flows, orders, []))
            else:
                yield from (_loose_row(entry, flow, catalogue) for flow in flows)

    for entry, flows in packed:
        later += _give_to_parcels(entry, flows, parcels, allocation)
    for line in all_lines:
        yield line
        if line.abroad:
            yield from line.abroad.values()

    for each in waiting:
        yield from _waiting_rows(each, catalogue)
    lines_by_order = _lines_of(
        {order for each in later for order in each.orders}, all_lines
    )
    channels = _channels_of_orders([*later, *waiting])
    for entry, flows, orders, own in later:
        found = own or [line for order in orders for line in lines_by_order.get(order, ())]
        # Two channels may number their orders alike.
        named = {channel_of(entry, flow) for flow in flows} - {""}
        lines = [line for line in found if line.channel in named] or found
        if lines:
            yield from _later_rows(entry, flows, lines, catalogue, allocation)
            continue
        order = next(iter(orders), "")
        for flow in flows:
            row = _loose_row(entry, flow, catalogue)
            row.order = order
            row.channel = row.channel or channels.get(order, "")
            yield row


def _lines_of(orders: Collection[str], lines: Iterable[Row]) -> dict[str, list[Row]]:
    """Return the lines of each of some orders."""
    found: dict[str, list[Row]] = {order: [] for order in orders if order}
    if found:
        for line in lines:
            if line.order in found:
                found[line.order].append(line)
    return found


def _give_to_parcels(
    entry: data.Transaction,
    flows: Sequence[Flow],
    parcels: Parcels,
    allocation: Allocation,
) -> Iterator[Later]:
    """Add what a day's parcels used up to the lines that they held.

    Yields:
      What belongs to no line of that day: of parcels that sold nothing themselves, and
      what was costed when it came, after the parcel had left.
    """
    for parcel, shares in parcels.shares(entry, flows):
        order, lines = parcel
        sold = [line for line in lines if line.is_sale]
        about_item = any(flow.is_about_item for flow in shares)
        if sold and order.date == entry.date and not about_item:
            share(sold, [line.value for line in sold], shares, allocation)
        else:
            order = order._replace(date=entry.date)
            yield Later(order, shares, orders_of(order), sold)


def _channels_of_orders(later: Iterable[Later]) -> dict[str, str]:
    """Return the channel of each order that any of its transactions names."""
    channels: dict[str, str] = {}
    for entry, flows, orders, _ in later:
        named = {channel for flow in flows if (channel := channel_of(entry, flow))}
        for order in orders:
            if named:
                channels[order] = min(named | {channels.get(order, min(named))})
    return channels


def _later_rows(
    entry: data.Transaction,
    flows: Iterable[Flow],
    lines: list[Row],
    catalogue: Mapping[str, Item],
    allocation: Allocation,
) -> Iterator[Row]:
    """Yield the rows of a transaction about orders whose lines stand elsewhere."""
    sold = [line for line in lines if line.is_sale] or lines
    # Sorted, so that no cent depends on which file was read first.
    sold.sort(
        key=attrgetter(
            *("date", "order", "product", "account", "channel", "event", "value"),
            "quantity",
        )
    )
    items = {line.product for line in sold}
    about_order = []
    for flow in flows:
        if flow.is_about_item and flow.item not in items:
            yield _loose_row(entry, flow, catalogue)
        else:
            about_order.append(flow)

    parts = []
    for line in sold:
        part = line.again(
            entry.date, line.currency, entry.meta["filename"], entry.meta["lineno"]
        )
        part.channel = channel_of(entry) or line.channel
        part.event = event_of(entry) or line.event
        # The quantity is a weight here; the pieces were counted when they were sold.
        part.quantity = line.quantity
        parts.append(part)
    shared = give(parts, about_order)
    share(parts, [line.value for line in sold], shared, allocation)
    for part in parts:
        part.quantity = ZERO
        yield from (row for row in part.in_all_currencies() if any(row.amounts))


def _waiting_rows(waiting: Later, catalogue: Mapping[str, Item]) -> Iterator[Row]:
    """Yield the rows of what waits in suspense: what was paid too much is for no item."""
    for flow in waiting.flows:
        row = _loose_row(waiting.entry, flow, catalogue)
        row.order = next(iter(waiting.orders), "")
        yield row


def _loose_row(entry: data.Transaction, flow: Flow, catalogue: Mapping[str, Item]) -> Row:
    """Return the row of an income or cost that belongs to no order line."""
    item = catalogue.get(flow.item)
    row = Row(
        order="",
        date=entry.date,
        channel=channel_of(entry, flow),
        event=event_of(entry),
        product="" if item and item.kind != "product" else flow.item,
        account=flow.account,
        currency=flow.currency,
        file=entry.meta["filename"],
        line=entry.meta["lineno"],
    )
    row.amounts[flow.place.column] = flow.amount
    return row
