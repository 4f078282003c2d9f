"""Write the first sheet of a workbook: what is in it, whether it agrees, how to read it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from offcut.reports.drawing.workbook_formats import short
from offcut.reports.figures import plain
from offcut.reports.statement import Statement

if TYPE_CHECKING:
    from xlsxwriter.workbook import Workbook
    from xlsxwriter.worksheet import Worksheet

CONTENTS = "Contents"
WIDTHS = (34, 44, 12)
# The sentences below stand over all columns.
SENTENCE = 96
LINE_HEIGHT = 15


def write_contents(
    book: Workbook,
    sheet: Worksheet,
    title: str,
    statements: Sequence[Statement],
    sheets: Sequence[Sequence[str]],
) -> None:
    """Write the sheet of contents.

    Args:
      book: The workbook.
      sheet: The sheet.
      title: The title of the books.
      statements: The statements of the workbook.
      sheets: The names of the sheets of each statement's tables.
    """
    bold = book.add_format({"bold": True, "num_format": "@"})
    heading = book.add_format({"bold": True, "bottom": 1, "num_format": "@"})
    text = book.add_format({"num_format": "@", "text_wrap": True, "valign": "top"})
    link = book.add_format({"num_format": "@", "underline": 1, "valign": "top"})
    for place, width in enumerate(WIDTHS):
        sheet.set_column(place, place, width)
    sheet.write_string(0, 0, short(plain(title)), bold)
    for place, name in enumerate(("Sheet", "What it is of", "Currency")):
        sheet.write_string(2, place, name, heading)
    row = 3
    for statement, names in zip(statements, sheets, strict=True):
        for table, name in zip(statement.tables, names, strict=True):
            # Our own names only: what no sheet's name can have is out of them.
            sheet.write_url(row, 0, f"internal:'{name}'!A1", link, name)
            about = f"{statement.title}, {statement.period}"
            if table.title != statement.title:
                about = f"{table.title}. {about}"
            sheet.write_string(row, 1, short(plain(about)), text)
            sheet.write_string(row, 2, plain(table.currency), text)
            row += 1
    cautions = [statement.caution for statement in statements if statement.caution]
    checks = [
        f"{'Agrees' if check.holds else 'DOES NOT AGREE'}: {check.sentence}"
        for statement in statements
        for check in statement.checks
    ]
    notes = [note for statement in statements for note in statement.shown_notes(False)]
    for name, sentences in (
        ("Caution", cautions),
        ("Held against the ledger", checks),
        ("How to read this", notes),
    ):
        if not sentences:
            continue
        row += 1
        sheet.write_string(row, 0, name, bold)
        for sentence in dict.fromkeys(sentences):
            row += 1
            written = short(plain(sentence))
            sheet.merge_range(row, 0, row, len(WIDTHS) - 1, "", text)
            sheet.write_string(row, 0, written, text)
            # A row over several columns does not grow by itself.
            sheet.set_row(row, LINE_HEIGHT * (1 + len(written) // SENTENCE))
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)
    sheet.repeat_rows(2)
    sheet.freeze_panes(3, 0)
