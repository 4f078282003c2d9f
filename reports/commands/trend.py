"""The command `offcut trend`: month by month, this year against last."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from offcut.reports.commands.ending import finish, loaded
from offcut.reports.commands.ledger_options import (
    chosen_period,
    currency_option,
    ledger_argument,
    period_options,
)

if TYPE_CHECKING:
    from offcut.reports.trend import Grouping


@click.command()
@ledger_argument
@click.option(
    "--by",
    "groupings",
    type=click.Choice(["all", "design", "channel"]),
    multiple=True,
    help="Whose trend to print; may be given several times. Default: all together.",
)
@click.option(
    "--largest",
    type=click.IntRange(min=1),
    default=30,
    show_default=True,
    help="How many designs have a line each; the others are one.",
)
@period_options
@currency_option
def trend(
    ledger: Path,
    groupings: Sequence[Grouping],
    largest: int,
    currency: str | None,
    **options: str | None,
) -> None:
    """Print the months: sales, contribution and pieces, and against last year.

    Each month stands beside the same days of the year before, the month in progress up
    to today. Per design or channel, months that are too many to stand side by side are
    put together to quarters or years.

    \b
    Examples:
      offcut trend main.beancount
      offcut trend main.beancount --by design --year 2025
      offcut trend main.beancount --by channel --from 2025-07-01
    """
    period = chosen_period(**options)
    books = loaded(ledger)
    import datetime

    from rich.console import Console

    from offcut.reports.drawing.terminal import print_statements
    from offcut.reports.trend_statement import trend_statement

    today = datetime.date.today()
    chosen = list(dict.fromkeys(groupings)) or ["all"]
    currency = currency or books.currency
    statements = [
        trend_statement(books, period, currency, grouping, today, largest)
        for grouping in chosen
    ]
    print_statements(Console(), statements)
    finish(statements, bool(books.errors))
