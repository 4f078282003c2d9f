"""Find out what a ledger has already, from its text, without loading it.

Loading books and checks every transaction; an import needs only the ids of what was
imported, and the commodities and accounts that there are. A search over the bytes finds
them.
"""

from __future__ import annotations

import glob
import os
import re
from collections.abc import Iterator, Mapping
from decimal import Decimal
from pathlib import Path
from typing import NamedTuple

from offcut.importers.problems import ImportRefused, Problem

IMPORTS = "imports"

# Searched for in a file's bytes with a line break before them: an expression that begins
# with one is found ten times as fast as one that begins with `^`.
_ID = re.compile(rb'\n[ \t]+(source|lines)-id:[ \t]*"([^"\\]*(?:\\.[^"\\]*)*)"')
_DECLARED = re.compile(
    rb"\n(\d{4}[-/]\d\d[-/]\d\d)[ \t]+(open|close|commodity)[ \t]+([^\s;]+)([^\n;]*)"
)
_CURRENCY = re.compile(r"[A-Z][A-Z0-9'._-]*")
_INCLUDE = re.compile(rb'\ninclude[ \t]+"([^"]*)"')
_LIST_PRICE = re.compile(
    rb"\n\d{4}[-/]\d\d[-/]\d\d[ \t]+commodity[ \t]+([^\s;]+)[^\n]*"
    rb"(?:\r?\n[ \t]+[^\n]*)*?"
    rb"\r?\n[ \t]+list-price:[ \t]*([\d,]+(?:\.\d*)?)[ \t]*([A-Z][\w'.-]*)"
)


class Limits(NamedTuple):
    """When an account takes postings, and of what.

    Attributes:
      opened: The first day, as ISO 8601 writes it.
      closed: The last day; empty where it is not closed.
      currencies: All it may hold; () where it may hold any.
    """

    opened: str
    closed: str
    currencies: tuple[str, ...]


class Known(NamedTuple):
    """What a ledger has already.

    Attributes:
      files: The bytes of its files, by path; the main file first.
      included: The files that loading the main file reads.
      source_ids: The ids of rows that were imported, as they stand in the text.
      lines_ids: The ids of orders whose lines were imported, likewise.
      commodities: The commodities declared.
      accounts: The accounts opened.
      limits: What the accounts take.
    """

    files: dict[Path, bytes]
    included: frozenset[Path]
    source_ids: frozenset[str]
    lines_ids: frozenset[str]
    commodities: frozenset[str]
    accounts: frozenset[str]
    limits: Mapping[str, Limits]


def scan_ledger(ledger: Path) -> Known:
    """Return what the files of a ledger have, those under `imports/` included.

    Args:
      ledger: The path of the main file.

    Raises:
      ImportRefused: A file cannot be read.
    """
    main = ledger.resolve()
    files: dict[Path, bytes] = {}
    _read(main, files)
    _read_included(main, files)
    included = frozenset(files)
    for path in sorted((main.parent / IMPORTS).resolve().glob("*.beancount")):
        if path.resolve() not in files:
            _read(path.resolve(), files)

    ids: dict[bytes, set[str]] = {b"source": set(), b"lines": set()}
    commodities: set[str] = set()
    opened: dict[str, tuple[str, str]] = {}
    closed: dict[str, str] = {}
    for contents in files.values():
        contents = b"\n" + contents
        for which, text in _ID.findall(contents):
            ids[which].add(text.decode("utf-8", "replace"))
        for found in _DECLARED.findall(contents):
            day, which, name, rest = (part.decode("utf-8", "replace") for part in found)
            day = day.replace("/", "-")
            if which == "commodity":
                commodities.add(name)
            elif which == "open":
                opened[name] = day, rest.partition('"')[0]  # then the booking method
            else:
                closed[name] = day
    return Known(
        files,
        included,
        frozenset(ids[b"source"]),
        frozenset(ids[b"lines"]),
        frozenset(commodities),
        frozenset(opened),
        {
            name: Limits(day, closed.get(name, ""), tuple(_CURRENCY.findall(rest)))
            for name, (day, rest) in opened.items()
        },
    )


def list_prices(known: Known) -> Mapping[str, tuple[Decimal, str]]:
    """Return the list price of each commodity that has one, with its currency."""
    found = {}
    for contents in known.files.values():
        if b"list-price:" not in contents:
            continue  # months of imports, which are the most of it
        for commodity, number, currency in _LIST_PRICE.findall(b"\n" + contents):
            price = Decimal(number.decode().replace(",", ""))
            found[commodity.decode("utf-8", "replace")] = price, currency.decode()
    return found


def include_patterns(path: Path, contents: bytes) -> Iterator[str]:
    """Yield the absolute patterns of a file's includes."""
    for pattern in _INCLUDE.findall(b"\n" + contents):
        yield os.path.join(path.parent, pattern.decode("utf-8", "replace"))


def unreadable(path: Path, error: OSError) -> Problem:
    """Return the problem of a file of the ledger that cannot be read."""
    message = (
        f"this file of the ledger cannot be read ({error.strerror}); give the path of "
        "the ledger's main file, which may be empty at first"
    )
    return Problem(str(path), None, None, message)


def _read(path: Path, files: dict[Path, bytes]) -> None:
    """Read a file of the ledger."""
    try:
        files[path] = path.read_bytes()
    except OSError as error:
        raise ImportRefused([unreadable(path, error)]) from error


def _read_included(path: Path, files: dict[Path, bytes]) -> None:
    """Read the files that a file includes, and theirs, each once."""
    for pattern in include_patterns(path, files[path]):
        for name in sorted(glob.glob(pattern, recursive=True)):
            included = Path(name).resolve()
            if included not in files and included.is_file():
                _read(included, files)
                _read_included(included, files)
