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
from offcut.reports.figures import month_label, plain
from offcut.reports.statement import Table
from offcut.reports.statement_cells import Cell, Column, cell_text

# What goes before a name for each step that it stands below the top.
STEP = "  "
# A division has no last digit.
SHARE_STEP = Decimal("0.000001")
# What a spreadsheet begins a formula with, in full width too (OWASP, "CSV Injection").
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", *"\uff1d\uff0b\uff0d\uff20")


def table_csv(table: Table, caution: str = "") -> str:
    """Return a table as the text of a CSV file.

    Money and pieces are exact and without group marks; shares are of 1, to six places. A
    part's name comes after that of the line that it is part of, as in "Heron at Dusk /
    Heron print".

    Args:
      table: The table.
      caution: What must stand beside its figures: a last column, on every line of it, so
        that no line is copied without; empty where nothing must.
    """
    cautions = [inert(plain(caution))] if caution else []
    shown = table.shown_columns(narrow=False)
    written = io.StringIO()
    rows = csv.writer(written, lineterminator="\r\n")
    headings = [inert(table.columns[at].heading) for at in shown]
    last = ["Currency", "Caution"] if caution else ["Currency"]
    rows.writerow(["Kind", headings[0], "Code", *headings[1:], *last])
    whole = ""
    for line in table.lines:
        cells = [_cell(line.cells[at], table.columns[at]) for at in shown]
        if line.role == "part":
            cells[0] = f"{whole} / {cells[0]}"
        else:
            whole = cells[0]
            cells[0] = STEP * line.depth + cells[0]
        code, currency = inert(plain(line.code)), inert(table.currency)
        rows.writerow([line.role, cells[0], code, *cells[1:], currency, *cautions])
    return written.getvalue()


def inert(text: str) -> str:
    """Return a text that no spreadsheet takes for a formula.

    Args:
      text: A cell's text.
    """
    return f"'{text}" if text.lstrip().startswith(FORMULA_STARTS) else text


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
            return month_label(cell) if column.kind == "month" else cell.isoformat()
        case _:
            return inert(cell_text(cell, column, ""))
