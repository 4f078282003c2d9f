"""The command `offcut channels`."""

from __future__ import annotations

from pathlib import Path

import click

from offcut.reports.commands.ending import finish, loaded
from offcut.reports.commands.ledger_options import (
    chosen_period,
    currency_option,
    ledger_argument,
    period_options,
)


@click.command()
@ledger_argument
@period_options
@currency_option
def channels(ledger: Path, currency: str | None, **options: str | None) -> None:
    """Show what each channel, fair and buyer on invoice earned, and what is owed.

    Each fair is held against the sales at which it breaks even. What buyers owe is as
    at the period's end, by the days since the invoice.

    \b
    Examples:
      offcut channels --year 2025
      offcut channels main.beancount --from 2025-05-01 --to 2025-08-31
    """
    period = chosen_period(**options)
    books = loaded(ledger)
    import datetime

    from rich.console import Console

    from offcut.reports.channels_statement import channels_statement
    from offcut.reports.drawing.terminal import print_statements

    today = datetime.date.today()
    statement = channels_statement(books, period, currency or books.currency, today)
    print_statements(Console(), [statement])
    finish([statement], bool(books.errors))
