"""Import files into a ledger: read, join, match, drop what is there, write.

This is the whole flow of `offcut import`; each step is a module of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from contextlib import nullcontext
from itertools import chain
from pathlib import Path

from offcut.importers.account_limits import check_accounts
from offcut.importers.balance_assertions import book_balances
from offcut.importers.bank.statements import book_statements
from offcut.importers.conversion_sides import (
    NO_CONVERSIONS,
    conversion_texts,
    known_conversions,
)
from offcut.importers.directions import direction_notes
from offcut.importers.file_bytes import read_bytes
from offcut.importers.import_notes import doubt_notes, notes, part_notes
from offcut.importers.import_report import (
    ImportReport,
    added_lines,
    file_report,
    unknown_items,
)
from offcut.importers.items import item_matcher
from offcut.importers.joining import join
from offcut.importers.known import list_prices, scan_ledger
from offcut.importers.known_amounts import amount_notes
from offcut.importers.labels import label_notes
from offcut.importers.layout import Layout, shipped_layouts
from offcut.importers.layout_choice import candidates, check_together, choose_layout
from offcut.importers.learning.parked_moves import move_known, strange_notes, with_edits
from offcut.importers.month_files import additions
from offcut.importers.novelty import FileRecords, ids_of, sort_out
from offcut.importers.open_orders import find_states, orders_of
from offcut.importers.order_accounts import check_order_accounts
from offcut.importers.order_age import always_newer, compare_age, days_in_texts
from offcut.importers.order_lines import read_orders
from offcut.importers.order_states import order_transactions
from offcut.importers.payments import read_payments
from offcut.importers.postings import posting_writer
from offcut.importers.problems import ImportRefused, Problem
from offcut.importers.records import Order, Payment
from offcut.importers.settings import load_settings
from offcut.importers.source_file import read_source
from offcut.importers.suspense_notes import suspense_notes
from offcut.importers.writing import Written, add_texts, line_end_of, locked
from offcut.plugins.collector import collector_paused

Progress = Callable[[str, int, int], None]


def import_files(
    files: Sequence[Path],
    ledger: Path,
    layout_names: Sequence[str] = (),
    dry_run: bool = False,
    progress: Progress | None = None,
    are_newer: bool = False,
) -> ImportReport:
    """Import files into a ledger; importing what it has already changes nothing.

    Args:
      files: The files, payments and order lines in any order.
      ledger: The path of the main ledger file.
      layout_names: Layouts to choose from, names or paths; all that are known where
        none is given.
      dry_run: Whether to find out and report only.
      progress: Told of each step: what is done, how many of how many.
      are_newer: Whether the files are newer than what the ledger has of their orders,
        where they do not tell it themselves.

    Raises:
      ImportRefused: Something has to be put right first; nothing was written.
    """
    with collector_paused():
        return _import_files(
            [Path(file) for file in files],
            Path(ledger),
            layout_names,
            dry_run,
            progress or (lambda label, done, total: None),
            are_newer,
        )


def _import_files(
    files: Sequence[Path],
    ledger: Path,
    layout_names: Sequence[str],
    dry_run: bool,
    tell: Progress,
    are_newer: bool,
) -> ImportReport:
    settings = load_settings(ledger)
    read = read_files(files, candidates(layout_names, settings.layouts), tell)
    with nullcontext() if dry_run else locked(ledger):
        tell("looking through the ledger", 0, 3)
        known = scan_ledger(ledger)
        bundles = any(rule.products for rule in settings.items)
        prices = list_prices(known) if bundles else {}
        match = item_matcher(settings.items, known.commodities, prices)
        known.ids.expect(ids_of(read), sum(file.rows for file in read))
        files_sorted = sort_out(read, known.source_ids, known.lines_ids)
        joined = [file for file in files_sorted if file.read.layout.kind != "bank"]
        payments = [each for file in joined for each in file.payments]
        orders = [each for file in files_sorted for each in file.orders]
        known_orders = [each for file in files_sorted for each in file.known_orders]
        linked = order_transactions(known, orders_of([*payments, *orders, *known_orders]))
        layouts = [file.layout for file in read]
        layouts += [*settings.layouts.values(), *shipped_layouts().values()]
        check_order_accounts(linked, [*payments, *orders, *known_orders], layouts)
        states = find_states(linked, [*payments, *orders])
        tell("joining payments and orders", 1, 3)
        there = [(each, linked.get(each.order, [])) for each in known_orders]
        age = compare_age(read, days_in_texts(known.files.values))
        converted = NO_CONVERSIONS
        if any(each.movement == "conversion" for each in payments):
            converted = known_conversions(conversion_texts(known.files.values()))
        books = join(
            *(payments, orders, states, match, settings.packing, there, linked),
            *(always_newer if are_newer else age, converted),
        )
        moved = move_known(with_edits(known, books), layouts, match, settings.packing)
        books.bookings.extend(moved.bookings)
        books.accounts.update(moved.accounts)
        bank = book_statements(files_sorted, known.files, books, layouts, settings.bank)
        added = (each.text.encode() for each in books.bookings)
        contents = chain(known.files.values(), added)
        balances = book_balances(
            files_sorted, known.source_ids, contents, posting_writer(books.accounts)
        )
        books.bookings.extend(balances.bookings)
        booked: list[Payment | Order] = [*orders, *known_orders]
        booked += [each for file in files_sorted for each in file.payments]
        check_accounts(books.bookings, books.accounts, known, ledger.name, booked)
        main = ledger.resolve()
        adding = additions(books.bookings, books.accounts, main, known)
        tell("writing", 2, 3)
        if adding and not dry_run:
            texts = {path: addition.text for path, addition in adding.items()}
            add_texts(texts, line_end_of(known.files[main]))
    reports = tuple(file_report(file, books.edited, books.changed) for file in files_sorted)
    report = ImportReport(
        files=reports,
        written=tuple(Written(path, each.transactions) for path, each in adding.items()),
        unknown_items=unknown_items([*orders, *added_lines(books)], match),
        notes=(
            *doubt_notes(file.read for file in files_sorted),
            *notes(reports, books),
            *amount_notes(files_sorted, known),
            *direction_notes(payments),
            *part_notes(payments, orders),
            *suspense_notes(payments, converted),
            *label_notes(payments, orders, linked),
            *balances.notes,
            *strange_notes(moved.strange),
        ),
        parked_lines=len(moved.bookings),
        dry_run=dry_run,
        bank=bank,
    )
    tell("done", 3, 3)
    return report


def read_files(
    files: Sequence[Path], groups: Sequence[Mapping[str, Layout]], tell: Progress
) -> list[FileRecords]:
    """Return what is in files, each read by the layout that fits it.

    Raises:
      ImportRefused: With the problems of all files.
    """
    read = []
    problems: list[Problem] = []
    for done, path in enumerate(files):
        tell(f"reading {path.name}", done, len(files))
        try:
            contents = read_bytes(path)
            layout = choose_layout(path.name, contents, groups)
            read.append(read_records(path.name, contents, layout))
        except ImportRefused as refused:
            problems.extend(refused.found)
    if problems:
        raise ImportRefused(problems)
    check_together((file.file, file.layout) for file in read)
    return read


def read_records(name: str, contents: bytes, layout: Layout) -> FileRecords:
    """Return what is in the bytes of a file.

    Raises:
      ImportRefused: The file is not what the layout says.
    """
    if layout.kind == "tally":
        message = "this is the tally sheet of a fair; book it by `offcut fair`"
        raise ImportRefused([Problem(name, None, None, message)])
    source = read_source(name, contents, layout)
    rows = len(source.numbers)
    if layout.kind in ("payments", "bank"):
        payments, left_out, totals, balances, unnamed = read_payments(source)
        return FileRecords(
            name, layout, rows, payments, [], left_out, totals, balances, unnamed
        )
    orders, left_out, totals = read_orders(source)
    return FileRecords(name, layout, rows, [], orders, left_out, totals)
