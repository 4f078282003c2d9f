"""Write statements into files of the user's choice: whole, or not at all."""

from __future__ import annotations

import datetime
import os
from collections.abc import Sequence
from pathlib import Path

from offcut.reports.drawing.page import page
from offcut.reports.drawing.page_length import at_length
from offcut.reports.drawing.table_csv import table_csv
from offcut.reports.drawing.workbook import workbook
from offcut.reports.statement import Statement


def write_page(
    statements: Sequence[Statement], title: str, books: str, target: Path
) -> list[Path]:
    """Write statements as one page.

    Args:
      statements: What to show.
      title: The title of the page.
      books: The title of the books.
      target: The file to write.

    Returns:
      The files written.

    Raises:
      OSError: The file cannot be written; what was there still is.
    """
    text = page(at_length(statements), title, books, datetime.date.today())
    return [_write_whole(text.encode(), target)]


def write_workbook(
    statements: Sequence[Statement], title: str, books: str, target: Path
) -> list[Path]:
    """Write statements as one workbook; arguments, result and errors as `write_page`."""
    return [_write_whole(workbook(statements, f"{title}, {books}"), target)]


def write_csv(
    statements: Sequence[Statement], title: str, books: str, target: Path
) -> list[Path]:
    """Write each table as a CSV file in a folder, which is made where it is missing.

    Arguments, result and errors as `write_page`; the titles have no place in CSV.
    """
    target.mkdir(parents=True, exist_ok=True)
    return [
        _write_whole(
            table_csv(table, statement.caution).encode(), target / f"{table.slug}.csv"
        )
        for statement in statements
        for table in statement.tables
    ]


def _write_whole(contents: bytes, target: Path) -> Path:
    """Write a file beside its place, then put it there."""
    place = target.resolve()
    half_done = place.with_name(f".{place.name}.{os.getpid()}.part")
    try:
        with half_done.open("xb") as file:
            file.write(contents)
            file.flush()
            os.fsync(file.fileno())
        half_done.replace(place)
    finally:
        half_done.unlink(missing_ok=True)
    return target
