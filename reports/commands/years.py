"""The command `offcut years`: each year beside the others."""

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
def years(ledger: Path, currency: str | None, **options: str | None) -> None:
    """Print each year as a column: sales, costs, net income; orders and pieces.

    The last year is compared with the one before; while it is not over, with the same
    days of it. Each year is held against the ledger's net income.

    \b
    Examples:
      offcut years main.beancount
      offcut years main.beancount --from 2023-01-01 --to 2025-12-31
    """
    period = chosen_period(**options)
    books = loaded(ledger)
    import datetime

    from rich.console import Console

    from offcut.reports.drawing.terminal import print_statements
    from offcut.reports.years_statement import years_statement

    currency = currency or books.currency
    statement = years_statement(books, period, currency, datetime.date.today())
    print_statements(Console(), [statement])
    finish([statement], bool(books.errors))
