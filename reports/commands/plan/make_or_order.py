"""The command `offcut plan make-or-order`."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import click

from offcut.reports.commands.ending import loaded
from offcut.reports.commands.figure_types import AMOUNT, WHOLE
from offcut.reports.commands.file_options import Files, file_options, show
from offcut.reports.commands.ledger_options import ledger_argument
from offcut.reports.commands.plan.asking import (
    hour_option,
    product_of,
    refusing,
    settings_of,
    setup_minutes_option,
)
from offcut.reports.commands.plan.quoting import Quote, quote_options


@click.command(name="make-or-order")
@click.argument("product")
@ledger_argument
@click.option(
    "--pieces",
    type=WHOLE,
    required=True,
    metavar="NUMBER",
    help="The good pieces that you need.",
)
@click.option(
    "--demand",
    type=AMOUNT,
    metavar="NUMBER",
    help="The pieces that will be asked for. Default: all that you need.",
)
@quote_options
@hour_option
@click.option(
    "--minutes",
    type=AMOUNT,
    metavar="NUMBER",
    help="Your minutes for a piece. Default: as its print runs say.",
)
@setup_minutes_option
@file_options
def make_or_order(
    product: str,
    ledger: Path,
    pieces: Decimal,
    demand: Decimal | None,
    quote: Quote,
    hour: Decimal | None,
    minutes: Decimal | None,
    setup_minutes: Decimal | None,
    files: Files,
) -> None:
    """Compare making PRODUCT with ordering it.

    Making costs the materials of its bill, spoilage included, and your time where an
    hour has a value; ordering what the manufacturer's quote says, its minimum
    included. From which
    quantity on the other way is cheaper, the money tied up, and what is left over where
    fewer are asked for, stand beside it.

    A quote is a CSV file with the columns Quantity and Unit price, or a --break for
    each of its lines; the first is the least that can be ordered.

    \b
    Examples:
      offcut plan make-or-order HERON-STK main.beancount --pieces 300 \\
        --break 250=0.42 --break 500=0.33 --set-up 25 --freight 12 --hour 18
      offcut plan make-or-order HERON-STK --pieces 300 --quote quote.csv
    """
    settings = settings_of(ledger)
    with refusing():
        prices = quote.required()
    books = loaded(ledger)
    from offcut.reports.plan.assumed import assumed
    from offcut.reports.plan.make_or_order_statement import (
        MakingTerms,
        make_or_order_statement,
    )

    terms = MakingTerms(
        quantity=pieces,
        demand=demand,
        prices=prices,
        hour=assumed(hour, settings.hour),
        minutes=assumed(minutes, None),
        setup_minutes=assumed(setup_minutes, settings.setup_minutes),
    )
    item = product_of(books, product)
    with refusing():
        statement = make_or_order_statement(books, item, terms)
    show([statement], books, files, statement.title)
