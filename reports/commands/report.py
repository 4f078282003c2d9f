"""The command `offcut report`: all reports as a page, a workbook or CSV files."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from offcut.reports.commands.ending import loaded
from offcut.reports.commands.file_options import Files, file_options, show
from offcut.reports.commands.ledger_options import (
    chosen_period,
    currency_option,
    ledger_argument,
    period_options,
)
from offcut.reports.commands.profit import allocate_option

if TYPE_CHECKING:
    from offcut.reports.allocation import Rule


@click.command()
@ledger_argument
@file_options
@allocate_option
@period_options
@currency_option
def report(
    ledger: Path, files: Files, rule: Rule, currency: str | None, **days: str | None
) -> None:
    """Write all reports on a period as a page, a workbook or CSV files.

    They are profit per design, product, channel, fair and order, channels and what is
    owed, the shelf, the inventory roll, the months, and the years. A page and a workbook
    list the latest orders only; the CSV files list all.

    \b
    Examples:
      offcut report main.beancount --html 2025.html --year 2025
      offcut report main.beancount --xlsx 2025.xlsx --csv figures --year 2025
    """
    if not any(files):
        raise click.UsageError("Say what to write: --html FILE, --xlsx FILE, --csv FOLDER.")
    period = chosen_period(**days)
    books = loaded(ledger)
    import datetime

    from offcut.reports.whole_report import whole_report

    currency = currency or books.currency
    today = datetime.date.today()
    show(
        list(whole_report(books, period, currency, rule, today)),
        books,
        files,
        f"Reports, {period.label}",
        in_csv=lambda: list(whole_report(books, period, currency, rule, today, None)),
    )
