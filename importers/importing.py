"""Import files into a ledger: read, join, match, drop what is there, write.

This is the whole flow of `offcut import`; each step is a module of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import nullcontext
from pathlib import Path

from offcut.importers.import_report import (
    ChangedOrder,
    ImportReport,
    file_report,
    notes,
    unknown_items,
)
from offcut.importers.items import item_matcher
from offcut.importers.joining import Key, join
from offcut.importers.known import Known, scan_ledger
from offcut.importers.layout import Accounts, Layout
from offcut.importers.layout_choice import candidates, choose_layout
from offcut.importers.ledger_text import escaped
from offcut.importers.month_files import additions
from offcut.importers.novelty import FileRecords, sort_out
from offcut.importers.order_lines import read_orders
from offcut.importers.order_states import (
    OrderState,
    lines_total,
    order_state,
    order_transactions,
)
from offcut.importers.payments import read_payments
from offcut.importers.postings import lines_id
from offcut.importers.problems import ImportRefused, Problem
from offcut.importers.records import Order, Payment, order_total
from offcut.importers.settings import load_settings
from offcut.importers.source_file import read_bytes, read_source
from offcut.importers.writing import Written, add_texts, line_end_of, locked
from offcut.plugins.collector import collector_paused

Progress = Callable[[str, int, int], None]


def import_files(
    files: Sequence[Path],
    ledger: Path,
    layout_names: Sequence[str] = (),
    dry_run: bool = False,
    progress: Progress | None = None,
) -> ImportReport:
    """Import files into a ledger; importing what it has already changes nothing.

    Args:
      files: The files, payments and order lines in any order.
      ledger: The path of the main ledger file.
      layout_names: Layouts to choose from, names or paths; all that are known where
        none is given.
      dry_run: Whether to find out and report only.
      progress: Told of each step: what is done, how many of how many.

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
        )


def _import_files(
    files: Sequence[Path],
    ledger: Path,
    layout_names: Sequence[str],
    dry_run: bool,
    tell: Progress,
) -> ImportReport:
    settings = load_settings(ledger)
    read = read_files(files, candidates(layout_names, settings.layouts), tell)
    with nullcontext() if dry_run else locked(ledger):
        tell("looking through the ledger", 0, 3)
        known = scan_ledger(ledger)
        match = item_matcher(settings.items, known.commodities)
        files_sorted = sort_out(read, known.source_ids, known.lines_ids)
        payments = [each for file in files_sorted for each in file.payments]
        orders = [each for file in files_sorted for each in file.orders]
        states = _states(known, payments, orders)
        known_orders = [each for file in files_sorted for each in file.known_orders]
        changed = list(_changed_orders(known, known_orders))
        tell("joining payments and orders", 1, 3)
        books = join(payments, orders, states, match, settings.packing)
        main = ledger.resolve()
        adding = additions(books.bookings, books.accounts, main, known)
        tell("writing", 2, 3)
        if adding and not dry_run:
            texts = {path: addition.text for path, addition in adding.items()}
            add_texts(texts, line_end_of(known.files[main]))
    reports = tuple(map(file_report, files_sorted))
    report = ImportReport(
        files=reports,
        written=tuple(Written(path, each.transactions) for path, each in adding.items()),
        unknown_items=unknown_items(orders, match),
        notes=notes(reports, books, changed),
        dry_run=dry_run,
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
    return read


def read_records(name: str, contents: bytes, layout: Layout) -> FileRecords:
    """Return what is in the bytes of a file.

    Raises:
      ImportRefused: The file is not what the layout says.
    """
    source = read_source(name, contents, layout)
    rows = len(source.numbers)
    if layout.kind == "payments":
        payments, left_out, totals = read_payments(source)
        return FileRecords(name, layout, rows, payments, [], left_out, totals)
    orders, left_out, totals = read_orders(source)
    return FileRecords(name, layout, rows, [], orders, left_out, totals)


def _states(
    known: Known, payments: Sequence[Payment], orders: Sequence[Order]
) -> dict[Key, OrderState]:
    """Return what a ledger has of the orders of new payments and lines."""
    wanted: dict[Key, Accounts] = {}
    records: list[Payment | Order] = [*payments, *orders]
    for record in records:
        if record.order:
            wanted[record.layout.channel, record.order] = record.layout.accounts
    texts = order_transactions(known, {order for _, order in wanted})
    states = {}
    for key, accounts in wanted.items():
        channel, order = key
        if order in texts and (state := order_state(texts[order], channel, accounts)):
            states[key] = state
    return states


def _changed_orders(known: Known, orders: Sequence[Order]) -> Iterator[ChangedOrder]:
    """Yield orders that the ledger has with lines that come to another total."""
    texts = order_transactions(known, {order.order for order in orders})
    for order in orders:
        accounts = order.layout.accounts
        name = escaped(lines_id(order))
        before = lines_total(texts.get(order.order, ()), name, accounts)
        now = order_total(order)
        if before is not None and before != now:
            yield ChangedOrder(order, before, now)
