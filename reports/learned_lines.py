"""Take order lines whose text was learned later for what they are.

The import leaves a line of unknown text in suspense, and moves it to its product in a
transaction of its own once a rule knows it (`offcut.importers.learning`). For the
reports both are one line, with its part of the order's fee, shipping and packing.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from beancount.core import data

from offcut.reports.account_columns import AccountPlaces
from offcut.reports.order_lines import Flow, flows_of

PARKED_ID = "parked-id"


class LearnedLines:
    """The moves of parked lines, by the id of the order lines that they are of."""

    def __init__(self, entries: Iterable[data.Transaction], places: AccountPlaces) -> None:
        self._places = places
        self._moves: dict[object, list[data.Transaction]] = {}
        for entry in entries:
            parked = entry.meta.get(PARKED_ID)
            if isinstance(parked, str):
                self._moves.setdefault(parked.rpartition("/")[0], []).append(entry)

    def __bool__(self) -> bool:
        return bool(self._moves)

    def __contains__(self, entry: data.Transaction) -> bool:
        """Tell whether lines of a transaction were moved."""
        return bool(self._moves) and entry.meta.get("lines-id") in self._moves

    def moves_of(
        self, entry: data.Transaction, flows: Sequence[Flow]
    ) -> tuple[list[Flow], list[data.Transaction]]:
        """Return an order's postings with what its parked lines were moved to.

        A move that does not take out just what the order has parked was edited by hand,
        and stays a transaction of its own.

        Args:
          entry: A transaction.
          flows: Its income and expense postings.

        Returns:
          The postings, and the moves that are among them.
        """
        merged = list(flows)
        taken = []
        for move in self._moves.get(entry.meta.get("lines-id"), ()):
            rest = _without_parked(merged, flows_of(move, self._places))
            if rest is not None and move.date == entry.date and move.links == entry.links:
                merged = rest
                taken.append(move)
        return merged, taken


def _without_parked(flows: list[Flow], moved: Iterable[Flow]) -> list[Flow] | None:
    """Return postings without the parked ones that a move takes out, and with the rest.

    None where the move takes out what is not there.
    """
    left = list(flows)
    added = []
    for flow in moved:
        text = _item_text(flow)
        if text is None:
            added.append(flow)
            continue
        opposite = next(
            (
                each
                for each in left
                if _item_text(each) == text
                and each.amount == -flow.amount
                and each.account == flow.account
            ),
            None,
        )
        if opposite is None:
            return None
        left.remove(opposite)
    return left + added


def _item_text(flow: Flow) -> str | None:
    """Return the unknown text of a parked line."""
    text = flow.meta.get("item-text")
    return text if isinstance(text, str) else None
