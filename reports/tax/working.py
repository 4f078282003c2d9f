"""The working of a tax: line by line, as the official worksheet orders it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from typing import NamedTuple


class WorkingLine(NamedTuple):
    """A line of a working.

    Attributes:
      key: What it is, for programs: `self-employment-tax`.
      label: What it is, in words.
      amount: In the rules' currency; of a rate or a share, that.
      where: The line of the official form: `Schedule SE, line 12`.
      is_share: Whether the amount is a share of 1, no money.
    """

    key: str
    label: str
    amount: Decimal
    where: str = ""
    is_share: bool = False


@dataclass
class Working:
    """A working while it is written, and afterwards.

    Attributes:
      lines: In the order of the worksheet.
      notes: What it does not know, or takes for granted.
    """

    lines: list[WorkingLine] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    def line(
        self,
        key: str,
        label: str,
        amount: Decimal,
        where: str = "",
        is_share: bool = False,
    ) -> Decimal:
        """Write a line, and return its amount.

        Args:
          key: What it is, for programs; each once.
          label: What it is, in words.
          amount: Its amount.
          where: The line of the official form.
          is_share: Whether the amount is a share.

        Raises:
          ValueError: The key was written already.
        """
        if key in self:
            raise ValueError(f"{key} stands in the working already")
        self.lines.append(WorkingLine(key, label, amount, where, is_share))
        return amount

    def __getitem__(self, key: str) -> Decimal:
        for line in self.lines:
            if line.key == key:
                return line.amount
        raise KeyError(key)

    def get(self, key: str) -> Decimal:
        """Return the amount of a line; zero where the working has none of it."""
        return self[key] if key in self else Decimal(0)

    def __contains__(self, key: object) -> bool:
        return any(line.key == key for line in self.lines)

    def __iter__(self) -> Iterator[WorkingLine]:
        return iter(self.lines)
