"""Print what an import read, booked and left, so that it can be held against the files."""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from decimal import Decimal
from pathlib import Path

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TaskID, TextColumn
from rich.table import Table
from rich.text import Text

from offcut.importers.import_report import REFUSED, FileReport, ImportReport, UnknownItem
from offcut.importers.splitting import EXACT
from offcut.importers.totals import Total
from offcut.importers.writing import Written
from offcut.reports.figures import money, plain, rounded

QUIET_SECONDS = 1.0
MOST_LISTED = 20
LONGEST = 120


def print_summary(console: Console, report: ImportReport) -> None:
    """Print counts, control totals, and what is left to do.

    Args:
      console: Where to print.
      report: What the import did.
    """
    for file in report.files:
        _print_file(console, file)
    if report.parked_lines:
        console.print(Text(f"{counted(report.parked_lines, 'parked line')} booked"))
    if report.written:
        print_written(console, report.written, report.dry_run)
    else:
        known = any(file.already_there for file in report.files)
        known = known and not any(REFUSED in file.left_out for file in report.files)
        why = "Nothing new: the ledger has all of it already."
        console.print(Text(why if known else "Nothing to book."))
    if report.unknown_items:
        print_unknown_items(console, report.unknown_items)
    if report.notes:
        console.print()
        print_list(console, [plain(note) for note in report.notes], "notes")
    if not report.ties:
        console.print(
            Text(
                "\nTHE COUNTS OR SUMS ABOVE DO NOT TIE: not every row is accounted for. "
                "This is a fault in offcut; please report it, and take the written files "
                "out again.",
                style="bold red",
            )
        )


def _print_file(console: Console, file: FileReport) -> None:
    """Print what became of one file."""
    left_out = sum(file.left_out.values())
    changed = f"{file.changed:,} changed + " if file.changed else ""
    console.print(Text(f"{plain(file.file)}, layout {plain(file.layout)}", style="bold"))
    console.print(
        Text(
            f"{counted(file.rows, 'row')} = {file.booked:,} booked + {changed}"
            f"{file.already_there:,} already in the ledger + {left_out:,} left out"
        )
    )
    for reason, count in file.left_out.items():
        console.print(Text(f"  left out, {plain(reason)}: {count:,}"))
    for check in file.checks:
        console.print(Text(f"  {plain(check)}"))
    for heading, totals in (
        ("In the file", file.totals),
        ("Booked now", file.booked_totals),
        ("In changed orders", file.changed_totals),
    ):
        if totals and (heading == "In the file" or totals != file.totals):
            console.print(_totals_table(heading, totals))
    console.print()


def _totals_table(heading: str, totals: tuple[Total, ...]) -> Table:
    """Return the sums of the kinds of movement."""
    has_fees = any(total.fee for total in totals)
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="")
    table.add_column(heading)
    keeps_tax = any(total.remitted for total in totals)
    fee, tax = ("Fee",) * has_fees, ("Tax kept",) * keeps_tax
    for name in ("Count", "Gross", *fee, *tax, "Net"):
        table.add_column(name, justify="right", no_wrap=True)
    table.add_column("")
    for total in totals:
        charges = (total.fee,) * has_fees + (total.remitted,) * keeps_tax
        sums = (total.gross, *charges, total.net)
        table.add_row(
            Text(plain(total.kind)),
            f"{total.count:,}",
            *(_in_full(amount, total.currency) for amount in sums),
            Text(plain(total.currency)),
        )
    return table


def _in_full(amount: Decimal, currency: str) -> str:
    """Return a control total as text, with digits beyond the cent where it has any."""
    text = money(amount, currency)
    return text if rounded(amount, currency) == amount else f"{amount.normalize(EXACT):,f}"


def counted(number: int, noun: str) -> str:
    """Return a number of things as text."""
    return f"{number:,} {noun}{'' if number == 1 else 's'}"


def print_written(console: Console, files: Iterable[Written], dry_run: bool) -> None:
    """Print which files have what is new.

    Args:
      console: Where to print.
      files: The files.
      dry_run: Whether they were not written because that was asked for.
    """
    verb = "Would write" if dry_run else "Wrote"
    for written in files:
        new = written.transactions
        text = f": {counted(new, 'transaction')}" if new else ""
        console.print(Text(f"{verb} {plain(_from_here(written.path))}{text}"))


def _from_here(path: Path) -> str:
    """Return a path as short as it can be typed from here."""
    here = Path.cwd()
    return str(path.relative_to(here) if path.is_relative_to(here) else path)


def print_unknown_items(console: Console, items: tuple[UnknownItem, ...]) -> None:
    """Print the item texts that went to suspense, and the rule that would name one.

    Args:
      console: Where to print.
      items: The texts, at least one.
    """
    console.print()
    console.print(
        Text(
            f"{len(items):,} item text{' is' if len(items) == 1 else 's are'} not known "
            "and went to the suspense account:"
        )
    )
    print_list(
        console,
        [
            f"{shortened(plain(item.text), '…') or '(no text)'}: "
            f"{counted(item.count, 'line')}, "
            f"{_in_full(item.amount, item.currency)} {plain(item.currency)}"
            for item in items
        ],
        "item texts",
    )
    console.print(
        Text(
            "Say in offcut.toml which product it is, or answer `offcut items`; the next "
            "import goes by it, and books these lines too."
        )
    )
    example = json.dumps(shortened(plain(items[0].text), "*"), ensure_ascii=False)
    console.print(Text(f'  [[items]]\n  text = {example}\n  product = "YOUR-PRODUCT"'))


def shortened(text: str, rest: str) -> str:
    """Return a text as it fits into a list, with a mark for the rest of a longer one."""
    return text if len(text) <= LONGEST else text[:LONGEST] + rest


def print_list(console: Console, lines: list[str], what: str) -> None:
    """Print lines, not more than a screen of them.

    Args:
      console: Where to print.
      lines: The lines.
      what: What they are, in the plural.
    """
    for line in lines[:MOST_LISTED]:
        console.print(Text(f"  {line}"))
    if len(lines) > MOST_LISTED:
        console.print(Text(f"  … and {len(lines) - MOST_LISTED:,} more {what}"))


@contextmanager
def progress_after_a_second(console: Console) -> Iterator[Callable[[str, int, int], None]]:
    """Give a callback that shows progress once a second has passed, and only then.

    Args:
      console: Where to show it; into a pipe nothing is shown.

    Yields:
      A function of what is being done, how many are done, and how many there are.
    """
    started = time.monotonic()
    progress = Progress(
        TextColumn("{task.description}", markup=False),
        BarColumn(),
        MofNCompleteColumn(),
        console=console,
        transient=True,
        disable=not console.is_terminal,
    )
    tasks: dict[str, TaskID] = {}

    def advance(what: str, done: int, total: int) -> None:
        if time.monotonic() - started < QUIET_SECONDS:
            return
        progress.start()
        if what not in tasks:
            tasks[what] = progress.add_task(plain(what))
        progress.update(tasks[what], completed=done, total=total)

    try:
        yield advance
    finally:
        progress.stop()
