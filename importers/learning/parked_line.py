"""One line that is parked, and what was taken off it.

A discount of a line of unknown text carries the text, as `discount-of`, and goes with the
line once a rule knows it.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal, InvalidOperation
from typing import NamedTuple

from beancount.core import data
from beancount.core.amount import Amount

from offcut.importers.layout import Layout
from offcut.importers.order_postings import DISCOUNT_OF
from offcut.importers.records import OrderLine
from offcut.importers.values import ZERO


class ParkedLine(NamedTuple):
    """A line in suspense.

    Attributes:
      lines_id: The id of the order's lines, or of the tally, that it is one of.
      number: What tells it from the others of that id.
      entry: The transaction that it stands in.
      line: Its text, quantity and amount, and what was taken off it.
      currency: The amount's currency.
      account: The suspense account that it is in.
      layout: The layout that it was read by; None where there is no such layout now.
      discounts: The account in which its discount stands; empty where it has none.
    """

    lines_id: str
    number: int
    entry: data.Transaction
    line: OrderLine
    currency: str
    account: str
    layout: Layout | None
    discounts: str = ""


def parked_line(posting: data.Posting) -> OrderLine | None:
    """Return the order line that a posting parks; None where it parks none."""
    meta, units = posting.meta or {}, posting.units
    text, quantity = meta.get("item-text"), meta.get("quantity")
    if not isinstance(text, str) or "item" in meta or posting.cost or posting.price:
        return None
    if not isinstance(units, Amount) or not isinstance(units.number, Decimal):
        return None  # for beancount to fill in
    try:
        # The viewer's import page keeps texts only.
        pieces = Decimal(quantity if isinstance(quantity, Decimal | str) else "")
    except InvalidOperation:
        return None
    if not pieces.is_finite() or not pieces:
        return None
    amount = -units.number
    return OrderLine(text, pieces, amount, amount, ZERO)


def discounted(posting: data.Posting) -> str:
    """Return the text of the line that a posting is the discount of; empty of none."""
    text = (posting.meta or {}).get(DISCOUNT_OF)
    units = posting.units
    sound = isinstance(units, Amount) and isinstance(units.number, Decimal)
    return text if isinstance(text, str) and sound else ""


def is_of(line: ParkedLine, posting: data.Posting) -> bool:
    """Return whether a discount is of a line of this text, in the same account."""
    currency = posting.units and posting.units.currency
    same = (discounted(posting), currency) == (line.line.item, line.currency)
    return same and line.discounts in ("", posting.account)


def with_discount(line: ParkedLine, posting: data.Posting) -> ParkedLine:
    """Return a line with a discount more."""
    off = posting.units.number if posting.units else None
    assert isinstance(off, Decimal)  # as `discounted` says
    now = line.line._replace(discount=line.line.discount + off)
    return line._replace(line=now, discounts=posting.account)


def discount_first(
    groups: Iterable[list[ParkedLine | None]], posting: data.Posting
) -> None:
    """Give a discount that is of no one line to the first line of its text.

    What is free has none, and is given away for that.

    Args:
      groups: Lines; the one that it is given to is changed.
      posting: The discount.
    """
    for lines in groups:
        for at, line in enumerate(lines):
            if line and line.line.amount and is_of(line, posting):
                lines[at] = with_discount(line, posting)
                return
