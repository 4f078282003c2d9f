"""Say where each figure that a plan rests on was taken from."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import NamedTuple

from offcut.reports.statement import Line, Table
from offcut.reports.statement_cells import Column

GIVEN = "this command"
SET = "offcut.toml"
USUAL = "common practice, no source"
NOT_GIVEN = "not given"


class Assumed(NamedTuple):
    """A figure, and where it is from.

    Attributes:
      figure: The figure; None where there is none.
      source: Where it is from, in words.
    """

    figure: Decimal | None
    source: str


class Assumption(NamedTuple):
    """A figure that a plan rests on.

    Attributes:
      what: What it is.
      figure: The figure; None where there is none.
      unit: What it is in: `USD an hour`, `%`.
      source: Where it is from, in words.
    """

    what: str
    figure: Decimal | None
    unit: str
    source: str


def assumed(
    given: Decimal | None,
    set_: Decimal | None,
    usual: Decimal | None = None,
    usual_source: str = USUAL,
    given_source: str = GIVEN,
) -> Assumed:
    """Return a figure: as given, else as set, else as usual.

    Args:
      given: With the command, or on the page.
      set_: In the settings.
      usual: What holds otherwise; None where nothing does.
      usual_source: Where that is from.
      given_source: Where what is given is from.
    """
    for figure, source in ((given, given_source), (set_, SET), (usual, usual_source)):
        if figure is not None:
            return Assumed(figure, source)
    return Assumed(None, NOT_GIVEN)


def assumptions_table(assumptions: Iterable[Assumption], slug: str) -> Table:
    """Return the table of what a plan rests on.

    Args:
      assumptions: The figures.
      slug: The table's name in files.
    """
    return Table(
        title="What this rests on",
        columns=(
            Column("Figure", "text"),
            Column("Value", "number"),
            Column("In", "text"),
            Column("From", "text"),
        ),
        lines=tuple(Line(tuple(each)) for each in assumptions),
        slug=slug,
    )
