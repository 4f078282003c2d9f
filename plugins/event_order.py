"""The order in which a ledger's events are costed, whatever file they stand in."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from itertools import takewhile
from typing import Any

from beancount.core import data

from offcut.plugins.bills import depths
from offcut.plugins.stock_directives import Bill, Run
from offcut.plugins.stock_events import Event, Phase


def put_in_order(
    events: list[Event], bills: Mapping[str, list[Bill]], products: Collection[str]
) -> list[Bill]:
    """Sort events in place: by day, phase, and what they say; parts are made before sets.

    Args:
      events: The events.
      bills: The versions of each product's bill of materials.
      products: The commodities that are products.

    Returns:
      The bills that come back to themselves by way of their parts.
    """
    runs = [event.detail for event in events if event.phase == Phase.RUN]
    depth, circular = depths(bills, _parts_named(runs, products))
    for at, event in enumerate(events):
        if event.phase == Phase.RUN:
            items = [quantity.item for quantity in event.detail.quantities]
            deepest = max(depth.get(item, 0) for item in items)
            events[at] = event._replace(tie=(deepest,))
    events.sort()
    _settle_ties(events)
    return circular


def said(entry: data.Transaction) -> tuple[Any, ...]:
    """Return what tells two transactions of one day apart, cheaply."""
    return (entry.narration or "", entry.payee or "", *sorted(entry.links))


def _parts_named(runs: Iterable[Run], products: Collection[str]) -> dict[str, set[str]]:
    """Return what runs name after their first material, by the products before it."""
    named: dict[str, set[str]] = {}
    for run in runs:
        items = [quantity.item for quantity in run.quantities]
        made = list(takewhile(lambda item: item in products, items))
        for product in made:
            named.setdefault(product, set()).update(items[len(made) :])
    return named


def _settle_ties(events: list[Event]) -> None:
    """Order events that `said` cannot tell apart by their postings.

    Comparing all postings of all entries would cost more than all the rest.
    """
    start = 0
    for end in range(1, len(events) + 1):
        if end < len(events) and events[end][:3] == events[start][:3]:
            continue
        if end - start > 1:
            events[start:end] = sorted(events[start:end], key=_content)
        start = end


def _content(event: Event) -> str:
    """Return all that an event's entry says, without where it stands."""
    if isinstance(event.entry, data.Custom):
        return repr((event.entry.values, event.entry.meta.get("spoiled")))
    postings = [(p.account, p.units, p.cost) for p in event.entry.postings]
    lines = event.detail if event.phase in (Phase.LEAVING, Phase.RETURN) else None
    return repr((postings, lines))
