"""The command `offcut inventory`: the inventory roll."""

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
def inventory(ledger: Path, currency: str | None, **options: str | None) -> None:
    """Print the inventory roll: what there was, came in, left, and is left.

    Opening inventory, what was bought and made, less what was used and sold, is the
    closing inventory: for each item in units and at cost, tied to the accounts.

    \b
    Example:
      offcut inventory main.beancount --year 2025
    """
    period = chosen_period(**options)
    books = loaded(ledger)
    from rich.console import Console

    from offcut.reports.drawing.terminal import print_statements
    from offcut.reports.inventory_statement import inventory_statement

    statement = inventory_statement(books, period, currency or books.stock_currency)
    print_statements(Console(), [statement])
    finish([statement], bool(books.errors))
