"""Postage labels that belong to no order, or to one that the books do not have.

A label that belongs to none, as of a parcel of samples, says so by a `note` of its own.
"""

from __future__ import annotations

from collections import defaultdict
from decimal import Decimal

from beancount.core import data

from offcut.importers.ledger_text import escaped
from offcut.importers.values import ZERO, one_line
from offcut.reports.close.ledger_pass import LedgerPass
from offcut.reports.close.points import (
    TO_DO,
    ClosePoint,
    Found,
    Looked,
    counted,
    named,
    place_of,
)

NOTE = "note"


def check_labels(found: LedgerPass, expenses: str) -> Found:
    """Return the labels without an order.

    What was given back for a label counts with it, by its amount.

    Args:
      found: What the ledger has.
      expenses: The root account of expenses.
    """
    points, known = [], 0
    loose: dict[Decimal, list[tuple[data.Transaction, str]]] = defaultdict(list)
    for entry in found.labels:
        orders = sorted(link for link in entry.links if link.startswith("order-"))
        if NOTE in entry.meta or any(link in found.orders for link in orders):
            known += 1
        else:
            cost, currency = _cost(entry, expenses)
            if orders:
                points.append(_point(entry, orders, cost, currency))
            else:
                loose[cost].append((entry, currency))
    for cost, same in loose.items():
        same.sort(key=lambda each: (each[0].date, place_of(each[0].meta)))
        opposite = len(loose.get(-cost, ())) if cost else len(same)
        points += [_point(entry, [], cost, currency) for entry, currency in same[opposite:]]
    in_order: tuple[Looked, ...] = ()
    if known or not points:
        text = (
            f"{counted(known, 'label')} with an order, or a note of why not."
            if known
            else "No label waits for its order."
        )
        in_order = (Looked("Labels have their orders", text),)
    return Found(tuple(points), in_order)


def _point(
    entry: data.Transaction, orders: list[str], cost: Decimal, currency: str
) -> ClosePoint:
    names = " and ".join(order.removeprefix("order-") for order in orders)
    if orders:
        what = "Label of an unknown order"
        why = f"The books have no order {names}. Import the file of its orders; if there is"
        why += " none, the label's first line may become these two."
        note = f"order {names} is not in the books"
    else:
        what = "Label without an order"
        why = "If it is of an order, write the order's link behind the text, as in "
        why += "^order-W1042; if it is of none, its first line may become these two."
        note = "of no order"
    return ClosePoint(
        TO_DO,
        what,
        f"{named(entry.narration or entry.payee or 'A label')}. {why}",
        cost,
        currency,
        entry.date,
        *place_of(entry.meta),
        settle=f'{_head(entry)}\n  {NOTE}: "{escaped(note)}"',
    )


def _head(entry: data.Transaction) -> str:
    """Return a transaction's first line, as it stands."""
    payee = f'"{escaped(one_line(entry.payee))}" ' if entry.payee else ""
    text = f'{payee}"{escaped(one_line(entry.narration or ""))}"'
    marks = [f"^{link}" for link in sorted(entry.links)]
    marks += [f"#{tag}" for tag in sorted(entry.tags)]
    return " ".join([entry.date.isoformat(), entry.flag or "*", text, *marks])


def _cost(entry: data.Transaction, expenses: str) -> tuple[Decimal, str]:
    """Return what a label cost, and the currency."""
    cost, currency = ZERO, ""
    for posting in entry.postings:
        units = posting.units
        if units is None or units.number is None:
            continue
        if posting.account.startswith(f"{expenses}:"):
            cost, currency = cost + units.number, units.currency
    return cost, currency
