"""Write a statement's figures for a page."""

from __future__ import annotations

from decimal import Decimal

from offcut.reports.figures import money
from offcut.reports.statement_cells import Cell, Column, cell_text

MINUS = "\N{MINUS SIGN}"


def page_cell(cell: Cell, column: Column, currency: str) -> str:
    """Return a cell as text, with a minus sign that screen readers say.

    Args:
      cell: The cell.
      column: Its column.
      currency: The currency of money.
    """
    text = cell_text(cell, column, currency)
    is_number = isinstance(cell, Decimal)
    return text.replace("-", MINUS) if is_number else text


def page_money(amount: Decimal, currency: str) -> str:
    """Return an amount with a minus sign that screen readers say.

    Args:
      amount: An amount of money.
      currency: Its currency, which is not written.
    """
    return money(amount, currency).replace("-", MINUS)
