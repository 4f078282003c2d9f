"""What the month-end list says: its points, and what was found in order."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal, NamedTuple

from beancount.core import data

from offcut.importers.values import one_line

Severity = Literal["to do", "to know"]
TO_DO: Severity = "to do"
TO_KNOW: Severity = "to know"

# How many names a sentence lists before it says how many more there are.
NAMED = 6
LONGEST_NAME = 60


@dataclass(frozen=True)
class ClosePoint:
    """A point of the month-end list.

    Attributes:
      severity: Whether something is to be done about it, or it is to be known only.
      what: What it is, in a few words.
      detail: What was found, and what to do about it.
      amount: What it is about in money; None where it is about none.
      currency: The amount's currency.
      date: The day that it is about.
      file: The file of the ledger that it stands in; empty where it stands in none.
      line: The line in it; 0 where the whole file is meant.
      settle: What settles it, whole and to be copied: a command of `offcut`, or lines of
        the ledger.
    """

    severity: Severity
    what: str
    detail: str
    amount: Decimal | None = None
    currency: str = ""
    date: datetime.date | None = None
    file: str = ""
    line: int = 0
    settle: str = ""


class Looked(NamedTuple):
    """What was looked at and is in order.

    Attributes:
      what: What was asked.
      found: What was looked at, and what was found of it.
    """

    what: str
    found: str


class Found(NamedTuple):
    """What one check found.

    Attributes:
      points: The points.
      in_order: What is in order.
    """

    points: tuple[ClosePoint, ...] = ()
    in_order: tuple[Looked, ...] = ()


class Place(NamedTuple):
    """A line of the ledger; file is empty where it is not known."""

    file: str = ""
    line: int = 0


def place_of(meta: data.Meta | None) -> Place:
    """Return the line that metadata say; nowhere for what a plugin made."""
    file = (meta or {}).get("filename")
    line = (meta or {}).get("lineno")
    if not isinstance(file, str) or file.startswith("<"):
        return Place()
    return Place(file, line if isinstance(line, int) else 0)


def named(text: str) -> str:
    """Return a text of the ledger as a sentence has it: on one line, and not too long."""
    line = one_line(text)
    return line if len(line) <= LONGEST_NAME else f"{line[: LONGEST_NAME - 1]}…"


def several(names: Iterable[str]) -> str:
    """Return names in a sentence: the first ones, and how many more there are."""
    listed: Sequence[str] = list(names)
    text = ", ".join(listed[:NAMED])
    return text if len(listed) <= NAMED else f"{text} and {len(listed) - NAMED:,} more"


def counted(number: int, one: str, more: str = "") -> str:
    """Return a number with its noun: `1 order`, `2 orders`."""
    return f"{number:,} {one if number == 1 else more or f'{one}s'}"
