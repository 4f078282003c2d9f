"""Read the sheets that are in a folder, with what the ledger says of items and accounts."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple

from beancount.core import data
from beancount.parser import parser

from offcut.importers.file_bytes import read_bytes
from offcut.importers.known import Known, scan_ledger
from offcut.importers.layout import Layout
from offcut.importers.load_cache import load_file
from offcut.importers.moving_in import sheets
from offcut.importers.moving_in.balances import Accounts, Balance, read_balances
from offcut.importers.moving_in.invoices import Invoice, read_invoices
from offcut.importers.moving_in.products import Product, read_products
from offcut.importers.opening_stock import OpeningRow, read_opening_stock
from offcut.importers.problems import ImportRefused, Problem
from offcut.plugins.catalogue import read_catalogue
from offcut.plugins.shelf import Shelf, make_shelves

# Accounts that the ledger does not open are opened on a day before all others.
LONG_AGO = datetime.date(1970, 1, 1)


class Ledger(NamedTuple):
    """The ledger that is moved into.

    Attributes:
      known: What its text has.
      entries: Its directives, after its plugins.
      options: Its options.
      currency: Its first operating currency.
      main: The path of its main file, resolved.
    """

    known: Known
    entries: data.Directives
    options: Mapping[str, Any]
    currency: str
    main: Path


class Sheets(NamedTuple):
    """The rows of all sheets; None where a sheet is not there, or cannot be read.

    Attributes:
      products: The products and materials.
      balances: The opening balances.
      stock: The opening stock.
      invoices: The open invoices.
      shelves: The shelf of each item, of those of the products too.
    """

    products: list[Product] | None
    balances: list[Balance] | None
    stock: list[OpeningRow] | None
    invoices: list[Invoice] | None
    shelves: Mapping[str, Shelf]


def read_folder(folder: Path) -> dict[str, bytes]:
    """Return the bytes of the sheets that are in a folder.

    Raises:
      ImportRefused: One cannot be read, or none is there.
    """
    if not folder.is_dir():
        message = "there is no such folder; write the sheets into it first, by --templates"
        raise ImportRefused([Problem(str(folder), None, None, message)])
    found = {}
    problems: list[Problem] = []
    for name in sheets.SHEETS:
        if (folder / name).exists():
            try:
                found[name] = read_bytes(folder / name)
            except ImportRefused as refused:
                problems.extend(refused.found)
    if not found and not problems:
        message = (
            f"there is no {', no '.join(sheets.SHEETS)} in it; write them by --templates"
        )
        problems.append(Problem(str(folder), None, None, message))
    if problems:
        raise ImportRefused(problems)
    return found


def read_ledger(ledger: Path) -> Ledger:
    """Return what the ledger has.

    Raises:
      ImportRefused: It cannot be read, or says no operating currency.
    """
    known = scan_ledger(ledger)
    entries, _, options = load_file(ledger)
    if not options["operating_currency"]:
        message = (
            "expected an operating currency, which costs and prices are in, found none; "
            'write in the ledger: option "operating_currency" "USD"'
        )
        raise ImportRefused([Problem(ledger.name, None, None, message)])
    currency = options["operating_currency"][0]
    return Ledger(known, entries, options, currency, ledger.resolve())


def read_sheets(
    contents: Mapping[str, bytes],
    into: Ledger,
    layouts: Mapping[str, Layout],
    problems: list[Problem],
) -> Sheets:
    """Return the rows of all sheets; what is wrong is added to the problems."""
    limits, options = into.known.limits, into.options
    money = set(options["operating_currency"])
    money.update(each for limit in limits.values() for each in limit.currencies)
    money -= into.known.commodities
    products: list[Product] | None = None
    balances: list[Balance] | None = None
    stock: list[OpeningRow] | None = None
    invoices: list[Invoice] | None = None
    shelves: dict[str, Shelf] = {}
    accounts = Accounts(
        limits,
        (options["name_assets"], options["name_liabilities"]),
        f"{options['name_assets']}:Receivable",
        into.currency,
    )
    for name, text in contents.items():
        try:
            if name == sheets.PRODUCTS:
                products = read_products(name, text, into.currency, money)
            elif name == sheets.BALANCES:
                balances = read_balances(name, text, accounts)
            elif name == sheets.STOCK:
                if products is None and sheets.PRODUCTS in contents:
                    continue  # it would not be known which items there are
                shelves = _shelves(into, products or ())
                stock = read_opening_stock(name, text, shelves)
            else:
                invoices = read_invoices(name, text, layouts, into.currency)
        except ImportRefused as refused:
            problems.extend(refused.found)
    return Sheets(products, balances, stock, invoices, shelves)


def _shelves(into: Ledger, products: Sequence[Product]) -> dict[str, Shelf]:
    """Return the shelves of the ledger's items, and of those of the sheet."""
    text = "".join(each.text(LONG_AGO, into.currency) for each in products)
    declared, _, _ = parser.parse_string(text)
    there = {entry.currency for entry in into.entries if isinstance(entry, data.Commodity)}
    entries = [
        *into.entries,
        *(
            entry
            for entry in declared
            if isinstance(entry, data.Commodity) and entry.currency not in there
        ),
    ]
    opens = [entry for entry in entries if isinstance(entry, data.Open)]
    shelves, _ = make_shelves(read_catalogue(entries), opens, into.options)
    return shelves
