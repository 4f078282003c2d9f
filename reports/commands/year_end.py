"""The command `offcut year-end`: what a year leaves for the tax office."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

import click

from offcut.reports.commands.ending import loaded, refuse, refuse_files
from offcut.reports.commands.file_options import Files, file_options, show
from offcut.reports.commands.ledger_options import ledger_argument

if TYPE_CHECKING:
    from offcut.reports.tax.rules import Rules
    from offcut.reports.tax.tax_settings import TaxSettings

YEAR = re.compile("[0-9]{4}(-[0-9]{2})?")


@click.command("year-end")
@click.argument("year")
@ledger_argument
@click.option(
    "--jurisdiction",
    metavar="NAME",
    help="Whose rules: us-federal. Default: jurisdiction in [tax] of offcut.toml.",
)
@file_options
def year_end(year: str, ledger: Path, jurisdiction: str | None, files: Files) -> None:
    """Print the year-end form of YEAR, and what an accountant asks for beside it.

    The form's lines with their captions, cost of goods sold from stock to stock, how
    net income leads to the profit for tax, gross receipts by processor, sales tax,
    miles, equipment, contractors, missing receipts, and a list of what was assumed
    and what is open. An estimate, not advice: rules differ by place; ask a licensed
    accountant.

    \b
    An account's line is said on its open directive:
      2025-01-01 open Expenses:Fonts
        tax-line: "other-expenses"

    \b
    Examples:
      offcut year-end 2025
      offcut year-end 2025 main.beancount --html 2025.html --xlsx 2025.xlsx
    """
    if not YEAR.fullmatch(year):
        raise click.UsageError(
            f"Expected YEAR [LEDGER], such as 2025 main.beancount; {year!r} is no year"
        )
    rules, settings = _rules(year, ledger, jurisdiction)
    books = loaded(ledger)
    from dataclasses import replace

    from offcut.reports.ledger_file import error_lines
    from offcut.reports.tax.rules import RulesError
    from offcut.reports.tax.tax_books import TaxBooks
    from offcut.reports.tax.tax_settings import TaxSettingsError
    from offcut.reports.year_end_statement import year_end_statements

    shop = TaxBooks(books, rules, settings)
    try:
        errors = shop.errors
        for line in error_lines(errors):
            click.echo(line, err=True)
        books = replace(books, errors=[*books.errors, *errors])
        statements = year_end_statements(replace(shop, books=books))
    except (TaxSettingsError, RulesError) as mistakes:
        refuse_files(str(mistakes).splitlines())
    show(statements, books, files, f"Year end {rules.year}")


def _rules(year: str, ledger: Path, jurisdiction: str | None) -> tuple[Rules, TaxSettings]:
    """Return the rules of a year and the settings, or stop where there are none."""
    from offcut.reports.tax.rules import RulesError
    from offcut.reports.tax.rules_files import find_rules
    from offcut.reports.tax.tax_settings import TaxSettingsError, tax_settings

    try:
        settings = tax_settings(ledger)
        jurisdiction = jurisdiction or settings.jurisdiction
        if not jurisdiction:
            refuse(
                'Whose rules? Write [tax] with jurisdiction = "us-federal" into '
                "offcut.toml beside the ledger, or give --jurisdiction us-federal"
            )
        return find_rules(jurisdiction, year, ledger.parent), settings
    except (TaxSettingsError, RulesError) as mistakes:
        refuse_files(str(mistakes).splitlines())
