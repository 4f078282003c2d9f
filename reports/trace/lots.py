"""Follow lots back to what brought them: a print run, its materials, their purchases."""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterable, Iterator
from dataclasses import replace
from decimal import Decimal

from beancount.core import data
from beancount.core.amount import Amount
from beancount.core.position import Cost

from offcut.importers.splitting import ZERO
from offcut.reports.shelf.moves import COUNT, RUN, Stocked, is_added
from offcut.reports.trace.index import VALUATION, Receipt, Restated, TraceIndex
from offcut.reports.trace.nodes import (
    Node,
    lot_text,
    place_of,
    posting_node,
    title,
)

# A product may be made of products; nobody makes them of one another this often.
DEEPEST = 50


class LotTracer:
    """Nodes of lots, each made once."""

    def __init__(self, index: TraceIndex) -> None:
        self.index = index
        self._receipts: dict[tuple[str, int], Node] = {}
        self._sources: dict[tuple[int, ...], tuple[Node, ...]] = {}
        self._depth = 0

    def reliefs(
        self,
        entry: data.Transaction,
        items: Collection[str] | None = None,
        line: tuple[str, int] | None = None,
    ) -> list[Node]:
        """Return a node for each lot that a transaction took from, or gave back to.

        Args:
          entry: A transaction.
          items: The items to follow; None for all.
          line: The file and line to give; None for that of the item's own posting.
        """
        taken: dict[tuple[str, Cost], Decimal] = {}
        for moved in _relieving(entry, self.index):
            if items is None or moved.item in items:
                lot = (moved.item, moved.cost)
                taken[lot] = taken.get(lot, ZERO) + moved.units
        nodes = []
        for (item, cost), units in taken.items():
            file, number = line or _line_of_item(entry, item)
            parts, note = self.sources(item, cost, entry.date)
            verb = "" if units < ZERO else "back into the "
            nodes.append(
                Node(
                    what=f"{verb}lot {lot_text(cost)}",
                    date=entry.date,
                    file=file,
                    line=number,
                    units=Amount(units, item),
                    money=(Amount(units * cost.number, cost.currency),),
                    note=note,
                    parts=parts,
                )
            )
        return nodes

    def sources(
        self, item: str, cost: Cost, until: datetime.date
    ) -> tuple[tuple[Node, ...], str]:
        """Return what brought a lot, and a remark where that is not one thing.

        Args:
          item: The item.
          cost: The lot's cost, as in its postings.
          until: The day that the lot was used; nothing later had a part in it.
        """
        receipts, restated = self.origins(item, cost, until)
        note = ""
        if len(receipts) > 1:
            note = f"one of {len(receipts)} receipts"
            if item in self.index.averaged:
                note = f"an average of {len(receipts)} receipts"
        key = (*map(id, receipts), 0, *map(id, restated))
        if key not in self._sources:
            self._sources[key] = (
                *map(self.receipt, receipts),
                *map(self._restated, restated),
            )
        return self._sources[key], note

    def origins(
        self, item: str, cost: Cost, until: datetime.date
    ) -> tuple[list[Receipt], list[Restated]]:
        """Return what brought a lot, and what gave it its cost since.

        Lots go by item, cost and date, as in their postings; what has the same of all
        three cannot be told apart. A moving average is of all that came until then.

        Args:
          item: The item.
          cost: The lot's cost.
          until: The last day to look at.
        """
        index = self.index
        if item in index.averaged:
            came = [
                each for each in index.receipts.get(item, ()) if each.entry.date <= until
            ]
            at_then = [each for each in came if each.entry.date <= cost.date] or came
            changes = {id(each.entry): each for each in index.changes.get(item, ())}
            return at_then, [each for each in changes.values() if each.entry.date <= until]
        receipts: dict[int, Receipt] = {}
        restated: dict[int, Restated] = {}
        seen, waiting = {cost}, [cost]
        while waiting:
            one = waiting.pop()
            came = [
                each
                for each in index.by_lot.get((item, one), ())
                if each.entry.date <= until
            ]
            receipts.update((id(each), each) for each in came)
            if came:
                continue
            for change in index.restated.get((item, one), ()):
                if change.entry.date <= until:
                    restated[id(change)] = change
                    waiting += sorted(change.before - seen, key=str)
                    seen |= change.before
        return list(receipts.values()), sorted(
            restated.values(), key=lambda each: each.entry.date
        )

    def receipt(self, receipt: Receipt) -> Node:
        """Return the node of a receipt.

        Args:
          receipt: One of the index's.
        """
        key = (receipt.item, id(receipt.entry))
        if key not in self._receipts:
            node = _receipt_node(receipt)
            # For a ledger with errors, whose runs may lead back to themselves.
            self._receipts[key] = replace(node, note="made of itself: see above")
            self._depth += 1
            if self._depth > DEEPEST:
                node = replace(node, note=f"not followed below {DEEPEST} steps")
            else:
                node = replace(node, parts=tuple(self._parts_of(receipt)))
            self._receipts[key] = node
            self._depth -= 1
        return self._receipts[key]

    def _parts_of(self, receipt: Receipt) -> Iterator[Node]:
        """Yield what a receipt was made of."""
        entry = receipt.entry
        place = place_of(entry.meta)
        if entry.meta.get("directive") == RUN:
            yield from self.reliefs(entry, line=place)
            for late in self.index.settled.get(place, ()):
                yield Node(
                    what=late.narration or "",
                    date=late.date,
                    file=place[0],
                    line=place[1],
                    note="not in the run's cost",
                    parts=tuple(self.reliefs(late, line=place)),
                )
        elif len(receipt.lines) > 1:
            yield from (posting_node(entry, line) for line in _once(receipt.lines))
        for posting in entry.postings:
            if "spread" in (posting.meta or ()):
                yield posting_node(entry, posting, "spread over the goods")

    def _restated(self, change: Restated) -> Node:
        """Return the node of what gave a lot another cost."""
        entry = change.entry
        if entry.meta.get("directive") == VALUATION:
            return _node_of(entry, entry.narration or "")
        bill = next(each for each in entry.postings if "spread" in (each.meta or ()))
        return posting_node(entry, bill, "a later bill, spread over the goods")


def _receipt_node(receipt: Receipt) -> Node:
    """Return the node of a receipt, without its parts."""
    entry, lines = receipt.entry, receipt.lines
    spoiled = entry.meta.get("spoiled")
    directive = entry.meta.get("directive")
    file, line = place_of(lines[0].meta or entry.meta) if lines else place_of(entry.meta)
    note = "found, at the cost of the newest lot" if directive == COUNT else ""
    return Node(
        what=title(entry),
        date=entry.date,
        file=file,
        line=line,
        units=Amount(receipt.units, receipt.item),
        money=(Amount(receipt.value, receipt.currency),),
        note=f"and {spoiled} spoiled" if directive == RUN and spoiled else note,
    )


def _relieving(entry: data.Transaction, index: TraceIndex) -> Iterator[Stocked]:
    """Yield the stock postings that an expense, or a print run, took up.

    The stock plugin writes the lots first and then the account that bears them; what
    it restates, no account bears.
    """
    unborne: list[Stocked] = []
    for posting in filter(is_added, entry.postings):
        moved = index.stocked(posting)
        if moved:
            unborne.append(moved)
        elif entry.meta.get("directive") != RUN:
            item = (posting.meta or {}).get("item")
            mine = [each for each in unborne if each.item == item]
            unborne = [each for each in unborne if each.item != item]
            if sum((each.units for each in mine), ZERO):
                yield from mine
    if entry.meta.get("directive") == RUN:
        net: dict[str, Decimal] = {}
        for each in unborne:
            net[each.item] = net.get(each.item, ZERO) + each.units
        yield from (each for each in unborne if net[each.item] < ZERO)


def _line_of_item(entry: data.Transaction, item: str) -> tuple[str, int]:
    """Return the line that sells an item, or takes it back; else the entry's."""
    for posting in entry.postings:
        meta = posting.meta
        if meta and meta.get("item") == item and "quantity" in meta:
            return place_of(meta)
    return place_of(entry.meta)


def _node_of(entry: data.Transaction, what: str) -> Node:
    return Node(what, entry.date, *place_of(entry.meta))


def _once(postings: Iterable[data.Posting]) -> list[data.Posting]:
    """Return the postings of different lines: a lot that does not divide is two of one."""
    return list({place_of(each.meta or {}): each for each in postings}.values())
