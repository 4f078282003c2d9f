"""Find out what a ledger has already, from its text, without loading it.

Loading books and checks every transaction; an import needs only the ids of what was
imported, and the commodities and accounts that there are. A search over the bytes finds
them.
"""

from __future__ import annotations

import glob
import os
import re
from collections.abc import Iterator, Mapping, Set
from decimal import Decimal
from pathlib import Path
from typing import NamedTuple

from offcut.importers.facts_cache import FactsCache
from offcut.importers.file_facts import LIST_PRICE
from offcut.importers.known_ids import IdSearch
from offcut.importers.ledger_files import LedgerFiles

IMPORTS = "imports"

_DECLARED = re.compile(
    rb"\n(\d{4}[-/]\d\d[-/]\d\d)[ \t]+(open|close|commodity)[ \t]+([^\s;]+)([^\n;]*)"
)
_CURRENCY = re.compile(r"[A-Z][A-Z0-9'._-]*")
_INCLUDE = re.compile(rb'\ninclude[ \t]+"([^"\n]*)"')
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
      ids: What finds the ids, to be told which are going to be asked for.
    """

    files: LedgerFiles
    included: frozenset[Path]
    source_ids: Set[str]
    lines_ids: Set[str]
    commodities: frozenset[str]
    accounts: frozenset[str]
    limits: Mapping[str, Limits]
    ids: IdSearch


def scan_ledger(ledger: Path) -> Known:
    """Return what the files of a ledger have, those under `imports/` included.

    Args:
      ledger: The path of the main file.

    Raises:
      ImportRefused: A file cannot be read.
    """
    main = ledger.resolve()
    files, cache = LedgerFiles(), FactsCache(main)
    files.take(main, cache)
    _take_included(main, files, cache)
    included = frozenset(files)
    for path in sorted((main.parent / IMPORTS).resolve().glob("*.beancount")):
        if path.resolve() not in files:
            files.take(path.resolve(), cache)
    cache.save()

    commodities: set[str] = set()
    opened: dict[str, tuple[str, str]] = {}
    closed: dict[str, str] = {}
    for path in files:
        for found in _DECLARED.findall(b"\n" + files.heads(path)):
            day, which, name, rest = (part.decode("utf-8", "replace") for part in found)
            day = day.replace("/", "-")
            if which == "commodity":
                commodities.add(name)
            elif which == "open":
                opened[name] = day, rest.partition('"')[0]  # then the booking method
            else:
                closed[name] = day
    ids = IdSearch(files)
    return Known(
        files,
        included,
        ids.of_kind("source"),
        ids.of_kind("lines"),
        frozenset(commodities),
        frozenset(opened),
        {
            name: Limits(day, closed.get(name, ""), tuple(_CURRENCY.findall(rest)))
            for name, (day, rest) in opened.items()
        },
        ids,
    )


def list_prices(known: Known) -> Mapping[str, tuple[Decimal, str]]:
    """Return the list price of each commodity that has one, with its currency."""
    found = {}
    for contents in known.files.with_marks(LIST_PRICE):
        if LIST_PRICE not in contents:
            continue  # months of imports, which are the most of it
        for commodity, number, currency in _LIST_PRICE.findall(b"\n" + contents):
            price = Decimal(number.decode().replace(",", ""))
            found[commodity.decode("utf-8", "replace")] = price, currency.decode()
    return found


def include_patterns(path: Path, heads: bytes) -> Iterator[str]:
    """Yield the absolute patterns of a file's includes.

    Args:
      path: The file.
      heads: Lines of it, with all that include.
    """
    for pattern in _INCLUDE.findall(b"\n" + heads):
        yield os.path.join(path.parent, pattern.decode("utf-8", "replace"))


def _take_included(path: Path, files: LedgerFiles, cache: FactsCache) -> None:
    """Take in the files that a file includes, and theirs, each once."""
    for pattern in include_patterns(path, files.heads(path)):
        for name in sorted(glob.glob(pattern, recursive=True)):
            included = Path(name).resolve()
            if included not in files and included.is_file():
                files.take(included, cache)
                _take_included(included, files, cache)
