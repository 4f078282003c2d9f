"""The command `offcut tax`: what to set aside for the tax office, and when to pay what."""

from __future__ import annotations

import datetime
import os
import re
from pathlib import Path

import click

from offcut.reports.commands.ending import loaded, refuse_files
from offcut.reports.commands.file_options import Files, file_options, show
from offcut.reports.commands.ledger_options import LEDGER_VARIABLE, USUAL_LEDGER

YEAR = re.compile("[0-9]{4}(-[0-9]{2})?")


@click.command()
@click.argument("words", nargs=-1, metavar="[YEAR] [LEDGER]")
@click.option("--on", "day", metavar="DAY", help="As of another day: 2026-09-10.")
@file_options
def tax(words: tuple[str, ...], day: str | None, files: Files) -> None:
    """Print how much to set aside for the tax office, and when to pay what.

    YEAR is called as the tax rules call it, 2025 or 2025-26; without it, it is the
    year that today is in. The year's profit is foreseen from what is earned so far,
    the tax on it worked out line by line, and what is paid and in the reserve taken
    off. The entry that moves the rest to the reserve is printed to be copied;
    nothing is written.

    It is an estimate, not advice: rules differ by place and change. Ask a licensed
    accountant.

    \b
    Examples:
      offcut tax
      offcut tax 2025 main.beancount
      offcut tax --on 2026-09-10 --html tax.html --xlsx tax.xlsx

    \b
    Who is taxed, and what the books cannot know, stands in offcut.toml beside
    LEDGER; without it, this command prints what to write:
      [tax]
      jurisdiction = "us-federal"
      status = "single"
    """
    year, ledger = _year_and_ledger(words)
    today = _today(day)
    from offcut.reports.tax.household import HouseholdError
    from offcut.reports.tax.rules import RulesError
    from offcut.reports.tax.tax_settings import TaxSettingsError, tax_settings

    try:
        settings = tax_settings(ledger)
    except TaxSettingsError as error:
        refuse_files(str(error).splitlines())
    books = loaded(ledger)
    from offcut.reports.set_aside_report import set_aside_statements, settings_needed

    if not settings.jurisdiction:
        refuse_files(settings_needed(settings, ledger.parent))
    try:
        statements = set_aside_statements(books, settings, year, today)
    except (RulesError, HouseholdError, TaxSettingsError) as error:
        refuse_files(str(error).splitlines())
    show(statements, books, files, statements[0].title)


def _year_and_ledger(words: tuple[str, ...]) -> tuple[str | None, Path]:
    """Return the year and the ledger that the arguments name."""
    year, rest = None, list(words)
    if rest and YEAR.fullmatch(rest[0]):
        year = rest.pop(0)
    if len(rest) > 1:
        raise click.UsageError(
            f"Expected [YEAR] [LEDGER], such as 2025 main.beancount, not {' '.join(words)}"
        )
    usual = os.environ.get(LEDGER_VARIABLE) or USUAL_LEDGER
    return year, Path(rest[0] if rest else usual)


def _today(day: str | None) -> datetime.date:
    """Return the day that an option names; today where it is not given."""
    if day is None:
        return datetime.date.today()
    try:
        if not re.fullmatch(r"\d{4}-\d{2}-\d{2}", day, re.ASCII):
            raise ValueError(day)
        return datetime.date.fromisoformat(day)
    except ValueError:
        raise click.UsageError(
            f"--on: expected a day such as 2026-09-10, found '{day}'"
        ) from None
