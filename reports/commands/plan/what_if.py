"""The command `offcut plan what-if`."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import click

from offcut.reports.commands.ending import loaded
from offcut.reports.commands.figure_types import CHANGE, CHANGE_OF_AMOUNT, MATERIAL, Named
from offcut.reports.commands.file_options import Files, file_options, show
from offcut.reports.commands.ledger_options import (
    chosen_period,
    currency_option,
    ledger_argument,
    period_options,
)
from offcut.reports.commands.plan.asking import refusing


@click.command(name="what-if")
@ledger_argument
@click.option(
    "--price",
    "prices",
    type=CHANGE,
    multiple=True,
    metavar="[PRODUCT=]CHANGE",
    help="A new list price, HERON-STK=4.50, or a change, HERON-STK=+10%; +10% is for all "
    "products.",
)
@click.option(
    "--fee",
    "fees",
    type=CHANGE,
    multiple=True,
    metavar="[CHANNEL=]CHANGE",
    help="What more of what buyers pay goes in fees: +0.5%, or on one channel Web=+0.5%.",
)
@click.option(
    "--postage",
    type=CHANGE_OF_AMOUNT,
    metavar="CHANGE",
    help="What more a parcel costs: +0.20.",
)
@click.option(
    "--material",
    "materials",
    type=MATERIAL,
    multiple=True,
    metavar="MATERIAL=CHANGE",
    help="A new cost of a unit, VINYL=0.60, or a change, VINYL=+10%.",
)
@period_options
@currency_option
@file_options
def what_if(
    ledger: Path,
    prices: tuple[Named, ...],
    fees: tuple[Named, ...],
    postage: Decimal | None,
    materials: tuple[Named, ...],
    currency: str | None,
    files: Files,
    **period_options: str | None,
) -> None:
    """Print every design before and after a change.

    What was sold on these days is taken as it was, and worked out again as if the
    price, the fee, the postage or the material had been another. All but the postage
    may be given several times.

    \b
    Examples:
      offcut plan what-if main.beancount --year 2026 --price HERON-STK=4.50
      offcut plan what-if main.beancount --fee Web=+0.5% --postage +0.20
      offcut plan what-if main.beancount --material VINYL=0.60
    """
    if not (prices or fees or postage or materials):
        raise click.UsageError("Say what changes: --price, --fee, --postage, --material.")
    period = chosen_period(**period_options)
    books = loaded(ledger)
    from offcut.reports.plan.changes_given import Given
    from offcut.reports.plan.what_if_statement import what_if_statement

    given = Given(prices, fees, postage or Decimal(0), materials)
    with refusing():
        statement = what_if_statement(books, period, currency or books.currency, given)
    show([statement], books, files, "What if")
