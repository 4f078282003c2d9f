"""The command `offcut plan next-print`."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import click

from offcut.reports.commands.ending import loaded
from offcut.reports.commands.figure_types import AMOUNT, SHARE
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
    setup_minutes_option,
)
from offcut.reports.commands.plan.quoting import Quote, quote_options


@click.command(name="next-print")
@ledger_argument
@products_option
@click.option(
    "--lead-weeks",
    type=AMOUNT,
    metavar="NUMBER",
    help="Weeks until new pieces are there. Default: 1.",
)
@click.option(
    "--service",
    type=SHARE,
    metavar="SHARE",
    help="How often nothing may be missing meanwhile. Default: 95%.",
)
@click.option(
    "--keeping",
    type=SHARE,
    metavar="SHARE",
    help="What keeping stock for a year costs, of its cost. Default: 25%.",
)
@click.option(
    "--run-cost",
    type=AMOUNT,
    metavar="AMOUNT",
    help="What a run costs whatever its size. Default: setting up, at your hour.",
)
@hour_option
@setup_minutes_option
@quote_options
@period_options
@currency_option
@file_options
def next_print(
    ledger: Path,
    products: tuple[str, ...],
    lead_weeks: Decimal | None,
    service: Decimal | None,
    keeping: Decimal | None,
    run_cost: Decimal | None,
    hour: Decimal | None,
    setup_minutes: Decimal | None,
    quote: Quote,
    currency: str | None,
    files: Files,
    **period_options: str | None,
) -> None:
    """Say what to print next, and how much of it.

    Goes by what each product sold in the 52 weeks up to the last day in the ledger, or
    in the period named: its rate a week, and how much the weeks differ. What runs out
    first stands first, with the day. With a quote, for one product, the order is
    weighed over its price breaks.

    \b
    Examples:
      offcut plan next-print main.beancount --hour 18 --setup-minutes 30
      offcut plan next-print --product HERON-STK --lead-weeks 2
      offcut plan next-print --product FOG-HOL --lead-weeks 4 --set-up 25 \\
        --break 100=0.50 --break 250=0.42
    """
    if quote and len(products) != 1:
        raise click.UsageError("A quote is for one product: name it with --product.")
    period = chosen_period(**period_options)
    settings = settings_of(ledger)
    with refusing():
        prices = quote.given()
    books = loaded(ledger)
    from offcut.reports.plan.next_print_statement import next_print_statement
    from offcut.reports.plan.usual_terms import next_terms

    terms = next_terms(
        settings,
        lead_weeks=lead_weeks,
        service=service,
        keeping=keeping,
        hour=hour,
        setup_minutes=setup_minutes,
        run_cost=run_cost,
        prices=prices,
    )
    chosen = products_of(books, products)
    with refusing():
        statement = next_print_statement(
            books, period, currency or books.currency, terms, chosen
        )
    show([statement], books, files, "Next print")
