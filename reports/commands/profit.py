"""The command `offcut profit`."""

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
    from offcut.reports.profit import Grouping, ProfitReports


@click.command()
@ledger_argument
@click.option(
    "--by",
    "groupings",
    type=click.Choice(["design", "channel"]),
    multiple=True,
    help="Which profit to print; give it twice for both. Default: both.",
)
@period_options
@currency_option
def profit(ledger: Path, groupings: Sequence[Grouping], **options: str | None) -> None:
    """Print profit per design and per channel.

    Without a period all dates of LEDGER count. The rows printed, with what could be
    allocated to nothing, add up to the ledger's net income; the report says so.

    \b
    Examples:
      offcut profit main.beancount --year 2025
      offcut profit main.beancount --by design --month 2025-03
      offcut profit main.beancount --from 2025-11-01 --to 2025-12-24
    """
    reports, has_errors = loaded_profit(ledger, **options)
    from rich.console import Console

    from offcut.reports.profit import GROUPINGS
    from offcut.reports.profit_statement import profit_statement
    from offcut.reports.statement_terminal import print_statements

    chosen = list(dict.fromkeys(groupings)) or GROUPINGS
    statements = [profit_statement(reports, grouping) for grouping in chosen]
    print_statements(Console(), statements)
    finish(statements, has_errors)


def loaded_profit(
    path: Path, currency: str | None, **period_options: str | None
) -> tuple[ProfitReports, bool]:
    """Load a ledger and make its reports."""
    period = chosen_period(**period_options)
    books = loaded(path)
    from offcut.reports.profit import profit_reports

    reports = profit_reports(books.entries, books.options, period, currency)
    return reports, bool(books.errors)
