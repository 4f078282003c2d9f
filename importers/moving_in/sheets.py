"""The sheets that somebody fills in who moves in: their names, headings and notes."""

from __future__ import annotations

import csv
import io
import os
from collections.abc import Iterable
from pathlib import Path

from offcut.importers import opening_stock
from offcut.importers.problems import ImportRefused, Problem
from offcut.importers.sheet import NOTE

PRODUCTS = "products.csv"
BALANCES = "opening-balances.csv"
STOCK = "opening-stock.csv"
INVOICES = "open-invoices.csv"

PRODUCT_COLUMNS = ("Item", "Kind", "Name", "Design", "Format", "List price")
BALANCE_COLUMNS = ("Account", "Owned", "Owed", "Currency", "Date")
STOCK_COLUMNS = opening_stock.COLUMNS
INVOICE_COLUMNS = ("Invoice", "Date", "Buyer", "Channel", "Amount", "Currency")

_SKIPPED = f"Rows that begin with {NOTE} are notes and are left out."
_SHEETS: dict[str, tuple[tuple[str, ...], ...]] = {
    PRODUCTS: (
        PRODUCT_COLUMNS,
        (f"{NOTE} A row for each thing that you sell or use up. {_SKIPPED}",),
        (f"{NOTE} Kind is product (sold), material (used up) or stamp.",),
        (
            f"{NOTE} OWL-STK",
            *("product", "Barn Owl, 3 in sticker", "Barn Owl", "sticker-3in", "4.00"),
        ),
        (f"{NOTE} VINYL", "material", "White vinyl, a sheet", "", "", ""),
    ),
    BALANCES: (
        BALANCE_COLUMNS,
        (
            f"{NOTE} What each account had on the evening before your books begin: what "
            "you own under Owned, what you owe under Owed.",
        ),
        (f"{NOTE} Not here: what buyers owe, and what is on the shelf. {_SKIPPED}",),
        (f"{NOTE} Assets:Bank:Checking", "1204.16", "", "USD", "2024-12-31"),
        (f"{NOTE} Liabilities:CreditCard", "", "310.20", "USD", "2024-12-31"),
    ),
    STOCK: (
        STOCK_COLUMNS,
        (
            f"{NOTE} What was on the shelf on the evening before your books begin, and "
            f"what one piece had cost. {_SKIPPED}",
        ),
        (f"{NOTE} OWL-STK", "40", "0.41", "2024-12-31"),
        (f"{NOTE} VINYL", "12", "0.45", "2024-12-31"),
    ),
    INVOICES: (
        INVOICE_COLUMNS,
        (
            f"{NOTE} Invoices not paid on the evening before your books begin: what is "
            f"still owed, and the invoice's own day. {_SKIPPED}",
        ),
        (f"{NOTE} H-031", "2024-12-04", "Harbour Books", "Wholesale", "46.00", "USD"),
    ),
}
SHEETS = tuple(_SHEETS)


def write_sheets(folder: Path) -> list[Path]:
    """Write the sheets that are not there yet, with notes and an example in each.

    Args:
      folder: The folder to write them into, which is made where it is missing.

    Returns:
      The files written.

    Raises:
      ImportRefused: The folder cannot be written to.
    """
    written = []
    path = folder
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, rows in _SHEETS.items():
            path = folder / name
            if not path.exists():
                _write_whole(path, _csv_text(rows))
                written.append(path)
    except OSError as error:
        message = f"cannot be written ({error.strerror}); name another folder"
        raise ImportRefused([Problem(str(path), None, None, message)]) from error
    return written


def _csv_text(rows: Iterable[Iterable[str]]) -> str:
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows(rows)
    return text.getvalue()


def _write_whole(path: Path, text: str) -> None:
    """Write a new file beside its place, then put it there."""
    beside = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        beside.write_text(text, "utf-8", newline="\n")
        beside.rename(path)
    finally:
        beside.unlink(missing_ok=True)
