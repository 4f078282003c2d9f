"""The command `offcut plan wholesale`."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

import click

from offcut.reports.commands.ending import loaded
from offcut.reports.commands.figure_types import SHARE
from offcut.reports.commands.file_options import Files, file_options, show
from offcut.reports.commands.ledger_options import (
    chosen_period,
    currency_option,
    ledger_argument,
    period_options,
)
from offcut.reports.commands.plan.asking import (
    hour_option,
    products_of,
    products_option,
    refusing,
    settings_of,
)

if TYPE_CHECKING:
    from offcut.reports.plan.piece_cost import Basis


@click.command()
@ledger_argument
@click.option(
    "--rate",
    type=SHARE,
    metavar="SHARE",
    help="The wholesale price, of the list price: 50%. Default: half of it.",
)
@products_option
@click.option(
    "--channel",
    "channels",
    multiple=True,
    metavar="NAME",
    help="Where packing and fees are taken from. Default: all channels.",
)
@click.option(
    "--cost-by",
    "basis",
    type=click.Choice(["bill", "lots"]),
    default="bill",
    show_default=True,
    help="Cost of a piece by its bill of materials, or as its newest lots have it.",
)
@hour_option
@period_options
@currency_option
@file_options
def wholesale(
    ledger: Path,
    rate: Decimal | None,
    products: Sequence[str],
    channels: tuple[str, ...],
    basis: Basis,
    hour: Decimal | None,
    currency: str | None,
    files: Files,
    **period_options: str | None,
) -> None:
    """Print what each product earns at wholesale.

    Of the list price a shop pays a share. What a piece costs in full, packing and fees
    with it, is taken from that; below zero each piece sold loses money. The least
    prices that lose nothing stand beside it.

    \b
    Examples:
      offcut plan wholesale main.beancount --year 2026
      offcut plan wholesale main.beancount --rate 40% --hour 18
      offcut plan wholesale main.beancount --channel Wholesale
    """
    period = chosen_period(**period_options)
    settings = settings_of(ledger)
    books = loaded(ledger)
    from offcut.reports.plan.usual_terms import wholesale_terms
    from offcut.reports.plan.wholesale_statement import wholesale_statement

    terms = wholesale_terms(
        settings,
        rate=rate,
        hour=hour,
        channels=channels,
        basis=basis,
        products=products_of(books, products),
    )
    with refusing():
        statement = wholesale_statement(books, period, currency or books.currency, terms)
    show([statement], books, files, "Wholesale")
