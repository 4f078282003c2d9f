"""The command `offcut import`: book payment and order files."""

from __future__ import annotations

from pathlib import Path

import click

from offcut.reports.commands.ending import DONE_WITH_DOUBT, refuse_files
from offcut.reports.commands.ledger_options import into_option


@click.command(name="import")
@click.argument("files", type=click.Path(path_type=Path), nargs=-1, required=True)
@into_option("The main ledger; what is new goes into imports/ beside it.")
@click.option(
    "--layout",
    "layouts",
    multiple=True,
    metavar="NAME",
    help="How to read the files: a layout's name or TOML file. May be given several "
    "times. Default: the one whose columns a file has.",
)
@click.option("--dry-run", is_flag=True, help="Show what would be booked; write nothing.")
@click.option(
    "--newer",
    is_flag=True,
    help="The files are newer than what the ledger has of their orders: book what changed "
    "also where the files cannot tell that.",
)
def import_(
    files: tuple[Path, ...],
    ledger: Path,
    layouts: tuple[str, ...],
    dry_run: bool,
    newer: bool,
) -> None:
    """Book payment and order FILES into a ledger.

    Payments and order lines of one call are joined on the order number. What the
    ledger has already is not booked again, so a file may be imported twice. If
    anything in a file is wrong, every problem is named and nothing is written.

    \b
    Examples:
      offcut import payments.csv orders.csv --into main.beancount
      offcut import march.csv --into main.beancount --layout my-shop --dry-run
    """
    from rich.console import Console

    from offcut.importers.importing import import_files
    from offcut.importers.problems import ImportRefused
    from offcut.reports.bank_summary import print_bank
    from offcut.reports.import_summary import print_summary, progress_after_a_second

    try:
        with progress_after_a_second(Console(stderr=True)) as progress:
            summary = import_files(files, ledger, layouts, dry_run, progress, newer)
    except ImportRefused as refused:
        refuse_files(refused.problems)
    print_summary(Console(), summary)
    print_bank(Console(), summary.bank)
    if not summary.ties:
        raise SystemExit(DONE_WITH_DOUBT)
