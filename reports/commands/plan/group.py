"""The command group `offcut plan`: what to print, how many, at which price, and how."""

from __future__ import annotations

import click

from offcut.reports.commands.plan.fair import fair
from offcut.reports.commands.plan.first_print import first_print
from offcut.reports.commands.plan.make_or_order import make_or_order
from offcut.reports.commands.plan.next_print import next_print
from offcut.reports.commands.plan.what_if import what_if
from offcut.reports.commands.plan.wholesale import wholesale


@click.group()
def plan() -> None:
    """Decide what to print, how many, at which price, and by whom.

    Each command prints what it rests on, the steps and the result. Figures that the
    ledger cannot know, such as what an hour of yours is worth, are options, or stand
    under [plan] in offcut.toml beside the ledger.

    \b
    Examples:
      offcut plan wholesale main.beancount --rate 50%
      offcut plan next-print main.beancount --hour 18
    """


for command in (wholesale, make_or_order, first_print, next_print, what_if, fair):
    plan.add_command(command)
