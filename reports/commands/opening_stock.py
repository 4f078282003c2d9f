"""The command `offcut opening-stock`: begin with what is on the shelf."""

from __future__ import annotations

from pathlib import Path

import click

from offcut.reports.commands.ending import refuse_files
from offcut.reports.commands.ledger_options import into_option


@click.command(name="opening-stock")
@click.argument("file", type=click.Path(path_type=Path))
@into_option("The main ledger; it must declare the items.")
@click.option("--dry-run", is_flag=True, help="Check the file; write nothing.")
def opening_stock(file: Path, ledger: Path, dry_run: bool) -> None:
    """Begin with the stock that is on the shelf, from a CSV FILE.

    FILE has the columns Item, Quantity, Unit cost and Date (2025-01-01). Each row
    becomes a lot against the owner's opening equity. A row that the ledger has
    already is not booked again.

    \b
    Example:
      offcut opening-stock shelf.csv --into main.beancount
    """
    from rich.console import Console

    from offcut.importers.opening_stock import import_opening_stock
    from offcut.importers.problems import ImportRefused
    from offcut.reports.figures import money
    from offcut.reports.import_summary import counted, print_written

    try:
        report = import_opening_stock(file, ledger, dry_run)
    except ImportRefused as refused:
        refuse_files(refused.problems)
    known = report.rows - report.booked
    click.echo(
        f"{counted(report.rows, 'row')} = {report.booked:,} booked + {known:,} already in "
        "the ledger"
    )
    click.echo(f"Booked at {money(report.value, report.currency)} {report.currency} in all")
    print_written(Console(), report.written, dry_run)
