"""What is wrong with a file, a layout or a rule: one clear line each."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

LISTED = 20


class Problem(NamedTuple):
    """One thing that has to be put right before anything is imported, or written.

    Attributes:
      file: The file's name, as the user knows it.
      row: The row as a spreadsheet counts it, the header being row 1; None where the
        whole file is meant.
      column: The header of the column; None where no one column is meant.
      message: What was expected, what was found, and what to do.
    """

    file: str
    row: int | None
    column: str | None
    message: str

    def __str__(self) -> str:
        """Return the one line to show of an import."""
        return self.line("nothing was imported")

    def line(self, outcome: str) -> str:
        """Return the one line to show.

        Args:
          outcome: What came of it, as fits what was asked for: "nothing was booked";
            where it is empty, the line says what is wrong and no more.
        """
        place = []
        if self.row is not None:
            place.append(f"row {self.row}")
        if self.column is not None:
            place.append(f"column {self.column}")
        where = f" {', '.join(place)}:" if place else ""
        line = f"{self.file}:{where} {self.message}"
        if outcome:
            line = f"{line}, {outcome}"
        # What a file says must not work the terminal that shows it.
        return "".join([char if char.isprintable() else "\ufffd" for char in line])


class ImportRefused(Exception):
    """An import that was not made, because of its problems.

    Attributes:
      found: What is wrong.
      problems: What to show of it: of more than twenty, the first twenty and a last one
        that says how many more there are.
    """

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.found: tuple[Problem, ...] = tuple(problems)
        self.problems: tuple[Problem, ...] = self.found
        if len(self.found) > LISTED:
            more = len(self.found) - LISTED
            message = f"and {more} more problems; correct those above first"
            last = Problem(self.found[LISTED].file, None, None, message)
            self.problems = (*self.found[:LISTED], last)
        super().__init__("\n".join(map(str, self.problems)))


def by_row(problems: Iterable[Problem]) -> list[Problem]:
    """Return the problems of one file, its rows in their order; those of no row first."""
    return sorted(problems, key=lambda each: each.row or 0)


def quoted(text: str) -> str:
    """Return a text as a message shows it: in quotes, on one line, not too long."""
    shown = repr(text)
    return shown if len(shown) <= 62 else f"{shown[:60]}…'"
