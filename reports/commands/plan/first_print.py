"""The command `offcut plan first-print`."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import click

from offcut.reports.commands.ending import loaded
from offcut.reports.commands.figure_types import AMOUNT, SHARE, WHOLE
from offcut.reports.commands.file_options import Files, file_options, show
from offcut.reports.commands.ledger_options import ledger_argument
from offcut.reports.commands.plan.asking import product_of, refusing, settings_of


@click.command(name="first-print")
@click.argument("product")
@ledger_argument
@click.option(
    "--following",
    type=AMOUNT,
    metavar="NUMBER",
    help="The people who follow you. Default: as offcut.toml says.",
)
@click.option(
    "--buying",
    type=SHARE,
    metavar="SHARE",
    help="The followers who buy anything. Default: 1%.",
)
@click.option(
    "--take-least",
    "low",
    type=SHARE,
    metavar="SHARE",
    help="The buyers who take one product, at the least. Default: 5%.",
)
@click.option(
    "--take-most",
    "high",
    type=SHARE,
    metavar="SHARE",
    help="The same, at the most. Default: 10%.",
)
@click.option(
    "--never-under",
    "least",
    type=WHOLE,
    metavar="NUMBER",
    help="Print no fewer pieces. Default: 4.",
)
@file_options
def first_print(
    product: str,
    ledger: Path,
    following: Decimal | None,
    buying: Decimal | None,
    low: Decimal | None,
    high: Decimal | None,
    least: Decimal | None,
    files: Files,
) -> None:
    """Say how many pieces of a new PRODUCT to print first.

    Of the people who follow you some buy, and some of these take one product; rounded
    up to whole pieces, and to whole sheets by the product's bill of materials.

    \b
    Examples:
      offcut plan first-print OWL-STK main.beancount --following 1200
      offcut plan first-print OWL-STK --following 1200 --buying 2%
    """
    settings = settings_of(ledger)
    if following is None and settings.following is None:
        raise click.UsageError(
            "Say how many people follow you: --following 1200, or following = 1200 under "
            "[plan] in offcut.toml."
        )
    books = loaded(ledger)
    from offcut.reports.plan import first_quantity as practice
    from offcut.reports.plan.assumed import assumed
    from offcut.reports.plan.first_print_statement import FirstTerms, first_print_statement

    terms = FirstTerms(
        following=assumed(following, settings.following),
        buying=assumed(buying, None, practice.BUYERS),
        low=assumed(low, None, practice.FEW_TAKE_IT),
        high=assumed(high, None, practice.MANY_TAKE_IT),
        least=assumed(least, None, practice.NEVER_UNDER),
    )
    item = product_of(books, product)
    with refusing():
        statement = first_print_statement(books, item, terms)
    show([statement], books, files, statement.title)
