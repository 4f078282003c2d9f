"""Trace a figure to the ledger's lines: down to the print run and its paper's purchase.

    design and month -> orders -> transactions -> lots -> print run -> materials -> purchase

The figure is the order table's, and so are the orders that it is made of; below them
stand the ledger's own postings, each at its file and line. What the stock plugin added
stands at the line of the sale or directive that it was added for.
"""

from __future__ import annotations

import calendar
import datetime
import decimal
from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import replace
from decimal import Decimal
from typing import cast

import pandas as pd
from beancount.core import data
from beancount.core.amount import Amount

from offcut.importers.splitting import EXACT, ZERO
from offcut.plugins.collector import collector_paused
from offcut.reports.figures import money as figure
from offcut.reports.order_lines import orders_of
from offcut.reports.shelf.moves import is_added
from offcut.reports.trace.figure import (
    DesignMonth,
    Figure,
    Lot,
    Order,
    TraceError,
    designs_of,
    read_figure,
)
from offcut.reports.trace.index import Receipt, TraceIndex
from offcut.reports.trace.lots import LotTracer
from offcut.reports.trace.nodes import Node, posting_node, title

__all__ = ["Node", "TraceError", "TraceIndex", "trace"]


def trace(text: str, index: TraceIndex, table: Callable[[], pd.DataFrame]) -> Node:
    """Return the tree of ledger lines behind a figure.

    Args:
      text: The figure, as `read_figure` reads it.
      index: The ledger.
      table: Returns the ledger's order table; called where the figure is one of it.

    Raises:
      TraceError: The text names no figure of the ledger.
    """
    wanted: Figure = read_figure(text, index)
    with decimal.localcontext(EXACT), collector_paused():
        match wanted:
            case DesignMonth(design, first):
                return _design(design, first, index, table())
            case Order(number):
                return _order(number, index, table())
            case Lot(item, date):
                return _lot(item, date, index)


def _design(
    design: str, first: datetime.date, index: TraceIndex, table: pd.DataFrame
) -> Node:
    """Return what a design came to in a month, over its orders."""
    mine = table[table["design"] == design]
    last = first.replace(day=calendar.monthrange(first.year, first.month)[1])
    rows = mine[(mine["date"] >= first) & (mine["date"] <= last)]
    if rows.empty:
        raise TraceError(_nothing_in(design, first, mine["date"]))
    products = designs_of(index)[design]
    tracer = LotTracer(index)
    without_order = _without_order(products, index)
    parts = []
    for key, some in rows.groupby(["date", "order"], sort=True):
        date, order = cast("tuple[datetime.date, str]", key)
        if order:
            entries = _on(date, index.orders[order], index)
            what = f"Order {order}"
        else:
            entries = without_order[date]
            what = "No order"
        nodes = tuple(_transaction(entry, index, tracer, products) for entry in entries)
        parts.append(_total(what, date, some, nodes))
    name = f"{design}, {calendar.month_name[first.month]} {first.year:04}"
    root = _total(name, first, rows, tuple(parts))
    named = [index.catalogue[item].entry for item in sorted(products & {*index.catalogue})]
    if named:
        meta = named[0].meta
        root = replace(root, file=str(meta["filename"]), line=int(meta["lineno"]))
    return root


def _nothing_in(design: str, first: datetime.date, dates: Iterable[datetime.date]) -> str:
    """Return the sentence for a month without rows."""
    months = sorted({date.replace(day=1) for date in dates})
    if not months:
        return f"{design} has no income or cost of its own in this ledger"
    near = min(months, key=lambda month: (abs(month - first), month))
    return (
        f"{design} has neither income nor cost in {first:%Y-%m}; the nearest month that "
        f"has is {near:%Y-%m}"
    )


def _order(number: str, index: TraceIndex, table: pd.DataFrame) -> Node:
    """Return what an order came to, over its transactions."""
    tracer = LotTracer(index)
    own = index.orders[number]
    entries = sorted([*own, *_packings(own, index)], key=lambda entry: entry.date)
    nodes = tuple(_transaction(entry, index, tracer, None) for entry in entries)
    rows = table[table["order"] == number]
    return _total(f"Order {number}", nodes[0].date, rows, nodes)


def _lot(item: str, date: datetime.date, index: TraceIndex) -> Node:
    """Return the lots of an item of one day, over what brought them."""
    tracer = LotTracer(index)
    found: dict[int, Receipt] = {}
    parts: dict[int, Node] = {}
    costs = index.lots[item][date]
    for cost in costs:
        receipts, _ = tracer.origins(item, cost, datetime.date.max)
        found.update((id(receipt), receipt) for receipt in receipts)
        nodes, _ = tracer.sources(item, cost, datetime.date.max)
        parts.update((id(node), node) for node in nodes)
    nodes = tuple(parts.values())
    note = f"one of {len(found)} receipts" if len(found) > 1 else ""
    units = sum((receipt.units for receipt in found.values()), ZERO)
    if item in index.averaged:
        note = "an average of all receipts up to then"
    money: dict[str, Decimal] = {}
    for receipt in found.values():
        money[receipt.currency] = money.get(receipt.currency, ZERO) + receipt.value
    at = nodes[0] if nodes else None
    meta = index.catalogue[item].entry.meta
    return Node(
        what=f"Lot of {item}",
        date=date,
        file=at.file if at else str(meta["filename"]),
        line=at.line if at else int(meta["lineno"]),
        units=Amount(units, item),
        money=tuple(Amount(money[currency], currency) for currency in sorted(money)),
        note=note,
        parts=nodes,
    )


def _on(
    date: datetime.date, own: Iterable[data.Transaction], index: TraceIndex
) -> list[data.Transaction]:
    """Return an order's transactions of one day, its packing included."""
    own = list(own)
    return [entry for entry in (*own, *_packings(own, index)) if entry.date == date]


def _packings(own: Iterable[data.Transaction], index: TraceIndex) -> list[data.Transaction]:
    """Return the packing transactions of an order's parcels, each once."""
    found = {id(each): each for entry in own for each in index.packings_of(entry)}
    return list(found.values())


def _without_order(
    products: Collection[str], index: TraceIndex
) -> dict[datetime.date, list[data.Transaction]]:
    """Return the transactions about products that belong to none of their orders, by day.

    A transaction of an order that never sold the product is one of them. On a day that
    has no other it is all that are about the products: an order may have sold one on
    another channel.
    """
    loose: dict[datetime.date, dict[int, data.Transaction]] = {}
    others: dict[datetime.date, dict[int, data.Transaction]] = {}
    for product in sorted(products):
        for day, entries in index.about.get(product, {}).items():
            others.setdefault(day, {}).update((id(each), each) for each in entries)
            for entry in entries:
                mine = [each for order in orders_of(entry) for each in index.orders[order]]
                if any(_sells(each, product) for each in mine):
                    continue
                # Parcels of a sale without a number are costed that day or later.
                for each in (entry, *index.packings_of(entry)):
                    loose.setdefault(each.date, {})[id(each)] = each
    return {day: list(found.values()) for day, found in (others | loose).items()}


def _sells(entry: data.Transaction, product: str) -> bool:
    """Tell whether a transaction has a line of a product."""
    return any(
        posting.meta and posting.meta.get("item") == product and "quantity" in posting.meta
        for posting in entry.postings
    )


def _transaction(
    entry: data.Transaction,
    index: TraceIndex,
    tracer: LotTracer,
    products: Collection[str] | None,
) -> Node:
    """Return a transaction over its incomes and costs, and the lots that it relieved.

    Args:
      entry: A transaction.
      index: The ledger.
      tracer: Follows the lots.
      products: Whose lots to follow, and whose postings to tell beside those that are
        about no item; None for all.
    """
    file, line = str(entry.meta["filename"]), int(entry.meta["lineno"])
    note = ""
    packed = "packing-list" in entry.meta
    if packed:
        directive = index.packing_list(entry)
        if directive is not None:
            file, line = directive.meta["filename"], directive.meta["lineno"]
        note = "all parcels of the day, in equal shares"
    lots = tracer.reliefs(
        entry, None if packed else products, (file, line) if packed else None
    )
    return Node(
        what=title(entry),
        date=entry.date,
        file=file,
        line=line,
        note=note,
        parts=(*_postings(entry, index, products), *lots),
    )


def _postings(
    entry: data.Transaction, index: TraceIndex, products: Collection[str] | None
) -> Iterator[Node]:
    """Yield the incomes and expenses of the user's own text."""
    for posting in entry.postings:
        if is_added(posting) or not index.is_flow(posting):
            continue
        item = (posting.meta or {}).get("item")
        if products is None or item is None or item in products:
            yield posting_node(entry, posting, str(item or ""))


def _total(
    what: str, date: datetime.date, rows: pd.DataFrame, parts: tuple[Node, ...]
) -> Node:
    """Return the node of rows of the order table: units, and what they came to."""
    money: dict[str, Decimal] = {}
    for currency, amount in zip(rows["currency"], rows["contribution"], strict=True):
        money[currency] = money.get(currency, ZERO) + amount
    sales = sum(rows["sales"], ZERO)
    units = sum(rows["quantity"], ZERO)
    first = parts[0]
    return Node(
        what=what,
        date=date,
        file=first.file,
        line=first.line,
        units=Amount(units, "") if units else None,
        money=tuple(Amount(money[currency], currency) for currency in sorted(money)),
        note=_note(sales, money),
        parts=parts,
    )


def _note(sales: Decimal, currencies: Collection[str]) -> str:
    """Return what the money of a total is."""
    if len(currencies) != 1:
        return "contribution"
    (currency,) = currencies
    return f"contribution; sales were {figure(sales, currency)} {currency}"
