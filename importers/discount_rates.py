"""Read what was taken off each line of an order in percent."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from itertools import repeat

from offcut.importers import values
from offcut.importers.columns import read_column
from offcut.importers.problems import Problem, quoted
from offcut.importers.source_file import SourceFile


def read_discount_rates(
    source: SourceFile, problems: list[Problem]
) -> Sequence[Decimal] | repeat[Decimal]:
    """Return the percentage that each line is reduced by, a blank cell being none.

    Without such a column it is 0 for as long as anybody asks.

    Args:
      source: The file.
      problems: Takes a problem for each cell that is no percentage from 0 to 100, with
        the sign that the layout's reductions have.
    """
    layout = source.layout
    if "discount-rate" not in layout.columns:
        return repeat(values.ZERO)
    number = values.number_reader(layout.locale)

    def read(cell: str) -> Decimal:
        text = cell.removesuffix("%").rstrip().removesuffix("\N{NO-BREAK SPACE}")
        rate = layout.discount_sign * number(text) if text else values.ZERO
        if not 0 <= rate <= 100:
            least, most = ("0", "100") if layout.discount_sign > 0 else ("-100", "0")
            raise ValueError(
                f"expected a percentage from {least} to {most}, found {quoted(cell)}; "
                "correct the row, or the layout's [forms] discount"
            )
        return rate

    return read_column(source, "discount-rate", read, problems)
