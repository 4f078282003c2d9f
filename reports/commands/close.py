"""The command `offcut close`: what stands between a month's books and done."""

from __future__ import annotations

import datetime
from pathlib import Path

import click

from offcut.reports.commands.ending import finish, loaded, refuse_files
from offcut.reports.commands.ledger_options import ledger_argument


@click.command()
@click.argument("month")
@ledger_argument
def close(month: str, ledger: Path) -> None:
    """List what stands between the books of MONTH and done.

    Each point comes with where it stands in the ledger, and with the command or the
    ledger line that settles it, to be copied. What was looked at and is fine is listed
    too. Nothing is written.

    Looked at are: files that are not imported, also those in a folder inbox/ beside
    LEDGER; item texts that no rule knows, and suspense; payouts and rows of the bank
    that have not met; clearing accounts; money held back; postage labels without an
    order; orders not paid; deposits; what went out before it was made; stock that is
    not counted; bank and cash that no balance is asserted of; errors of the ledger;
    and whether the reports add up.

    \b
    Examples:
      offcut close 2025-03
      offcut close 2025-03 main.beancount && echo March is done

    \b
    Exit codes: 0 where the month is done, 3 where it is not.
    How often stock is counted, and which files do not come every month, is set
    in [close] of offcut.toml beside LEDGER:
      [close]
      count-every-months = 3
      receivable-days = 30
      not-expected = ["label-shop"]
    """
    from offcut.reports.close.month import read_month
    from offcut.reports.period import PeriodError

    try:
        chosen = read_month(month)
    except PeriodError as error:
        raise click.UsageError(str(error)) from None
    books = loaded(ledger)
    from rich.console import Console

    from offcut.importers.problems import ImportRefused
    from offcut.importers.settings import load_settings
    from offcut.reports.close.closing import close_month
    from offcut.reports.close_statement import close_statement
    from offcut.reports.drawing.terminal import print_statements

    try:
        settings = load_settings(ledger)
    except ImportRefused as refused:
        refuse_files(refused.problems)
    closing = close_month(books, settings, chosen, datetime.date.today())
    statement = close_statement(closing, books.path, books.currency)
    print_statements(Console(), [statement])
    # The ledger's errors are points of the list, where they are of the month.
    finish([statement], has_errors=False)
