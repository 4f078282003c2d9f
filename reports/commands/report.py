"""The command `offcut report`: all reports as a page, a workbook or CSV files."""

from __future__ import annotations

from pathlib import Path

import click

from offcut.reports.commands.ending import finish, refuse
from offcut.reports.commands.ledger_options import (
    currency_option,
    ledger_argument,
    period_options,
)
from offcut.reports.commands.profit import loaded_profit


@click.command()
@ledger_argument
@click.option(
    "--html",
    "page",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="The page to write. It needs no other file and no network.",
)
@click.option(
    "--xlsx",
    "workbook",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="The workbook to write, a sheet for each table.",
)
@click.option(
    "--csv",
    "folder",
    type=click.Path(path_type=Path),
    metavar="FOLDER",
    help="The folder to write a CSV file for each table into.",
)
@period_options
@currency_option
def report(
    ledger: Path,
    page: Path | None,
    workbook: Path | None,
    folder: Path | None,
    **options: str | None,
) -> None:
    """Write profit per design and per channel as a page, a workbook or CSV files.

    \b
    Examples:
      offcut report main.beancount --html 2025.html --year 2025
      offcut report main.beancount --xlsx 2025.xlsx --csv figures --year 2025
    """
    if not (page or workbook or folder):
        raise click.UsageError("Say what to write: --html FILE, --xlsx FILE, --csv FOLDER.")
    reports, has_errors = loaded_profit(ledger, **options)
    from offcut.reports.profit import GROUPINGS
    from offcut.reports.profit_statement import profit_statement
    from offcut.reports.report_files import write_csv, write_page, write_workbook

    statements = [profit_statement(reports, grouping) for grouping in GROUPINGS]
    title = f"Profit, {reports.period.label}"
    for write, target in (
        (write_page, page),
        (write_workbook, workbook),
        (write_csv, folder),
    ):
        if target is None:
            continue
        try:
            written = write(statements, title, reports.title, target)
        except OSError as error:
            refuse(
                f"{target}: cannot be written: {error.strerror}; name a file in a folder "
                "that exists and is yours to write to"
            )
        for path in written:
            click.echo(f"Wrote {path}")
    for check in dict.fromkeys(check for each in statements for check in each.checks):
        if not check.holds:
            click.echo(check.sentence, err=True)
    finish(statements, has_errors)
