"""The number formats of a workbook's cells, and how much text a cell has room for."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from offcut.importers.values import minor_unit
from offcut.reports.statement_cells import BELOW, Column

if TYPE_CHECKING:
    from xlsxwriter.format import Format
    from xlsxwriter.workbook import Workbook

LONGEST_CELL = 32_767
# Built in, so that the reader's own date form shows.
DATE_FORMAT = 14
MONTH_FORMAT = "yyyy-mm"


def short(text: str) -> str:
    """Return a text as long as a cell can have it.

    Args:
      text: A text.
    """
    return cut(text, LONGEST_CELL)


def cut(text: str, most: int) -> str:
    """Return the beginning of a text that has so many units of UTF-16 at the most.

    These are what a workbook's limits count: letters beyond U+FFFF, emoji among them,
    count twice.

    Args:
      text: A text.
      most: How many.
    """
    if 2 * len(text) <= most:
        return text
    return text.encode("utf-16-le")[: 2 * most].decode("utf-16-le", "ignore")


class Formats:
    """The number formats of a workbook's cells."""

    def __init__(self, book: Workbook, currency: str) -> None:
        self._book = book
        self._made: dict[tuple[str, bool, int], Format] = {}
        places = -int(minor_unit(currency).as_tuple().exponent)
        money = "#,##0" + ("." + "0" * places if places else "")
        # As fine as other drawings have it, but with no point that nothing comes after.
        price = money + "#" * (4 - places) if 0 < places < 4 else money
        self._forms: dict[str, dict[str, Any]] = {
            "text": {"num_format": "@"},
            "prose": {"num_format": "@", "text_wrap": True, "valign": "top"},
            "verbatim": {"num_format": "@", "text_wrap": True, "valign": "top"},
            "money": {"num_format": f"{money};[Red]-{money}"},
            "price": {"num_format": f"{price};[Red]-{price}"},
            "units": {"num_format": "#,##0"},
            "fraction": {"num_format": "#,##0.####"},
            "number": {"num_format": "#,##0.00"},
            "share": {"num_format": "0%"},
            "date": {"num_format": DATE_FORMAT},
            "month": {"num_format": MONTH_FORMAT, "align": "left"},
        }

    def of(self, kind: str, bold: bool = False, indent: int = 0) -> Format:
        """Return the format of a cell of a kind.

        Args:
          kind: As of a statement's columns; a `fraction` is units that are not whole.
          bold: Whether it is a total.
          indent: By how many steps it stands in.
        """
        key = kind, bold, indent
        if key not in self._made:
            form = {**self._forms[kind], "bold": bold, "indent": indent}
            self._made[key] = self._book.add_format(form)
        return self._made[key]

    def heading(self, column: Column) -> Format:
        """Return the format of a column's heading.

        Args:
          column: The column.
        """
        align = "left" if column.kind in ("text", "month", *BELOW) else "right"
        return self._book.add_format({"bold": True, "bottom": 1, "align": align})
