"""The command `offcut shelf`: what is on the shelf, how long it lasts, what is dead."""

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
@click.option(
    "--slow-weeks",
    type=click.IntRange(min=1),
    default=26,
    show_default=True,
    help="Mark as slow what lasts longer than so many weeks.",
)
@click.option(
    "--dead-days",
    type=click.IntRange(min=1),
    default=180,
    show_default=True,
    help="Mark as dead what has not left for so many days.",
)
@period_options
@currency_option
def shelf(
    ledger: Path,
    slow_weeks: int,
    dead_days: int,
    currency: str | None,
    **options: str | None,
) -> None:
    """Print what is on the shelf: units, cost, lots, and how long it lasts.

    Stock is as at the close of the period's last day, today's or the ledger's; what was
    sold and used is of the period. Goods on consignment are listed by shop. The value
    is held against the stock accounts.

    \b
    Examples:
      offcut shelf main.beancount
      offcut shelf main.beancount --year 2025
      offcut shelf main.beancount --from 2025-10-01 --slow-weeks 13 --dead-days 90
    """
    import datetime

    period = chosen_period(**options).up_to(datetime.date.today())
    books = loaded(ledger)
    from decimal import Decimal

    from rich.console import Console

    from offcut.reports.drawing.terminal import print_statements
    from offcut.reports.shelf_statement import shelf_statement

    currency = currency or books.stock_currency
    statement = shelf_statement(books, period, currency, Decimal(slow_weeks), dead_days)
    print_statements(Console(), [statement])
    finish([statement], bool(books.errors))
