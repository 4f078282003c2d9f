"""Say which postage labels belong to no order, or to one that the books do not have."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from decimal import Decimal

from offcut.importers.problems import LISTED
from offcut.importers.records import Order, Payment
from offcut.importers.values import ZERO

_OF_A_LABEL = 'movement: "postage"'


def label_notes(
    payments: Sequence[Payment],
    orders: Iterable[Order],
    linked: Mapping[str, Sequence[str]],
) -> list[str]:
    """Return what to look at of the labels among new payments, a sentence each.

    What was given back or charged later for a label counts with it, by its order.

    Args:
      payments: All new payments of an import.
      orders: Its new orders.
      linked: The texts of the ledger's transactions with the link of each order.
    """
    labels = [each for each in payments if each.movement == "postage"]
    if not labels:
        return []
    known = {each.order for each in orders}
    for payment in payments:
        if payment.movement != "postage":
            known.update([payment.order, *payment.orders])
    for order, texts in linked.items():
        if any(_OF_A_LABEL not in text for text in texts):
            known.add(order)
    notes = list(_without_order(label for label in labels if not label.order))
    notes.extend(_of_unknown_orders(labels, known))
    return notes


def _without_order(labels: Iterable[Payment]) -> Iterator[str]:
    groups: dict[tuple[str, str], list[Payment]] = defaultdict(list)
    for label in labels:
        groups[label.layout.accounts.postage, label.currency].append(label)
    for (account, currency), group in groups.items():
        what = "entry for a label has" if len(group) == 1 else "entries for labels have"
        yield (
            f"{len(group)} {what} no order's number: {_cost(group)} {currency} is in "
            f"{account}, with no order"
        )


def _of_unknown_orders(labels: Iterable[Payment], known: Collection[str]) -> Iterator[str]:
    groups: dict[tuple[str, str], list[Payment]] = defaultdict(list)
    for label in labels:
        if label.order and label.order not in known:
            groups[label.number, label.currency].append(label)
    for done, ((number, currency), group) in enumerate(groups.items()):
        if done == LISTED:
            yield f"and labels of {len(groups) - LISTED} more orders that the books lack"
            return
        first = group[0]
        yield (
            f"{first.file}: row {first.row}: a label of {_cost(group)} {currency} names "
            f"the order {number}, which the books do not have"
        )


def _cost(labels: Iterable[Payment]) -> Decimal:
    """Return what labels cost, less what was given back."""
    return -sum([label.gross for label in labels], ZERO)
