"""What to draw of a table, whose figures stand in it."""

from __future__ import annotations

from decimal import Decimal
from typing import NamedTuple


class Bar(NamedTuple):
    """A pair of bars: what came in, and what of it was left.

    Attributes:
      name: What it is about.
      whole: Drawn pale.
      part: Drawn over it.
    """

    name: str
    whole: Decimal
    part: Decimal


class Chart(NamedTuple):
    """A chart of a table, whose figures stand beside it in the table.

    Attributes:
      bars: What to draw, from the top.
      whole: What the pale bars are: "what buyers paid".
      part: What the others are: "contribution".
    """

    bars: tuple[Bar, ...]
    whole: str
    part: str


class Plot(NamedTuple):
    """A chart of a table whose lines follow each other in time.

    Attributes:
      title: What it shows.
      column: The position of the column to draw: upright bars, from left to right.
      beside: That of the column to draw over them, as a stepped line; None for none.
      lines: The positions of the lines to draw, the earliest first.
    """

    title: str
    column: int
    beside: int | None
    lines: tuple[int, ...]


class Course(NamedTuple):
    """Columns of a table that follow each other in time: each line's are drawn small.

    Attributes:
      heading: What stands above the drawings: "By month".
      columns: Their positions, the earliest first.
    """

    heading: str
    columns: tuple[int, ...]
