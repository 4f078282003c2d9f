"""The command `offcut plan fair`."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import click

from offcut.reports.commands.ending import loaded
from offcut.reports.commands.figure_types import AMOUNT, COST, SHARE, Named
from offcut.reports.commands.file_options import Files, file_options, show
from offcut.reports.commands.ledger_options import (
    chosen_period,
    currency_option,
    ledger_argument,
    period_options,
)
from offcut.reports.commands.plan.asking import hour_option, refusing, settings_of


@click.command()
@ledger_argument
@click.option(
    "--event",
    metavar="NAME",
    help="A fair that was, as its tag has it: harbour-fair-2026 for "
    "#event-harbour-fair-2026.",
)
@click.option(
    "--cost",
    "costs",
    type=COST,
    multiple=True,
    metavar="NAME=AMOUNT",
    help="What a fair to come costs: table=85. May be given several times.",
)
@click.option(
    "--left",
    type=SHARE,
    metavar="SHARE",
    help="What is left of sales after goods and fees: 60%. Default: as at past fairs.",
)
@click.option(
    "--price",
    type=AMOUNT,
    metavar="AMOUNT",
    help="What a piece sells for on average, without tax. Goes with --left.",
)
@click.option(
    "--hours", type=AMOUNT, metavar="NUMBER", help="Your hours for the fair, all told."
)
@hour_option
@period_options
@currency_option
@file_options
def fair(
    ledger: Path,
    event: str | None,
    costs: tuple[Named, ...],
    left: Decimal | None,
    price: Decimal | None,
    hours: Decimal | None,
    hour: Decimal | None,
    currency: str | None,
    files: Files,
    **period_options: str | None,
) -> None:
    """Say what a fair must sell to pay for itself.

    In money and in pieces. Of a fair that was, --event says what it sold, what it had
    to sell, and how far it was beyond. For one to come, --cost says what it costs; what
    is left of sales is then as it was at --event, or at all fairs of the period. A fair
    counts whole.

    \b
    Examples:
      offcut plan fair main.beancount --event harbour-fair-2026
      offcut plan fair main.beancount --cost table=85 --cost travel=30 \\
        --hours 16 --hour 18
      offcut plan fair --cost table=85 --left 60% --price 6.00
    """
    if not event and not costs:
        raise click.UsageError(
            "Name a fair that was, --event harbour-fair-2026, or say what one to come "
            "costs, --cost table=85."
        )
    if (left is None) != (price is None) or (left is not None and not costs):
        raise click.UsageError("--left and --price go together, and with --cost.")
    if left is not None and event:
        raise click.UsageError(
            "What is left of sales: from --event, or --left and --price."
        )
    period = chosen_period(**period_options)
    settings = settings_of(ledger)
    books = loaded(ledger)
    from offcut.reports.plan.assumed import assumed
    from offcut.reports.plan.break_even import FixedCost
    from offcut.reports.plan.fair_basis import basis_given, basis_of_fairs
    from offcut.reports.plan.fair_statement import FairTerms, fair_statement

    terms = FairTerms(
        costs=tuple(FixedCost(cost.name, cost.figure) for cost in costs),
        hours=assumed(hours, None),
        hour=assumed(hour, settings.hour),
    )
    currency = currency or books.currency
    events = [event.removeprefix("#").removeprefix("event-")] if event else []
    with refusing():
        if left is not None and price is not None:
            basis = basis_given(left, price, currency)
        else:
            expenses = books.options["name_expenses"]
            basis = basis_of_fairs(books.table, events, currency, period, expenses)
        statement = fair_statement(books, basis, terms)
    show([statement], books, files, statement.title)
