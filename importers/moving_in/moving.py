"""Move in: read the sheets of a folder, check them together, and book what is new."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping, Sequence
from contextlib import nullcontext
from decimal import Decimal
from pathlib import Path
from typing import NamedTuple

from offcut.importers.known import Known
from offcut.importers.layout import shipped_layouts
from offcut.importers.month_files import additions
from offcut.importers.moving_in import sheets
from offcut.importers.moving_in.invoices import channels_of
from offcut.importers.moving_in.known_rows import (
    Row,
    changed_rows,
    doubled_balances,
    doubled_invoices,
    is_known,
    untaken_rows,
)
from offcut.importers.moving_in.products import Product
from offcut.importers.moving_in.reading import (
    LONG_AGO,
    Ledger,
    Sheets,
    read_folder,
    read_ledger,
    read_sheets,
)
from offcut.importers.problems import ImportRefused, Problem
from offcut.importers.settings import load_settings
from offcut.importers.values import ZERO
from offcut.importers.writing import Written, add_texts, line_end_of, locked

CATALOGUE = "catalogue.beancount"


class Part(NamedTuple):
    """What is in one of the sheets.

    Attributes:
      file: Its name.
      rows: How many rows it has.
      new: How many of them the ledger has not.
      sums: What the rows come to, by currency; what is owed is below zero. Of all rows,
        not of the new ones only.
    """

    file: str
    rows: int
    new: int
    sums: Mapping[str, Decimal]


class Moving(NamedTuple):
    """What the sheets say, and what is written of it.

    Attributes:
      parts: What is in each sheet that is there.
      missing: The names of those that are not.
      owned: What the balances say is owned, by currency.
      owed: What they say is owed, by currency.
      written: The files written, or that would be.
      is_new: Whether there is anything to write.
    """

    parts: tuple[Part, ...]
    missing: tuple[str, ...]
    owned: Mapping[str, Decimal]
    owed: Mapping[str, Decimal]
    written: tuple[Written, ...]
    is_new: bool


def move_in(folder: Path, ledger: Path, dry_run: bool = False) -> Moving:
    """Book what the sheets of a folder say; what the ledger has is not booked again.

    Args:
      folder: The folder with the sheets; one that is not there says nothing.
      ledger: The path of the main ledger file.
      dry_run: Whether to find out and report only.

    Raises:
      ImportRefused: Something has to be put right first; nothing was written.
    """
    contents = read_folder(folder)
    settings = load_settings(ledger)
    with nullcontext() if dry_run else locked(ledger):
        into = read_ledger(ledger)
        layouts = channels_of(settings.layouts.values(), shipped_layouts().values())
        problems: list[Problem] = []
        found = read_sheets(contents, into, layouts, problems)
        rows = _rows(found, into)
        new = [row for row in rows if not is_known(row, into.known)]
        if not problems:
            problems += _doubled(found, new, rows, into)
        if problems:
            raise ImportRefused(problems)
        products = [
            each for each in found.products or () if each.item not in into.known.commodities
        ]
        texts, written = _texts(new, products, into)
        if texts and not dry_run:
            add_texts(texts, line_end_of(into.known.files[into.main]))
    balances = found.balances or []
    return Moving(
        parts=tuple(_parts(found, new, products, into.currency)),
        missing=tuple(name for name in sheets.SHEETS if name not in contents),
        owned=_sums((each.currency, each.amount) for each in balances if each.amount > 0),
        owed=_sums((each.currency, -each.amount) for each in balances if each.amount < 0),
        written=written,
        is_new=bool(texts),
    )


def _rows(found: Sheets, into: Ledger) -> list[Row]:
    """Return all rows that become transactions."""
    return [
        *(
            Row((sheets.BALANCES, each.row), each.source_id, each.booking())
            for each in found.balances or ()
        ),
        *(
            Row(
                (sheets.STOCK, each.row),
                each.source_id,
                each.booking(found.shelves[each.item].account, into.currency),
            )
            for each in found.stock or ()
        ),
        *(
            Row((sheets.INVOICES, each.row), each.source_id, each.booking())
            for each in found.invoices or ()
        ),
    ]


def _doubled(
    found: Sheets, new: Sequence[Row], rows: Sequence[Row], into: Ledger
) -> list[Problem]:
    """Return what the ledger has already, otherwise than the sheets say."""
    ids = {row.source_id for row in new}
    balances = [each for each in found.balances or () if each.source_id in ids]
    invoices = [each for each in found.invoices or () if each.source_id in ids]
    return [
        *changed_rows([row for row in rows if row.source_id not in ids], into.known),
        *doubled_balances(sheets.BALANCES, balances, into.known),
        *doubled_invoices(sheets.INVOICES, invoices, into.known),
        *untaken_rows(new, into.known),
    ]


def _texts(
    new: Sequence[Row], products: Sequence[Product], into: Ledger
) -> tuple[dict[Path, str], tuple[Written, ...]]:
    """Return what to add to which file, products first, and how it is told."""
    known, main = into.known, into.main
    texts: dict[Path, str] = {}
    if products:
        opened = [limit.opened for limit in known.limits.values()]
        day = min((each for each in opened if each > f"{LONG_AGO}"), default=f"{LONG_AGO}")
        declared = "\n".join(
            each.text(datetime.date.fromisoformat(day), into.currency) for each in products
        )
        texts[_catalogue(known, main)] = f"\n{declared}"
    accounts: set[str] = set()
    for row in new:
        postings = row.booking.text.splitlines()
        accounts.update(
            line.split()[0] for line in postings if line[:2] == "  " and line[2:3].isupper()
        )
    adding = additions([row.booking for row in new], accounts, main, known)
    for path, addition in adding.items():
        texts[path] = texts.get(path, "") + addition.text
    transactions = {path: addition.transactions for path, addition in adding.items()}
    return texts, tuple(Written(path, transactions.get(path, 0)) for path in texts)


def _catalogue(known: Known, main: Path) -> Path:
    """Return the file that commodities are added to: one that the ledger includes."""
    path = (main.parent / CATALOGUE).resolve()
    return path if path in known.included else main


def _parts(
    found: Sheets, new: Sequence[Row], products: Sequence[Product], currency: str
) -> list[Part]:
    """Return what is in each sheet."""
    ids = {row.source_id for row in new}
    parts = []
    if found.products is not None:
        parts.append(Part(sheets.PRODUCTS, len(found.products), len(products), {}))
    if found.balances is not None:
        rows = found.balances
        sums = _sums((each.currency, each.amount) for each in rows)
        count = sum(each.source_id in ids for each in rows)
        parts.append(Part(sheets.BALANCES, len(rows), count, sums))
    if found.stock is not None:
        sums = _sums((currency, each.value) for each in found.stock)
        count = sum(each.source_id in ids for each in found.stock)
        parts.append(Part(sheets.STOCK, len(found.stock), count, sums))
    if found.invoices is not None:
        sums = _sums((each.currency, each.amount) for each in found.invoices)
        count = sum(each.source_id in ids for each in found.invoices)
        parts.append(Part(sheets.INVOICES, len(found.invoices), count, sums))
    return parts


def _sums(amounts: Iterable[tuple[str, Decimal]]) -> dict[str, Decimal]:
    """Return the sum of amounts by currency."""
    result: dict[str, Decimal] = {}
    for currency, amount in amounts:
        result[currency] = result.get(currency, ZERO) + amount
    return result
