"""A trace as what it says: nodes, each at a line of the user's own text."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass

from beancount.core import data
from beancount.core.amount import Amount
from beancount.core.position import Cost

from offcut.plugins.costing import trimmed
from offcut.reports.flows import weight


@dataclass(frozen=True)
class Node:
    """A step of a trace, at a line of the user's own text.

    Attributes:
      what: What happened, or what it is.
      date: The day.
      file: The file with the line that says so.
      line: Its number there.
      units: Units that it is about, with their item; below zero where they left.
      money: What it comes to. Of a figure, what adds to the profit is above zero; of a
        posting, the sign is the ledger's.
      note: What else to know.
      parts: What it is made of, or where it came from. Nodes are shared: what two have
        in common is one node below both.
    """

    what: str
    date: datetime.date
    file: str
    line: int
    units: Amount | None = None
    money: tuple[Amount, ...] = ()
    note: str = ""
    parts: tuple[Node, ...] = ()


def walk(root: Node) -> Iterator[tuple[int, Node, bool]]:
    """Yield the nodes of a tree from the top, each set of parts once.

    Args:
      root: Where to begin.

    Yields:
      The depth, the node, and whether its parts were told above and are left out here.
    """
    told: set[int] = set()
    waiting = [(0, root)]
    while waiting:
        depth, node = waiting.pop()
        again = bool(node.parts) and id(node.parts) in told
        yield depth, node, again
        if not again:
            told.add(id(node.parts))
            waiting += [(depth + 1, part) for part in reversed(node.parts)]


def lot_text(cost: Cost) -> str:
    """Return a lot as its postings name it: `of 2025-02-03 at 0.41 USD`.

    Args:
      cost: The lot's cost.
    """
    return f"of {cost.date} at {trimmed(cost.number):f} {cost.currency}"


def title(entry: data.Transaction) -> str:
    """Return what a transaction's first line says.

    Args:
      entry: A transaction.
    """
    return " \N{EN DASH} ".join(text for text in (entry.payee, entry.narration) if text)


def posting_node(entry: data.Transaction, posting: data.Posting, note: str = "") -> Node:
    """Return a posting as a node, at its own line.

    Args:
      entry: Its transaction.
      posting: A posting of the user's own text.
      note: What else to know.
    """
    file, line = place_of(posting.meta or entry.meta)
    weighed = weight(posting)
    return Node(
        what=posting.account,
        date=entry.date,
        file=file,
        line=line,
        units=posting.units if posting.cost is not None else None,
        money=(Amount(*weighed),) if weighed else (),
        note=note,
    )


def place_of(meta: data.Meta) -> tuple[str, int]:
    """Return the file and line that metadata names.

    Args:
      meta: The metadata of an entry or of a posting of the user's own text.
    """
    return str(meta["filename"]), int(meta["lineno"])
