"""The command `offcut`."""

from __future__ import annotations

import io
import sys
from importlib import metadata

import click

from offcut.reports.commands.channels import channels
from offcut.reports.commands.check import check
from offcut.reports.commands.close import close
from offcut.reports.commands.completion import completion
from offcut.reports.commands.ending import EXIT_CODES
from offcut.reports.commands.fair import fair
from offcut.reports.commands.guide import guide
from offcut.reports.commands.import_ import import_
from offcut.reports.commands.inventory import inventory
from offcut.reports.commands.items import items
from offcut.reports.commands.layout import layout
from offcut.reports.commands.month import month
from offcut.reports.commands.move_in import move_in
from offcut.reports.commands.new import new
from offcut.reports.commands.opening_stock import opening_stock
from offcut.reports.commands.plan.group import plan
from offcut.reports.commands.profit import profit
from offcut.reports.commands.report import report
from offcut.reports.commands.shelf import shelf
from offcut.reports.commands.tax import tax
from offcut.reports.commands.trace import trace
from offcut.reports.commands.trend import trend
from offcut.reports.commands.view import view
from offcut.reports.commands.year_end import year_end
from offcut.reports.commands.years import years

# What loads slowly is imported inside the commands, so that help is quick.


@click.group(epilog=EXIT_CODES)
@click.version_option(
    metadata.version("offcut"), prog_name="offcut", message="%(prog)s %(version)s"
)
def main() -> None:
    """Plain-text books for one person who makes and sells printed paper goods.

    \b
    To begin:
      offcut new books
      offcut guide first-month

    \b
    Once a month, in one go or step by step:
      offcut month 2025-03
      offcut import payments.csv orders.csv --into main.beancount
      offcut close 2025-03 main.beancount
      offcut profit main.beancount --month 2025-03
      offcut report main.beancount --html 2025.html --year 2025

    How the books stand, at any time: offcut check.
    """
    # A pipe may not know every letter of a name: better a "?" than no report.
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")


for command in (
    *(new, move_in, month, check, import_, layout),
    *(items, fair),
    *(opening_stock, inventory, plan, profit, channels, report, trace, close),
    *(shelf, trend, years, year_end, tax, view),
    *(guide, completion),
):
    main.add_command(command)
