"""Write a statement's tables as CSV files: exact figures, and text that stays text.

RFC 4180, in UTF-8. A cell of text that a spreadsheet would take for a formula gets an
apostrophe before it (OWASP, "CSV Injection").
"""

from __future__ import annotations

import csv
import datetime
import io
from decimal import Decimal

from offcut.importers.splitting import EXACT
from offcut.reports.figures import plain
from offcut.reports.statement import Cell, Column, Table

# A division has no last digit.
SHARE_STEP = Decimal("0.000001")
# What a spreadsheet begins a formula with.
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def table_csv(table: Table) -> str:
    """Return a table as the text of a CSV file.

    Money and pieces are exact and without group marks; shares are of 1, to six places. A
    part's name comes after that of the line that it is part of, as in "Heron at Dusk /
    Heron print".

    Args:
      table: The table.
    """
    shown = table.shown_columns(narrow=False)
    written = io.StringIO()
    rows = csv.writer(written, lineterminator="\r\n")
    headings = [inert(table.columns[at].heading) for at in shown]
    rows.writerow(["Kind", headings[0], "Code", *headings[1:], "Currency"])
    whole = ""
    for line in table.lines:
        cells = [_cell(line.cells[at], table.columns[at]) for at in shown]
        if line.role == "part":
            cells[0] = f"{whole} / {cells[0]}"
        else:
            whole = cells[0]
        code, currency = inert(plain(line.code)), inert(table.currency)
        rows.writerow([line.role, cells[0], code, *cells[1:], currency])
    return written.getvalue()


def inert(text: str) -> str:
    """Return a text that no spreadsheet takes for a formula.

    Args:
      text: A cell's text.
    """
    return f"'{text}" if text.startswith(FORMULA_STARTS) else text


def _cell(cell: Cell, column: Column) -> str:
    """Return a cell as text that reads back as the same."""
    match cell:
        case None:
            return ""
        case Decimal() if column.kind == "share":
            return f"{cell.quantize(SHARE_STEP, context=EXACT):f}"
        case Decimal():
            return f"{cell:f}"
        case datetime.date():
            return cell.isoformat()
        case _:
            return inert(plain(cell))
