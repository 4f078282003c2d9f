"""The command `offcut move-in`: begin books with what a spreadsheet had."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from offcut.reports.commands.ending import finish, loaded, refuse_files
from offcut.reports.commands.ledger_options import into_option

if TYPE_CHECKING:
    from offcut.importers.moving_in.moving import Moving


@click.command(name="move-in")
@click.argument("folder", type=click.Path(path_type=Path))
@into_option("The main ledger.")
@click.option(
    "--templates",
    is_flag=True,
    help="Write the sheets to fill in into FOLDER, those that are not there yet.",
)
@click.option("--yes", is_flag=True, help="Write without asking.")
@click.option("--dry-run", is_flag=True, help="Check the sheets; write nothing.")
def move_in(folder: Path, ledger: Path, templates: bool, yes: bool, dry_run: bool) -> None:
    """Begin books with what you kept in a spreadsheet, from the sheets in FOLDER.

    \b
    The sheets are CSV files, which a spreadsheet opens and saves:
      products.csv          what you sell, and what you use up
      opening-balances.csv  what you own and owe
      opening-stock.csv     what is on the shelf, and what it had cost
      open-invoices.csv     what buyers still owe

    A sheet may be missing. All of them are checked first, and what they come to is
    shown; nothing is written before you say so. What the ledger has already is not
    booked again.

    \b
    Examples:
      offcut move-in sheets --templates
      offcut move-in sheets --into main.beancount
      offcut move-in sheets --into main.beancount --yes
    """
    from offcut.importers.moving_in.moving import move_in as book
    from offcut.importers.moving_in.sheets import write_sheets
    from offcut.importers.problems import ImportRefused
    from offcut.reports.figures import plain

    try:
        if templates:
            written = write_sheets(folder)
            for path in written:
                click.echo(f"Wrote {plain(str(path))}")
            if not written:
                click.echo("All sheets are there already; none was changed.")
            click.echo(plain(f"Fill them in, then: offcut move-in {folder}"))
            return
        moving = book(folder, ledger, dry_run=True)
        _print(moving)
        if not moving.is_new:
            there = any(part.rows for part in moving.parts)
            nothing = "Nothing new: the ledger has all of it already."
            click.echo(nothing if there else "The sheets have no rows yet: fill them in.")
            return
        if dry_run or not _is_agreed(yes):
            return
        moving = book(folder, ledger)
    except ImportRefused as refused:
        refuse_files(each.line("nothing was written") for each in refused.problems)
    from rich.console import Console

    from offcut.reports.import_summary import print_written

    print_written(Console(), moving.written, dry_run=False)
    finish((), bool(loaded(ledger).errors))


def _is_agreed(yes: bool) -> bool:
    """Return whether it is to be written: by the option, or by an answer."""
    if yes:
        return True
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        click.echo("Nothing is written yet; if this is right, say it again with --yes.")
        return False
    if click.confirm("Is this right, and to be written?"):
        return True
    click.echo("Nothing was written.")
    return False


def _print(moving: Moving) -> None:
    """Print what the sheets come to."""
    from offcut.reports.figures import money
    from offcut.reports.import_summary import counted

    for part in moving.parts:
        sums = [f"{money(sum_, each)} {each}" for each, sum_ in part.sums.items()]
        known = part.rows - part.new
        rows = f"{counted(part.rows, 'row')} = {part.new:,} new + {known:,} known already"
        click.echo(f"{part.file:22} {rows:36} {', '.join(sums)}".rstrip())
    for name in moving.missing:
        click.echo(f"{name:22} not there")
    for currency in dict.fromkeys((*moving.owned, *moving.owed)):
        owned, owed = moving.owned.get(currency), moving.owed.get(currency)
        said = [
            f"{money(amount, currency)} {currency} {what}"
            for amount, what in ((owned, "owned"), (owed, "owed"))
            if amount
        ]
        click.echo(f"{'of the balances':22} {', '.join(said)}")
    click.echo()
