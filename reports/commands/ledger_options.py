"""The arguments and options that many commands have: the ledger, the days, a currency."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from offcut.reports.period import Period

Command = Callable[..., None]

USUAL_LEDGER = "main.beancount"
LEDGER_VARIABLE = "OFFCUT_LEDGER"


def ledger_argument(command: Command) -> Command:
    """Add the argument LEDGER: by default the one of this folder."""
    return click.argument(
        "ledger",
        type=click.Path(path_type=Path),
        default=USUAL_LEDGER,
        envvar=LEDGER_VARIABLE,
    )(command)


def into_option(text: str) -> Callable[[Command], Command]:
    """Return what adds the option --into: the ledger to write into.

    Args:
      text: What is written, for the help.
    """
    return click.option(
        "--into",
        "ledger",
        type=click.Path(path_type=Path),
        default=USUAL_LEDGER,
        envvar=LEDGER_VARIABLE,
        metavar="LEDGER",
        show_default=True,
        help=text,
    )


def period_options(command: Command) -> Command:
    """Add the options that say which days a report is about."""
    for decorate in (
        click.option("--to", "last", metavar="DAY", help="Last day, included: 2025-03-31."),
        click.option("--from", "first", metavar="DAY", help="First day: 2025-03-01."),
        click.option("--month", metavar="MONTH", help="One month: 2025-03."),
        click.option("--year", metavar="YEAR", help="One year: 2025."),
    ):
        command = decorate(command)
    return command


def currency_option(command: Command) -> Command:
    """Add the option that says which currency a report is in."""
    return click.option(
        "--currency",
        metavar="CODE",
        help="Currency to report in. Default: the ledger's first operating currency.",
    )(command)


def chosen_period(**options: str | None) -> Period:
    """Return the period that the options name.

    Args:
      **options: The values of `period_options`.

    Raises:
      click.UsageError: They name none.
    """
    from offcut.reports.period import PeriodError, choose_period

    try:
        return choose_period(**options)
    except PeriodError as error:
        raise click.UsageError(str(error)) from None
