"""Read the words for a figure: a design and a month, an order, or a lot.

Heron at Dusk 2025-03
order W1042
lot HERON-STK 2025-02-03
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Collection, Iterable
from typing import NamedTuple

from offcut.importers.records import order_key
from offcut.plugins.catalogue import nearest
from offcut.reports.trace.index import TraceIndex

FORMS = (
    'a design and a month as "Heron at Dusk 2025-03", an order as "order W1042", or a lot '
    'as "lot HERON-STK 2025-02-03"'
)

# Of very many order numbers, those with the same beginning are compared, no others.
MANY = 2000


class TraceError(ValueError):
    """Words that name no figure of the ledger; the text says what to write instead."""


class DesignMonth(NamedTuple):
    """What a design came to in a month.

    Attributes:
      design: Its name.
      first: The first day of the month.
    """

    design: str
    first: datetime.date


class Order(NamedTuple):
    """An order.

    Attributes:
      number: Its number, as links write it.
    """

    number: str


class Lot(NamedTuple):
    """The lots of an item of one day.

    Attributes:
      item: The commodity.
      date: The day, as in the lot's cost.
    """

    item: str
    date: datetime.date


Figure = DesignMonth | Order | Lot


def read_figure(text: str, index: TraceIndex) -> Figure:
    """Return the figure that a text names.

    Args:
      text: The words of one figure.
      index: The ledger that has it.

    Raises:
      TraceError: The text has no such form, or names nothing that the ledger has.
    """
    text = " ".join(text.split())
    designs = designs_of(index)
    month = re.fullmatch(r"(.+) (\d{4}-\d{1,2})", text, re.ASCII)
    if month and _known(month[1], designs):
        return DesignMonth(_known(month[1], designs), _month(month[2]))
    word, _, rest = text.partition(" ")
    if word.lower() == "order" and rest:
        return _order(rest, index)
    lot = re.fullmatch(r"(?i:lot) (\S+) (\S+)", text)
    if lot:
        return _lot(lot[1], lot[2], index)
    if month:
        raise TraceError(f"There is no design '{month[1]}'{nearest(month[1], designs)}")
    if _known(text, designs):
        raise TraceError(f"'{text}' is a design; name a month with it, as '{text} 2025-03'")
    raise TraceError(f"'{text}' names no figure; write {FORMS}")


def designs_of(index: TraceIndex) -> dict[str, set[str]]:
    """Return the products of each design, as the order table has them.

    Args:
      index: A ledger.
    """
    designs: dict[str, set[str]] = {}
    for each in index.catalogue.values():
        if each.kind == "product":
            designs.setdefault(each.design, set()).add(each.currency)
    for name in index.about:  # A material may be sold as well; and what is not declared.
        item = index.catalogue.get(name)
        designs.setdefault(item.design if item else name, set()).add(name)
    return designs


def _known(name: str, names: Collection[str]) -> str:
    """Return the name that a text means, in whatever case; empty where none is."""
    if name in names:
        return name
    alike = sorted(each for each in names if each.casefold() == name.casefold())
    return alike[0] if len(alike) == 1 else ""


def _month(text: str) -> datetime.date:
    """Return the first day of a month."""
    try:
        return datetime.date.fromisoformat(f"{text}-01")
    except ValueError:
        raise TraceError(f"'{text}' is no month; write it as 2025-03") from None


def _order(text: str, index: TraceIndex) -> Order:
    """Return an order that the ledger has."""
    key = order_key(text)  # as an import writes it into links
    for name in (text, key):
        known = _known(name, index.orders)
        if known:
            return Order(known)
    raise TraceError(f"There is no order '{text}'{_nearest_order(key, index.orders)}")


def _nearest_order(text: str, numbers: Iterable[str]) -> str:
    """Return ' (did you mean W1042?)' where an order's number is near.

    Comparing with each of 100,000 numbers would take a second for each.
    """
    some = sorted(numbers)
    begin = len(text)
    while len(some) > MANY and begin:
        begin -= 1
        alike = [number for number in some if number.startswith(text[:begin])]
        if alike:
            some = alike[:MANY]
    return nearest(text, some[:MANY])


def _lot(item: str, day: str, index: TraceIndex) -> Lot:
    """Return a lot that the ledger has."""
    known = _known(item, index.catalogue)
    if not known:
        near = nearest(item, index.catalogue)
        raise TraceError(f"There is no item '{item}' in stock's catalogue{near}")
    try:
        date = datetime.date.fromisoformat(day)
    except ValueError:
        raise TraceError(f"'{day}' is no day; write it as 2025-02-03") from None
    days = index.lots.get(known, {})
    if date in days:
        return Lot(known, date)
    if not days:
        raise TraceError(f"No {known} ever came; record the print run or the purchase")
    other = min(days, key=lambda each: (abs(each - date), each))
    raise TraceError(f"{known} has no lot of {date}; the nearest is of {other}")
