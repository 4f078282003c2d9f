"""The command `offcut profit`."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from offcut.reports.commands.ending import finish, loaded
from offcut.reports.commands.ledger_options import (
    chosen_period,
    currency_option,
    ledger_argument,
    period_options,
)

if TYPE_CHECKING:
    from offcut.reports.allocation import Rule
    from offcut.reports.profit_lines import Grouping


def allocate_option(command: Callable[..., None]) -> Callable[..., None]:
    """Add the option that says by what shared costs are split."""
    return click.option(
        "--allocate",
        "rule",
        type=click.Choice(["value", "units", "weight"]),
        default="value",
        show_default=True,
        help="By what shared costs are split over what was sold: its sales value, "
        "its pieces, or its weight.",
    )(command)


@click.command()
@ledger_argument
@click.option(
    "--by",
    "groupings",
    type=click.Choice(["design", "product", "channel", "event", "order"]),
    multiple=True,
    help="Which profit to print; may be given several times. Default: design and channel.",
)
@allocate_option
@click.option(
    "--detail", is_flag=True, help="Print each kind of income and cost by itself."
)
@click.option(
    "--all", "all_orders", is_flag=True, help="List every order, not only the latest."
)
@period_options
@currency_option
def profit(
    ledger: Path,
    groupings: Sequence[Grouping],
    rule: Rule,
    detail: bool,
    all_orders: bool,
    currency: str | None,
    **days: str | None,
) -> None:
    """Print profit per design, product, channel, event or order.

    Without a period all dates of LEDGER count. The rows printed, with what could be
    allocated to nothing, add up to the ledger's net income; the report says so.

    \b
    What several lines share is split over them:
      an order's fees, postage and packing   over the order's lines
      the costs of a fair, by its tag        over all that was sold there
      the costs of a channel, such as a      over what the channel sold in
      listing charge with channel: "Market"  the same month
    By weight: a product's `commodity` says `weight: 12`, in grams a piece.

    \b
    Examples:
      offcut profit main.beancount --year 2025
      offcut profit main.beancount --by design --month 2025-03 --detail
      offcut profit main.beancount --by order --from 2025-11-01 --to 2025-12-24
      offcut profit main.beancount --by product --allocate weight
    """
    period = chosen_period(**days)
    books = loaded(ledger)
    from rich.console import Console

    from offcut.reports.drawing.terminal import print_statements
    from offcut.reports.profit import GROUPINGS, profit_of
    from offcut.reports.profit_statement import ORDERS_ON_A_TERMINAL, profit_statement

    chosen = list(dict.fromkeys(groupings)) or GROUPINGS
    reports = profit_of(books, period, currency, chosen, rule)
    most = None if all_orders else ORDERS_ON_A_TERMINAL
    statements = [profit_statement(reports, each, detail, most) for each in chosen]
    print_statements(Console(), statements)
    finish(statements, bool(books.errors))
