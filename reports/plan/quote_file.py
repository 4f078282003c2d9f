"""Read a manufacturer's quote from a CSV file.

    Quantity,Unit price,Set-up,Freight
    100,0.80,25.00,12.00
    500,0.55,25.00,18.00

The last two columns may be missing. A row holds from its quantity on.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal
from pathlib import Path

from offcut.reports.plan.given_figures import amount_of, whole_of
from offcut.reports.plan.price_breaks import PriceBreak

DELIMITERS = (",", ";", "\t")
READERS: Mapping[str, Callable[[str], Decimal]] = {
    "quantity": whole_of,
    "unit price": amount_of,
    "set-up": amount_of,
    "freight": amount_of,
}
NEEDED = ("quantity", "unit price")
EXPECTED = "expected the columns Quantity and Unit price, and perhaps Set-up and Freight"


class QuoteRefused(ValueError):
    """A quote that cannot be read; its text is a line for each thing that is wrong."""


def read_quote(path: Path) -> list[PriceBreak]:
    """Return the lines of a quote, by quantity.

    Args:
      path: The file.

    Raises:
      QuoteRefused: It cannot be read, or a cell is not what was expected.
    """
    try:
        text = path.read_bytes().decode("utf-8-sig")
        rows = list(csv.reader(io.StringIO(text), delimiter=_delimiter(text), strict=True))
    except OSError as error:
        raise QuoteRefused(f"{path}: cannot be read: {error.strerror}") from None
    except (UnicodeDecodeError, csv.Error) as error:
        raise QuoteRefused(
            f"{path}: expected a CSV file in UTF-8 ({error}); save it as such"
        ) from None
    headings = [heading.strip().casefold() for heading in rows[0]] if rows else []
    missing = [name for name in NEEDED if name not in headings]
    unknown = [name for name in headings if name not in READERS]
    if missing or unknown or len(set(headings)) < len(headings):
        raise QuoteRefused(f"{path}: row 1: {EXPECTED}, found {', '.join(headings) or '-'}")
    mistakes: list[str] = []
    lines = []
    for at, row in enumerate(rows[1:], 2):
        if not any(cell.strip() for cell in row):
            continue
        cells = dict(zip(headings, row, strict=False))
        read = dict(_figures(cells, f"{path}: row {at}", mistakes))
        if len(row) != len(headings):
            mistakes.append(
                f"{path}: row {at}: expected {len(headings)} cells, found {len(row)}"
            )
        elif all(name in read for name in NEEDED):
            lines.append(
                PriceBreak(
                    read["quantity"],
                    read["unit price"],
                    read.get("set-up", Decimal(0)),
                    read.get("freight", Decimal(0)),
                )
            )
    if mistakes:
        raise QuoteRefused("\n".join(f"{each}; correct the row" for each in mistakes))
    if not lines:
        raise QuoteRefused(f"{path}: expected a row for each price, found none")
    return sorted(lines)


def _delimiter(text: str) -> str:
    """Return what stands between the headings."""
    heading = text.partition("\n")[0]
    return max(DELIMITERS, key=heading.count)


def _figures(
    cells: Mapping[str, str], where: str, mistakes: list[str]
) -> Iterator[tuple[str, Decimal]]:
    """Yield the figures of a row by column, and note what cannot be read."""
    for name, cell in cells.items():
        if not cell.strip() and name not in NEEDED:
            continue
        try:
            yield name, READERS[name](cell)
        except ValueError as error:
            mistakes.append(f"{where}, column {name.capitalize()}: {error}")
