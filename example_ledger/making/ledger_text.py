"""Write the ledger as a careful person would: dated, aligned, with remarks."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from decimal import Decimal as D
from typing import NamedTuple

CURRENCY_COLUMN = 61
BANK = "Assets:Bank:Checking"
RESERVE = "Assets:Bank:TaxReserve"

Meta = tuple[tuple[str, object], ...]


class Money(NamedTuple):
    """An amount, as metadata has it."""

    number: D

    def __str__(self) -> str:
        return f"{self.number} USD"


class Leg(NamedTuple):
    """One posting; units of stock have their cost written after the commodity."""

    account: str
    number: D
    commodity: str = "USD"
    meta: Meta = ()


class Entry(NamedTuple):
    """One directive.

    Attributes:
      date: Its date.
      text: Its text, without the last line break.
      legs: The postings of a transaction.
    """

    date: datetime.date
    text: str
    legs: tuple[Leg, ...] = ()

    def change(self, account: str) -> D:
        """Return what it adds to an account that holds money."""
        numbers = (leg.number for leg in self.legs if leg.account == account)
        return sum(numbers, D("0.00"))


def transaction(
    date: datetime.date,
    title: str,
    legs: Iterable[Leg],
    *,
    payee: str = "",
    marks: str = "",
    meta: Meta = (),
    comment: str = "",
) -> Entry:
    """Return a transaction.

    Args:
      date: Its date.
      title: Its narration.
      legs: Its postings.
      payee: Who it was with.
      marks: Links and tags, as they are written.
      meta: What is noted of it.
      comment: Lines to write above it.
    """
    legs = tuple(legs)
    texts = f'"{payee}" "{title}"' if payee else f'"{title}"'
    lines = [f"{date} * {texts}{' ' if marks else ''}{marks}"]
    lines += [f"  {key}: {_value(value)}" for key, value in meta]
    for leg in legs:
        amount = amount_line(leg.account, leg.number, leg.commodity, indent=2)
        lines.append(f"  {amount}")
        lines += [f"    {key}: {_value(value)}" for key, value in leg.meta]
    return Entry(date, _remark(comment) + "\n".join(lines), legs)


def directive(
    date: datetime.date, text: str, *, meta: Meta = (), comment: str = ""
) -> Entry:
    """Return a directive that is no transaction.

    Args:
      date: Its date.
      text: What comes after the date.
      meta: What is noted of it.
      comment: Lines to write above it.
    """
    lines = [f"{date} {text}", *(f"  {key}: {_value(value)}" for key, value in meta)]
    return Entry(date, _remark(comment) + "\n".join(lines))


def file_text(head: str, entries: Iterable[Entry]) -> str:
    """Return the text of a file: remarks at its head, then entries by date."""
    parts = [_remark(head).rstrip()]
    for entry in sorted(entries, key=lambda entry: entry.date):
        # Directives of one line can stand close together.
        close = "\n" not in parts[-1] and "\n" not in entry.text
        parts += ["\n" if close else "\n\n", entry.text]
    return "".join([*parts, "\n"])


def amount_line(account: str, number: D, commodity: str = "USD", *, indent: int) -> str:
    """Return an account and an amount, with the commodities in one column.

    Args:
      account: The account, or the words before the amount.
      number: The amount's number.
      commodity: Its commodity, and its cost after that.
      indent: How many characters will stand before it on its line.
    """
    gap = CURRENCY_COLUMN - indent - 2 - len(account) - len(f"{number:f}")
    return f"{account}{' ' * max(gap, 2)}{number:f} {commodity}"


def _remark(comment: str) -> str:
    """Return lines of a comment as the ledger has them."""
    return "".join(f"; {line}".rstrip() + "\n" for line in comment.splitlines())


def _value(value: object) -> str:
    """Return a value of metadata: texts in quotes, amounts and numbers as they are."""
    return f'"{value}"' if isinstance(value, str) else f"{value}"
